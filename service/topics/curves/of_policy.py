"""The curves of a policy as the catalogue describes its own."""

from __future__ import annotations

from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import Amplitude
from fatcore.curves.standards import catalogue
from fatcore.curves.standards.catalogue import Description
from fatcore.outcome import evidence

from ...base.rules.active import active_policy
from .models import named_curve


def curves_of_policy() -> list[Description]:
    """What is known of each curve of the policy that holds."""
    policy = active_policy()
    return [] if policy is None else [_described(curve) for curve in policy.curves.values()]


def described_curve(curve_id: str, loading: Amplitude) -> Description:
    """What is known of a curve of the policy or of the catalogue; UnknownError with the nearest ids of both."""
    curve = named_curve(curve_id, loading=loading)
    return _described(curve) if curve.table is None else catalogue.describe_curve(curve_id, loading=loading)


def _described(curve: Curve) -> Description:
    """No rule of a document belongs to a curve of the company's own."""
    return Description(
        curve=curve,
        label=curve.id,
        document=curve.source,
        environment="",
        where="",
        thickness_reference_mm=None,
        thickness_exponent=None,
        thickness_exponents={},
        use_limit_over_yield=None,
        miner_limit=None,
        miner_note="",
        interaction_form=None,
        partial_factors={},
        stress_concentration_factor=None,
        printed_scatter_index=None,
        least_notch_over_structural=None,
        **evidence(findings=catalogue.remarks(curve), sources=[curve.source]),
    )

"""Models around design curves: references to curves, pages of the catalogue."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, StringConstraints, Tag

from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import Amplitude
from fatcore.curves.standards import catalogue
from fatcore.curves.standards.listing import Listing
from fatcore.curves.tested import LivesTested
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import UnknownError

from ...base.common import Strict
from ...base.derive import Derived, answer_of, request_of
from ...base.rules.active import active_policy

_MAX_SEGMENTS = 20

LoadingRequest = Literal["constant", "variable"]
CurveId = Annotated[str, StringConstraints(min_length=1, max_length=100)]


@request_of(LivesTested)
class LivesTestedRequest(Derived):
    """The tests behind a fitted curve, as its evaluation gives them; every use is compared with them."""


@request_of(user_defined_curve, rows=_MAX_SEGMENTS)
class UserDefinedCurve(Derived):
    """A stress-life curve of the user's own.

    Either one point with slopes, or several points, or intercepts with slopes.
    """


def _form(value: Any) -> str | None:
    if isinstance(value, str):
        return "id"
    return "own" if isinstance(value, dict | UserDefinedCurve) else None


CurveRef = Annotated[
    Annotated[CurveId, Tag("id")] | Annotated[UserDefinedCurve, Tag("own")],
    Discriminator(
        _form,
        custom_error_type="curve",
        custom_error_message="a curve is an id of the catalogue or an object with a curve of your own",
    ),
]


def curve_from(spec: str | UserDefinedCurve, *, loading: Amplitude = "variable") -> Curve:
    """The curve of the catalogue or of the policy, or the user's own; paths of errors start at the curve itself.

    Raises : PolicyError for one that the policy does not allow
    """
    made: Curve = named_curve(spec, loading=loading) if isinstance(spec, str) else spec.to_core()
    policy = active_policy()
    if policy is not None:
        policy.guard_curve(made)
    return made


def named_curve(curve_id: str, *, loading: Amplitude = "variable") -> Curve:
    """The curve of the policy or of the catalogue, whether a rule allows it or not."""
    policy = active_policy()
    if policy is None:
        return catalogue.find_curve(curve_id, loading=loading)
    if curve_id in policy.curves:
        return policy.curves[curve_id]
    try:
        return catalogue.find_curve(curve_id, loading=loading)
    except UnknownError as error:
        raise UnknownError("curve", curve_id, (*error.known, *policy.curves), *error.path) from None


@answer_of(Listing)
class ListAnswer(Strict):
    """The curves that fit, as columns."""


class CurveAnswer(Strict):
    """Shape of a curve and what its document says about its use; null where it says nothing here."""

    # written out, since it lays the core's description and the curve in it side by side
    id: str
    title: str
    document: str
    label: str
    where: str
    stress_kind: str
    material: str
    environment: str
    loading: str
    quantity: str
    log10_constants: list[float]
    slopes: list[float]
    knees_mpa: list[float]
    knee_cycles: list[float]
    cut_off_mpa: float | None
    cut_off_cycles: float | None
    reference_range_mpa: float | None
    reference_energy_density_mj_m3: float | None
    survival_probability: float | None
    survival_definition: str
    sd_log10_cycles: float | None
    printed_scatter_index: float | None
    thickness_reference_mm: float | None
    thickness_exponent: float | None
    thickness_exponents: dict[str, float]
    use_limit_over_yield: float | None
    miner_limit: float | None
    miner_note: str
    partial_factors: dict[str, dict[str, float]]
    stress_concentration_factor: float | None
    least_notch_over_structural: float | None

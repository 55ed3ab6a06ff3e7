"""What the choices of a damage request leave out."""

from __future__ import annotations

from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit
from fatcore.curves.relief import Choice
from fatcore.figures import as_given
from fatcore.findings import Finding, note
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.damage.below_knee import BelowKnee
from fatcore.spectrum.damage.linear import ONE_RANGE

from ..curves.resistance import limit_for
from . import models


def forms_of(request: models.DamageRequest) -> tuple[BelowKnee, BelowKnee]:
    """The form below the knee that is asked for, and the one of the curve's document."""
    return request.below_knee, "as-curve"


def whole_residue(request: models.DamageRequest) -> Residue:
    """The residue that leaves nothing out: half cycles are for a record that does not come again."""
    return "closed" if request.repeats > 1.0 else request.residue


def choices_of(request: models.DamageRequest, largest_definition: str | None) -> list[Choice]:
    """What the request leaves out of the count or of the curve, in which fields.

    largest_definition : the definition of a cycle that does most, where there are several
    """
    chosen: list[tuple[str, object]] = []
    if request.hysteresis_threshold_mpa > 0.0:
        chosen.append(("hysteresis_threshold_mpa", as_given(request.hysteresis_threshold_mpa)))
    if request.residue != whole_residue(request):
        chosen.append(("residue", request.residue))
    if largest_definition not in (None, request.definition):
        chosen.append(("definition", request.definition))
    if request.below_knee != "as-curve":
        chosen.append(("below_knee", request.below_knee))
    if request.mean_stress != "none":
        chosen.append(("mean_stress", request.mean_stress))
    return [Choice(name, f"{name} {value}") for name, value in chosen]


def single_range_findings(
    request: models.DamageRequest, curve: Curve, range_mpa: FloatArray, count: FloatArray, limit: DamageLimit
) -> list[Finding]:
    """Which limit one single range has as variable loading, where constant amplitude would have another."""
    if request.loading == "constant" or request.hysteresis_threshold_mpa > 0.0:
        return []
    happening = range_mpa[count > 0.0]
    constant = limit_for(request, curve, "constant").damage_limit
    several = happening.min() < (1.0 - ONE_RANGE) * happening.max()
    if several or request.mean_stress != "none" or constant == limit.damage_limit:
        return []
    text = (
        f"one single range, taken as variable amplitude: sums up to {as_given(limit.damage_limit)} pass; with "
        f"loading constant, on the curve of constant amplitude, sums up to {as_given(constant)} would"
    )
    return [note("one-range-as-variable", text, field="loading")]

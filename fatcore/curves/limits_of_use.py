"""Whether ranges of stress are of a size for which a curve may be used: units, yield strength, short lives."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import Positive, guarded
from fatcore.curves import catalogue
from fatcore.curves.curve import Curve
from fatcore.curves.range_sizes import small_findings
from fatcore.findings import Finding, Limit, note, outside_limits
from fatcore.plausible import yield_doubts

LIFE_LIMITS = (Limit("life_cycles", 1.0e4, None, source="low-cycle-practice", where="curves of welded joints"),)

YieldStrength = Annotated[Positive | None, doc("to compare ranges with the limit of use of the document [MPa]")]


def use_findings(curve: Curve, range_mpa: ArrayLike, yield_strength_mpa: YieldStrength) -> tuple[Finding, ...]:
    """Whether ranges of stress are of a size for which a curve may be used.

    range_mpa          : as they were given, before corrections [MPa]
    yield_strength_mpa : None compares nothing, and says so where the document has a limit
    """
    return (*small_findings(range_mpa), *limit_of_use_findings(curve, range_mpa, yield_strength_mpa))


@guarded
def limit_of_use_findings(
    curve: Curve, range_mpa: ArrayLike, yield_strength_mpa: YieldStrength, name: str = "stress_range_mpa"
) -> tuple[Finding, ...]:
    """Whether ranges of stress, given or found, stay below the limit of use of the curve's document.

    name : of the ranges in the request or answer; the other arguments as in `use_findings`
    """
    known = curve.table is not None and catalogue.describe_curve(curve.id).use_limit_over_yield is not None
    if yield_strength_mpa is None:
        text = f"{curve.id} has a limit of use by yield strength; none was given: nothing was compared"
        unused = note("limit-of-use-not-compared", text, field="yield_strength_mpa", source=curve.source)
        return (unused,) if known else ()
    doubts = yield_doubts(yield_strength_mpa)
    limit = catalogue.range_limit(curve.id, yield_strength_mpa) if known else None
    if limit is None:
        text = f"no limit of use by yield strength is known here for {curve.id}: nothing was compared"
        unknown = note("limit-of-use-unknown", text, field="yield_strength_mpa", source=curve.source)
        return (*doubts, unknown)
    return (*doubts, *outside_limits([replace(limit, name=name)], **{name: range_mpa}))

"""What the document of a curve has to make a joint weaker, and was not applied."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.relief import is_partial_factor
from fatcore.curves.standards import catalogue
from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note

_ROUNDING = 1e-9  # relative


def not_applied(curve: Curve, corrections: Sequence[Correction], resistance_factor: float) -> list[Finding]:
    """Findings on rules of the document that make the joint weaker and were left out.

    resistance_factor : that strengths are divided by besides
    """
    if curve.table is None or curve.quantity != "stress range":
        return []
    has = catalogue.describe_curve(curve.id)
    found = []
    names = {correction.name for correction in corrections}
    if "thickness" not in names and (has.thickness_exponents or has.thickness_exponent):
        above = "" if has.thickness_reference_mm is None else f" above {as_given(has.thickness_reference_mm)} mm"
        text = f"{curve.id}: no thickness correction; the document lowers strengths{above} by detail or class"
        found.append(note("thickness-not-corrected", text, field="thickness_mm", source=curve.source))
    factors = [value for concept in has.partial_factors.values() for value in concept.values()]
    if factors and missing_partial_factor(curve, corrections, resistance_factor) is not None:
        text = f"{curve.id}: no partial factor; the document has {as_given(min(factors))} to {as_given(max(factors))}"
        found.append(caution("partial-factor-not-applied", text, field="resistance_factor", source=curve.source))
    return found


def missing_partial_factor(
    curve: Curve, corrections: Sequence[Correction] = (), resistance_factor: float = 1.0
) -> float | None:
    """What of the largest partial factor of a curve's document was not applied, None where nothing is missing.

    A factor counts as the one of the document when it is a correction by that document, or one that the user
    names so with a reason, 1 included; and when it reaches the smallest above 1 of the document, wherever it
    comes from. A smaller one counts as the part of the largest that it is.
    resistance_factor : that strengths are divided by besides
    """
    if curve.table is None:
        return None
    concepts = catalogue.describe_curve(curve.id).partial_factors.values()
    stated = sorted(value for concept in concepts for value in concept.values())
    partial = [each for each in corrections if is_partial_factor(each) and (each.strength_factor <= 1.0).all()]
    if not stated or any(each.reason is not None or curve.source in each.sources for each in partial):
        return None
    applied = resistance_factor * float(np.prod([1.0 / each.strength_factor.max() for each in partial]))
    if applied >= min((value for value in stated if value > 1.0), default=1.0) * (1.0 - _ROUNDING):
        return None
    return stated[-1] / max(applied, 1.0)

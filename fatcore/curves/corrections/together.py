"""What several corrections of one curve must be together."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Sequence

from fatcore.curves.corrections.correction import Correction
from fatcore.curves.corrections.mean_stress import guard_signed
from fatcore.curves.curve import Curve
from fatcore.errors import InputError, NotCoveredError, at
from fatcore.findings import Finding, caution


def guard_together(curve: Curve, corrections: Sequence[Correction], size: int) -> None:
    """InputError for corrections given twice, two bonuses, or of another number than the ranges.

    size : number of ranges
    """
    if corrections and curve.quantity != "stress range":
        raise NotCoveredError("corrections hold for stress ranges, not for energy densities", "corrections")
    for index, correction in enumerate(corrections):
        if correction.strength_factor.size not in (1, size):
            several = "one factor is" if size == 1 else f"one factor or {size} of them are"
            raise InputError(f"{several} needed", "corrections", index)
    names = Counter(_plain(correction.name) for correction in corrections)
    for name, count in names.items():
        if count > 1:
            raise InputError(f"the {name} correction is given twice", "corrections")
    for index, correction in enumerate(corrections):
        if correction.bonus:
            with at("corrections", index):
                guard_signed(curve)
    if sum(correction.bonus for correction in corrections) > 1:
        raise InputError("mean stress and effective range are two rules for the same thing: give one", "corrections")


def _plain(words: str) -> str:
    """Words without what a reader does not see: case, blanks around and between, forms of characters."""
    return " ".join(unicodedata.normalize("NFKC", words).casefold().split())


def one_reason(corrections: Sequence[Correction]) -> list[Finding]:
    """A caution for own factors of different names that have one reason: it may be counted twice."""
    reasons: dict[str, list[str]] = {}
    for correction in corrections:
        if correction.reason is not None:
            reasons.setdefault(_plain(correction.reason), []).append(correction.name)
    return [
        caution(
            "own-factors-of-one-reason",
            f"{' and '.join(names)} are factors for one reason and multiply: is it counted twice?",
            field="corrections",
            source="own-factor",
        )
        for names in reasons.values()
        if len(names) > 1
    ]

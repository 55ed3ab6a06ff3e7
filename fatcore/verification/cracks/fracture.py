"""Checks of the failure assessment line and of the interaction of primary and secondary stress."""

from __future__ import annotations

from collections.abc import Iterator

from fatcore.cracks.fracture.assessment import Line, Strength, assessment_line, collapse_limit
from fatcore.verification.case import VerificationCase

_COMPUTED = "growth-computation"
STEEL = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=490.0, toughness_mpa_sqrt_mm=1000.0)


def _line(lr: float, line: Line, expected: str) -> VerificationCase:
    return VerificationCase(
        id=f"fad-{line}-{lr:g}",
        title=f"{line} assessment line at Lr = {lr:g}, yield 355, tensile strength 490 MPa",
        source=_COMPUTED,
        where="closed form",
        status="derived",
        expected=expected,
        compute=lambda: float(assessment_line(lr, STEEL, line)),
    )


def _all() -> Iterator[VerificationCase]:
    printed = ("1", ".9901", ".9607", ".9034", ".7844", ".5649", ".3328")
    for lr, expected in zip((0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.1), printed, strict=True):
        yield _line(lr, "continuous", expected)
    yield _line(1.0, "plateau", ".2576")
    yield _line(0.8, "older", ".8106")
    yield _line(1.0, "older", ".5723")
    yield VerificationCase(
        id="fad-limit",
        title="largest Lr, yield 355, tensile strength 490 MPa",
        source=_COMPUTED,
        where="closed form",
        status="derived",
        expected="1.1901",
        compute=lambda: collapse_limit(STEEL),
    )


CASES = tuple(_all())

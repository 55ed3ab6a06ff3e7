"""Recommendations for Fatigue Design of Welded Joints and Components, second edition, 2016 (IIW-2259-15):
knee points of the resistance curves, mean-stress bonus, partial factors. Figures from memory.
"""

from __future__ import annotations

import pytest

from fatcore.curves.corrections.mean_stress import mean_stress_factor
from fatcore.curves.corrections.thickness import thickness
from fatcore.verification.case import VerificationCase, run
from fatcore.verification.curves import CASES

PRINTED = [each for each in CASES if each.source == "iiw-2016"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"


@pytest.mark.parametrize(
    ("load_ratio", "low", "medium"), [(-2.0, 1.6, 1.3), (-1.0, 1.6, 1.3), (-0.5, 1.4, 1.1), (0.5, 1.0, 1.0)]
)
def test_bonus_for_the_load_ratio(load_ratio: float, low: float, medium: float) -> None:
    """Mean-stress cases I and II, from memory."""
    assert float(mean_stress_factor(load_ratio, "low")) == pytest.approx(low, rel=1e-12)
    assert float(mean_stress_factor(load_ratio, "medium")) == pytest.approx(medium, rel=1e-12)
    assert float(mean_stress_factor(load_ratio, "high")) == 1.0


@pytest.mark.parametrize(
    ("detail", "exponent"),
    [
        ("cruciform-as-welded", 0.3),
        ("cruciform-toe-ground", 0.2),
        ("transverse-butt-as-welded", 0.2),
        ("butt-ground-flush", 0.1),
    ],
)
def test_thickness_exponents(detail: str, exponent: float) -> None:
    """Thickness exponents above 25 mm, from memory."""
    factor = float(thickness(100.0, document="iiw-2016", detail=detail).strength_factor)
    assert factor == pytest.approx(0.25**exponent, rel=1e-12)

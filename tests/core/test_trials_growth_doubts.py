"""Doubts of growth tests: few specimens, one specimen under two names, steps of load, implausible laws."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.trials import GrowthSpecimen, GrowthTest, evaluate_growth
from fatcore.trials.growth.outcome import GrowthRateOutcome
from fatcore.trials.growth.specimen import guard_sizes_within

COEFFICIENT, EXPONENT = 5.21e-13, 3.0
WIDE = {"width_mm": 50.0, "thickness_mm": 10.0, "force_n": 6000.0}
SIZES = np.arange(12.0, 30.0, 0.5)


def intensity(size: Any) -> Any:
    """Stress intensity of the compact specimen: polynomial of ASTM E647 (from memory)."""
    a = np.asarray(size) / 50.0
    factor = (2.0 + a) / (1.0 - a) ** 1.5 * (0.886 + 4.64 * a - 13.32 * a**2 + 14.72 * a**3 - 5.6 * a**4)
    return 6000.0 / (10.0 * math.sqrt(50.0)) * factor


def specimen_of(
    name: str = "one",
    *,
    coefficient: float = COEFFICIENT,
    exponent: float = EXPONENT,
    scatter: Any = 0.0,
    load: Any = None,
    **other: Any,
) -> GrowthTest:
    """A specimen whose rates lie on a law at the mean sizes, times 10**scatter."""
    middle = 0.5 * (SIZES[1:] + SIZES[:-1])
    factor = np.ones(len(SIZES)) if load is None else load
    rate = coefficient * (0.9 * intensity(middle) * 0.5 * (factor[1:] + factor[:-1])) ** exponent * 10.0**scatter
    specimen = GrowthSpecimen(
        family="specimen-compact", parameters=WIDE, load_ratio=0.1, yield_strength_mpa=400.0, load_factor=load
    )
    cycles = np.concatenate([[0.0], np.cumsum(np.diff(SIZES) / rate)])
    return GrowthTest(name=name, specimen=specimen, size_mm=SIZES, cycles=cycles, **other)


def evaluated(*tests: GrowthTest, **other: Any) -> GrowthRateOutcome:
    return evaluate_growth(tests, **{"reduction": "secant", "confidence": 0.95, **other})


def codes(found: GrowthRateOutcome) -> set[str]:
    return {each.code for each in found.findings}


@pytest.mark.uncounted
@pytest.mark.parametrize(("count", "within"), [(2, 0.05), (3, 0.05), (3, 0.2), (6, 0.05)])
def test_the_upper_law_of_few_specimens_holds_the_next_one_as_often_as_it_says(count: int, within: float) -> None:
    # 97.7 % of single rates of one more specimen; two deviations of two specimens would hold 83 %
    rng, below = np.random.default_rng(3), []
    for _ in range(120):
        given = [
            specimen_of(str(k), scatter=0.08 * rng.standard_normal() + within * rng.standard_normal(len(SIZES) - 1))
            for k in range(count)
        ]
        pooled = evaluated(*given).pooled
        assert pooled is not None
        law, at = pooled.law, pooled.law.pivot_mpa_sqrt_mm
        next_ones = 0.08 * rng.standard_normal(200) + within * rng.standard_normal(200)
        assert law.upper_coefficient is not None
        upper = math.log10(law.upper_coefficient) + law.exponent * math.log10(at)
        below.append(np.mean(math.log10(COEFFICIENT) + EXPONENT * math.log10(at) + next_ones < upper))
    assert np.mean(below) > 0.965


def test_few_specimens_are_said_with_what_they_cost() -> None:
    rng = np.random.default_rng(4)
    given = [specimen_of(str(k), scatter=0.1 * rng.standard_normal()) for k in range(5)]
    few = evaluated(*given[:2])
    assert "few-specimens" in codes(few)
    assert "few-specimens" not in codes(evaluated(*given))
    assert few.upper_law is not None
    assert few.pooled is not None
    assert few.upper_law.stages[0].coefficient == few.pooled.law.upper_coefficient


def test_two_specimens_far_apart_are_not_put_together() -> None:
    with pytest.raises(InputError, match="the next one") as caught:
        evaluated(specimen_of("a"), specimen_of("b", coefficient=30.0 * COEFFICIENT))
    assert caught.value.path == ("tests",)


def test_one_specimen_under_two_names_is_refused() -> None:
    with pytest.raises(InputError, match="exactly the readings of 'a'") as caught:
        evaluated(specimen_of("a"), specimen_of("b"))
    assert caught.value.path == ("tests", 1, "size_mm")


def test_rates_over_steps_of_the_load_are_left_out() -> None:
    load = np.where(np.arange(len(SIZES)) < 15, 1.0, 1.11)
    found = evaluated(specimen_of(load=load))
    assert "load-steps-left-out" in codes(found)
    assert len(found.specimens[0].rate_mm_per_cycle) == len(SIZES) - 2
    wide = evaluated(specimen_of(load=load), reduction="seven-point")
    assert len(wide.specimens[0].rate_mm_per_cycle) == len(SIZES) - 6 - 6
    law = found.specimens[0].law
    assert law is not None
    assert law.exponent == pytest.approx(EXPONENT, abs=0.02)
    small = np.where(np.arange(len(SIZES)) < 15, 1.0, 1.1)
    assert "load-steps-left-out" not in codes(evaluated(specimen_of(load=small)))
    with pytest.raises(InputError, match="between all readings") as caught:
        evaluated(specimen_of(load=np.where(np.arange(len(SIZES)) % 2 == 0, 1.0, 1.5)))
    assert caught.value.path == ("tests", 0, "specimen", "load_factor")


@pytest.mark.parametrize(
    ("coefficient", "exponent", "expected"),
    [
        (COEFFICIENT, 3.0, set()),
        (1e-3 * COEFFICIENT, 3.0, {"law-rate-implausible"}),
        (COEFFICIENT * 1000.0**2, 1.0, {"fitted-exponent-unusual"}),
        (COEFFICIENT * 700.0**-4.0, 7.0, {"fitted-exponent-unusual"}),
        (4.0 * COEFFICIENT, 3.0, set()),
        (25.0 * COEFFICIENT, 3.0, {"law-rate-of-aluminium"}),
    ],
)
def test_laws_that_steel_does_not_show_are_said(coefficient: float, exponent: float, expected: set[str]) -> None:
    doubts = {"law-rate-implausible", "fitted-exponent-unusual", "law-rate-of-aluminium"}
    assert codes(evaluated(specimen_of(coefficient=coefficient, exponent=exponent))) & doubts == expected


@pytest.mark.parametrize(("gradient", "said"), [(-0.08, False), (-0.083, False), (-0.085, True)])
def test_loads_may_be_shed_at_the_gradient_of_the_standard(
    gradient: float, said: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # intensity along the gradient at the sizes of the rates; readings of a test at the limit miss it by some percent
    middle = 0.5 * (SIZES[1:] + SIZES[:-1])

    def driven(*_: Any) -> Any:
        falling = 900.0 * np.exp(gradient * middle) * (1.0 + 1e-10 * (-1.0) ** np.arange(len(middle)))
        return Intensities(0.9 * falling, falling, (), (), ())

    from fatcore.trials.growth.specimen import Intensities

    monkeypatch.setattr("fatcore.trials.growth.evaluation.intensities_at", driven)
    monkeypatch.setattr("fatcore.trials.growth.evaluation.threshold_of", lambda *_: 100.0)
    assert ("shed-too-fast" in codes(evaluated(specimen_of(shedding=True)))) == said


def test_a_law_by_few_rates_is_outside() -> None:
    def cut(readings: int) -> GrowthTest:
        whole = specimen_of(scatter=0.03 * (-1.0) ** np.arange(len(SIZES) - 1))
        return GrowthTest(
            name="one", specimen=whole.specimen, size_mm=SIZES[:readings], cycles=np.asarray(whole.cycles)[:readings]
        )

    assert "law-by-few-rates" in codes(evaluated(cut(10)))  # nine rates
    assert "law-by-few-rates" not in codes(evaluated(cut(11)))


@pytest.mark.parametrize(("scatter", "code"), [(0.005, ""), (0.2, "exponent-uncertain"), (0.4, "exponent-unsettled")])
def test_a_wide_interval_of_the_exponent_is_said(scatter: float, code: str) -> None:
    found = evaluated(specimen_of(scatter=scatter * (-1.0) ** np.arange(len(SIZES) - 1)))
    law = found.specimens[0].law
    assert law is not None
    width = 0.5 * (law.exponent_high - law.exponent_low)
    assert (width > 1.0) == (code == "exponent-unsettled")
    assert (width > 0.5) == (code != "")
    assert codes(found) & {"exponent-uncertain", "exponent-unsettled"} == ({code} if code else set())


def test_readings_copied_with_other_cycles_are_near_copies() -> None:
    one = specimen_of("a", scatter=0.1 * np.sin(np.arange(len(SIZES) - 1)))
    copy = GrowthTest(name="b", specimen=one.specimen, size_mm=one.size_mm, cycles=np.asarray(one.cycles) + 1.0)
    assert "near-copies" in codes(evaluated(one, copy))
    assert "near-copies" not in codes(evaluated(one, specimen_of("c", coefficient=1.01 * COEFFICIENT)))
    short = GrowthTest(name="d", specimen=one.specimen, size_mm=SIZES[:-1], cycles=np.asarray(one.cycles)[:-1])
    assert "near-copies" not in codes(evaluated(one, short))


def test_a_specimen_may_not_bear_the_name_of_all_together() -> None:
    with pytest.raises(InputError, match="together") as caught:
        evaluated(specimen_of("pooled"))
    assert caught.value.path == ("tests", 0, "name")


@pytest.mark.parametrize(("family", "largest"), [("specimen-compact", 50.0), ("specimen-middle", 25.0)])
def test_a_reading_through_the_specimen_is_refused(family: str, largest: float) -> None:
    specimen = GrowthSpecimen(family=family, parameters=WIDE, load_ratio=0.1, yield_strength_mpa=400.0)
    sizes = np.append(SIZES[0.9 * largest > SIZES], largest)
    given = GrowthTest(name="one", specimen=specimen, size_mm=sizes, cycles=1e4 * np.arange(len(sizes)))
    with pytest.raises(InputError, match="through the specimen") as caught:
        evaluated(given)
    assert caught.value.path == ("tests", 0, "size_mm", len(sizes) - 1)


def test_a_crack_of_another_family_has_no_width_that_its_readings_reach() -> None:
    centre = GrowthSpecimen(family="centre", parameters={}, load_ratio=0.1)
    guard_sizes_within(centre, np.array([1e3]))

"""Growth laws: stages, thresholds, load ratio, unit systems, closure, named sets."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.driving import closure, law, law_sets
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.errors import InputError, UnknownError

RANGES = np.geomspace(20.0, 3000.0, 25)


@given(coefficient=st.floats(1e-15, 1e-8), exponent=st.floats(1.5, 9.0), level=st.floats(1.0, 200.0))
def test_rate_does_not_depend_on_the_unit_system(coefficient: float, exponent: float, level: float) -> None:
    """The rate in m/cycle at a range in MPa√m is that in mm/cycle at the same range in MPa√mm."""
    metres = coefficient * level**exponent
    millimetres = law.paris(coefficient, exponent, "m-MPa").rate_mm_per_cycle(level * math.sqrt(1000.0))
    assert float(millimetres) == pytest.approx(1000.0 * metres, rel=1e-11)


def test_two_stages_meet_without_a_jump() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    border = float(law.transition_mpa_sqrt_mm(growth.low))
    below, above = growth.rate_mm_per_cycle([border * (1 - 1e-9), border * (1 + 1e-9)], 0.0)
    assert above == pytest.approx(below, rel=1e-7)
    assert growth.stages(0.0) == growth.low
    assert growth.stages(0.5) == growth.high
    assert law.paris(1e-12, 3.0).stages(0.9)[0].exponent == 3.0


def test_stage_of_larger_slope_at_high_ranges_takes_over_from_below() -> None:
    rising = law.GrowthLaw(low=(law.Stage(coefficient=1e-10, exponent=2.0), law.Stage(coefficient=1e-14, exponent=4.0)))
    assert rising.rate_mm_per_cycle(10.0) == pytest.approx(1e-8)
    assert rising.rate_mm_per_cycle(1000.0) == pytest.approx(1e-2)


def test_high_constants_hold_from_the_boundary_on_for_mixed_columns() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    rates = growth.rate_mm_per_cycle([300.0, 300.0, 300.0], [0.0, 0.5, 0.9])
    assert rates[1] == rates[2] > rates[0]
    assert growth.rate_mm_per_cycle(300.0, 0.5) == rates[1]


@pytest.mark.parametrize("form", ["cut", "power-difference", "shifted"])
def test_nothing_grows_at_or_below_the_threshold(form: law.ThresholdForm) -> None:
    growth = law.GrowthLaw(
        low=(law.Stage(coefficient=1e-12, exponent=3.0),),
        threshold=law.Threshold(intercept_mpa_sqrt_mm=100.0),
        threshold_form=form,
    )
    assert (growth.rate_mm_per_cycle([-5.0, 0.0, 50.0, 100.0]) == 0.0).all()
    expected = {"cut": 200.0**3, "power-difference": 200.0**3 - 100.0**3, "shifted": 100.0**3}
    assert growth.rate_mm_per_cycle(200.0) == pytest.approx(1e-12 * expected[form])


def test_threshold_falls_with_the_load_ratio_to_its_floor() -> None:
    steel = law_sets.named_threshold("bs7910-2013/steel")
    found = steel.range_mpa_sqrt_mm([-1.0, 0.0, 0.25, 0.5, 0.9])
    assert found == pytest.approx([170.0, 170.0, 116.5, 63.0, 63.0])


def test_threshold_with_a_step_and_with_an_exponent() -> None:
    step = law_sets.named_threshold("barsom-rolfe/steel")
    unit = 34.748483
    assert step.range_mpa_sqrt_mm([0.0, 0.1]) == pytest.approx([5.5 * unit] * 2, rel=1e-6)
    assert step.range_mpa_sqrt_mm(0.5) == pytest.approx(6.4 * (1 - 0.85 * 0.5) * unit, rel=1e-6)
    power = law.Threshold(intercept_mpa_sqrt_mm=200.0, exponent=0.5)
    assert power.range_mpa_sqrt_mm([0.0, 0.75]) == pytest.approx([200.0, 100.0])


def test_walker_at_load_ratio_zero_is_paris_and_rises_with_it() -> None:
    effect = LoadRatioEffect(kind="walker", walker_exponent=0.5)
    growth = law.GrowthLaw(low=(law.Stage(coefficient=1e-12, exponent=3.0),), effect=effect)
    assert growth.rate_mm_per_cycle(200.0, 0.0) == pytest.approx(8e-6)
    assert growth.rate_mm_per_cycle(200.0, 0.75) == pytest.approx(1e-12 * (200.0 / 0.25**0.5) ** 3)


def test_forman_runs_at_the_toughness() -> None:
    effect = LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=2000.0)
    growth = law.GrowthLaw(low=(law.Stage(coefficient=1e-9, exponent=3.0),), effect=effect)
    assert growth.rate_mm_per_cycle(500.0, 0.5) == pytest.approx(1e-9 * 500.0**3 / (1000.0 - 500.0))
    assert np.isinf(growth.rate_mm_per_cycle(1000.0, 0.5))
    assert growth.rate_mm_per_cycle(0.0, 0.0) == 0.0


@pytest.mark.parametrize("kind", ["elber", "schijve", "newman"])
def test_closure_takes_its_share_of_the_range(kind: str) -> None:
    constants = {"constraint": 2.0, "stress_over_flow": 0.3} if kind == "newman" else {}
    effect = LoadRatioEffect(kind=kind, **constants)  # type: ignore[arg-type]
    growth = law.GrowthLaw(low=(law.Stage(coefficient=1e-12, exponent=3.0),), effect=effect)
    open_share = closure.newman_opening(0.5, 2.0, 0.3) if kind == "newman" else closure.linear_opening(kind, 0.5)
    assert growth.rate_mm_per_cycle(100.0, 0.5) == pytest.approx(1e-12 * (100.0 * float(open_share)) ** 3)
    assert effect.closure


def test_below_zero_walker_and_forman_take_the_open_part_at_zero() -> None:
    """Convention: the range given below R = 0 is K_max, which no factor of the load ratio makes smaller."""
    stage = (law.Stage(coefficient=1e-9, exponent=3.0),)
    for constants in ({"kind": "walker", "walker_exponent": 0.5},
                      {"kind": "forman", "toughness_mpa_sqrt_mm": 2000.0}):  # fmt: skip
        growth = law.GrowthLaw(low=stage, effect=LoadRatioEffect(**constants))  # type: ignore[arg-type]
        assert growth.rate_mm_per_cycle(900.0, [-3.0, -1.0, 0.0]).tolist() == [growth.rate_mm_per_cycle(900.0, 0.0)] * 3
    assert np.isinf(growth.rate_mm_per_cycle(2000.0, -1.0))


@pytest.mark.parametrize("kind", ["elber", "schijve", "newman"])
def test_outside_its_load_ratios_closure_gives_no_further_bonus(kind: str) -> None:
    """In terms of K_max: the open part never falls as the cycle widens, and is all of K_max in the end."""
    constants = {"constraint": 1.0, "stress_over_flow": 0.3} if kind == "newman" else {}
    effect = LoadRatioEffect(kind=kind, **constants)  # type: ignore[arg-type]
    limit = effect.limit
    assert limit is not None
    assert limit.low is not None
    last, below = (np.asarray(effect.range_factor(np.array([limit.low - x]))) for x in (0.0, 1e-9))
    assert below == pytest.approx(last, rel=1e-6)
    assert effect.range_factor(np.array([-40.0])) * 41.0 == pytest.approx([1.0])
    wide = np.linspace(-40.0, 0.99, 20_000)
    opened = np.asarray(effect.range_factor(wide) * (1.0 - wide))
    assert (opened <= 1.0 + 1e-12).all()
    assert (np.diff(opened) <= 1e-12).all()
    assert (opened >= 0.0).all()


def test_threshold_of_the_whole_range_is_reached_whatever_closure_takes_off() -> None:
    """A threshold is printed for the whole range: 170 is passed by 200 although half of it is open only."""
    effect = LoadRatioEffect(kind="elber")
    growth = law.GrowthLaw(
        low=(law.Stage(coefficient=1e-12, exponent=3.0),),
        threshold=law.Threshold(intercept_mpa_sqrt_mm=170.0),
        effect=effect,
    )
    assert growth.rate_mm_per_cycle(200.0, 0.0) == pytest.approx(1e-12 * 100.0**3)
    assert growth.rate_mm_per_cycle(170.0, 0.0) == 0.0


def test_opening_level_never_lies_below_the_smallest_load() -> None:
    ratios = np.linspace(-1.9, 0.95, 40)
    level = closure.newman_closure(ratios, 1.5, 0.4)
    assert (level >= ratios).all()
    assert (closure.newman_opening(ratios, 1.5, 0.4) <= 1.0 + 1e-12).all()


@pytest.mark.parametrize("name", law_sets.law_names())
def test_every_published_law_rises_and_names_its_source(name: str) -> None:
    growth = law_sets.named_law(name)
    assert (np.diff(growth.rate_mm_per_cycle(RANGES, 0.6)) >= 0.0).all()
    assert growth.sources
    assert growth.table
    assert law_sets.law_titles()[name]


def test_editions_of_the_iiw_threshold_differ() -> None:
    names = law_sets.threshold_names()
    assert {"iiw-2008/steel", "iiw-2016/steel"} <= set(names)
    older, newer = (law_sets.named_threshold(f"iiw-{year}/steel") for year in (2008, 2016))
    assert older.range_mpa_sqrt_mm(0.0) != newer.range_mpa_sqrt_mm(0.0)


def test_bad_laws_are_refused() -> None:
    stage = law.Stage(coefficient=1e-12, exponent=3.0)
    with pytest.raises(UnknownError, match="units"):
        law.convert_coefficient(1.0, 3.0, "ksi-in")
    with pytest.raises(InputError, match="coefficient"):
        law.Stage(coefficient=0.0, exponent=3.0)
    with pytest.raises(InputError, match="exponent"):
        law.Stage(coefficient=1.0, exponent=-1.0)
    with pytest.raises(InputError, match="one or two stages"):
        law.GrowthLaw(low=())
    with pytest.raises(InputError, match="differ in exponent"):
        law.GrowthLaw(low=(stage, stage))
    with pytest.raises(InputError, match="at least 0"):
        law.Threshold(intercept_mpa_sqrt_mm=-1.0)
    for kind, constants in (("forman", {}), ("walker", {}), ("newman", {"constraint": 1.0})):
        with pytest.raises(InputError, match="needs"):
            LoadRatioEffect(kind=kind, **constants)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="does not take"):
        LoadRatioEffect(kind="elber", walker_exponent=0.5)
    with pytest.raises(InputError, match="walker_exponent"):
        LoadRatioEffect(kind="walker", walker_exponent=1.1)
    with pytest.raises(InputError, match="toughness"):
        LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=0.0)
    with pytest.raises(UnknownError, match="growth law"):
        law_sets.named_law("nobody/steel")
    with pytest.raises(UnknownError, match="threshold"):
        law_sets.named_threshold("nobody/steel")
    with pytest.raises(UnknownError, match="opening function"):
        closure.linear_opening("nobody", 0.0)
    with pytest.raises(InputError, match="load_ratio must lie in"):
        closure.newman_opening(1.0, 1.0, 0.3)


def test_events_change_sign_at_the_kinks() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    low, high = (float(law.transition_mpa_sqrt_mm(s)) for s in (growth.low, growth.high))
    rows = growth.events(np.array([63.0, high, low]), np.array([0.5, 0.5, 0.5]))
    assert rows[0, 0] == pytest.approx(0.0)
    assert rows[2, 1] == pytest.approx(0.0)
    assert rows[1, 2] == pytest.approx(0.0)


def test_what_is_no_number_does_not_stand_still() -> None:
    """A range that cannot be computed must not look like one below the threshold."""
    own = law.paris(1e-12, 3.0, threshold_mpa_sqrt_mm=60.0)
    assert np.isnan(own.rate_mm_per_cycle([np.nan, 10.0])).tolist() == [True, False]

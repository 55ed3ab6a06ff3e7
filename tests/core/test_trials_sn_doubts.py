"""Doubts of a series: slopes that tests contradict, repeats, run-outs given as failures, units, limits."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import InputError
from fatcore.trials import TrialSeries, compare_series, evaluate_series, position_of
from fatcore.trials.sn import line
from fatcore.trials.sn.fit import fit_line
from fatcore.trials.sn.given_slope import slope_contradiction
from fatcore.trials.sn.series_findings import series_findings

RANGES = np.repeat([100.0, 140.0, 200.0, 280.0], 3)
ASKED: dict[str, Any] = {"rule": "tolerance", "survival_probability": 0.95, "confidence": 0.9}
SLOPES = {"fixed-slope-doubtful", "fixed-slope-contradicted", "fixed-slope-not-tested"}


def series(seed: int = 1, *, ranges: Any = RANGES, stop: float = np.inf, scatter: float = 0.2) -> TrialSeries:
    draws = np.random.default_rng(seed).standard_normal(len(ranges))
    life = 10.0 ** (12.3 - 3.0 * np.log10(ranges) + scatter * draws)
    return TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life >= stop)


def evaluated(given: TrialSeries, **other: Any) -> set[str]:
    return {each.code for each in evaluate_series(given, **{**ASKED, **other}).findings}


def messages(given: TrialSeries, code: str, **other: Any) -> str:
    found = evaluate_series(given, **{**ASKED, **other}).findings
    return next(each.message for each in found if each.code == code)


@pytest.mark.parametrize("slope", [2.0, 3.3, 5.0])
def test_the_chance_of_a_given_slope_is_that_of_the_t_of_linear_regression(slope: float) -> None:
    given = series()
    tested = slope_contradiction(given, fit_line(given, slope))
    assert tested is not None
    line_of = stats.linregress(given.log10_range, given.log10_life)
    assert tested.slope == pytest.approx(-line_of.slope)
    statistic = (line_of.slope + slope) / line_of.stderr
    assert tested.chance == pytest.approx(2.0 * stats.t.sf(abs(statistic), len(RANGES) - 2), rel=1e-6)


@pytest.mark.parametrize("stop", [np.inf, 10**6.1])
def test_a_given_slope_that_the_tests_contradict_is_said_by_how_much(stop: float) -> None:
    said = [evaluated(series(stop=stop), fixed_slope=slope) & SLOPES for slope in (3.0, 5.0, 7.0)]
    assert said[0] == set()
    assert said[-1] == {"fixed-slope-contradicted"}
    assert "outside them" in messages(series(stop=stop), "fixed-slope-contradicted", fixed_slope=7.0)
    assert not evaluated(series(stop=stop)) & SLOPES


def test_between_one_and_five_percent_a_given_slope_is_doubtful() -> None:
    given = series()
    own = stats.linregress(given.log10_range, given.log10_life)
    for chance, code in ((0.06, set()), (0.04, {"fixed-slope-doubtful"}), (0.009, {"fixed-slope-contradicted"})):
        slope = -own.slope + own.stderr * stats.t.isf(0.5 * chance, len(RANGES) - 2)
        assert evaluated(given, fixed_slope=slope) & SLOPES == code


def test_a_given_slope_is_contradicted_by_chance_as_often_as_said() -> None:
    stops = (np.inf, 10**6.2)
    chances = [
        [tested.chance for seed in range(300) if (tested := _chance(series(seed, stop=stop))) is not None]
        for stop in stops
    ]
    for each in chances:
        assert len(each) == 300
        assert 0.02 < np.mean(np.array(each) < 0.05) < 0.09


def _chance(given: TrialSeries) -> Any:
    return slope_contradiction(given, fit_line(given, 3.0))


def test_a_given_slope_that_no_test_can_contradict_is_said() -> None:
    one_range = series(ranges=np.repeat([100.0], 6))
    two = TrialSeries(range_mpa=[100.0, 200.0], life_cycles=[1e6, 2e5])
    exact = TrialSeries(range_mpa=[100.0, 200.0, 400.0], life_cycles=[8e6, 1e6, 1.25e5])
    for given in (one_range, two):
        assert evaluated(given, fixed_slope=3.0) & SLOPES == {"fixed-slope-not-tested"}
    assert evaluated(exact, fixed_slope=4.0) & SLOPES == {"fixed-slope-not-tested"}


def test_a_curve_that_is_moved_later_loses_its_confidence_and_this_is_said() -> None:
    assert "curve-moved-later" in evaluated(series())


def test_failures_that_repeat_exactly_are_said_and_a_series_that_is_there_twice_is_refused() -> None:
    given = series()
    lives = np.asarray(given.life_cycles).copy()
    lives[1] = lives[0]
    once = TrialSeries(range_mpa=RANGES, life_cycles=lives)
    assert "tests-repeated" in evaluated(once)
    assert "2 failures" in messages(once, "tests-repeated")
    assert "tests-repeated" not in evaluated(given)
    assert "tests-repeated" in {each.code for each in compare_series(once, given, confidence=0.9).findings}
    with pytest.raises(InputError, match="is here twice") as caught:
        TrialSeries(range_mpa=np.tile(RANGES, 2), life_cycles=np.tile(given.life_cycles, 2))
    assert caught.value.path == ("life_cycles",)
    # run-outs repeat range and life as a matter of course
    stopped = TrialSeries(
        range_mpa=[*RANGES, 80.0, 80.0],
        life_cycles=[*given.life_cycles, 1e7, 1e7],
        run_out=[False] * len(RANGES) + [True, True],
    )
    assert not evaluated(stopped) & {"tests-repeated", "failures-look-like-run-outs"}


@pytest.mark.parametrize("flags", [(False, False), (True, False)])
def test_failures_that_share_the_largest_life_look_like_run_outs(flags: tuple[bool, bool]) -> None:
    given = TrialSeries(
        range_mpa=[*RANGES, 80.0, 90.0],
        life_cycles=[*series().life_cycles, 1e7, 1e7],
        run_out=[False] * len(RANGES) + list(flags),
    )
    assert "failures-look-like-run-outs" in evaluated(given)
    curve = user_defined_curve(
        name="own", origin="a test", stress_kind="nominal", log10_constants=(12.0,), slopes=(3.0,)
    )
    assert "failures-look-like-run-outs" in {each.code for each in position_of(given, curve).findings}


def test_lives_that_look_like_thousands_of_cycles_are_said() -> None:
    given = series()
    thousands = TrialSeries(range_mpa=RANGES, life_cycles=np.asarray(given.life_cycles) / 1e4)
    assert "lives-short" in evaluated(thousands)
    assert "thousands or millions" in messages(thousands, "lives-short")
    assert "lives-short" not in evaluated(given)


def test_too_many_samples_are_refused_before_anything_is_calculated(monkeypatch: pytest.MonkeyPatch) -> None:
    def calculated(*_: Any) -> Any:
        raise AssertionError

    monkeypatch.setattr(line, "fit_line", calculated)
    long = series(ranges=np.tile(RANGES, 10))
    with pytest.raises(InputError, match="may reach 1") as caught:
        evaluated(long, resamples=20_000, seed=1)
    assert caught.value.path == ("resamples",)


def test_long_series_with_run_outs_take_the_depth_at_places_between_their_ends() -> None:
    ranges = np.geomspace(100.0, 280.0, 150)
    given = series(ranges=ranges, stop=10**6.1)
    found = evaluate_series(given, **ASKED, range_mpa=np.asarray(given.range_mpa))
    below = found.design_curve.life_cycles(found.range_mpa)
    assert (below <= found.life_tolerance_cycles * (1.0 + 1e-9)).all()


@pytest.mark.parametrize(("ranges", "told"), [(RANGES, False), (np.repeat(RANGES, 5), True), (RANGES[::3], True)])
def test_the_limit_by_likelihood_says_what_was_simulated_by_the_number_of_tests(ranges: Any, told: bool) -> None:
    text = messages(series(ranges=ranges), "limit-by-likelihood", distribution="smallest-extreme-value")
    assert ("was not simulated" in text) == told


def test_lives_that_differ_by_a_cycle_are_near_copies() -> None:
    x = np.tile([200.0, 170.0, 140.0, 115.0], 2)
    y = np.array([1e5, 2e5, 4e5, 8e5])
    copied = TrialSeries(range_mpa=x, life_cycles=np.concatenate([y, y + 1.0]))
    assert "near-copies" in {each.code for each in series_findings(copied)}
    apart = TrialSeries(range_mpa=x, life_cycles=np.concatenate([y, 1.01 * y]))
    assert "near-copies" not in {each.code for each in series_findings(apart)}


def test_a_series_compared_with_itself_is_said() -> None:
    one = TrialSeries(range_mpa=[200.0, 170.0, 140.0, 115.0], life_cycles=[1e5, 2.2e5, 3.9e5, 8e5])
    found = compare_series(one, one, confidence=0.9)
    assert "near-copies" in {each.code for each in found.findings}
    other = TrialSeries(range_mpa=[200.0, 170.0, 140.0, 115.0], life_cycles=[1.1e5, 2.2e5, 4.9e5, 7e5])
    assert "near-copies" not in {each.code for each in compare_series(one, other, confidence=0.9).findings}


def test_a_difference_counts_below_the_significance_whatever_the_confidence() -> None:
    one = TrialSeries(range_mpa=[200.0, 170.0, 140.0, 115.0], life_cycles=[1e5, 2.2e5, 3.9e5, 8e5])
    other = TrialSeries(range_mpa=[200.0, 170.0, 140.0, 115.0], life_cycles=[1.2e5, 2.6e5, 4.9e5, 8.8e5])
    chance = compare_series(one, other, confidence=0.9).level.chance
    assert chance < 0.45
    for confidence in (0.6, 0.99):
        for share in (0.9, 1.1):
            found = compare_series(one, other, confidence=confidence, significance=share * chance)
            assert found.level.differ == (share > 1.0)

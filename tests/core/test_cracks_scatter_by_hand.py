"""Scatter of lives by hand: quantiles and ranks of a few numbers, single cracks beside many."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.load_blocks import block_loading, constant_loading
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.scatter import _single_cracks
from fatcore.cracks.scatter._lives import lives, sample_law
from fatcore.cracks.scatter._quantiles import convergence, quantile_at, quantile_bounds, rank_correlation
from fatcore.cracks.scatter._single_cracks import Task, alive, grow_single_cracks, samples_of
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.findings import caution, note

CRACK = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=12.0, half_width_mm=60.0)
STRESS = Stress(membrane_mpa=80.0, bending_mpa=60.0)
STEEL = paris(5.21e-13, 3.0)
ONE = Distribution(kind="fixed", mean=1.0)
INF = np.inf


def task(loading: Any = None, last: float = 8.0, **variables: Distribution) -> Task:
    drive = Drive(law=STEEL, loading=loading or constant_loading(), condition="as-welded")
    return Task(CRACK, STRESS, drive, variables, last)


# quantiles


def test_quantiles_lie_on_straight_lines_between_the_ordered_lives() -> None:
    ordered = np.array([1.0, 2.0, 4.0, 8.0])
    found = [quantile_at(ordered, q) for q in (0.0, 0.25, 0.5, 2.0 / 3.0, 1.0)]
    assert found == pytest.approx([1.0, 1.75, 3.0, 4.0, 8.0])
    some = np.array([1.0, 2.0, INF])
    assert quantile_at(some, 0.5) == 2.0
    assert quantile_at(some, 0.51) is None


def test_bounds_of_a_quantile_are_those_of_the_binomial_count() -> None:
    """The count below a quantile of n has the deviation sqrt(n q (1 - q)); 95 % lie within 1.95996 of it."""
    ordered = np.arange(100.0)
    half = 1.959964 * np.sqrt(0.25 / 100.0)
    assert quantile_bounds(ordered, 0.5) == pytest.approx((99.0 * (0.5 - half), 99.0 * (0.5 + half)), rel=1e-6)
    assert convergence(ordered) == pytest.approx(99.0 * half / 49.5, rel=1e-6)
    skew = 1.959964 * np.sqrt(0.8 * 0.2 / 100.0)
    assert quantile_bounds(ordered, 0.8) == pytest.approx((99.0 * (0.8 - skew), 99.0 * (0.8 + skew)), rel=1e-6)
    few = np.array([3.0, 4.0, 5.0, 6.0])
    assert quantile_bounds(few, 0.01)[0] == 3.0
    assert quantile_bounds(few, 0.99)[1] == 6.0


def test_there_is_no_convergence_to_a_median_of_nothing_or_with_an_infinite_bound() -> None:
    assert convergence(np.zeros(100)) is None
    assert convergence(np.array([*range(1, 52), *[INF] * 40], dtype=float)) is None
    assert convergence(np.array([*[INF] * 40])) is None


def test_ranks_of_equal_lives_are_their_mean_rank() -> None:
    """Ranks 1, 2, 3 beside 1, 2.5, 2.5: products 1.5, squares 2 and 1.5."""
    found = rank_correlation(np.array([10.0, 20.0, 400.0]), np.array([3.0, INF, INF]))
    assert found == pytest.approx(1.5 / np.sqrt(2.0 * 1.5))
    assert rank_correlation(np.array([1.0, 2.0, 3.0, 4.0]), np.array([9.0, 8.0, 7.0, 1.0])) == pytest.approx(-1.0)
    assert rank_correlation(np.ones(3), np.array([1.0, 2.0, 3.0])) == 0.0
    assert rank_correlation(np.array([1.0, 2.0, 3.0]), np.ones(3)) == 0.0


# single cracks


def test_inputs_of_the_cracks_are_drawn_or_those_given() -> None:
    two = np.array([2.0, 3.0])
    plain = samples_of(task(), {}, 2)
    assert plain.depth_mm.tolist() == [0.5, 0.5]
    assert plain.half_length_mm.tolist() == [1.0, 1.0]
    assert plain.k_factor.tolist() == plain.first_factor.tolist() == plain.last_factor.tolist() == [1.0, 1.0]
    assert plain.threshold_mpa_sqrt_mm is None
    names = ("stress_factor", "concentration_factor", "intensity_factor")
    every = samples_of(task(), dict.fromkeys(names, two), 2)
    assert every.k_factor.tolist() == [8.0, 27.0]
    assert samples_of(task(), {"intensity_factor": two}, 2).k_factor.tolist() == [2.0, 3.0]
    sizes = samples_of(task(), {"depth_mm": two, "aspect_ratio": np.array([0.5, 2.0])}, 2)
    assert (sizes.depth_mm.tolist(), sizes.half_length_mm.tolist()) == ([2.0, 3.0], [4.0, 1.5])
    shape_kept = samples_of(task(), {"depth_mm": two}, 2)
    assert shape_kept.half_length_mm.tolist() == [4.0, 6.0]
    first = samples_of(task(), {"first_coefficient_factor": two, "threshold_mpa_sqrt_mm": 10.0 * two}, 2)
    assert (first.first_factor.tolist(), first.last_factor.tolist()) == ([2.0, 3.0], [1.0, 1.0])
    assert first.threshold_mpa_sqrt_mm is not None
    assert first.part(np.array([False, True])).threshold_mpa_sqrt_mm.tolist() == [30.0]  # type: ignore[union-attr]


def test_a_crack_as_deep_or_as_wide_as_its_end_does_not_live() -> None:
    one = samples_of(task(), {}, 4)
    sizes = {"depth_mm": np.array([7.9, 8.0, 1.0, 1.0]), "half_length_mm": np.array([9.0, 9.0, 59.9, 60.0])}
    assert alive(task(), replace(one, **sizes)).tolist() == [True, False, True, False]
    wide = task()._replace(crack=replace(CRACK, half_width_mm=None))
    assert alive(wide, replace(one, **sizes)).tolist() == [True, False, True, True]


def test_factors_multiply_the_constants_of_the_first_and_the_last_stage() -> None:
    low, high = Stage(coefficient=2.0, exponent=4.0), Stage(coefficient=3.0, exponent=3.0)
    samples = replace(samples_of(task(), {}, 2), first_factor=np.array([1.0, 5.0]), last_factor=np.array([7.0, 1.0]))
    two = sample_law(GrowthLaw(low=(low, high)), samples)
    assert [np.asarray(stage.coefficient).tolist() for stage in two.low] == [[2.0, 10.0], [21.0, 3.0]]
    assert [stage.exponent for stage in two.low] == [4.0, 3.0]
    one = sample_law(GrowthLaw(low=(high,), high=(low, high)), samples)
    assert [np.asarray(stage.coefficient).tolist() for stage in one.low] == [[21.0, 3.0]]
    assert [np.asarray(stage.coefficient).tolist() for stage in one.high] == [[2.0, 10.0], [21.0, 3.0]]
    threshold = Threshold(intercept_mpa_sqrt_mm=63.0)
    kept = sample_law(GrowthLaw(low=(low,), threshold=threshold), samples)
    assert kept.threshold is threshold
    drawn = sample_law(GrowthLaw(low=(low,), threshold=threshold), replace(samples, threshold_mpa_sqrt_mm=np.ones(2)))
    assert np.asarray(drawn.threshold.intercept_mpa_sqrt_mm).tolist() == [1.0, 1.0]


def test_a_single_crack_has_plain_numbers_and_its_own_load() -> None:
    path = Stress(distance_mm=(0.0, 12.0), stress_mpa=(100.0, 40.0), static_membrane_mpa=30.0, static_bending_mpa=5.0)
    scaled = _single_cracks._scale(path, 1.5)
    assert scaled == replace(path, stress_mpa=(150.0, 60.0))
    assert _single_cracks._scale(STRESS, 2.0) == Stress(membrane_mpa=160.0, bending_mpa=120.0)
    samples = replace(samples_of(task(), {}, 1), threshold_mpa_sqrt_mm=np.array([20.0]), last_factor=np.array([3.0]))
    plain = _single_cracks._single(sample_law(STEEL, samples))
    (stage,) = plain.low
    assert (stage.coefficient, stage.exponent) == pytest.approx((3 * 5.21e-13, 3.0))
    assert plain.threshold.intercept_mpa_sqrt_mm == 20.0
    assert all(isinstance(value, float) for value in (stage.coefficient, plain.threshold.intercept_mpa_sqrt_mm))


def columns(count: int) -> dict[str, Any]:
    return {"stress_factor": np.linspace(1.0, 1.3, count)}


def found_lives(this: Task, given: dict[str, Any], count: int) -> Any:
    return lives(this.crack, this.stress, this.drive, samples_of(this, given, count), this.last_depth_mm, 1e-4)


def test_the_largest_difference_of_the_first_sixteen_is_the_error() -> None:
    this, given = task(stress_factor=ONE), columns(18)
    quick = found_lives(this, given, 18)
    wrong = quick.copy()
    wrong[4] *= 1.03
    wrong[9] *= 1.005
    wrong[17] *= 2.0  # is not looked at
    grown = grow_single_cracks(this, given, wrong)
    assert grown.verified_samples == 16
    assert grown.error == pytest.approx(0.03, abs=1e-4)
    (said,) = (each for each in grown.findings if each.code == "referee-disagrees")
    assert said.message.startswith("the quick integration of the lives differs by up to 3.00 %")
    assert said.field == "verification_error"
    good = grow_single_cracks(this, given, quick)
    assert good.error < 2e-4
    assert "referee-disagrees" not in {each.code for each in good.findings}
    assert good.averaging_error is None


def test_an_error_of_a_hundredth_is_not_doubted_yet() -> None:
    assert _single_cracks._of_error(0.01) == []
    assert [each.code for each in _single_cracks._of_error(0.0101)] == ["referee-disagrees"]


def test_the_largest_error_of_a_mean_over_blocks_is_that_of_the_shortest_life() -> None:
    blocks = block_loading([1.0, 0.5], [0.0, 0.0], [10.0, 90.0])
    this, given = task(loading=blocks, stress_factor=ONE), columns(3)
    grown = grow_single_cracks(this, given, found_lives(this, given, 3))
    single = [
        grow(
            crack=CRACK,
            stress=Stress(membrane_mpa=80.0 * factor, bending_mpa=60.0 * factor),
            law=STEEL,
            loading=blocks,
            end=EndCriteria(depth_mm=8.0),
        ).averaging_error
        for factor in (1.0, 1.15, 1.3)
    ]
    assert grown.averaging_error == pytest.approx(max(each for each in single if each is not None))
    assert grown.averaging_error != pytest.approx(min(each for each in single if each is not None), rel=0.1)


def test_the_shortest_and_the_first_infinite_life_are_grown_besides_the_first_sixteen() -> None:
    living = np.arange(2, 24)
    found = np.full(24, 9.0)
    found[[0, 20, 21, 22]] = 0.0, 5.0, INF, INF
    assert _single_cracks._telling(living, found) == [20, 21]
    found[3] = 4.0  # among the first: is grown anyway
    assert _single_cracks._telling(living, found) == [21]
    found[4] = INF
    assert _single_cracks._telling(living, found) == []
    assert _single_cracks._telling(living[:0], found) == []


def test_what_single_cracks_say_is_said_once_and_as_theirs() -> None:
    one, other = caution("one", "first", field="a"), note("one", "second", field="a")
    found = _single_cracks._merge([one], [[one, other], [other, caution("one", "third", field="b")]])
    start = "for one of the cracks drawn: "
    assert [each.message for each in found] == ["first", f"{start}second", f"{start}third"]


def test_of_a_median_that_is_at_its_end_the_crack_as_given_is_judged() -> None:
    """Two of three cracks are through from the start; a law for high load ratios alone says so of the given one."""
    given = {"depth_mm": np.array([9.0, 0.5, 9.0])}
    this = task(depth_mm=ONE)
    grown = grow_single_cracks(this, given, np.array([0.0, *found_lives(this, {}, 1), 0.0]))
    assert grown.verified_samples == 1
    none = grow_single_cracks(this, {"depth_mm": np.array([9.0])}, np.zeros(1))
    assert (none.error, none.verified_samples, none.averaging_error) == (0.0, 0, None)
    assert not any(each.message.startswith("for one of") for each in none.findings)

"""Utilisation of many stations: exact powers, knees, cut-offs, jumps, bounds, against scipy's root finder."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from fatcore.check import reserve
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray


def single(slope: float) -> Curve:
    return Curve.from_point(id="own", source="peak-stress-review-2020", range_mpa=100.0, slopes=[slope])


def used(curve: Curve, ranges_mpa: FloatArray, cycles: float) -> FloatArray:
    """Utilisation of stations, ranges (stations, cycles), each range so many times."""
    size = len(ranges_mpa)

    def damage(factor: FloatArray, rows: NDArray[np.intp]) -> FloatArray:
        return np.asarray(cycles * curve.damage_per_cycle(ranges_mpa[rows] * factor[:, None]).sum(axis=-1))

    cut_off = np.inf if curve.cut_off_mpa is not None else max(curve.slopes)
    return reserve.utilisations(
        damage,
        damage(np.ones(size), np.arange(size)),
        (ranges_mpa > 0.0).any(axis=-1),
        np.full(size, min(curve.slopes)),
        np.full(size, cut_off),
        1.0,
    )


@given(stress=st.floats(1.0, 500.0), cycles=st.floats(1e3, 1e9), slope=st.sampled_from([3.0, 4.0, 5.0]))
def test_single_slope_is_the_root_of_the_damage(stress: float, cycles: float, slope: float) -> None:
    curve = single(slope)
    damage = float(curve.damage_per_cycle(stress)) * cycles
    assert used(curve, np.array([[stress]]), cycles)[0] == pytest.approx(damage ** (1.0 / slope), rel=1e-12)


@pytest.mark.parametrize("curve", ["en-1993-1-9-2005-normal-71", "iiw-2016-normal-steel-80"])
def test_many_stations_agree_with_a_root_finder_one_by_one(curve: str) -> None:
    """Knees and cut-offs: where the damage jumps over the limit the jump is the root."""
    line = catalogue.find_curve(curve, loading="variable")
    ranges = np.random.default_rng(3).lognormal(2.5, 1.2, (60, 40))
    found = used(line, ranges, 3e3)
    for row, value in zip(ranges, found, strict=True):
        root = brentq(
            lambda log, row=row: math.log(3e3 * line.damage_per_cycle(row * math.exp(log)).sum() + 1e-300),
            -8.0,
            8.0,
            xtol=1e-13,
        )
        assert 1.0 / value == pytest.approx(math.exp(root), rel=1e-11)


def test_below_the_cut_off_utilisation_is_the_distance_to_it() -> None:
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71", loading="variable")
    assert curve.cut_off_mpa is not None
    # so many cycles that the cut-off alone decides
    found = used(curve, np.array([[0.5], [0.25], [1e-9]]) * curve.cut_off_mpa, 1e12)
    np.testing.assert_allclose(found, [0.5, 0.25, 1e-9], rtol=1e-11)


def test_ranges_whose_damage_underflows_still_have_their_utilisation() -> None:
    assert used(single(5.0), np.array([[1e-80]]), 2e6)[0] == pytest.approx(1e-82, rel=1e-9)


def test_nothing_that_cycles_uses_nothing() -> None:
    assert used(single(3.0), np.zeros((2, 3)), 1.0).tolist() == [0.0, 0.0]


def test_damage_that_never_comes_is_told() -> None:
    true, slope = np.ones(1, dtype=np.bool_), np.full(1, 3.0)
    with pytest.raises(NotConvergedError, match="no factor"):
        reserve.utilisations(lambda factor, _: 0.0 * factor, np.zeros(1), true, slope, slope, 1.0)


def test_a_function_that_never_settles_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reserve, "MOST_STEPS", 1)
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71", loading="variable")
    with pytest.raises(NotConvergedError, match="settle"):
        used(curve, np.array([[50.0, 20.0, 35.0]]), 3e5)


@pytest.mark.parametrize("share", [1e-6, 0.3, 1.0, 7.0, 1e4])
def test_bounds_hold_the_exact_value_for_every_slope(share: float) -> None:
    low, high = reserve.bounds(np.array([share]), np.array([3.0]), np.array([5.0]))
    for slope in (3.0, 4.0, 5.0):
        assert low[0] * (1 - 1e-12) <= share ** (1.0 / slope) <= high[0] * (1 + 1e-12)


def test_a_cut_off_opens_the_bound_to_one() -> None:
    low, high = reserve.bounds(np.array([0.2, 8.0, 0.0]), np.full(3, 3.0), np.full(3, np.inf))
    np.testing.assert_allclose(high, [1.0, 2.0, 1.0])
    np.testing.assert_allclose(low, [0.2 ** (1 / 3), 1.0, 0.0])


@pytest.mark.parametrize("share", [0.995, 1.0, 1.005, 1.1])
def test_close_to_its_limit_the_root_lies_on_its_own_side_of_a_cut_off(share: float) -> None:
    curve = Curve.from_point(
        id="own", source="peak-stress-review-2020", range_mpa=100.0, slopes=[3.0], cut_off_cycles=1e8
    )
    assert used(curve, np.array([[100.0]]), 2e6 * share)[0] == pytest.approx(share ** (1.0 / 3.0), rel=1e-12)


@pytest.mark.parametrize("cycles", [1e3, 3e5, 1e6, 1e8])
def test_a_root_on_two_slopes_takes_few_looks_at_the_damage(cycles: float) -> None:
    """Halving from a factor apart to a part in ten million million would take more than forty."""
    curve = Curve.from_point(
        id="own", source="peak-stress-review-2020", range_mpa=100.0, slopes=[3.0, 5.0], knee_cycles=(1e7,)
    )
    looks: list[int] = []

    def damage(factor: FloatArray, rows: NDArray[np.intp]) -> FloatArray:
        looks.append(rows.size)
        ranges = np.array([80.0, 50.0, 30.0, 20.0]) * factor[:, None]
        return np.asarray(cycles * curve.damage_per_cycle(ranges).sum(axis=-1))

    one = np.ones(1)
    share = damage(one, np.zeros(1, dtype=np.intp))
    found = reserve.utilisations(damage, share, one > 0.0, 3.0 * one, 5.0 * one, 1.0)
    assert damage(1.0 / found, np.zeros(1, dtype=np.intp))[0] == pytest.approx(1.0, rel=1e-11)
    assert len(looks) <= 12

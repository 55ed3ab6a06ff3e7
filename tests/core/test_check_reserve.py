"""Utilisation by root finding: exact powers, knees, cut-offs, bounds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.check import reserve
from fatcore.curves import catalogue
from fatcore.curves.curve import Curve
from fatcore.errors import NotConvergedError


def single(slope: float) -> Curve:
    return Curve.from_point(id="own", source="peak-stress-review-2020", range_mpa=100.0, slopes=[slope])


@given(stress=st.floats(1.0, 500.0), cycles=st.floats(1e3, 1e9), slope=st.sampled_from([3.0, 4.0, 5.0]))
def test_single_slope_is_the_root_of_the_damage(stress: float, cycles: float, slope: float) -> None:
    curve = single(slope)
    damage = float(curve.damage_per_cycle(stress)) * cycles
    found = reserve.utilisation(
        lambda f: float(curve.damage_per_cycle(f * stress)) * cycles, np.array([stress]), [curve], 1.0
    )
    assert found == pytest.approx(damage ** (1.0 / slope), rel=1e-9)


def test_below_the_cut_off_utilisation_is_the_distance_to_it() -> None:
    curve = catalogue.find("en-1993-1-9-2005-normal-71", loading="variable")
    assert curve.cut_off_mpa is not None
    stress = 0.5 * curve.cut_off_mpa
    many = 1e12  # the cut-off alone decides
    found = reserve.utilisation(
        lambda f: float(curve.damage_per_cycle(f * stress)) * many, np.array([stress]), [curve], 1.0
    )
    assert found == pytest.approx(0.5, rel=1e-9)


def test_nothing_that_cycles_uses_nothing() -> None:
    assert reserve.utilisation(lambda _: 0.0, np.zeros(3), [single(3.0)], 1.0) == 0.0


def test_damage_that_never_comes_is_told() -> None:
    with pytest.raises(NotConvergedError):
        reserve.utilisation(lambda _: 0.0, np.ones(1), [single(3.0)], 1.0)


@pytest.mark.parametrize("share", [1e-6, 0.3, 1.0, 7.0, 1e4])
def test_bounds_hold_the_exact_value_for_every_slope(share: float) -> None:
    low, high = reserve.bounds(share, [single(3.0), single(5.0)])
    for slope in (3.0, 4.0, 5.0):
        assert low * (1 - 1e-12) <= share ** (1.0 / slope) <= high * (1 + 1e-12)


def test_a_cut_off_opens_the_bound_to_one() -> None:
    curve = catalogue.find("en-1993-1-9-2005-normal-71", loading="variable")
    assert reserve.bounds(0.2, [curve])[1] == 1.0
    assert math.isclose(reserve.bounds(8.0, [curve])[1], 2.0)
    assert reserve.bounds(0.0, [curve]) == (0.0, 1.0)

"""Retardation: closed forms against loops over cycles, and effect on lives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.cracks.configurations.function_crack import FunctionCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving import retardation
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import Retardation, block_loading
from fatcore.cracks.driving.ranges import Condition
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow


def test_zones() -> None:
    assert retardation.plastic_zone_mm(1000.0, 500.0, "plane-stress") == pytest.approx(4.0 / (2.0 * np.pi))
    assert retardation.plastic_zone_mm(1000.0, 500.0, "plane-strain") == pytest.approx(4.0 / (6.0 * np.pi))
    assert retardation.plastic_zone_mm(-1.0, 500.0, "plane-stress") == 0.0


def overload_life_cycles(overload_zone_mm: float, zone_mm: float, rate_mm_per_cycle: float, exponent: float) -> float:
    """Cycles at constant range to grow out of the zone of one overload: the rule of Wheeler, integrated."""
    p = exponent + 1.0
    return (overload_zone_mm**p - zone_mm**p) / (p * zone_mm**exponent * rate_mm_per_cycle)


@settings(max_examples=15, deadline=None)
@given(exponent=st.floats(0.0, 4.0), overload=st.floats(1.05, 6.0))
def test_overload_life_against_a_loop(exponent: float, overload: float) -> None:
    zone, rate = 1.0, 1e-3
    size, cycles = 0.0, 0
    while size + zone < overload * zone:
        size += rate * (zone / (overload * zone - size)) ** exponent
        cycles += 1
        if cycles > 10_000:
            return
    expected = overload_life_cycles(overload * zone, zone, rate, exponent)
    assert cycles == pytest.approx(expected, rel=1e-2, abs=2.0)
    advance = retardation.wheeler_advance_mm(zone, overload * zone, rate, expected, exponent)
    assert advance == pytest.approx((overload - 1.0) * zone, rel=1e-9)


def test_advance_beyond_the_zone_and_without_one() -> None:
    left = overload_life_cycles(2.0, 1.0, 1e-3, 1.5)
    found = retardation.wheeler_advance_mm(1.0, 2.0, 1e-3, left + 100.0, 1.5)
    assert found == pytest.approx(1.0 + 0.1)
    assert retardation.wheeler_advance_mm(1.0, 1.0, 1e-3, 50.0, 1.5) == pytest.approx(0.05)
    assert retardation.wheeler_advance_mm(0.0, 2.0, 0.0, 50.0, 1.5) == 0.0


def test_reduced_ends_at_the_limits() -> None:
    """Just after the overload the required intensity is that of the overload; at the end of the zone none."""
    fresh = retardation.willenborg_reduced(100.0, 20.0, 150.0, 0.0)
    assert fresh.maximum_mpa_sqrt_mm == pytest.approx(50.0)
    assert fresh.minimum_mpa_sqrt_mm == 0.0
    gone = retardation.willenborg_reduced(100.0, 20.0, 150.0, 1.0)
    assert gone.maximum_mpa_sqrt_mm == 100.0
    assert gone.minimum_mpa_sqrt_mm == 20.0
    stopped = retardation.willenborg_reduced(100.0, 20.0, 250.0, 0.0)
    assert stopped.maximum_mpa_sqrt_mm == 0.0
    general = retardation.willenborg_reduced(100.0, 20.0, 150.0, 0.0, threshold_mpa_sqrt_mm=50.0, shut_off_ratio=2.5)
    assert general.maximum_mpa_sqrt_mm == pytest.approx(100.0 - 50.0 * 0.5 / 1.5)


def lives(model: Retardation | None, condition: Condition = "stress-relieved") -> float:
    block = block_loading([1.0, 1.8], [0.1, 0.1], [5000.0, 1.0], model)
    outcome = grow(
        crack=CentreCrack(half_length_mm=2.0),
        stress=Stress(membrane_mpa=100.0),
        law=paris(1e-13, 3.0),
        loading=block,
        end=EndCriteria(half_length_mm=10.0),
        condition=condition,
    )
    return float(outcome.life_cycles or np.inf)


def test_overloads_lengthen_the_life() -> None:
    plain = lives(None)
    assert lives(Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.5)) > 1.2 * plain
    assert lives(Retardation(yield_strength_mpa=355.0, model="willenborg")) > 1.2 * plain
    general = Retardation(yield_strength_mpa=355.0, model="willenborg", shut_off_ratio=3.0, threshold_mpa_sqrt_mm=63.0)
    assert plain < lives(general) < lives(Retardation(yield_strength_mpa=355.0, model="willenborg"))


def test_as_welded_the_range_is_not_cut_off_at_zero_load() -> None:
    """Residual stress holds the crack open: what is taken off both ends leaves the range as it is."""
    model = Retardation(yield_strength_mpa=355.0, model="willenborg")
    assert lives(model, "as-welded") == pytest.approx(lives(None, "as-welded"), rel=1e-9)


def test_wheeler_exponent_zero_changes_nothing() -> None:
    assert lives(Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=0.0)) == pytest.approx(
        lives(None), rel=1e-6
    )


def test_block_average_with_overloads_against_a_loop_over_cycles() -> None:
    """Constant intensity, so that the average over a block is exact in the limit of many blocks."""
    model = Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.3)
    block = block_loading([1.0, 1.5], [0.0, 0.0], [200.0, 2.0], model)
    crack = FunctionCrack(crack_size_mm=1.0, largest_mm=21.0, intensity=lambda a: np.full(np.shape(a), 800.0))
    law = paris(1e-12, 3.0)
    outcome = grow(crack=crack, law=law, loading=block)
    size, border, cycles, first = 0.0, 0.0, 0, True
    zones = [float(retardation.plastic_zone_mm(800.0 * f, 355.0, "plane-stress")) for f in (1.0, 1.5)]
    rates = [1e-12 * (800.0 * f) ** 3 for f in (1.0, 1.5)]
    while size < 21.0:
        for i, count in ((0, 200), (1, 2)):
            for _ in range(count):
                border = max(border, size + zones[i])
                left = border - size
                size += rates[i] * ((zones[i] / left) ** 1.3 if zones[i] < left else 1.0)
                cycles += 1
        if first:  # the average is of a block that follows another
            border, size, cycles, first = border + 1.0 - size, 1.0, 0, False
    assert outcome.life_cycles == pytest.approx(cycles, rel=2e-3)

"""Growth: closed forms, a loop over cycles, ends, blocks, thresholds, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.function_crack import FunctionCrack, family_crack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed, linear_parts_mpa
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving import law_sets, loading
from fatcore.cracks.driving.closed_form import (
    critical_crack_mm,
    equivalent_range,
    first_crack_mm,
    life_between_cycles,
)
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.ranges import effective_range
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.growth import _phase
from fatcore.cracks.growth._events import Ending
from fatcore.cracks.growth._life_findings import averaging_error
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.history import _share
from fatcore.cracks.growth.integration import integrate
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.errors import InputError, NotConvergedError, NotCoveredError, UnknownError

PARIS = paris(5.21e-13, 3.0)
CRACK = SurfaceCrack(depth_mm=0.2, half_length_mm=0.5, thickness_mm=10.0, half_width_mm=50.0)
MIXED = Stress(membrane_mpa=80.0, bending_mpa=60.0)


def life(crack: CrackConfiguration, stress: Stress, growth: GrowthLaw = PARIS, **more: object) -> GrowthOutcome:
    more.setdefault("loading", constant_loading())
    return grow(crack=crack, stress=stress, law=growth, **more)  # type: ignore[arg-type]


@settings(max_examples=40)
@given(
    exponent=st.floats(1.2, 8.0),
    first=st.floats(0.05, 2.0),
    times=st.floats(1.5, 500.0),
    stress=st.floats(20.0, 300.0),
)
def test_constant_geometry_factor_against_the_closed_form(
    exponent: float, first: float, times: float, stress: float
) -> None:
    growth = paris(1e-13, exponent)
    outcome = life(
        CentreCrack(half_length_mm=first),
        Stress(membrane_mpa=stress),
        growth,
        end=EndCriteria(half_length_mm=first * times),
    )
    expected = float(life_between_cycles(first, first * times, stress, 1e-13, exponent))
    assert outcome.life_cycles == pytest.approx(expected, rel=1e-8)
    assert outcome.end_reason == "length"


def test_closed_forms_are_inverse_and_guarded() -> None:
    for exponent in (2.0, 3.2):
        cycles = float(life_between_cycles(1.0, 9.0, 100.0, 1e-11, exponent))
        assert first_crack_mm(9.0, cycles, 100.0, 1e-11, exponent) == pytest.approx(1.0)
    assert critical_crack_mm(np.sqrt(np.pi) * 100.0, 100.0) == pytest.approx(1.0)
    with pytest.raises(InputError, match="less than the first"):
        life_between_cycles(2.0, 1.0, 100.0, 1e-12, 3.0)


def test_two_lengths_against_a_loop_over_cycles() -> None:
    """Every cycle for itself, both lengths growing: 0.1 %."""
    depth, length, cycles = 2.0, 4.0, 0
    while depth < 4.0:
        y = surface.front_factors(depth, length, 10.0, 50.0)
        root = (np.pi * depth) ** 0.5
        deep = (y.deepest_tension * 160.0 + y.deepest_bending * 120.0) * root
        shore = (y.surface_tension * 160.0 + y.surface_bending * 120.0) * root
        depth, length = depth + 5.21e-13 * deep**3, length + 5.21e-13 * shore**3
        cycles += 1
    crack = SurfaceCrack(depth_mm=2.0, half_length_mm=4.0, thickness_mm=10.0, half_width_mm=50.0)
    outcome = life(crack, Stress(membrane_mpa=160.0, bending_mpa=120.0), end=EndCriteria(depth_mm=4.0))
    assert outcome.life_cycles == pytest.approx(cycles, rel=1e-3)
    assert outcome.final_half_length_mm == pytest.approx(length, rel=1e-3)


@pytest.mark.parametrize("name", ["bs7910-2013/air-mean", "iiw-2016/steel", "bs7910-2013/marine-simplified"])
def test_two_lengths_against_a_general_integrator(name: str) -> None:
    """An implicit Runge-Kutta method in cycles from a reference library."""
    growth = law_sets.named_law(name)
    stress = Stress(membrane_mpa=140.0, bending_mpa=60.0)
    outcome = life(CRACK, stress, growth, end=EndCriteria(depth_mm=6.0))

    def slope(_: float, state: np.ndarray) -> list[float]:
        depth, length = float(np.exp(state[0])), float(np.exp(state[1]))
        y = surface.front_factors(depth, length, 10.0, 50.0)
        root = (np.pi * depth) ** 0.5
        k = [
            (y.deepest_tension * 140.0 + y.deepest_bending * 60.0) * root,
            (y.surface_tension * 140.0 + y.surface_bending * 60.0) * root,
        ]
        rates = growth.rate_mm_per_cycle(k, 0.5)
        return [1e6 * rates[0] / depth, 1e6 * rates[1] / length]

    def reached(_: float, state: np.ndarray) -> float:
        return float(state[0] - np.log(6.0))

    reached.terminal = True  # type: ignore[attr-defined]
    start = [np.log(0.2), np.log(0.5)]
    largest = 0.02 * (outcome.life_cycles or 1.0) / 1e6
    solved = solve_ivp(slope, (0.0, 1e4), start, "LSODA", rtol=1e-10, atol=1e-12, events=reached, max_step=largest)
    assert outcome.life_cycles == pytest.approx(1e6 * float(solved.t_events[0][0]), rel=2e-6)
    assert outcome.final_half_length_mm == pytest.approx(float(np.exp(solved.y_events[0][0][1])), rel=2e-6)


def test_tolerance_is_kept_at_kinks() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    rough, fine = (life(CRACK, MIXED, growth, tolerance=tol).life_cycles for tol in (1e-7, 1e-11))
    assert rough == pytest.approx(fine, rel=1e-7)


@given(factor=st.floats(0.2, 5.0))
@settings(max_examples=15)
def test_scaling_of_the_load(factor: float) -> None:
    """One stage without threshold: life falls with the load to the exponent; the shape stays."""
    one = life(CRACK, MIXED)
    other = life(CRACK, Stress(membrane_mpa=80.0 * factor, bending_mpa=60.0 * factor))
    assert other.life_cycles == pytest.approx((one.life_cycles or 0.0) / factor**3, rel=1e-8)
    assert other.final_half_length_mm == pytest.approx(one.final_half_length_mm, rel=1e-8)


def test_scaling_of_lengths() -> None:
    """All lengths doubled: K grows with the root of two."""
    twice = SurfaceCrack(depth_mm=0.4, half_length_mm=1.0, thickness_mm=20.0, half_width_mm=100.0)
    one, two = life(CRACK, MIXED).life_cycles, life(twice, MIXED).life_cycles
    assert two == pytest.approx((one or 0.0) * 2.0 / 2.0**1.5, rel=1e-8)


def test_history_is_ordered_and_consistent() -> None:
    history = life(CRACK, MIXED).history
    assert (np.diff(history.elapsed_cycles) > 0.0).all()
    assert (np.diff(history.depth_mm) > 0.0).all()
    assert history.depth_mm[0] == pytest.approx(0.2)
    assert history.elapsed_cycles[0] == 0.0
    assert history.half_length_mm is not None
    assert history.aspect_ratio == pytest.approx(history.depth_mm / history.half_length_mm)
    expected = 5.21e-13 * history.delta_k_deepest_mpa_sqrt_mm**3
    assert history.rate_deepest_mm_per_cycle == pytest.approx(expected)


def test_range_below_the_threshold_is_infinite() -> None:
    outcome = life(CRACK, Stress(membrane_mpa=5.0), law_sets.named_law("iiw-2016/steel"))
    assert outcome.life_cycles is None
    assert outcome.below_cutoff
    assert outcome.end_reason == "arrest"
    assert "below-threshold" in {f.code for f in outcome.findings}


def test_crack_that_comes_to_rest() -> None:
    """Intensity that falls below the threshold on the way, by a table."""
    table = IntensityTable([1.0, 2.0, 4.0], {"opening": [200.0, 120.0, 40.0]})
    growth = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=100.0)
    outcome = grow(crack=TabledCrack(crack_size_mm=1.0, table=table), law=growth, loading=constant_loading())
    assert outcome.below_cutoff
    assert outcome.life_cycles is None
    assert float(table.k(outcome.final_depth_mm or 0.0)) == pytest.approx(100.0, rel=1e-3)


def test_surface_point_may_wait_for_the_deepest() -> None:
    """Slender crack: the surface point starts below the threshold and wakes up later."""
    slender = SurfaceCrack(depth_mm=0.5, half_length_mm=5.0, thickness_mm=10.0)
    growth = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=100.0)
    outcome = life(slender, Stress(membrane_mpa=80.0), growth)
    assert outcome.history.rate_surface_mm_per_cycle is not None
    assert outcome.history.rate_surface_mm_per_cycle[0] == 0.0
    assert outcome.history.rate_surface_mm_per_cycle[-1] > 0.0
    assert outcome.end_reason == "through-thickness"


def test_pure_bending_stops_the_deepest_point_and_spreads() -> None:
    """Negative intensity at the deepest point is closed: the crack crosses the width, not the thickness."""
    bent = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=8.0, half_width_mm=20.0)
    outcome = life(bent, Stress(bending_mpa=150.0))
    assert outcome.end_reason == "across-width"
    assert (outcome.final_depth_mm or 9.0) < 8.0


def test_surface_crack_goes_on_through() -> None:
    outcome = life(CRACK, MIXED, end=EndCriteria(grow_through=True))
    assert outcome.end_reason == "separated"
    assert outcome.final_depth_mm == 10.0
    assert outcome.final_half_length_mm == pytest.approx(49.5, rel=1e-9)
    first = life(CRACK, MIXED)
    assert (outcome.life_cycles or 0.0) > (first.life_cycles or 0.0)


@pytest.mark.parametrize(
    ("end", "reason"),
    [
        (EndCriteria(toughness_mpa_sqrt_mm=600.0), "fracture"),
        (EndCriteria(yield_strength_mpa=150.0), "ligament-yield"),
        (
            EndCriteria(
                strength=Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=490.0, toughness_mpa_sqrt_mm=700.0)
            ),
            "failure-assessment",
        ),
        (EndCriteria(cycles=1000.0), "cycles"),
        (EndCriteria(half_length_mm=3.0), "length"),
        (EndCriteria(depth_mm=3.0), "size"),
    ],
)
def test_ends_are_met_exactly(end: EndCriteria, reason: str) -> None:
    outcome = life(CRACK, MIXED, end=end)
    assert outcome.end_reason == reason
    history = outcome.history
    if reason == "fracture":
        assert history.delta_k_surface_mpa_sqrt_mm is not None
        largest = max(history.delta_k_deepest_mpa_sqrt_mm[-1], history.delta_k_surface_mpa_sqrt_mm[-1])
        assert largest == pytest.approx(600.0, rel=1e-7)
    if reason == "cycles":
        assert outcome.life_cycles == pytest.approx(1000.0, rel=1e-9)
    if reason == "length":
        assert outcome.final_half_length_mm == pytest.approx(3.0, rel=1e-9)


def test_already_at_the_end() -> None:
    outcome = life(CRACK, MIXED, end=EndCriteria(toughness_mpa_sqrt_mm=1.0))
    assert outcome.life_cycles == 0.0
    assert "ended-at-start" in {f.code for f in outcome.findings}


def test_forman_law_runs_away() -> None:
    effect = LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=2000.0)
    growth = GrowthLaw(low=(Stage(coefficient=1e-9, exponent=3.0),), effect=effect)
    outcome = life(
        EdgeCrack(depth_mm=1.0, width_mm=100.0),
        Stress(membrane_mpa=100.0),
        growth,
        condition="stress-relieved",
    )
    assert outcome.end_reason == "unstable"
    assert "crack-runs" in {f.code for f in outcome.findings}
    assert outcome.history.delta_k_deepest_mpa_sqrt_mm[-1] == pytest.approx(2000.0, rel=1e-3)


def test_condition_chooses_range_and_constants() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    reversed_load = constant_loading(1.0, -1.0)
    stress = Stress(membrane_mpa=300.0)
    welded = life(CRACK, stress, growth, loading=reversed_load, condition="as-welded")
    relieved = life(CRACK, stress, growth, loading=reversed_load, condition="stress-relieved")
    assert (relieved.life_cycles or 0.0) > 8.0 * (welded.life_cycles or 0.0)
    pressed = life(CRACK, stress, growth, loading=constant_loading(-1.0, -2.0), condition="stress-relieved")
    assert pressed.below_cutoff


def test_lasting_stress_opens_a_crack_under_compression() -> None:
    growth = law_sets.named_law("bs7910-2013/air-mean")
    stress = Stress(membrane_mpa=150.0, static_membrane_mpa=400.0)
    outcome = life(CRACK, stress, growth, loading=constant_loading(-1.0, -2.0), condition="stress-relieved")
    assert outcome.life_cycles is not None


def test_path_of_constant_and_linear_stress_is_membrane_and_bending() -> None:
    """The weight functions are made for these two stresses; 1 %."""
    path = Stress(distance_mm=(0.0, 10.0), stress_mpa=(140.0, 20.0))
    direct = life(CRACK, MIXED, end=EndCriteria(depth_mm=6.0))
    by_path = life(CRACK, path, end=EndCriteria(depth_mm=6.0))
    assert by_path.life_cycles == pytest.approx(direct.life_cycles, rel=0.03)
    assert linear_parts_mpa((0.0, 10.0), (140.0, 20.0), 10.0) == pytest.approx((80.0, 60.0))
    edge = EdgeCrack(depth_mm=0.5, width_mm=10.0)
    flat = Stress(distance_mm=(0.0, 5.0), stress_mpa=(100.0, 100.0))
    pair = [life(edge, s, end=EndCriteria(depth_mm=6.0)).life_cycles for s in (flat, Stress(membrane_mpa=100.0))]
    assert pair[0] == pytest.approx(pair[1], rel=0.06)


def test_table_of_a_formula_gives_the_life_of_the_formula() -> None:
    sizes = np.geomspace(0.5, 20.0, 400)
    table = IntensityTable(sizes, {"opening": 100.0 * np.sqrt(np.pi * sizes)})
    outcome = grow(crack=TabledCrack(crack_size_mm=0.5, table=table), law=PARIS, loading=constant_loading())
    assert outcome.end_reason == "end-of-table"
    assert outcome.life_cycles == pytest.approx(float(life_between_cycles(0.5, 20.0, 100.0, 5.21e-13, 3.0)), rel=1e-5)
    assert not [f for f in outcome.findings if f.severity == "outside"]


def test_mixed_table_is_driven_by_the_effective_range() -> None:
    sizes = np.array([1.0, 10.0])
    columns = {"opening": [100.0, 100.0], "sliding": [100.0, 100.0], "tearing": [0.0, 0.0]}
    crack = TabledCrack(crack_size_mm=1.0, table=IntensityTable(sizes, columns))
    outcome = grow(crack=crack, law=PARIS, loading=constant_loading(), criterion="tangential-stress")
    assert outcome.history.delta_k_deepest_mpa_sqrt_mm[0] == pytest.approx(178.885, abs=1e-3)
    only = TabledCrack(crack_size_mm=1.0, table=IntensityTable(sizes, {"tearing": [100.0, 100.0]}))
    alone = grow(crack=only, law=PARIS, loading=constant_loading(), criterion="tanaka")
    assert alone.history.delta_k_deepest_mpa_sqrt_mm[0] == pytest.approx(183.8645, abs=1e-3)


def test_family_crack_is_the_same_as_the_configuration() -> None:
    crack = family_crack("edge-free", 1.0, 6.0, {"width_mm": 10.0, "membrane_mpa": 100.0})
    by_family = grow(crack=crack, law=PARIS, loading=constant_loading())
    crack = life(EdgeCrack(depth_mm=1.0, width_mm=10.0), Stress(membrane_mpa=100.0), end=EndCriteria(depth_mm=6.0))
    assert by_family.life_cycles == pytest.approx(crack.life_cycles, rel=1e-9)
    assert by_family.end_reason == "largest-size"


def test_blocks_of_equal_entries_are_constant_loading() -> None:
    one = life(CRACK, MIXED, loading=constant_loading(1.0, 0.1))
    many = life(CRACK, MIXED, loading=block_loading([1.0] * 3, [0.1] * 3, [5.0, 7.0, 1.0]))
    assert many.life_cycles == pytest.approx(one.life_cycles, rel=1e-9)
    assert many.life_blocks == pytest.approx((one.life_cycles or 0.0) / 13.0, rel=1e-9)
    assert many.averaging_error is not None
    assert many.averaging_error < 1e-3


def test_equivalent_range_gives_the_life_of_the_mix() -> None:
    mix = block_loading([1.0, 1.5, 2.0], [0.0, 0.0, 0.0], [80.0, 15.0, 5.0])
    factor = equivalent_range([1.0, 1.5, 2.0], [80.0, 15.0, 5.0], 3.0)
    same = life(CRACK, MIXED, loading=constant_loading(factor))
    assert life(CRACK, MIXED, loading=mix).life_cycles == pytest.approx(same.life_cycles, rel=1e-8)
    assert equivalent_range([0.0], [1.0], 3.0) == 0.0


@pytest.mark.uncounted
@pytest.mark.parametrize("counts", [[2000.0, 200.0], [100_000.0, 10_000.0], [500_000.0, 30_000.0]])
@pytest.mark.parametrize("turned", [False, True])
def test_block_average_against_a_walk_through_the_blocks(counts: list[float], turned: bool) -> None:
    """One length, order kept entry by entry, the strong entry last or first: within the stated error, from
    many blocks down to two or three."""
    order = slice(None, None, -1 if turned else 1)
    mix = block_loading([1.0, 2.5][order], [0.0, 0.5][order], counts[order])
    growth = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=150.0)
    crack = CentreCrack(half_length_mm=1.0)
    outcome = life(crack, Stress(membrane_mpa=80.0), growth, loading=mix, end=EndCriteria(half_length_mm=8.0))
    size, cycles = 1.0, 0.0
    while size < 8.0:
        for top, low, count in zip(mix.maximum, mix.minimum, mix.count, strict=True):
            for _ in range(100):
                k = 80.0 * (top - low) * np.sqrt(np.pi * size)
                size += float(growth.rate_mm_per_cycle(k, 0.5)) * count / 100.0
                cycles += count / 100.0
                if size >= 8.0:
                    break
            if size >= 8.0:
                break
    assert outcome.averaging_error is not None
    assert outcome.life_cycles == pytest.approx(cycles, rel=outcome.averaging_error)
    cautioned = "few-blocks" in {f.code for f in outcome.findings}
    cautioned |= "block-longer-than-life" in {f.code for f in outcome.findings}
    assert cautioned == (outcome.averaging_error > 0.05) == (counts[0] > 2000.0)


def test_a_coarse_block_average_is_a_caution_that_says_what_to_do() -> None:
    mix = block_loading([1.0, 2.5], [0.0, 0.5], [2e4, 2e3])
    outcome = life(CRACK, MIXED, loading=mix)
    found = {f.code: f for f in outcome.findings}["few-blocks"]
    assert found.severity == "caution"
    assert "entry by entry" in found.message
    assert outcome.averaging_error is not None
    assert 0.05 < outcome.averaging_error < 1.0


def test_a_block_that_moves_nothing_has_no_average_to_warn_of() -> None:
    mix = block_loading([1.0, 2.5], [0.0, 0.5], [1e7, 1e6])
    outcome = life(CRACK, Stress(membrane_mpa=2.0), law_sets.named_law("iiw-2016/steel"), loading=mix)
    assert outcome.below_cutoff
    assert outcome.averaging_error is None
    assert not {"few-blocks", "block-average"} & {f.code for f in outcome.findings}
    at_its_end = life(CRACK, MIXED, loading=mix, end=EndCriteria(depth_mm=0.1))
    assert at_its_end.life_cycles == 0.0
    assert at_its_end.averaging_error is None


@pytest.mark.parametrize("condition", ["as-welded", "stress-relieved"])
@pytest.mark.parametrize("form", ["plane", "solid"])
def test_life_at_a_toe_keeps_its_tolerance_through_the_thickness(form: str, condition: str) -> None:
    """The branches of the toe forms meet with a jump or a kink, and the solid form ends at the far side."""
    crack = SurfaceCrack(depth_mm=0.2, half_length_mm=0.4, thickness_mm=12.0, toe_footprint_mm=20.0, toe_form=form)
    growth = law_sets.named_law("bs7910-2013/air-mean")
    stress, around = Stress(membrane_mpa=120.0, bending_mpa=60.0), constant_loading(1.0, 0.1)
    lives = []
    for tolerance in (1e-7, 1e-10):
        outcome = life(crack, stress, growth, loading=around, condition=condition, tolerance=tolerance)
        assert outcome.end_reason == "through-thickness"
        lives.append(outcome.life_cycles)
    assert lives[0] == pytest.approx(lives[1], rel=2e-7)


WHEELER = Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.3)


@pytest.mark.parametrize(
    ("stress", "mix"),
    [
        (Stress(distance_mm=(0.0, 0.5, 1.5, 4.0, 10.0), stress_mpa=(180.0, 120.0, 90.0, 70.0, 20.0)), None),
        (MIXED, block_loading([1.0, 1.4, 2.2], [0.1, 0.0, -0.2], [900.0, 99.0, 1.0], WHEELER)),
    ],
)
def test_life_does_not_hang_on_the_last_bit(stress: Stress, mix: CrackLoading | None) -> None:
    """Kinks at path points and thresholds are stopped at, not felt for: rounding is not blown up."""
    growth = law_sets.named_law("bs7910-2013/air-mean")
    lives = []
    for shift in (0.0, 1e-15, 3e-15, 1e-14):
        crack = SurfaceCrack(depth_mm=0.2 * (1.0 + shift), half_length_mm=0.5, thickness_mm=10.0)
        outcome = life(crack, stress, growth, loading=mix or constant_loading(), end=EndCriteria(depth_mm=8.0))
        lives.append(outcome.life_cycles)
    assert lives == pytest.approx([lives[0]] * 4, rel=1e-11)


@pytest.mark.parametrize("form", ["plane", "solid"])
def test_a_toe_magnifies_a_path_as_it_magnifies_membrane_and_bending(form: str) -> None:
    at_toe = SurfaceCrack(depth_mm=0.2, half_length_mm=0.4, thickness_mm=12.0, toe_footprint_mm=20.0, toe_form=form)
    path = Stress(distance_mm=(0.0, 3.0, 12.0), stress_mpa=(140.0, 110.0, 20.0))
    one, other = life(at_toe, path, end=EndCriteria(depth_mm=8.0)), life(at_toe, MIXED, end=EndCriteria(depth_mm=8.0))
    assert one.life_cycles == pytest.approx(other.life_cycles, rel=1e-6)
    assert "toe-counted-twice" in {f.code for f in one.findings}
    assert "toe-counted-twice" not in {f.code for f in other.findings}


@pytest.mark.parametrize("name", ["bs7910-2013/air-mean", "iiw-2016/steel"])
def test_a_front_point_that_hovers_at_its_threshold_against_small_steps(name: str) -> None:
    """Bent plate: the surface point sleeps below its threshold and wakes as the depth grows, without end.

    The referee takes a thousandth of the size a step, with the rates of its start."""
    growth = law_sets.named_law(name)
    crack = SurfaceCrack(depth_mm=2.0, half_length_mm=5.8, thickness_mm=12.0, half_width_mm=40.0)
    cycle = constant_loading(0.808, 0.325)
    stressed = Stressed(crack, Stress(membrane_mpa=-18.0, bending_mpa=112.0), None)
    outcome = life(crack, stressed.stress, growth, loading=cycle, condition="stress-relieved")
    assert "hovers-at-threshold" in {f.code for f in outcome.findings}
    drive = loading.Drive(law=growth, loading=cycle, condition="stress-relieved")
    log_depth, log_length, cycles = np.log(2.0), np.log(5.8), 0.0
    last = np.log(outcome.final_depth_mm or 0.0) + np.log(outcome.final_half_length_mm or 0.0)
    while log_depth + log_length < last:
        depth, length = np.exp([log_depth]), np.exp([log_length])
        rates = drive.mean_rate(stressed.unit(depth, length, np.zeros((0, 1))))[:, 0]
        log_rates = rates / np.array([depth[0], length[0]])
        step = 1e-3 / log_rates.sum()
        log_depth, log_length, cycles = (
            log_depth + step * log_rates[0],
            log_length + step * log_rates[1],
            cycles + step,
        )
    assert outcome.life_cycles == pytest.approx(cycles, rel=5e-3)
    assert outcome.final_depth_mm == pytest.approx(np.exp(log_depth), rel=5e-3)


@pytest.mark.parametrize(("entries", "error"), [(10, 1e-6), (30, 3e-5), (300, 1e-4)])
def test_many_entries_with_thresholds_keep_the_stated_tolerance(entries: int, error: float) -> None:
    many = np.linspace(0.2, 1.0, entries)
    mix = block_loading(many, 0.0 * many, 1.0 + 0.0 * many)
    growth = law_sets.named_law("iiw-2016/steel")
    lives = [life(CRACK, MIXED, growth, loading=mix, tolerance=tol).life_cycles for tol in (None, 1e-8)]
    assert lives[0] == pytest.approx(lives[1], rel=error)


def test_given_intensity_overrides_sharing() -> None:
    table = IntensityTable([1.0, 2.0], {"opening": [100.0, 120.0]})
    crack = TabledCrack(crack_size_mm=1.0, table=table)
    outcome = life(crack, Stress(), sharing=Sharing(length_mm=10.0, grips="rigid"))
    assert "table-overrides-sharing" in {f.code for f in outcome.findings}
    assert outcome.life_extension_factor is None
    for stress in (Stress(membrane_mpa=10.0), Stress(static_membrane_mpa=10.0)):
        with pytest.raises(InputError, match="holds its stress"):
            life(crack, stress)


def test_validity_limits_travel_with_the_life() -> None:
    slender = SurfaceCrack(depth_mm=8.0, half_length_mm=80.0, thickness_mm=10.0, half_width_mm=100.0)
    codes = {f.code for f in life(slender, Stress(membrane_mpa=100.0)).findings}
    assert {"slender-crack-too-deep", "relative-width-outside", "deep-crack"} <= codes


def test_toe_shortens_the_life() -> None:
    at_toe, solid = (
        SurfaceCrack(depth_mm=0.2, half_length_mm=0.5, thickness_mm=10.0, toe_footprint_mm=20.0, toe_form=form)
        for form in ("plane", "solid")
    )
    plain = SurfaceCrack(depth_mm=0.2, half_length_mm=0.5, thickness_mm=10.0)
    lives = [life(crack, MIXED).life_cycles or 0.0 for crack in (at_toe, solid, plain)]
    assert max(lives[:2]) < lives[2]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: SurfaceCrack(depth_mm=10.0, half_length_mm=1.0, thickness_mm=10.0), "depth_mm"),
        (lambda: SurfaceCrack(depth_mm=1.0, half_length_mm=1.0, thickness_mm=-10.0), "thickness_mm"),
        (
            lambda: SurfaceCrack(depth_mm=1.0, half_length_mm=9.0, thickness_mm=10.0, half_width_mm=9.0),
            "half_length_mm",
        ),
        (lambda: EdgeCrack(depth_mm=10.0, width_mm=10.0), "depth_mm"),
        (lambda: EdgeCrack(depth_mm=1.0, width_mm=10.0, form="nobody"), "form"),
        (lambda: CentreCrack(half_length_mm=5.0, width_mm=10.0), "half_length_mm"),
        (lambda: FunctionCrack(crack_size_mm=2.0, largest_mm=1.0, intensity=np.sqrt), "largest_mm"),
        (
            lambda: TabledCrack(crack_size_mm=2.0, table=IntensityTable([1.0, 2.0], {"opening": [1.0, 1.0]})),
            "crack_size_mm",
        ),
        (lambda: Stress(membrane_mpa=1.0, distance_mm=(0.0, 1.0), stress_mpa=(1.0, 1.0)), "membrane_mpa"),
        (lambda: Stress(distance_mm=(0.5, 1.0), stress_mpa=(1.0, 1.0)), "distance_mm"),
        (lambda: Stress(distance_mm=(0.0, 1.0, 1.0), stress_mpa=(1.0, 1.0, 1.0)), "distance_mm"),
        (lambda: EndCriteria(depth_mm=-1.0), "depth_mm"),
        (lambda: EndCriteria(stiffness_ratio=1.0), "stiffness_ratio"),
        (lambda: block_loading([0.0], [1.0], [1.0]), "maximum"),
        (lambda: block_loading([1.0, 1.0], [0.0], [1.0, 1.0]), "minimum"),
        (lambda: Retardation(model="wheeler", yield_strength_mpa=0.0, exponent=1.5), "yield_strength_mpa"),
        (lambda: Retardation(model="wheeler", yield_strength_mpa=1.0, exponent=-1.0), "exponent"),
        (
            lambda: Retardation(model="wheeler", yield_strength_mpa=1.0, shut_off_ratio=1.0, exponent=1.5),
            "shut_off_ratio",
        ),
    ],
)
def test_bad_input_is_refused_by_name(make: object, field: str) -> None:
    with pytest.raises(InputError) as caught:
        make()  # type: ignore[operator]
    assert caught.value.path[0] == field


def test_an_end_by_a_size_that_the_crack_does_not_have_is_refused() -> None:
    edge, centre = EdgeCrack(depth_mm=1.0, width_mm=20.0), CentreCrack(half_length_mm=1.0, width_mm=20.0)
    gap = family_crack("root-gap", 4.0, 8.0, {"thickness_mm": 10.0, "leg_mm": 7.0, "membrane_mpa": 80.0})
    round_tube = FunctionCrack(crack_size_mm=1.0, largest_mm=2.0, intensity=np.sqrt, end_sizes=())
    ends = (
        (edge, EndCriteria(half_length_mm=3.0)),
        (centre, EndCriteria(depth_mm=3.0)),
        (gap, EndCriteria(depth_mm=5.0)),
        (round_tube, EndCriteria(depth_mm=1.5)),
    )
    for crack, end in ends:
        with pytest.raises(InputError, match="as an end it takes") as caught:
            life(crack, Stress() if crack.carries_stress else MIXED, end=end)
        assert caught.value.path[0] == "end"
    assert life(gap, Stress(), end=EndCriteria(half_length_mm=5.0)).final_depth_mm == pytest.approx(5.0, rel=1e-9)


def test_the_one_size_of_a_table_answers_to_either_name() -> None:
    crack = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 2.0, 4.0], {"opening": [100.0, 120.0, 140.0]}))
    ends = EndCriteria(depth_mm=3.0), EndCriteria(half_length_mm=3.0)
    assert life(crack, Stress(), end=ends[0]).life_cycles == life(crack, Stress(), end=ends[1]).life_cycles
    with pytest.raises(InputError, match="give one of them"):
        life(crack, Stress(), end=EndCriteria(depth_mm=3.0, half_length_mm=3.0))
    with pytest.raises(InputError, match="only with strength"):
        EndCriteria(line="older")


def test_ends_that_do_not_fit_are_refused() -> None:
    table = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 2.0], {"opening": [100.0, 120.0]}))
    with pytest.raises(InputError, match="needs sharing"):
        life(CRACK, MIXED, end=EndCriteria(stiffness_ratio=0.9))
    with pytest.raises(InputError, match="no ligament"):
        life(table, Stress(), end=EndCriteria(yield_strength_mpa=100.0))
    with pytest.raises(InputError, match="needs an end"):
        life(CentreCrack(half_length_mm=1.0), MIXED)
    path = Stress(distance_mm=(0.0, 1.0), stress_mpa=(1.0, 1.0))
    with pytest.raises(NotCoveredError, match="path"):
        life(CentreCrack(half_length_mm=1.0, width_mm=10.0), path)
    for crack in (table, FunctionCrack(crack_size_mm=1.0, largest_mm=2.0, intensity=np.sqrt)):
        with pytest.raises(InputError):
            _ = crack.section
        with pytest.raises(InputError):
            crack.lost_area_ratio(np.ones(1), np.ones(1))
        assert (crack.compliance_derivatives(np.ones(1), np.ones(1))[0] == 0.0).all()
        assert crack.unit_intensity(np.ones(1), np.ones(1))[0].shape == (1, 1)
        with pytest.raises(NotCoveredError, match="path"):
            _ = crack.wall_mm
        with pytest.raises(NotCoveredError, match="path"):
            crack.path_intensity(PathProfile([0.0], [1.0]), np.ones(1), np.ones(1))


def test_cut_step_keeps_its_polynomials() -> None:
    growth = GrowthLaw(low=(Stage(coefficient=1e-12, exponent=3.0),))
    drive = loading.Drive(law=growth, loading=constant_loading(), condition="as-welded")
    step = run_phase(Stressed(CRACK, MIXED, None), drive, EndCriteria(), 0.0, 1e-7).steps[0]
    part = step.cut(0.3)
    whole_at, part_at = step.at(np.array([-1.0, -0.35, 0.3])), part.at(np.array([-1.0, 0.0, 1.0]))
    for one, other in zip(whole_at, part_at, strict=True):
        assert other == pytest.approx(one, rel=1e-12, abs=1e-9)
    assert part.end().cycles == pytest.approx(float(whole_at[2][-1]), rel=1e-12)


def test_stress_path_in_a_narrow_plate_and_no_stress_to_share() -> None:
    path = Stress(distance_mm=(0.0, 10.0), stress_mpa=(140.0, 20.0))
    wide = SurfaceCrack(depth_mm=0.2, half_length_mm=0.5, thickness_mm=10.0)
    assert (life(wide, path).life_cycles or 0.0) > (life(CRACK, path).life_cycles or 0.0)
    table = IntensityTable([1.0, 2.0], {"sliding": [100.0, 120.0]})
    crack = TabledCrack(crack_size_mm=1.0, table=table)
    assert grow(crack=crack, law=PARIS, loading=constant_loading()).life_cycles is not None
    sharing = Sharing(length_mm=100.0, grips="rigid", plane="stress")
    with pytest.raises(InputError, match="nothing cycles"):
        life(CRACK, Stress(static_membrane_mpa=50.0), sharing=sharing)
    assert _share(np.ones(2), np.ones(2), (0.0, 0.0)) is None


def test_unknown_condition_is_refused() -> None:
    with pytest.raises(UnknownError, match="condition"):
        life(CRACK, MIXED, condition="painted")


def test_yield_of_a_wide_plate_and_too_many_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = SurfaceCrack(depth_mm=0.2, half_length_mm=0.5, thickness_mm=10.0)
    assert life(wide, MIXED, end=EndCriteria(yield_strength_mpa=150.0)).end_reason == "ligament-yield"
    monkeypatch.setattr("fatcore.cracks.growth._phase.MOST_STEPS", 1)
    with pytest.raises(NotConvergedError, match="did not reach"):
        life(wide, MIXED)


def test_steps_that_find_no_end_are_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fatcore.cracks.growth.integration.integrate.MOST_TRIALS", 1)
    with pytest.raises(NotConvergedError, match="within 1 trials"):
        life(CRACK, MIXED)


def test_path_that_stresses_nothing_within_the_wall_drives_nothing() -> None:
    beyond = Stress(distance_mm=(0.0, 10.0, 20.0), stress_mpa=(0.0, 0.0, 100.0))
    outcome = life(EdgeCrack(depth_mm=0.5, width_mm=10.0), beyond)
    assert (outcome.below_cutoff, outcome.life_cycles, outcome.final_depth_mm) == (True, None, 0.5)
    assert {"path-beyond-wall", "no-range"} <= {f.code for f in outcome.findings}


def test_inner_steps_at_their_limits() -> None:
    """An event function that is not finite shows no kink; a jump into nothing is not crossed; an end at the start."""
    assert integrate._way_to_kink(1.0, np.full((1, 10), np.nan)) is None
    for row in (np.array([1e-17, -1e-17] * 5), np.array([0.0, -5e-17, 0.0, 0.0, -1e-17] * 2)):
        place = integrate._way_to_kink(1.0, row[None])  # a change of sign that is one of rounding
        assert place is None or 0.0 <= place <= 1.0
    assert integrate._root(np.eye(10)[0], -0.5, 0.25, 1e-4) == -0.125
    growth = paris(1e-12, 3.0, threshold_mpa_sqrt_mm=1e6)
    drive = loading.Drive(law=growth, loading=constant_loading(), condition="as-welded")
    stressed = Stressed(CRACK, MIXED, None)
    start = _phase._start(stressed, 0.0)
    assert integrate._cross_jump(_phase._CrackGrowth(stressed, drive), start, 1e-6) is None
    running = loading.Drive(law=PARIS, loading=constant_loading(), condition="as-welded")
    growth_problem = _phase._CrackGrowth(stressed, running)
    crossed, solved = (
        integrate._cross_jump(growth_problem, start, 1e-6),
        integrate._solve(growth_problem, start._replace(depth_share=0.5), 1e-6, 1e-7).step,
    )
    assert crossed is not None
    assert solved is not None
    assert crossed.end().cycles == pytest.approx(solved.end().cycles, rel=1e-5)
    step = run_phase(stressed, running, EndCriteria(), 0.0, 1e-7).steps[0]
    before = Ending(EndCriteria(depth_mm=CRACK.depth_mm * 0.999), stressed, running)
    at_start = _phase._root(before, step, "size", 0)
    assert at_start == pytest.approx(-1.0, abs=1e-8)


def test_klesnil_form_threshold_in_growth() -> None:
    growth = GrowthLaw(
        low=(Stage(coefficient=1e-12, exponent=3.0),),
        threshold=Threshold(intercept_mpa_sqrt_mm=1e5, exponent=0.5),
    )
    assert life(CRACK, MIXED, growth).below_cutoff


def test_crack_as_long_as_the_plate_is_wide_has_nothing_to_go_on_in() -> None:
    long = SurfaceCrack(depth_mm=9.0, half_length_mm=19.7, thickness_mm=10.0, half_width_mm=20.0)
    outcome = life(long, Stress(membrane_mpa=100.0), end=EndCriteria(grow_through=True))
    assert outcome.end_reason in ("through-thickness", "across-width")
    wide = SurfaceCrack(depth_mm=9.999, half_length_mm=19.85, thickness_mm=10.0, half_width_mm=20.0)
    codes = {f.code for f in life(wide, Stress(membrane_mpa=100.0), end=EndCriteria(grow_through=True)).findings}
    assert "no-plate-left" in codes


def test_path_with_a_mesh_size_goes_on_through() -> None:
    path = Stress(distance_mm=(0.0, 10.0), stress_mpa=(140.0, 100.0), element_size_mm=1.0)
    assert life(CRACK, path, end=EndCriteria(grow_through=True)).end_reason == "separated"


def test_jumps_that_no_step_can_follow_are_stepped_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """Few steps are allowed, so that the coarse tolerance has to do; the life is that of the fine one."""
    many = np.linspace(0.05, 1.0, 40)
    mix = block_loading(many, 0.0 * many, 1.0 + 1000.0 * (1.0 - many) ** 3)
    growth = law_sets.named_law("iiw-2016/steel")
    fine = life(CRACK, MIXED, growth, loading=mix)
    monkeypatch.setattr("fatcore.cracks.growth._phase.MOST_STEPS", 15)
    coarse = life(CRACK, MIXED, growth, loading=mix)
    assert coarse.life_cycles == pytest.approx(fine.life_cycles, rel=1e-2)
    assert "coarse-integration" in {f.code for f in coarse.findings}
    assert "coarse-integration" not in {f.code for f in fine.findings}


def test_retarded_block_below_the_threshold_is_at_rest() -> None:
    slowed = Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.5)
    mix = block_loading([0.02, 0.01], [0.0, 0.0], [1.0, 1000.0], slowed)
    outcome = life(CRACK, MIXED, law_sets.named_law("iiw-2016/steel"), loading=mix)
    assert outcome.below_cutoff
    assert outcome.life_without_retardation_cycles is None


def test_willenborg_with_a_threshold_steps_over_its_jumps() -> None:
    many = np.linspace(0.3, 1.0, 12)
    slowed = Retardation(yield_strength_mpa=355.0, model="willenborg")
    mix = block_loading(many, 0.0 * many, 1.0 + 0.0 * many, slowed)
    growth = law_sets.named_law("iiw-2016/steel")
    quick, fine = (life(CRACK, MIXED, growth, loading=mix, tolerance=tol) for tol in (None, 1e-5))
    assert quick.life_cycles == pytest.approx(fine.life_cycles, rel=1e-3)


@pytest.mark.parametrize(
    ("ends", "ratio"), [((1.0, -1.0), 0.5), ((1.0, 0.2), 0.5), ((1.0, 0.8), 0.8), ((-0.2, -1.0), 0.5)]
)
def test_residual_stress_keeps_the_load_ratio_at_half(ends: tuple[float, float], ratio: float) -> None:
    found = effective_range(100.0, *ends, condition="as-welded")
    assert float(found.delta_k_mpa_sqrt_mm) == pytest.approx(100.0 * (ends[0] - ends[1]))
    assert float(found.load_ratio) == pytest.approx(ratio)


def test_an_entry_without_load_drives_no_mode_and_has_a_ratio() -> None:
    drive = loading.Drive(law=PARIS, loading=block_loading([1.0, 0.0], [0.1, 0.0], [1.0, 1.0]), condition="as-welded")
    unit = loading.UnitIntensity(np.array([[100.0]]), tearing=np.array([[40.0]]))
    found = drive.ranges(unit)
    assert found.delta_k_mpa_sqrt_mm[1].item() == 0.0
    assert np.isfinite(found.load_ratio).all()
    assert found.load_ratio[1].item() == 0.5


def test_error_of_the_block_mean_leaves_out_where_nothing_grows() -> None:
    mix = block_loading([1.0, 1.5], [0.0, 0.0], [100.0, 10.0])
    outcome = life(CRACK, MIXED, loading=mix)
    drive = loading.Drive(law=PARIS, loading=mix, condition="as-welded")
    known = averaging_error(outcome.history, drive)
    still = replace(
        outcome.history,
        rate_deepest_mm_per_cycle=np.append(outcome.history.rate_deepest_mm_per_cycle, 0.0),
        rate_surface_mm_per_cycle=np.append(outcome.history.rate_surface_mm_per_cycle, 0.0),
    )
    assert averaging_error(still, drive) == known == outcome.averaging_error

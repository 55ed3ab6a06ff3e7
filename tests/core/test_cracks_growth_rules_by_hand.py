"""Rules inside the growth of a crack by hand: a force that falls, ends by state, samples of a life, other lives."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.configuration import initial_compliance, reference_mpa
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.law import GrowthLaw, Stage, paris
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.growth import _events, _phase, _vanishing_drive, life
from fatcore.cracks.growth._events import Ending
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth._vanishing_drive import Falling, SeenForce, falling_drive, lowest_share
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.history import history_of
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.errors import NotConvergedError

EDGE = EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0)
PLATE = SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0, half_width_mm=50.0)
PULL = Stress(membrane_mpa=100.0)
STEEL = paris(5.21e-13, 3.0)
AROUND = Sharing(length_mm=200.0, grips="rigid", members=(Member(axial_stiffness_n_per_mm=2e5),))


def drive(loading: CrackLoading | None = None, **more: Any) -> Drive:
    return Drive(**({"law": STEEL, "loading": loading or constant_loading(), "condition": "as-welded"} | more))


def unit(*opening: float) -> UnitIntensity:
    return UnitIntensity(np.array([opening]))


def grown(**more: Any) -> GrowthOutcome:
    given = {"crack": EDGE, "stress": PULL, "law": STEEL, "loading": constant_loading()}
    return grow(**(given | {"end": EndCriteria(depth_mm=10.0)} | more))


# a driving force that falls


def fallen(*force: float, share: float = 0.1) -> Falling | None:
    return _vanishing_drive._fallen(np.array(force), np.arange(float(len(force))), np.ones(1), share)


def test_a_force_falls_when_it_comes_below_its_share_of_the_peak_before() -> None:
    assert fallen(1.0, 2.0, 4.0, 0.5, 3.0) is None
    assert fallen(1.0, 2.0, 4.0, 1.0, share=0.25) is None
    found = fallen(1.0, 2.0, 4.0, 3.0, 0.39, 9.0)
    assert found is not None
    assert (found.peak_mpa_sqrt_mm, found.peak_area_mm2, found.turns) == (4.0, 2.0, False)
    for last, turns in ((0.0, True), (-1.0, True), (0.01, False)):
        later = fallen(1.0, 4.0, 0.3, last)
        assert later is not None
        assert (later.peak_area_mm2, later.turns) == (1.0, turns)


def test_the_excess_of_a_falling_force_is_what_is_missing_to_a_tenth() -> None:
    falling = Falling(np.ones((1, 1, 1)), 200.0, 4.0, turns=False)
    areas = np.array([4.0, 4.001, 9.0])
    found = falling.excess(drive(), unit(2.0, 2.0, 30.0), areas, np.ones(3))
    assert found == pytest.approx(np.array([-1.0, 0.09, -0.05]))


def test_lowest_share_of_a_force_is_over_the_largest_before() -> None:
    assert lowest_share(drive(), unit(1.0, 4.0, 3.0, 8.0, 5.0)) == pytest.approx(5.0 / 8.0)
    assert lowest_share(drive(), unit(1.0, 4.0, 1.0, 8.0)) == pytest.approx(0.25)
    assert lowest_share(drive(), unit(1.0, 2.0)) == 1.0
    assert lowest_share(drive(), unit(0.0, 0.0)) == 1.0
    assert lowest_share(drive(), unit(2.0, -1.0)) == pytest.approx(-0.5)
    assert lowest_share(drive(), unit(-2.0, -1.0)) == pytest.approx(0.5)


def test_the_sign_of_a_force_is_that_of_its_first_drive_and_all_modes_turn_it() -> None:
    both = UnitIntensity(np.array([[0.0, -3.0, 2.0]]), sliding=np.array([[0.0, 4.0, 5.0]]))
    assert _vanishing_drive._signs(both).ravel().tolist() == [-1.0, 1.0]
    assert _vanishing_drive._signs(unit(0.0, 0.0)).ravel().tolist() == [1.0]
    size = drive().equivalent(both)[0]
    signs = np.array([[[1.0]], [[1.0]]])
    assert _vanishing_drive._force(drive(), both, signs).tolist() == pytest.approx([-size[0], size[1], size[2]])
    turned = _vanishing_drive._force(drive(), both, -np.array([[[-1.0]], [[1.0]]]))
    assert turned[1] == pytest.approx(-size[1])
    idle = UnitIntensity(np.array([[2.0, -3.0]]), sliding=np.zeros((1, 2)))
    assert _vanishing_drive._force(drive(), idle, _vanishing_drive._signs(idle)).tolist() == pytest.approx([2.0, -3.0])
    points = UnitIntensity(np.array([[2.0, -2.0], [-3.0, -3.0]]))
    assert _vanishing_drive._force(drive(), points, np.ones((1, 2, 1))).tolist() == [2.0, -2.0]


def test_steps_that_were_solved_remember_the_peak() -> None:
    """A fifth of the peak is near enough to look; the peak of one step counts in the next."""
    seen = SeenForce(drive())
    one = np.ones(3)
    assert seen.met(unit(1.0, 5.0, 3.0), np.array([1.0, 2.0, 3.0]), 2.0 * one) is None
    assert (seen.peak, seen.peak_area) == (5.0, 4.0)
    assert seen.met(unit(2.0, 1.5, 1.0), 4.0 * one, one) is None
    assert (seen.peak, seen.peak_area) == (5.0, 4.0)
    found = seen.met(unit(2.0, 0.99, 2.0), 5.0 * one, one)
    assert found is not None
    assert (found.peak_mpa_sqrt_mm, found.peak_area_mm2) == (5.0, 4.0)
    assert seen.met(unit(6.0, 7.0, 6.5), np.array([6.0, 7.0, 8.0]), one) is None
    assert (seen.peak, seen.peak_area) == (7.0, 7.0)


def test_a_force_is_foretold_for_one_length_with_an_end() -> None:
    falls = Stress(distance_mm=(0.0, 3.0, 40.0), stress_mpa=(300.0, 0.0, -100.0))
    found = falling_drive(Stressed(EDGE, falls, None), drive())
    assert found is not None
    assert found.turns
    assert falling_drive(Stressed(EDGE, PULL, None), drive()) is None
    assert falling_drive(Stressed(PLATE, replace(falls, distance_mm=(0.0, 3.0, 10.0)), None), drive()) is None
    assert falling_drive(Stressed(CentreCrack(half_length_mm=1.0), PULL, None), drive()) is None


def test_compliance_foretold_at_a_size_is_that_of_a_crack_of_that_size() -> None:
    stressed = Stressed(EDGE, PULL, AROUND)
    sizes = np.geomspace(1.0, 30.0, 600)
    added = _vanishing_drive._added(stressed, sizes)
    for i in (0, 300, 599):
        assert added[:, i] == pytest.approx(initial_compliance(EDGE, float(sizes[i]), float(sizes[i])), rel=1e-3)
    assert _vanishing_drive._added(Stressed(EDGE, PULL, None), sizes).shape == (0, 600)


# ends


@pytest.mark.parametrize(
    ("reason", "depth", "turns", "found"),
    [
        ("arrest", 2.001, True, "driving-force-vanishes"),
        ("arrest", 1.999, True, "arrest"),
        ("arrest", 2.001, False, "arrest"),
        ("unstable", 2.001, True, "unstable"),
    ],
)
def test_a_rest_behind_the_peak_of_a_force_that_turns_is_none(
    reason: str, depth: float, turns: bool, found: str
) -> None:
    ending = Ending(EndCriteria(), Stressed(EDGE, PULL, None), drive())
    ending.falling = Falling(np.ones(1), 1.0, 4.0, turns)
    assert ending.at_rest(reason, depth) == found
    two = Ending(EndCriteria(), Stressed(PLATE, PULL, None), drive())
    two.falling = ending.falling
    assert two.at_rest(reason, depth) == reason


def test_a_falling_force_is_looked_at_only_when_it_is_asked_for() -> None:
    ending = Ending(EndCriteria(cycles=10.0), Stressed(EDGE, PULL, None), drive())
    state = ((np.ones(1), np.ones(1)), np.array([15.0]), np.zeros((0, 1)))
    assert set(ending.excess(*state)) == {"separated", "cycles"}
    assert ending.excess(*state)["cycles"].tolist() == pytest.approx([0.5])
    ending.falling = Falling(np.ones((1, 1, 1)), 1e4, 0.5, turns=False)
    assert "driving-force-vanishes" in ending.excess(*state)
    assert "driving-force-vanishes" not in ending.excess(*state, "cycles")


def reference(stress: Stress, loading: CrackLoading, lasting: tuple[float, ...] = (0.0, 1.0)) -> float:
    half = np.array([8.0])
    crack = CentreCrack(half_length_mm=1.0, width_mm=40.0)
    stressed = Stressed(crack, stress, None)
    return float(_events._reference(stressed, drive(loading), (half, half), np.zeros((0, 1)), lasting)[0])


def plain(membrane: float, bending: float) -> float:
    half = np.array([8.0])
    crack = CentreCrack(half_length_mm=1.0, width_mm=40.0)
    return float(reference_mpa(crack, half, half, np.array([membrane]), np.array([bending]))[0])


def test_lasting_stress_without_load_counts_where_it_opens_the_crack() -> None:
    """Load factors 1 and 0.5: with 10 MPa of load each lasting stress is less than alone when both are opposite."""
    high = constant_loading(1.0, 0.5)
    pressed = Stress(membrane_mpa=10.0, static_membrane_mpa=-100.0)
    assert reference(pressed, high) == pytest.approx(plain(-95.0, 0.0))
    opened = Stress(membrane_mpa=-10.0, static_membrane_mpa=100.0)
    assert reference(opened, high) == pytest.approx(plain(100.0, 0.0))
    just = Stress(membrane_mpa=10.0, static_membrane_mpa=-100.0, static_bending_mpa=100.0)  # K is 0 on one side
    assert reference(just, high) == pytest.approx(max(plain(-95.0, 100.0), plain(-90.0, 100.0)))
    assert reference(opened, high, (0.0,)) == pytest.approx(plain(10.0, 0.0))


def test_ends_of_both_signs_of_the_load_count_with_and_without_what_lasts() -> None:
    turned = constant_loading(1.0, -2.0)
    assert reference(PULL, turned) == pytest.approx(plain(-200.0, 0.0))
    assert reference(replace(PULL, static_membrane_mpa=60.0), turned) == pytest.approx(plain(-200.0, 0.0))
    assert reference(replace(PULL, static_membrane_mpa=150.0), turned) == pytest.approx(plain(250.0, 0.0))
    assert reference(Stress(bending_mpa=30.0, static_bending_mpa=20.0), constant_loading()) == pytest.approx(
        plain(0.0, 50.0)
    )


def test_the_point_that_is_driven_most_fails() -> None:
    """Far from collapse the assessment line is at 1: the largest K, 100 + 50 MPa times sqrt(pi a), is the toughness."""
    brittle = Strength(yield_strength_mpa=9000.0, ultimate_strength_mpa=9500.0, toughness_mpa_sqrt_mm=1000.0)
    bent, end = Stress(membrane_mpa=100.0, bending_mpa=50.0), EndCriteria(strength=brittle)
    outcome = grown(crack=CentreCrack(half_length_mm=1.0), stress=bent, end=end)
    assert outcome.end_reason == "failure-assessment"
    assert 150.0 * np.sqrt(np.pi * (outcome.final_half_length_mm or 0.0)) == pytest.approx(1000.0, rel=1e-3)


# samples of a life


def test_a_life_is_sampled_at_even_steps_of_the_logarithm_of_its_size() -> None:
    outcome = grown()
    depth = outcome.history.depth_mm
    assert depth is not None
    assert depth == pytest.approx(np.geomspace(1.0, 10.0, 121))
    assert outcome.history.elapsed_cycles[0] == 0.0
    assert outcome.history.elapsed_cycles[-1] == outcome.life_cycles
    assert outcome.history.half_length_mm is None
    assert outcome.history.aspect_ratio is None


def test_two_phases_are_thinned_to_240_rows() -> None:
    outcome = grown(crack=PLATE, end=EndCriteria(grow_through=True))
    cycles = outcome.history.elapsed_cycles
    assert cycles.size == 240
    assert (cycles[0], cycles[-1]) == (0.0, outcome.life_cycles)
    assert (np.diff(cycles) >= 0.0).all()
    assert outcome.history.end_reason == "separated"


def test_columns_of_a_history_are_those_of_its_crack() -> None:
    stressed = Stressed(PLATE, PULL, None)
    mix = block_loading([1.0, 0.4], [0.0, 0.0], [3.0, 7.0], transitions="in-entries")
    phase = run_phase(stressed, drive(mix), EndCriteria(depth_mm=3.0), 50.0, 1e-6)
    found = history_of([phase])
    assert (found.block_cycles, found.strength_checked, found.outside_codes) == (10.0, False, ())
    assert (found.size_kind, found.end_reason) == ("depth", "size")
    assert found.elapsed_cycles[0] == 50.0
    k = np.asarray(PLATE.unit_intensity(np.array([1.0]), np.array([2.0]))[0])[:, 0] * 100.0
    assert found.delta_k_deepest_mpa_sqrt_mm[0] == pytest.approx(k[0])
    assert found.rate_deepest_mm_per_cycle[0] == pytest.approx(5.21e-13 * k[0] ** 3 * (0.3 + 0.7 * 0.4**3))
    assert found.delta_k_surface_mpa_sqrt_mm is not None
    assert found.delta_k_surface_mpa_sqrt_mm[0] == pytest.approx(k[1])
    assert found.aspect_ratio is not None
    assert found.aspect_ratio[0] == pytest.approx(0.5)
    assert history_of([replace(phase, drive=drive())]).block_cycles is None


def test_a_crack_that_does_not_grow_has_one_row() -> None:
    outcome = grown(law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=9000.0))
    assert outcome.history.elapsed_cycles.tolist() == [0.0]
    assert (outcome.life_cycles, outcome.life_blocks, outcome.below_cutoff) == (None, None, True)


# other lives


@pytest.mark.parametrize(("entries", "tolerance"), [(20, 1e-7), (21, 1e-5), (200, 1e-5), (201, 1e-4)])
def test_blocks_of_many_entries_have_a_larger_tolerance(entries: int, tolerance: float) -> None:
    top = np.linspace(0.5, 1.0, entries)
    mix = block_loading(top, 0.0 * top, 1.0 + 0.0 * top, transitions="in-entries")
    steep, stage = Stage(coefficient=1e-17, exponent=5.1), Stage(coefficient=5.21e-13, exponent=3.0)
    for law in (paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=63.0), GrowthLaw(low=(steep, stage))):
        assert life._default_tolerance(drive(mix, law=law)) == tolerance
    assert life._default_tolerance(drive(mix)) == 1e-7


def test_retardation_has_a_tolerance_of_its_own() -> None:
    stepped = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=63.0)
    wheeler = Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.0)
    willenborg = Retardation(model="willenborg", yield_strength_mpa=355.0)
    for model, law, tolerance in (
        (wheeler, stepped, 1e-5),
        (willenborg, STEEL, 1e-5),
        (willenborg, stepped, 1e-3),
    ):
        mix = block_loading([2.0, 1.0], [0.0, 0.0], [1.0, 9.0], model)
        assert life._default_tolerance(drive(mix, law=law)) == tolerance


def test_a_crack_of_just_its_last_size_has_no_life() -> None:
    at_end = grown(end=EndCriteria(depth_mm=1.0))
    assert (at_end.life_cycles, at_end.end_reason) == (0.0, "size")


def test_steps_are_counted_up_to_their_most(monkeypatch: pytest.MonkeyPatch) -> None:
    stressed, end = Stressed(EDGE, PULL, None), EndCriteria(depth_mm=30.0)
    before = len(_phase._run(stressed, drive(), end, 0.0, 1e-7).steps) - 1
    monkeypatch.setattr(_phase, "MOST_STEPS", before + 1)
    assert _phase._run(stressed, drive(), end, 0.0, 1e-7).reason == "size"
    monkeypatch.setattr(_phase, "MOST_STEPS", before)
    with pytest.raises(NotConvergedError):
        _phase._run(stressed, drive(), end, 0.0, 1e-7)

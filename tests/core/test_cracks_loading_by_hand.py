"""The drive of a crack in whole numbers: ranges of all modes, blocks, overloads, each end of a rule on both sides."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving import retardation
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.ranges import effective_range, range_rule
from fatcore.errors import InputError, UnknownError

LAW = paris(1e-12, 3.0)
STEPPED = paris(1e-12, 3.0, threshold_mpa_sqrt_mm=60.0)
WHEELER = Retardation(model="wheeler", yield_strength_mpa=100.0, exponent=1.0)
WILLENBORG = Retardation(model="willenborg", yield_strength_mpa=100.0)


def entries(*cycles: tuple[float, float, float], retardation: Retardation | None = None) -> CrackLoading:
    high, low, count = zip(*cycles, strict=True)
    return block_loading(high, low, count, retardation, "in-entries")


def drive(loading: CrackLoading, law: GrowthLaw = LAW, **more: Any) -> Drive:
    given: dict[str, Any] = {"law": law, "loading": loading, "condition": "stress-relieved"}
    return Drive(**given | more)


def unit(opening: float, static: float = 0.0, **shear: float) -> UnitIntensity:
    modes = {name: np.array([[value]]) for name, value in shear.items()}
    return UnitIntensity(np.array([[opening]]), np.array([[static]]), **modes)


@pytest.mark.parametrize(
    ("high", "low", "opening", "ratio"),
    [
        (2.0, 1.0, 3.0, 0.5),  # both ends open the crack
        (1.0, -1.0, 3.0, -1.0),  # only the positive part of the opening mode, at the ratio of the ends
        (2.0, -1.0, 6.0, -0.5),
        (1.0, -2.0, 3.0, -0.5),  # the ratio of the sizes: smaller over larger
        (-1.0, -2.0, 0.0, 0.5),  # pressed together at both ends: shear goes on, at its own ratio
        (0.0, -2.0, 0.0, 0.0),
        (0.0, 0.0, 0.0, 0.0),
    ],
)
def test_shear_counts_in_full_beside_the_open_part(high: float, low: float, opening: float, ratio: float) -> None:
    """Energy criterion: K^2 = K_I^2 + K_II^2 [irwin-energy], K_I = 3 and K_II = 4 for load factor 1."""
    loaded = drive(entries((high, low, 1.0)), criterion="energy")
    delta, found = loaded.ranges(unit(3.0, sliding=4.0))
    assert delta.item() == pytest.approx(math.hypot(opening, 4.0 * (high - low)), rel=1e-12)
    assert found.item() == pytest.approx(ratio, abs=1e-12)


@pytest.mark.parametrize("shear", ["sliding", "tearing"])
def test_one_shear_mode_is_enough_and_its_sign_does_not_matter(shear: str) -> None:
    share = {"sliding": 1.0, "tearing": 1.0 / 0.7}[shear]  # K_III^2 / (1 - nu)
    loaded = drive(entries((1.0, -1.0, 1.0)), criterion="energy")
    for sign in (1.0, -1.0):
        delta = loaded.ranges(unit(3.0, **{shear: sign * 4.0})).delta_k_mpa_sqrt_mm
        assert delta.item() == pytest.approx(math.sqrt(9.0 + 64.0 * share), rel=1e-12)
        assert loaded.equivalent(unit(-3.0, **{shear: sign * 4.0})).item() == pytest.approx(
            math.sqrt(9.0 + 16.0 * share), rel=1e-12
        )
    assert loaded.equivalent(unit(-3.0)).item() == 3.0


def test_the_largest_intensity_is_that_of_either_end_or_without_load() -> None:
    def largest(opening: float, static: float, high: float, low: float, **shear: float) -> float:
        loaded = drive(entries((high, low, 1.0)), criterion="energy")
        return loaded.largest(unit(opening, static, **shear)).item()

    assert largest(3.0, 0.0, 2.0, -1.0) == 6.0
    assert largest(-3.0, 0.0, 2.0, -1.0) == 3.0
    assert largest(3.0, 5.0, -1.0, -2.0) == 5.0  # the lasting stress alone, when the load is off
    assert (largest(3.0, 5.0, 2.0, 1.0), largest(3.0, -5.0, -1.0, -2.0)) == (11.0, -5.0)
    mix = drive(entries((2.0, -1.0, 1.0), (1.0, -3.0, 1.0)))
    assert [mix.largest(unit(opening)).item() for opening in (3.0, -3.0)] == [6.0, 9.0]
    assert largest(3.0, 0.0, 2.0, 1.0, sliding=4.0) == pytest.approx(10.0)
    assert largest(3.0, 0.0, 1.0, -2.0, sliding=4.0) == pytest.approx(8.0)  # closed, the shear of the lower end


def test_as_welded_lasting_compression_is_not_credited_and_tension_is() -> None:
    cycle = entries((1.0, -1.0, 1.0))
    for condition, static, expected in (
        ("as-welded", -4.0, 0.0),
        ("as-welded", 4.0, 4.0),
        ("stress-relieved", -4.0, -4.0),
    ):
        assert np.ravel(drive(cycle, condition=condition).credited(unit(3.0, static)).static) == [expected]
    assert drive(cycle).ranges(unit(3.0, -2.0)).delta_k_mpa_sqrt_mm.item() == 1.0
    assert drive(cycle, condition="as-welded").ranges(unit(3.0, -2.0)).delta_k_mpa_sqrt_mm.item() == 6.0
    assert drive(cycle, condition="as-welded").largest(unit(3.0, -2.0)).item() == 3.0
    assert drive(cycle).largest(unit(3.0, -2.0)).item() == 1.0


def test_as_welded_the_law_loses_its_closure_and_nothing_else() -> None:
    walker = LoadRatioEffect(kind="walker", walker_exponent=0.5)
    elber = LoadRatioEffect(kind="elber")
    for effect, condition, left in (
        (elber, "as-welded", "none"),
        (elber, "stress-relieved", "elber"),
        (walker, "as-welded", "walker"),
    ):
        law = GrowthLaw(low=LAW.low, effect=effect)
        assert drive(entries((1.0, 0.0, 1.0)), law, condition=condition).law.effect.kind == left


def test_a_block_grows_by_the_mean_of_its_entries() -> None:
    """C (K dS)^3 with C = 1e-12, K = 100 for load factor 1: 1e-6 and 8e-6 mm a cycle."""
    mean = drive(entries((1.0, 0.0, 3.0), (2.0, 0.0, 1.0))).mean_rate(unit(100.0))
    assert mean.item() == pytest.approx((3.0 * 1e-6 + 8e-6) / 4.0, rel=1e-12)
    added = block_loading([1.0, -1.0], [0.0, -1.5], [3.0, 1.0])  # one more cycle a pass, from 1 to -1.5
    assert added.added_entries == 1
    assert drive(added).mean_rate(unit(100.0)).item() == pytest.approx((3.0 * 1e-6 + 1e-6) / 4.0, rel=1e-12)
    assert drive(added, condition="as-welded").mean_rate(unit(100.0)).item() == pytest.approx(
        (3.0 * 1e-6 + 0.125e-6 + 2.5**3 * 1e-6) / 4.0, rel=1e-12
    )


def test_an_overload_of_three_times_stops_the_crack() -> None:
    """Willenborg: 300 required where 100 acts takes 200 off, nothing is left: the overload alone grows it."""
    slow = drive(entries((3.0, 0.0, 1.0), (1.0, 0.0, 1.0), retardation=WILLENBORG))
    assert slow.mean_rate(unit(100.0)).item() == pytest.approx(27e-6 / 2.0, rel=1e-12)


@pytest.mark.parametrize(("count", "many"), [(20, False), (21, True)])
def test_more_than_twenty_entries_jump_often_unless_the_law_is_smooth(count: int, many: bool) -> None:
    mix = entries(*((1.0 + i, 0.0, 1.0) for i in range(count)))
    two = GrowthLaw(low=(*LAW.low, Stage(coefficient=1e-10, exponent=2.0)))
    high = GrowthLaw(low=LAW.low, high=LAW.low)
    assert not drive(mix).has_many_jumps
    for law in (STEPPED, two, high):
        assert drive(mix, law).has_many_jumps == many


def test_jumps_are_many_or_hidden_where_overloads_slow_the_crack() -> None:
    two = GrowthLaw(low=(*LAW.low, Stage(coefficient=1e-10, exponent=2.0)))
    high = GrowthLaw(low=LAW.low, high=LAW.low)
    one, mix = (entries(*((1.0, 0.0, 1.0),) * n, retardation=WHEELER) for n in (1, 2))
    assert not drive(one, STEPPED).has_many_jumps
    assert drive(mix).has_many_jumps
    assert not drive(mix, STEPPED).hides_jumps
    assert not drive(entries((1.0, 0.0, 1.0)), STEPPED).hides_jumps
    hidden = entries((1.0, 0.0, 1.0), retardation=WILLENBORG)
    assert [drive(hidden, law).hides_jumps for law in (LAW, STEPPED, two, high)] == [False, True, True, True]


def test_only_a_threshold_that_cuts_makes_the_rate_jump() -> None:
    cycle = constant_loading()
    threshold = Threshold(intercept_mpa_sqrt_mm=60.0)
    shifted = GrowthLaw(low=LAW.low, threshold=threshold, threshold_form="shifted")
    assert [drive(cycle, law).cuts for law in (LAW, STEPPED, shifted)] == [False, True, False]
    ramped = drive(cycle, STEPPED).with_ramp()
    assert not ramped.cuts
    assert ramped.law.threshold_ramp == 1e-3  # of the threshold, to either side
    rate = [ramped.mean_rate(unit(60.0 * share)).item() for share in (0.9985, 1.0, 1.0015)]
    assert rate == pytest.approx([0.0, 0.5 * 60.0**3 * 1e-12, (60.0 * 1.0015) ** 3 * 1e-12], rel=1e-9)


def test_what_depends_on_the_largest_intensity_is_named() -> None:
    forman = GrowthLaw(low=LAW.low, effect=LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=1e3))
    slowed = entries((1.0, 0.0, 1.0), retardation=WHEELER)
    zones, toughness = "the plastic zones of retardation", "the toughness of the growth law"
    assert drive(constant_loading()).effects_of_largest_k() == []
    assert drive(slowed).effects_of_largest_k() == [zones]
    assert drive(constant_loading(), forman).effects_of_largest_k() == [toughness]
    assert drive(slowed, forman).effects_of_largest_k() == [zones, toughness]


@pytest.mark.parametrize(("count", "known"), [(200, True), (201, False)])
def test_events_are_foretold_for_up_to_two_hundred_entries(count: int, known: bool) -> None:
    mix = entries(*((1.0, 0.0, 1.0),) * count)
    assert (drive(mix).events(unit(100.0)) is not None) == known


def test_events_are_where_a_range_meets_the_threshold_and_where_the_unit_case_turns() -> None:
    mix = entries((1.0, 0.0, 1.0), (2.0, 1.5, 1.0), retardation=WHEELER)
    rows = drive(mix, STEPPED).events(unit(100.0))
    assert rows is not None
    assert rows.ravel().tolist() == pytest.approx([100.0 - 60.0, 50.0 - 60.0, 100.0])


def test_tearing_is_left_out_by_a_criterion_that_does_not_see_it() -> None:
    """Ranges side by side: opening 3, sliding 4 and tearing 2 for load factor 1, cycle from 1 to -1."""
    loaded = drive(entries((1.0, -1.0, 1.0)), criterion="tangential-stress")
    assert loaded.tearing_findings(unit(3.0, sliding=4.0)) == ()
    for modes in ({"tearing": 1.5}, {"sliding": 4.0, "tearing": 4.0}):  # 3 of 3 open; 8 of 8 sliding
        assert [each.code for each in loaded.tearing_findings(unit(3.0, **modes))] == ["tearing-left-out"]
    for modes in ({"tearing": 1.51}, {"sliding": 4.0, "tearing": 4.01}):
        with pytest.raises(InputError) as caught:
            loaded.tearing_findings(unit(3.0, **modes))
        assert caught.value.path == ("criterion",)


def test_the_first_size_alone_is_that_of_all_modes() -> None:
    row = np.array([[1.0, 2.0]])
    for static in (5.0, np.array([[5.0, 6.0]])):
        first = UnitIntensity(row, static, 3.0 * row, 4.0 * row).first()
        found = [np.ravel(mode).tolist() for mode in first if mode is not None]
        assert found == [[1.0], [5.0], [3.0], [4.0]]
    assert UnitIntensity(row).first()[2:] == (None, None)


@pytest.mark.parametrize(
    ("condition", "high", "low", "static", "whole", "delta", "ratio"),
    [
        ("stress-relieved", 2.0, 1.0, 0.0, False, 100.0, 0.5),
        ("stress-relieved", 1.0, -1.0, 0.0, False, 100.0, -1.0),
        ("stress-relieved", 1.0, -1.0, 0.0, True, 200.0, -1.0),
        ("stress-relieved", 0.0, -1.0, 0.0, True, 0.0, 0.0),
        ("stress-relieved", 1.0, -1.0, 50.0, False, 150.0, -1.0 / 3.0),
        ("as-welded", 1.0, -1.0, 0.0, False, 200.0, 0.5),
        ("as-welded", -1.0, -2.0, 0.0, False, 100.0, 0.5),
        ("as-welded", 1.0, 0.6, 0.0, False, 40.0, 0.6),
    ],
)
def test_the_part_of_a_cycle_that_counts(
    condition: Any, high: float, low: float, static: float, whole: bool, delta: float, ratio: float
) -> None:
    for sign in (1.0, -1.0):  # the unit case and both factors turned round change nothing
        ends = (high, low) if sign > 0.0 else (-low, -high)
        found = effective_range(
            sign * 100.0, *ends, condition=condition, static_k_mpa_sqrt_mm=static, whole_range=whole
        )
        assert found.delta_k_mpa_sqrt_mm == pytest.approx(delta, rel=1e-12)
        assert found.load_ratio == pytest.approx(ratio, rel=1e-12)


def test_the_rule_of_the_range_is_named_by_its_condition() -> None:
    assert range_rule("as-welded").message.startswith("as-welded: the whole range counts")
    assert range_rule("stress-relieved").message.startswith("stress-relieved: only the part")
    with pytest.raises(UnknownError) as caught:
        effective_range(1.0, 1.0, 0.0, condition="welded")  # type: ignore[arg-type]
    assert caught.value.path == ("condition",)


def test_wheeler_stands_still_without_cycles_or_without_a_zone_inside_another() -> None:
    """zone, way left, rate, cycles, exponent"""
    advance = retardation.wheeler_advance_mm
    assert advance(0.1, 1.0, 1e-3, 0.0, 0.3) == 0.0  # to the last bit
    assert advance(0.0, 1.0, 1e-3, 10.0, 1.7) == 0.0
    assert advance(0.0, 0.0, 1e-3, 10.0, 1.7) == pytest.approx(0.01)
    assert advance(1.0, 0.5, 1e-3, 10.0, 1.7) == pytest.approx(0.01)
    # exponent 1: (left^2 - way^2) / 2 = zone rate n; from 2 with zone 1 in 1500 cycles of 1e-3 to 1
    assert advance(1.0, 2.0, 1e-3, 1500.0, 1.0) == pytest.approx(1.0)
    assert advance(1.0, 2.0, 1e-3, 600.0, 1.0) == pytest.approx(2.0 - math.sqrt(4.0 - 1.2))
    assert advance(1.0, 2.0, 1e-3, 1700.0, 1.0) == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("high", "low", "passed", "general", "expected"),
    [
        (80.0, 50.0, 0.75, {}, (60.0, 30.0)),
        (80.0, 50.0, 1.5, {}, (80.0, 50.0)),
        (0.0, -50.0, 1.0, {"threshold_mpa_sqrt_mm": 60.0, "shut_off_ratio": 2.0}, (0.0, 0.0)),
        # generalised: (1 - 60 / 80) / (3 - 1) of the reduction of 20
        (80.0, 50.0, 0.75, {"threshold_mpa_sqrt_mm": 60.0, "shut_off_ratio": 3.0}, (77.5, 47.5)),
        (50.0, 10.0, 0.75, {"threshold_mpa_sqrt_mm": 60.0, "shut_off_ratio": 3.0}, (50.0, 10.0)),
    ],
)
def test_willenborg_takes_the_missing_part_of_the_overload_off_both_ends(
    high: float, low: float, passed: float, general: dict[str, float], expected: tuple[float, float]
) -> None:
    """Overload 200, a quarter of the zone left: 100 required."""
    found = retardation.willenborg_reduced(high, low, 200.0, passed, **general)
    assert [float(end) for end in found] == pytest.approx(expected, rel=1e-12)


def test_constant_cycles_run_from_nothing_to_the_load_unless_given() -> None:
    plain = constant_loading()
    assert (plain.maximum.tolist(), plain.minimum.tolist(), plain.count.tolist()) == ([1.0], [0.0], [1.0])
    assert (plain.is_constant, plain.cycles_per_block) == (True, 1.0)
    assert constant_loading(1.0, 1.0).minimum.tolist() == [1.0]
    with pytest.raises(InputError) as caught:
        constant_loading(1.0, 1.0 + 1e-9)
    assert caught.value.path == ("maximum",)


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ({"model": "wheeler"}, "exponent"),
        ({"model": "wheeler", "exponent": 1.0, "shut_off_ratio": 2.0, "threshold_mpa_sqrt_mm": 1.0}, "shut_off_ratio"),
        ({"model": "wheeler", "exponent": 1.0, "threshold_mpa_sqrt_mm": 1.0}, "threshold_mpa_sqrt_mm"),
        ({"model": "willenborg", "exponent": 1.0}, "exponent"),
        ({"model": "willenborg", "shut_off_ratio": 2.0}, "threshold_mpa_sqrt_mm"),
        ({"model": "willenborg", "threshold_mpa_sqrt_mm": 1.0}, "threshold_mpa_sqrt_mm"),
    ],
)
def test_a_model_of_retardation_takes_its_own_constants_alone(given: dict[str, Any], name: str) -> None:
    with pytest.raises(InputError) as caught:
        Retardation(yield_strength_mpa=300.0, **given)
    assert caught.value.path == (name,)
    assert ("does not use" in str(caught.value)) == (name in given)

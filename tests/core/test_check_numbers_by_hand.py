"""Growth beside a check, and the numbers of a whole check on a straight curve: ends, limits, verdicts, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.check import growth_part
from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.growth_part import StartedGrowth, count_repeats, grow_from_station
from fatcore.check.line import Mesh, Notch, WeldLine
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, LoadState
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.verdict import damage_verdict
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.curves.curve import Curve
from fatcore.curves.limits.limits_of_use import RANGE_BEYOND_YIELD
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.figures import beside_asked, figure
from fatcore.findings import Finding, outside
from fatcore.stress.peak.peak_weights import peak_weights
from tests.core.test_check_growth import START, blocks
from tests.core.test_check_stations_by_hand import through

PULL = blocks((4.0, {"pull": (10.0, 0.0)}))


def grown(repeats: float = 1.0, **changes: Any) -> StartedGrowth:
    return grow_from_station(replace(START, **changes), PULL, Target(repeats=repeats), "as-welded")


def codes(found: Any) -> set[str]:
    return {each.code for each in found.findings}


def test_the_crack_is_asked_for_the_passes_of_the_target() -> None:
    life = grown()
    assert life.life_repeats is not None
    assert life.grown.life_cycles == pytest.approx(4.0 * life.life_repeats)
    assert (life.repeats_asked, life.reaches_target) == (1.0, True)
    for factor, reaches in ((1.0 - 1e-6, True), (1.0, True), (1.0 + 5e-10, True), (1.0 + 2e-9, False), (1.01, False)):
        asked = grown(factor * life.life_repeats)
        assert asked.reaches_target == reaches
        assert ("crack-before-target" in codes(asked)) == (not reaches)
    (short,) = [each for each in asked.findings if each.code == "crack-before-target"]
    assert short.severity == "caution"
    lived, wanted = beside_asked(life.life_repeats, 1.01 * life.life_repeats)
    assert f"lives {lived} repeats, {wanted} are asked" in short.message


def test_a_count_that_was_stopped_before_the_target_proves_nothing() -> None:
    stopped = grown(300.0, end=EndCriteria(depth_mm=5.0, cycles=1000.0))
    assert stopped.life_repeats == pytest.approx(250.0)
    (told,) = [each for each in stopped.findings if each.code == "count-stopped-before-target"]
    assert told.severity == "outside"
    assert "stopped after 250 repeats by end.cycles, 300 are asked" in told.message
    assert "crack-before-target" not in codes(stopped)
    assert grown(250.0, end=EndCriteria(depth_mm=5.0, cycles=1000.0)).reaches_target


def outcome_of(*stresses: float, **target: Any) -> CheckOutcome:
    """A line for each stress, at one station, a million cycles on a curve of 100 MPa at two million."""
    lines = [
        WeldLine(
            name=f"line {place}", basis="nominal", position_mm=np.zeros(1), cases={"pull": np.array([[stress, 0.0]])}
        )
        for place, stress in enumerate(stresses)
    ]
    loading = BlockLoading(blocks=(Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=1e6),))
    return check_lines(lines, loading, Resistance(rule="fixed", curve=through(100.0, 3.0)), Target(**target))


@pytest.mark.parametrize(
    ("reaches", "stopped", "doubtful", "verdict"),
    [
        (True, False, False, "pass"),
        (True, False, True, "undecided"),
        (False, False, False, "fail"),
        (False, False, True, "fail"),
        (False, True, True, "undecided"),
        (True, True, False, "pass"),
    ],
)
def test_a_crack_takes_part_in_the_verdict_of_its_line(
    reaches: bool, stopped: bool, doubtful: bool, verdict: str
) -> None:
    end = EndCriteria(depth_mm=5.0, cycles=1000.0 if stopped else None)
    usual = grown(end=end)
    found = (*usual.findings, *((outside("x", "x", field="growth"),) if doubtful else ()))
    crack = replace(usual, reaches_target=reaches, findings=found)
    before = outcome_of(20.0, 40.0, damage_limit=0.5)
    assert before.verdict != "fail"
    passing = replace(before, verdict="pass", lines=tuple(replace(line, verdict="pass") for line in before.lines))
    after = count_repeats(passing, crack, "line 0")
    assert after.verdict == verdict
    assert after.deciding_lines == (() if verdict == "pass" else ("line 0",))
    assert after.factor_to_limit == (None if verdict == "fail" else passing.factor_to_limit)
    assert after.utilisation == passing.utilisation
    failing = replace(passing, lines=(passing.lines[0], replace(passing.lines[1], verdict="fail")))
    beside = count_repeats(failing, crack, "line 0")
    assert beside.verdict == "fail"
    assert beside.deciding_lines == (("line 0", "line 1") if verdict == "fail" else ("line 1",))


def test_a_crack_at_rest_says_at_which_depth() -> None:
    assert growth_part._of_rest(grown().grown) == []
    (told,) = growth_part._of_rest(replace(grown().grown, below_cutoff=True, final_depth_mm=1.23456))
    assert "arrested at a depth of 1.23 mm" in told.message


@pytest.mark.parametrize(("cycles", "taken"), [(1, True), (20_000, True), (20_001, False)])
def test_twenty_thousand_cycles_of_a_history_are_taken(cycles: int, taken: bool) -> None:
    """Every cycle with another top, all from zero."""
    tops = 1.0 + np.arange(cycles) / 20_000.0
    factors = np.column_stack([tops, np.zeros(cycles)]).reshape(-1)
    loading = HistoryLoading(channels={"pull": factors})
    if taken:
        entries = growth_part._entries(loading, factors)
        assert np.size(entries.maximum) == cycles
        assert entries.cycles_per_block == pytest.approx(cycles)
        return
    with pytest.raises(InputError, match="histories of 1 to 20000 cycles, this one has 20001"):
        growth_part._entries(loading, factors)


@pytest.mark.parametrize(("still", "moves"), [(1e-9, False), (1.02e-9, True), (0.5e-9, False)])
def test_a_range_of_a_billionth_of_the_largest_stress_is_rounding(still: float, moves: bool) -> None:
    factors = np.array([-100.0, -100.0 * (1.0 - still)])
    entries = blocks((1.0, {"pull": (1.0, 0.0)}))
    history = HistoryLoading(channels={"pull": np.array([1.0, 0.0])})
    for loading in (entries, history):
        if moves:
            assert growth_part._entries(loading, factors).cycles_per_block > 0.0
            continue
        with pytest.raises(InputError, match=r"no range|has a range"):
            growth_part._entries(loading, factors)


def test_the_largest_stress_of_all_tells_which_ranges_are_rounding() -> None:
    held = blocks((1.0, {"pull": (10.0, 10.0)}), (5.0, {"pull": (1.0, 0.0)}))
    entries = growth_part._entries(
        replace(held, transitions="in-entries"), np.array([100.0, 100.0 * (1.0 - 5e-10), 1.0, 0.0])
    )
    assert (np.asarray(entries.maximum) - np.asarray(entries.minimum)).tolist() == [0.0, 1.0]


def test_the_figures_of_shape_and_shear_are_told() -> None:
    (_, shape, shear) = growth_part._findings(0.12345, 0.678)
    assert "singular values' ratio 0.123" in shape.message
    assert "(67.8 % of the squared equivalent stress)" in shear.message


# --- a whole check


def test_every_number_of_a_check_on_a_slope_of_three() -> None:
    """1000 cycles a pass, ten passes, half of the damage allowed; the first station is left out."""
    line = WeldLine(
        name="seam",
        basis="nominal",
        position_mm=np.array([0.0, 5.0, 10.0, 15.0]),
        cases={"pull": np.array([[90.0, 0.0], [50.0, 0.0], [60.0, 0.0], [0.0, 0.0]])},
        exclude_ends_mm=1.0,
        exclude_ends_reason="judged by a solid model",
    )
    loading = BlockLoading(blocks=(Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=1e3),))
    target = Target(repeats=10.0, damage_limit=0.5)
    found = check_lines([line], loading, Resistance(rule="fixed", curve=through(100.0, 3.0)), target)
    (one,) = found.lines
    each = np.array([0.9, 0.5, 0.6, 0.0]) ** 3 / 2e6
    np.testing.assert_allclose(one.damage, 1e4 * each, rtol=1e-12)
    np.testing.assert_allclose(one.life_cycles[:3], 0.5 / each[:3], rtol=1e-12)
    assert one.life_cycles[3] == np.inf
    used = (1e4 * each / 0.5) ** (1.0 / 3.0)
    np.testing.assert_allclose(one.utilisation, used, rtol=1e-12)
    assert one.judged.tolist() == [False, True, True, False]
    assert one.largest_unjudged_utilisation == pytest.approx(used[0])
    assert one.largest_unjudged_damage == pytest.approx(1e4 * each[0])
    assert (one.governing_index, found.governing_line) == (2, 0)
    assert found.damage == pytest.approx(1e4 * each[2])
    assert found.damage_limit == 0.5
    assert found.life_cycles == pytest.approx(0.5 / each[2])
    assert found.life_repeats == pytest.approx(0.5 / each[2] / 1e3)
    assert found.utilisation == pytest.approx(used[2])
    assert found.factor_to_limit == pytest.approx(1.0 / used[2])
    assert found.allowable_stress_mpa == pytest.approx(60.0 / used[2])
    assert found.equivalent_stress_mpa == 60.0
    assert found.biaxiality_ratio is None


def test_without_stations_left_out_there_is_no_largest_of_them() -> None:
    (one,) = outcome_of(50.0).lines
    assert (one.largest_unjudged_utilisation, one.largest_unjudged_damage) == (None, None)


def test_nothing_that_cycles_has_no_life_and_no_factor() -> None:
    found = outcome_of(0.0)
    assert (found.life_cycles, found.life_repeats, found.factor_to_limit, found.allowable_stress_mpa) == (None,) * 4
    assert found.damage == 0.0
    assert "nothing-cycles" in codes(found)


# --- what a whole check says of its judged stations


def of_line(code: str, basis: str, stresses: list[list[float]], cycles: float, **more: Any) -> list[Finding]:
    """Findings of this code on a line of these stations; the first is left out."""
    line = WeldLine(
        name="seam",
        basis=basis,  # type: ignore[arg-type]
        position_mm=5.0 * np.arange(len(stresses)),
        cases={"pull": np.array(stresses)},
        exclude_ends_mm=1.0,
        symmetric_ends=("end",),
        notch=Notch(kind="toe", opening_angle_deg=135.0, notch_size_mm=5.0) if basis == "peak-stress" else None,
        mesh=Mesh(element="quad4", element_size_mm=1.0) if basis == "peak-stress" else None,
    )
    loading = BlockLoading(blocks=(Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=cycles),))
    resistance = Resistance(**{"rule": "fixed", "curve": through(100.0, 3.0), **more})
    found = check_lines([line], loading, resistance, Target(damage_limit=1.0)).findings
    return [each for each in found if each.code == code]


def test_the_shortest_life_of_a_judged_station_is_told() -> None:
    """600 and 700 MPa on 100 MPa at two million: lives of 9259 and 5831 cycles; the station left out has 3906."""
    stations = [[800.0, 0.0], [600.0, 0.0], [700.0, 0.0], [50.0, 0.0]]
    (told,) = of_line("few-cycles-of-short-life", "nominal", stations, 1.0)
    assert "a life of their own of 5830 cycles or more" in told.message
    assert "use 0.000171 of the damage" in told.message
    (left,) = of_line("life-cycles-outside", "nominal", stations, 10.0)
    assert left.value == pytest.approx(2e6 / 343.0)
    assert not of_line("few-cycles-of-short-life", "nominal", [stations[0], stations[3], stations[3]], 1.0)
    assert of_line("life-cycles-outside", "nominal", stations, 5.9)
    assert not of_line("life-cycles-outside", "nominal", stations, 5.8)  # a thousandth of what is allowed


def test_the_largest_peak_of_a_judged_station_is_held_against_yield() -> None:
    """Twice the yield strength of the strongest steels is 2200 MPa."""
    weight = float(
        peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0).opening
    )
    curve = {"curve": catalogue.find_curve("peak-stress-opening")}
    for size, told in ((2199.0, 0), (2201.0, 1)):
        stations = [[9000.0, 0.0, 0.0], [10.0, 0.0, 0.0], [size / weight, 0.0, 0.0], [20.0, 0.0, 0.0]]
        assert len(of_line(RANGE_BEYOND_YIELD, "peak-stress", stations, 1.0, **curve)) == told


def test_the_largest_range_is_held_against_the_limit_of_use_of_the_document() -> None:
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71")
    limit = catalogue.range_limit(curve.id, 300.0)
    assert limit is not None
    assert limit.high is not None
    for factor, told in ((0.999, 0), (1.001, 1)):
        stations = [[2.0 * limit.high, 0.0], [10.0, 0.0], [factor * limit.high, 0.0], [20.0, 0.0]]
        found = of_line("stress-range-mpa-outside", "nominal", stations, 1.0, curve=curve, yield_strength_mpa=300.0)
        assert len(found) == told


@pytest.mark.parametrize(
    ("damage", "code", "verdict"),
    [
        (1.0, None, "pass"),
        (1.0 + 1e-9, None, "fail"),
        (1.1, "life-cycles-outside", "fail"),
        (1.0, "life-cycles-outside", "undecided"),
        (1.1, "x", "undecided"),
    ],
)
def test_a_damage_at_its_limit_passes_and_beyond_fails_unless_in_doubt(
    damage: float, code: str | None, verdict: str
) -> None:
    found = [outside(code, "x", field="x")] if code else []
    assert damage_verdict(damage, 1.0, found) == verdict
    assert damage_verdict(damage, 1.0, [replace(each, severity="caution") for each in found]) == (
        "fail" if damage > 1.0 else "pass"
    )


# --- what is milder than the document


def history_of(residue: Any, stress: float, curve: Curve | None = None) -> CheckOutcome:
    """Two million passes from zero to one: a cycle each, or half of one where the record happens once."""
    line = WeldLine(name="seam", basis="nominal", position_mm=np.zeros(1), cases={"pull": np.array([[stress, 0.0]])})
    loading = HistoryLoading(channels={"pull": np.array([0.0, 1.0])}, residue=residue)
    resistance = Resistance(rule="fixed", curve=curve or through(100.0, 3.0, survival_probability=0.977))
    return check_lines([line], loading, resistance, Target(repeats=2e6, damage_limit=1.0))


@pytest.mark.parametrize(
    ("stress", "decides", "verdict"),
    [
        (99.0, False, "pass"),
        (101.0, True, "undecided"),
        (100.0 * 2.0 ** (1.0 / 3.0), True, "undecided"),
        (127.0, False, "fail"),
    ],
)
def test_half_cycles_decide_where_whole_ones_would_be_too_much(stress: float, decides: bool, verdict: str) -> None:
    """100 MPa is the limit for whole cycles, the third root of 2 times as much for half ones."""
    found = history_of("half", stress)
    assert found.utilisation == pytest.approx(stress / 100.0 / 2.0 ** (1.0 / 3.0))
    told = [each for each in found.findings if each.code == "choices-decide"]
    assert bool(told) == decides
    assert found.verdict == verdict
    if told:
        assert f"{figure(found.utilisation)} keeps to the limit of 1 only because of residue half" in told[0].message
        assert f"it is {figure(stress / 100.0)}" in told[0].message
    assert "choices-decide" not in codes(history_of("closed", stress))


def test_the_partial_factor_is_held_against_the_use_without_milder_choices() -> None:
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71")
    whole = history_of("closed", 50.0, curve).utilisation
    (told,) = [
        each for each in history_of("half", 50.0, curve).findings if each.code == "utilisation-without-partial-factor"
    ]
    assert f"the utilisation is {figure(1.35 * whole)}" in told.message

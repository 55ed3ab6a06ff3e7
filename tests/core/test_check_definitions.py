"""Where another definition of a cycle decides, and the order of states that blocks leave open."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.findings import cycle_definitions
from fatcore.check.findings.cycle_definitions import _grows_in_proportion, _may_decide, _most_damage
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState, station_batch
from fatcore.check.strength.joined import Group, group_lines
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import PeakStrength
from fatcore.check.transitions import MOST_ORDERED
from fatcore.curves.standards import catalogue
from fatcore.curves.standards.catalogue import find_curve
from fatcore.spectrum.multiaxial.modes import Definition, mode_cycles
from tests.core.test_check_lines import PAIR, line

CASES = {"a": [[9.0, 0.0, 2.0]], "b": [[-3.0, 0.0, 6.0]], "c": [[1.0, 0.0, -4.0]]}
SQUARE = {"a": [10.0, 10.0, 0.0, 0.0], "b": [0.0, 10.0, 10.0, 0.0]}
DECIDE, LEFT = "cycle-definitions-decide", "definitions-not-compared"
Ends = list[list[tuple[float, float]]]


def checked(loading: Loading, cases: Any = None, **target: float) -> CheckOutcome:
    return check_lines([line(cases or CASES)], loading, PAIR, Target(**target))


def codes(outcome: CheckOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def blocks(ends: Ends) -> BlockLoading:
    """One cycle each; for every block the two ends of every case."""
    return BlockLoading(
        blocks=tuple(
            Block(
                factors={
                    name: LoadState(maximum=one, minimum=other)
                    for name, (one, other) in zip("abc", pairs, strict=False)
                },
                cycles=1.0,
            )
            for pairs in ends
        )
    )


def histories(ends: Ends) -> list[HistoryLoading]:
    """The states of the blocks one after the other, in every order of the ends of each."""
    return [
        HistoryLoading(
            channels={
                name: np.array(
                    [pairs[case][end] for pairs, first in zip(ends, order, strict=True) for end in (first, 1 - first)]
                )
                for case, name in enumerate("abc"[: len(ends[0])])
            }
        )
        for order in product((0, 1), repeat=len(ends))
    ]


FACTOR = st.integers(-4, 4).map(float)
PAIRS = st.tuples(FACTOR, FACTOR)


@st.composite
def sequences(draw: st.DrawFn) -> Ends:
    cases = draw(st.integers(1, 3))
    each = st.lists(PAIRS, min_size=cases, max_size=cases)
    return draw(st.lists(each, min_size=2, max_size=MOST_ORDERED + 2))


@pytest.mark.uncounted
@settings(max_examples=60, deadline=None, derandomize=True)
@given(sequences())
def test_no_order_of_the_states_makes_more_damage_than_the_blocks(ends: Ends) -> None:
    worst = max(checked(history).damage for history in histories(ends))
    assert checked(blocks(ends)).damage >= worst * (1.0 - 1e-9)


@pytest.mark.uncounted
@settings(max_examples=60, deadline=None, derandomize=True)
@given(sequences(), st.lists(st.booleans(), min_size=6, max_size=6))
def test_swapping_the_ends_of_blocks_changes_no_bit(ends: Ends, swaps: list[bool]) -> None:
    swapped = [
        [(other, one) if swap else (one, other) for one, other in pairs]
        for pairs, swap in zip(ends, swaps, strict=False)
    ]
    one, other = checked(blocks(ends)), checked(blocks(swapped))
    for name in ("damage", "utilisation", "equivalent_stress_mpa", "biaxiality_ratio", "life_cycles"):
        assert getattr(one, name) == getattr(other, name), name


def test_many_nested_blocks_add_nothing() -> None:
    """Six amplitudes about one mean, and six from zero: every cycle of the sequence is a block."""
    for ends in ([(k, -k) for k in range(1, 7)], [(k, 0) for k in range(1, 7)]):
        factors = [[(float(one), float(other))] for one, other in ends]
        joined = blocks(factors)
        apart = BlockLoading(blocks=joined.blocks, transitions="in-entries")
        assert checked(joined).damage == checked(apart).damage


def test_many_blocks_of_modes_out_of_phase_take_the_whole_span() -> None:
    """Six small cycles of opening, and twist from block to block: both spans bound every order."""
    ends: Ends = [[(1.0, 0.0), (float(k), float(k))] for k in range(6)]
    cases = {"a": [[10.0, 0.0, 0.0]], "b": [[0.0, 0.0, 1.0]]}
    outcome = checked(blocks(ends), cases)
    whole = checked(blocks([[(1.0, 0.0), (5.0, 0.0)]]), cases)
    assert outcome.equivalent_stress_mpa == pytest.approx(whole.equivalent_stress_mpa, rel=1e-12)


def test_a_quadratic_form_chooses_the_order_by_its_utilisation() -> None:
    pair = Resistance(
        rule="fixed",
        curve=catalogue.find_curve("iiw-2016-normal-steel-71"),
        shear_curve=catalogue.find_curve("iiw-2016-shear-steel-80"),
        interaction="quadratic-non-proportional",
    )
    plain = {"a": [[40.0, 5.0]], "b": [[-10.0, 30.0]]}
    ends: Ends = [[(2.0, -1.0), (1.0, 3.0)], [(1.0, 0.0), (-2.0, 2.0)]]
    nominal = line(plain, basis="nominal", notch=None, mesh=None)
    found = [check_lines([nominal], each, pair, Target()) for each in (blocks(ends), *histories(ends))]
    assert found[0].utilisation >= max(each.utilisation for each in found[1:])
    assert DECIDE not in codes(found[0])


def square(repeats: float, **more: Any) -> CheckOutcome:
    loading = HistoryLoading(channels={name: np.array(values) for name, values in SQUARE.items()}, **more)
    return checked(loading, {"a": [[10.0, 0.0, 0.0]], "b": [[0.0, 0.0, 7.0]]}, repeats=repeats)


def test_definitions_decide_just_where_another_one_uses_up_what_is_allowed() -> None:
    path = square(1.0, definition="path")
    limit = path.damage_limit / path.damage
    assert DECIDE not in codes(square(limit * (1.0 - 1e-8)))
    told = square(limit * (1.0 + 1e-8))
    assert (told.verdict, DECIDE in codes(told)) == ("undecided", True)
    assert told.utilisation < 1.0
    # the path itself fails there, and a failure needs no comparison
    failed = square(limit * (1.0 + 1e-8), definition="path")
    assert (failed.verdict, DECIDE in codes(failed)) == ("fail", False)


def test_stations_that_were_not_compared_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cycle_definitions, "MOST_WORK", 1)
    cases = {"a": [[10.0, 0.0, 0.0], [9.0, 0.0, 0.0]], "b": [[0.0, 0.0, 1.0], [0.0, 0.0, 1.0]]}
    loading = HistoryLoading(channels={name: np.array(values) for name, values in SQUARE.items()})
    outcome = checked(loading, cases, repeats=1e6)
    (left,) = [finding for finding in outcome.findings if finding.code == LEFT]
    assert "at 1 of 2 stations" in left.message
    monkeypatch.undo()
    assert LEFT not in codes(checked(loading, cases, repeats=1e6))


def test_blocks_that_hold_every_cycle_have_no_sequence_to_compare() -> None:
    loading = BlockLoading(blocks=blocks([[(1.0, 0.0), (0.0, 1.0)]] * 2).blocks, transitions="in-entries")
    assert not {DECIDE, LEFT} & codes(checked(loading, repeats=1e5))


def test_a_path_too_long_to_count_is_left_out_of_the_comparison() -> None:
    angle = np.linspace(0.0, 40.0 * np.pi, 4000, endpoint=False)
    loading = HistoryLoading(channels={"a": np.sin(angle), "b": np.cos(angle)})
    once = checked(loading)
    outcome = checked(loading, repeats=0.5 * once.damage_limit / once.damage)
    assert "path-count-left-out" in codes(outcome)


def test_many_blocks_are_compared_in_two_orders() -> None:
    """The four corners of the square, with one more state between two of them: more than is allowed."""
    corners = [[(a, a), (b, b)] for a, b in zip(*SQUARE.values(), strict=True)]
    cases = {"a": [[10.0, 0.0, 0.0]], "b": [[0.0, 0.0, 7.0]]}
    middle: Ends = [[(10.0, 10.0), (5.0, 5.0)]]
    outcome = checked(blocks(corners[:1] + middle + corners[1:]), cases, repeats=2e6)
    assert outcome.verdict != "pass"


OPENING, SHEAR = find_curve("peak-stress-opening"), find_curve("peak-stress-shear")
LEVELS = st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9), st.integers(-9, 9)), min_size=2, max_size=9)


PAIR_OF_CURVES = PeakStrength(
    weights=np.array([1.0, 1.4, 2.0]),
    opening_curve=OPENING,
    shear_curve=SHEAR,
    lower=0.05,
    upper=0.5,
    relieved=False,
)


@pytest.mark.uncounted
@pytest.mark.parametrize("definition", ["independent", "path"])
@settings(max_examples=200, deadline=None)
@given(levels=LEVELS)
def test_no_definition_does_more_than_the_bound(definition: Definition, levels: list[tuple[int, ...]]) -> None:
    strength = PAIR_OF_CURVES
    sequence, unit = 20.0 * np.array(levels, dtype=float).T, np.eye(3)
    cycles = mode_cycles(unit @ sequence, strength.weights, residue="closed", definition=definition)
    damage = float(strength.damage(strength.judge(station_batch(0, cycles)))[0][0])
    assert damage <= _most_damage((strength.weights[:, np.newaxis] * unit)[np.newaxis], [sequence], strength.curves)[
        0
    ] * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("slopes", "constants", "holds"),
    [
        ((3.0, 5.0), (12.0, 12.0 + 2.0 * np.log10(50.0)), True),
        ((0.9, 5.0), (12.0, 12.0 + 4.1 * np.log10(50.0)), False),
    ],
)
def test_the_bound_needs_curves_on_which_damage_grows_with_the_range(
    slopes: tuple[float, ...], constants: tuple[float, ...], holds: bool
) -> None:
    curve = replace(OPENING, slopes=slopes, log10_constants=constants, knees_mpa=(50.0,), cut_off_mpa=None)
    assert _grows_in_proportion(curve) == holds


def test_every_station_may_decide_where_no_bound_holds() -> None:
    share, first = np.array([0.1]), np.zeros(1, dtype=np.intp)

    def small(strength: PeakStrength) -> Group:
        return group_lines({0: np.eye(3)[np.newaxis] * 1e-3}, {0: strength}, together=True)[0]

    sequences = [np.array([[0.0, 1.0], [1.0, 0.0], [0.0, 0.0]])]
    flat = replace(OPENING, slopes=(0.9,), log10_constants=(12.0,), knees_mpa=(), cut_off_mpa=None)
    assert not _may_decide(small(PAIR_OF_CURVES), first, sequences, share, 1.0)
    assert _may_decide(small(replace(PAIR_OF_CURVES, opening_curve=flat)), first, sequences, share, 1.0)
    assert _may_decide(small(replace(PAIR_OF_CURVES, relieved=True)), first, sequences, share, 1.0)


@pytest.mark.parametrize(("asked", "bounded"), [("governing", True), ("independent", False)])
def test_the_bound_spares_a_comparison_only_with_what_it_bounds(
    monkeypatch: pytest.MonkeyPatch, asked: Definition, bounded: bool
) -> None:
    """Nested cycles of the governing mode may count one way of another mode more than once: no bound on them."""
    channels = {name: np.array(values) for name, values in SQUARE.items()}
    cases = {"a": [[10.0, 0.0, 0.0]], "b": [[0.0, 0.0, 7.0]]}
    loading = HistoryLoading(channels=channels, definition=asked)
    once = checked(loading, cases)
    repeats = 0.9 * once.damage_limit / once.damage
    assert DECIDE in codes(checked(loading, cases, repeats=repeats))
    monkeypatch.setattr(cycle_definitions, "_may_decide", lambda group, places, *_: np.zeros(len(places), dtype=bool))
    assert (DECIDE in codes(checked(loading, cases, repeats=repeats))) != bounded

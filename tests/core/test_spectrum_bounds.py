"""Bounds of counting and damage, each at its value and on both sides of it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from fatcore.check.verdict import damage_verdict
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, outside
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.counting.levels import level_crossings, peak_count
from fatcore.spectrum.counting.matrix import equal_edges, range_classes
from fatcore.spectrum.damage import left_out
from fatcore.spectrum.damage import linear as damage
from fatcore.spectrum.multiaxial import definitions
from fatcore.spectrum.multiaxial.superposition import PROPORTIONAL_LIMIT
from fatcore.spectrum.random import findings

UP, DOWN = 1.0 + 1e-12, 1.0 - 1e-12


def severities(found: tuple[Finding, ...] | list[Finding]) -> list[str]:
    return [each.severity for each in found]


@pytest.mark.parametrize("left", [0.0, 0.5, 0.99 * DOWN, 0.99 * UP, 1.0])
def test_a_gate_that_drops_more_than_a_hundredth_is_a_caution(left: float) -> None:
    (found,) = left_out.gate_findings(2.0 * left, 2.0, 5.0)
    assert found.severity == ("caution" if left < 0.99 else "note")
    assert f"drops {100.0 * (1.0 - left):.3g} %" in found.message or left > 0.98
    (nothing,) = left_out.gate_findings(0.0, 0.0, 5.0)
    assert (nothing.severity, "drops 0 %" in nothing.message) == ("note", True)


@pytest.mark.parametrize(("part", "told"), [(0.0, 1), (0.5, 1), (1.0 - 1.01e-9, 1), (1.0 - 0.99e-9, 0), (1.0, 0)])
def test_less_damage_is_told_beyond_rounding(part: float, told: int) -> None:
    assert severities(left_out.half_findings(3.0 * part, 3.0, 0.5)) == ["note"] * told
    assert severities(left_out.half_findings(3.0 * part, 3.0, 1.0)) == ["note"] * told
    assert severities(left_out.half_findings(3.0 * part, 3.0, 2.0)) == ["caution"] * told
    assert severities(left_out.rule_findings(3.0 * part, 3.0, "simple-range", 3.0)) == ["caution"] * told


@pytest.mark.parametrize(
    ("asked", "yardstick", "told"),
    [
        (0.4, 0.5 * UP, 1),
        (0.4, 0.5, 0),
        (0.5, 0.6, 1),
        (0.5 * UP, 0.6, 0),
        (0.5, 0.5 * (1.0 + 0.99e-9), 0),
        (0.5, 0.5 * (1.0 + 1.01e-9), 1),
        (0.0, 0.6, 1),
    ],
)
def test_a_choice_decides_where_the_limit_lies_between(asked: float, yardstick: float, told: int) -> None:
    found = left_out.choice_findings(asked, yardstick, 0.5, "residue half", "else", field="residue")
    assert severities(found) == ["outside"] * told


def test_a_short_life_alone_leaves_no_sum_over_the_limit_undecided() -> None:
    short, other = (outside(code, "x") for code in ("life-cycles-outside", "stress-range-mpa-outside"))
    doubt = caution("x", "x")
    assert damage_verdict(0.5 * UP, 0.5, [doubt, short]) == "fail"
    assert damage_verdict(0.5 * UP, 0.5, [short, other]) == "undecided"
    assert damage_verdict(0.5, 0.5, [doubt, short]) == "undecided"
    assert damage_verdict(0.5, 0.5, [doubt]) == "pass"
    assert damage_verdict(0.5 * UP, 0.5, []) == "fail"


@pytest.mark.parametrize(
    ("part", "times"),
    [(0.0, "any number of times"), (1.0, ""), (1.0 / 1.0499, ""), (1.0 / 1.0501, "1.05 times")],
)
def test_another_definition_is_told_when_it_does_a_twentieth_more(part: float, times: str) -> None:
    found = left_out.definition_findings(part, 1.0, "governing", "path")
    assert [times in each.message for each in found] == [True] * bool(times)
    assert left_out.definition_findings(0.0, 0.0, "governing", "path") == ()


@pytest.mark.parametrize(
    ("history", "told"),
    [
        ([1.0], 0),
        ([1.0, 2.0], 0),
        ([1.0, 2.0, 3.0], 1),
        ([3.0, 2.0, 1.0], 1),
        ([1.0, 1.0, 2.0], 1),
        ([2.0, 2.0, 1.0], 1),
        ([1.0, 1.0, 1.0], 1),
        ([1.0, 2.0, 1.0], 0),
        ([2.0, 1.0, 2.0], 0),
    ],
)
def test_three_samples_that_never_turn_are_doubted(history: list[float], told: int) -> None:
    assert severities(left_out.turn_findings(np.array(history))) == ["caution"] * told


@pytest.mark.parametrize(("smaller", "count", "refused"), [(0.9, 1.0, 1), (0.9, 0.0, 0), (1.0, 1.0, 0)])
def test_constant_amplitude_is_one_range_of_those_that_happen(smaller: float, count: float, refused: int) -> None:
    least = 1.0 - damage.ONE_RANGE
    for ranges in ([100.0 * smaller, 100.0], [100.0, 100.0 * smaller]):
        counts = [count if each < 100.0 else 1.0 for each in ranges]
        if refused:
            with pytest.raises(InputError):
                damage.refuse_several_ranges(ranges, counts)
        else:
            damage.refuse_several_ranges(ranges, counts)
    damage.refuse_several_ranges([100.0 * least, 100.0], [1.0, 1.0])
    with pytest.raises(InputError):
        damage.refuse_several_ranges([100.0 * (1.0 - 1.1 * damage.ONE_RANGE), 100.0], [1.0, 1.0])
    damage.refuse_several_ranges([], [])


@pytest.mark.parametrize("scale", [DOWN, 1.0, UP])
def test_few_crossings_and_modes_out_of_step_at_their_limits(scale: float) -> None:
    few = findings._few_findings(findings.FEW_CROSSINGS * scale)
    assert severities(few) == ["caution"] * (scale < 1.0)
    apart = definitions._findings({"path": 1.0}, "path", False, PROPORTIONAL_LIMIT * scale)
    assert severities(apart) == ["caution"] * (scale > 1.0)


def test_the_equivalent_range_is_told_between_nothing_and_the_knee() -> None:
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71")
    knee = curve.knees_mpa[0]
    for range_mpa, told in (
        (0.0, False),
        (1e-3, True),
        (knee * DOWN, True),
        (knee, False),
        (2.0 * knee, False),
    ):
        found = {each.code for each in damage._findings(curve, curve, "as-curve", range_mpa)}
        assert ("equivalent-below-knee" in found) == told
    straight = catalogue.find_curve("peak-stress-opening")
    assert len(straight.slopes) == 1
    found = {each.code for each in damage._findings(straight, straight, "as-curve", 1.0)}
    assert "equivalent-below-knee" not in found


@pytest.mark.parametrize(
    ("size_mpa", "asked", "code"),
    [(0.0, 1.0, "no-damage-counted"), (1.0, 1.0, None), (1.0 - 0.5e-9, 1.0, None), (0.9, 1.0, "less")],
)
def test_no_damage_and_less_damage_by_a_form_are_told(size_mpa: float, asked: float, code: str | None) -> None:
    curve, form = catalogue.find_curve("peak-stress-opening"), "haibach" if size_mpa else "as-curve"
    doubts = damage._doubts(size_mpa, asked, form, np.array([100.0]), curve)  # type: ignore[arg-type]
    found = [each.code for each in doubts]
    assert ("no-damage-counted" in found) == (size_mpa == 0.0)
    assert ("below-knee-form-does-less" in found) == (size_mpa < 1.0 - 1e-6)
    assert bool(found) == (code is not None)


HISTORY = [0.0, 2.0, -2.0, 0.0, -1.0, 3.0, 0.0, 1.0, 0.0]


@pytest.mark.parametrize("reference", [-1.0, 0.0, 1.0, 2.0])
def test_crossings_are_those_of_a_count_move_by_move(reference: float) -> None:
    """[astm-e1049] 5.1: upward at and above the reference, downward below it; reaching it counts."""
    levels = np.arange(-3.0, 4.0, 0.5)
    up = [sum(a < level <= b for a, b in pairwise(HISTORY)) for level in levels]
    down = [sum(a > level >= b for a, b in pairwise(HISTORY)) for level in levels]
    expected = np.where(levels >= reference, up, down)
    assert level_crossings(HISTORY, levels, reference).tolist() == expected.tolist()


@pytest.mark.parametrize("reference", [-1.0, 0.0, 1.0, 2.0])
def test_peaks_lie_above_the_reference_and_valleys_below_it(reference: float) -> None:
    """[astm-e1049] 5.2; one that lies on the reference is neither."""
    inner = [(HISTORY[k], HISTORY[k] > HISTORY[k - 1]) for k in (1, 2, 3, 4, 5, 6, 7)]
    found = peak_count(HISTORY, reference)
    assert found.maxima_mpa.tolist() == sorted((v for v, top in inner if top and v > reference), reverse=True)
    assert found.minima_mpa.tolist() == sorted(v for v, top in inner if not top and v < reference)
    assert found.range_mpa.size == max(found.maxima_mpa.size, found.minima_mpa.size)


def test_the_reference_is_zero_however_small_the_stress() -> None:
    small = [1e-3 * each for each in HISTORY]
    levels = np.arange(-3e-3, 4e-3, 0.5e-3)
    assert level_crossings(small, levels).tolist() == level_crossings(small, levels, 0.0).tolist()
    assert level_crossings(small, levels).tolist() != level_crossings(small, levels, 2e-3).tolist()
    for name in ("maxima_mpa", "minima_mpa", "range_mpa"):
        found = getattr(peak_count(small), name)
        assert found == pytest.approx(1e-3 * getattr(peak_count(HISTORY, 0.0), name))


def test_a_range_on_an_edge_belongs_to_the_class_below_and_all_ranges_must_lie_inside() -> None:
    counted = rainflow([0.0, 10.0, 0.0, 20.0, 0.0, 30.0, 0.0])
    classes = range_classes(counted, [10.0, 20.0, 30.0])
    assert classes.count.tolist() == [2.0, 1.0]
    for edges in ([10.1, 30.0], [10.0, 29.9], [10.0], [10.0, 10.0, 30.0], [-1.0, 30.0], [0.0, 0.0]):
        with pytest.raises(InputError):
            range_classes(counted, edges)
    assert range_classes(counted, [0.0, 30.0]).count.tolist() == [3.0]
    assert equal_edges(0.0, 30.0, 1).tolist() == [0.0, 30.0]
    with pytest.raises(InputError):
        equal_edges(0.0, 30.0, 0)

"""Plans of inspections by hand: edges of what is said of a schedule, of its rows and of the growth behind it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.growth._plan_findings import CRITICAL, ends_early, history_findings, row_findings
from fatcore.cracks.growth.detection import DetectionCurve, detection_curves, named_detection
from fatcore.cracks.growth.history import History, judged
from fatcore.cracks.growth.inspection import InspectionOutcome, plan_inspections
from fatcore.errors import InputError
from fatcore.findings import caution, outside

CYCLES, SIZES = [0.0, 100.0, 200.0, 300.0], [0.5, 1.0, 2.0, 8.0]
HALF = DetectionCurve(median_mm=2.0, exponent=1.0)
GROWN = History(
    size_kind="depth",
    end_reason="through-thickness",
    outside_codes=(),
    block_cycles=None,
    strength_checked=True,
    elapsed_cycles=np.array(CYCLES),
    depth_mm=np.array(SIZES),
    half_length_mm=np.array([1.0, 2.0, 4.0, 10.0]),
    delta_k_deepest_mpa_sqrt_mm=np.ones(4),
    rate_deepest_mm_per_cycle=np.ones(4),
)


def codes(outcome: InspectionOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def refused(*columns: Any, **given: Any) -> tuple[str, tuple[Any, ...]]:
    with pytest.raises(InputError) as caught:
        plan_inspections(*columns, **given)
    return str(caught.value), caught.value.path


def said(history: History | None, left: float = 100.0, interval: float = 50.0) -> list[tuple[str, str, str | None]]:
    return [(each.code, each.severity, each.field) for each in history_findings(history, left, interval)]


def test_two_inspections_are_planned_when_no_number_is_given() -> None:
    outcome = plan_inspections(CYCLES, SIZES, detectable_mm=1.5)
    assert outcome.detectable_cycles == pytest.approx(150.0)
    assert outcome.interval_cycles == pytest.approx(75.0)
    assert outcome.inspection_cycles.tolist() == pytest.approx([150.0, 225.0])
    assert outcome.inspection_size_mm.tolist() == pytest.approx([1.5, 3.5])
    assert outcome.critical_cycles == 300.0
    assert outcome.detection_probability is None
    assert outcome.tables == ()


@pytest.mark.parametrize(("number", "good"), [(0, False), (1, True), (2, True), (100, True), (101, False)])
def test_one_to_a_hundred_inspections_are_planned(number: int, good: bool) -> None:
    if good:
        outcome = plan_inspections(CYCLES, SIZES, detectable_mm=1.0, inspections=number)
        assert outcome.interval_cycles == pytest.approx(200.0 / number)
        assert ("one-chance" in codes(outcome)) is (number == 1)
    else:
        assert refused(CYCLES, SIZES, detectable_mm=1.0, inspections=number)[1] == ("inspections",)


def test_probabilities_of_a_plan_are_those_of_the_sizes_at_its_inspections() -> None:
    """x / (2 + x) finds a size x: of 1 mm a third, of 2 mm a half; between the rows the size is a straight line."""
    outcome = plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=HALF)
    assert outcome.detection_probability == pytest.approx([1.0 / 3.0, 0.5])
    assert outcome.worst_missed_probability == pytest.approx(2.0 / 3.0 * 0.5)
    phase = (np.arange(1000) + 0.5) / 1000.0
    mean = np.mean(2.0 / (3.0 + phase) * 2.0 / (4.0 + 6.0 * phase))
    assert outcome.mean_missed_probability == pytest.approx(mean, rel=1e-12)
    assert "independent-inspections" in codes(outcome)
    assert outcome.sources == ("inspection-count",)
    assert outcome.tables == ()
    published = plan_inspections(CYCLES, SIZES, curve="magnetic-ground", detection_probability=0.9, size_kind="depth")
    assert published.sources == ("inspection-count", "dnv-rp-c210")
    assert published.tables == ("cracks/detection",)
    assert named_detection("magnetic-ground").probability(published.detectable_mm) == pytest.approx(0.9)


def test_a_detection_curve_is_steep_by_its_exponent() -> None:
    curve = DetectionCurve(median_mm=2.0, exponent=3.0)
    assert curve.probability([1.0, 2.0, 4.0]) == pytest.approx([1.0 / 9.0, 0.5, 8.0 / 9.0])
    assert curve.crack_size_mm(8.0 / 9.0) == pytest.approx(4.0)
    assert (curve.size, curve.name) == (None, "user-defined curve")
    assert DetectionCurve(median_mm=2.0, exponent=100.0).exponent == 100.0
    for wrong in (0.0, 100.001):
        with pytest.raises(InputError, match="exponent"):
            DetectionCurve(median_mm=2.0, exponent=wrong)
    assert list(detection_curves()) == sorted(detection_curves())


def test_a_first_crack_of_just_the_detectable_size_is_not_larger() -> None:
    assert "detectable-from-start" not in codes(plan_inspections(CYCLES, SIZES, detectable_mm=0.5))
    assert "detectable-from-start" in codes(plan_inspections(CYCLES, SIZES, detectable_mm=0.499))


# rows far apart


@pytest.mark.parametrize(
    ("smaller", "code"),
    [(0.95, None), (0.9499, "history-coarse"), (0.5, "history-coarse"), (0.4999, "history-too-coarse")],
)
def test_rows_are_far_apart_from_a_twentieth_on_and_too_far_from_a_half_on(smaller: float, code: str | None) -> None:
    by_interval = list(row_findings(1000.0, 1000.0 * smaller, None, None))
    assert [(each.code, each.field) for each in by_interval] == ([(code, "interval_cycles")] if code else [])
    by_chance = list(row_findings(1.0, 1.0, 0.2 * smaller, 0.2))
    assert [(each.code, each.field) for each in by_chance] == ([(code, "worst_missed_probability")] if code else [])
    for found in (*by_interval, *by_chance):
        assert found.severity == ("outside" if code == "history-too-coarse" else "caution")


def test_figures_of_rows_far_apart_are_those_from_the_first_sure_row_and_of_the_row_before() -> None:
    """Detectable at 150 of 300 cycles; the first row that is sure is at 200. Inspections at 150 (row before: 1 mm, but
    1.5 mm is what counts as detectable) and at 225 cycles (row before: 2 mm)."""
    outcome = plan_inspections(CYCLES, SIZES, detectable_mm=1.5, curve=HALF)
    of = {each.field: each for each in outcome.findings if each.code in {"history-coarse", "history-too-coarse"}}
    assert "the interval is 50 cycles, by a straight line from the row before 75" in of["interval_cycles"].message
    at_rows, between = 2.0 / 3.5 * 2.0 / 4.0, 2.0 / 3.5 * 2.0 / 5.5
    assert f"miss the crack with {at_rows:.3g}, by" in of["worst_missed_probability"].message
    assert of["worst_missed_probability"].message.endswith(f"with {between:.3g}")
    exact = plan_inspections([0.0, 100.0, 200.0, 210.0], SIZES, detectable_mm=2.0, inspections=1)
    assert not {"history-coarse", "history-too-coarse"} & codes(exact)


# growth behind a plan


def test_a_history_that_ends_with_the_calculation_is_not_critical_there() -> None:
    assert not any(ends_early(reason) for reason in (None, *CRITICAL))
    assert ends_early("size")
    assert said(None) == [("last-row-critical", "note", "critical_cycles")]
    assert said(GROWN) == said(None)
    early = replace(GROWN, end_reason="cycles")
    assert said(early) == [("last-row-not-critical", "caution", "critical_cycles")]
    assert refused(history=early, size_kind="depth", detectable_mm=8.0) == (
        "the history ends (cycles) before the crack is detectable",
        ("detectable_mm",),
    )


def test_what_the_growth_did_not_look_for_is_missing_in_the_plan() -> None:
    unchecked = replace(GROWN, strength_checked=False, size_kind="unknown")
    assert said(unchecked)[1:] == [
        ("size-kind-on-faith", "caution", "size_kind"),
        ("critical-size-not-checked", "caution", "critical_cycles"),
    ]


def test_a_plan_is_no_better_than_its_growth() -> None:
    outside_code = ("history-outside", "outside", "interval_cycles")
    assert said(replace(GROWN, outside_codes=("range-too-large",)))[1:] == [outside_code]
    vanishes = replace(GROWN, end_reason="driving-force-vanishes")
    assert said(vanishes)[1:] == [outside_code]
    (found,) = [f for f in history_findings(vanishes, 1.0, 1.0) if f.code == "history-outside"]
    assert "(driving-force-vanishes)" in found.message
    twice = replace(vanishes, outside_codes=("driving-force-vanishes", "other"))
    (found,) = [f for f in history_findings(twice, 1.0, 1.0) if f.code == "history-outside"]
    assert "(driving-force-vanishes, other)" in found.message


@pytest.mark.parametrize(
    ("left", "interval", "code"),
    [
        (200.0, 100.0, None),
        (199.0, 10.0, "interval-of-few-blocks"),
        (199.0, 9.9, "interval-within-block"),
        (20.0, 5.0, "interval-within-block"),
    ],
)
def test_twenty_blocks_are_wanted_from_detectable_to_critical(left: float, interval: float, code: str | None) -> None:
    found = said(replace(GROWN, block_cycles=10.0), left, interval)[1:]
    severity = "outside" if code == "interval-within-block" else "caution"
    assert found == ([(code, severity, "interval_cycles")] if code else [])
    if code:
        (*_, last) = history_findings(replace(GROWN, block_cycles=10.0), left, interval)
        assert f"takes {left / 10.0:.3g} blocks of 10 cycles" in last.message


def test_the_time_left_of_a_history_is_from_detectable_to_critical() -> None:
    history = replace(GROWN, block_cycles=11.0)  # 150 cycles from 1.5 mm on, 13.6 blocks
    outcome = plan_inspections(history=history, size_kind="depth", detectable_mm=1.5)
    (found,) = (each for each in outcome.findings if each.code == "interval-of-few-blocks")
    assert "takes 13.6 blocks of 11 cycles" in found.message


def test_codes_outside_validity_are_kept_once_each() -> None:
    found = [outside("one", "a"), caution("two", "b"), outside("three", "c"), outside("one", "d")]
    assert judged(GROWN, found).outside_codes == ("one", "three")


# what a plan is made of


def test_a_history_is_read_in_the_size_that_is_asked_for() -> None:
    by_depth = plan_inspections(history=GROWN, size_kind="depth", detectable_mm=1.0)
    by_length = plan_inspections(history=GROWN, size_kind="length", detectable_mm=4.0)
    assert by_depth.detectable_cycles == by_length.detectable_cycles == 100.0
    through = replace(GROWN, size_kind="half-length", half_length_mm=None)
    assert plan_inspections(history=through, size_kind="length", detectable_mm=2.0).detectable_cycles == 100.0
    assert refused(history=through, size_kind="depth", detectable_mm=1.0)[1] == ("size_kind",)
    shown = replace(GROWN, size_kind="half-length")
    assert plan_inspections(history=shown, size_kind="length", detectable_mm=4.0).detectable_cycles == 100.0
    no_length = replace(GROWN, half_length_mm=None)
    message, path = refused(history=no_length, size_kind="length", detectable_mm=1.0)
    assert (message, path) == ("the history has no length", ("history", "half_length_mm"))
    no_depth = replace(GROWN, depth_mm=None)
    message, path = refused(history=no_depth, size_kind="depth", detectable_mm=1.0)
    assert (message, path) == ("the history has no depth", ("history", "depth_mm"))


def test_a_history_or_columns_are_given_and_not_both() -> None:
    for more in ({"elapsed_cycles": CYCLES}, {"crack_size_mm": SIZES}):
        message, path = refused(history=GROWN, size_kind="depth", detectable_mm=1.0, **more)
        assert (message, path) == ("give a history or columns of your own, not both", ("history",))
        message, path = refused(detectable_mm=1.0, **more)
        assert (message, path) == ("give a history, or elapsed_cycles with crack_size_mm", ("history",))
    assert refused(history=GROWN, detectable_mm=1.0)[1] == ("size_kind",)


def test_a_history_that_cannot_be_inspected_is_refused() -> None:
    row = {name: getattr(GROWN, name)[:1] for name in ("elapsed_cycles", "depth_mm", "half_length_mm")}
    still = replace(GROWN, end_reason="arrest", **row)
    message, path = refused(history=still, size_kind="depth", detectable_mm=1.0)
    assert (message, path) == ("the crack does not grow: its history has one row (arrest)", ("history",))
    buried = replace(GROWN, size_kind="buried")
    message, path = refused(history=buried, size_kind="depth", detectable_mm=1.0, curve=HALF)
    assert path == ("curve",)
    assert message.startswith("no surface shows this crack")
    assert plan_inspections(history=buried, size_kind="depth", detectable_mm=1.0).interval_cycles == 100.0


def test_columns_are_as_long_as_each_other_and_never_fall() -> None:
    assert refused([0.0, 1.0, 2.0], [1.0, 2.0], detectable_mm=1.5)[1] != ()
    for name, cycles, sizes in (
        ("elapsed_cycles", [0.0, 3.0, 2.0, 1.0], [1.0, 2.0, 3.0, 4.0]),
        ("crack_size_mm", [0.0, 1.0, 2.0, 3.0], [1.0, 3.0, 2.0, 1.0]),
    ):
        assert refused(cycles, sizes, detectable_mm=1.5) == (f"{name} must not fall", (name, 2))
    assert refused([0.0, 1.0], [2.0, 2.0], detectable_mm=1.5) == (
        "the crack does not grow in this size",
        ("crack_size_mm",),
    )
    assert plan_inspections([0.0, 1.0, 2.0], [1.0, 2.0, 2.0], detectable_mm=1.5).interval_cycles == pytest.approx(0.75)
    level = plan_inspections([0.0, 1.0, 1.0, 3.0], [1.0, 1.0, 2.0, 2.5], detectable_mm=2.0)
    assert level.detectable_cycles == 1.0
    for name, cycles in (("elapsed_cycles", [-1.0, 1.0]), ("elapsed_cycles", [0.0, 2e30])):
        assert refused(cycles, [1.0, 2.0], detectable_mm=1.5)[1][0] == name
    for sizes in ([0.0, 1.0], [1.0, 2e30]):
        assert refused([0.0, 1.0], sizes, detectable_mm=0.5)[1][0] == "crack_size_mm"


def test_what_is_detectable_is_a_size_or_a_probability_of_a_curve() -> None:
    assert refused(CYCLES, SIZES, detectable_mm=1.0, curve=HALF, detection_probability=0.5)[1] == (
        "detection_probability",
    )
    assert refused(CYCLES, SIZES)[1] == ("detectable_mm",)
    assert refused(CYCLES, SIZES, curve=HALF)[1] == ("detection_probability",)
    assert plan_inspections(CYCLES, SIZES, curve=HALF, detection_probability=0.5).detectable_mm == pytest.approx(2.0)
    steps = refused([0.0, 2.0, 2.0], [1.0, 2.0, 3.0], detectable_mm=2.0)
    assert steps == ("the crack is critical as soon as it is detectable", ("detectable_mm",))


def test_an_own_curve_of_no_kind_fits_every_size() -> None:
    assert plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=HALF, size_kind="length")
    depth = replace(HALF, size="depth")
    assert plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=depth, size_kind="depth")
    assert refused(CYCLES, SIZES, detectable_mm=1.0, curve=depth, size_kind="length") == (
        "the detection curve goes by depth, the history by length",
        ("size_kind",),
    )
    assert refused(CYCLES, SIZES, detectable_mm=1.0, curve=depth)[1] == ("size_kind",)


def test_a_million_rows_are_read_and_no_more() -> None:
    rows = np.linspace(1.0, 9.0, 1_000_001)
    assert plan_inspections(rows[:-1], rows[:-1], detectable_mm=2.0).detectable_cycles == pytest.approx(2.0)
    assert refused(rows, rows[:-1], detectable_mm=2.0)[1] == ("elapsed_cycles",)
    assert refused(rows[:-1], rows, detectable_mm=2.0)[1] == ("crack_size_mm",)

"""What is said of a plan of inspections: of its schedule, of the growth behind it, of rows that lie far apart."""

from __future__ import annotations

from collections.abc import Iterator

from fatcore.cracks.configurations.plates import TOO_LONG
from fatcore.cracks.growth._vanishing_drive import VANISHES
from fatcore.cracks.growth.detection import DetectionCurve
from fatcore.cracks.growth.history import History
from fatcore.figures import figure, rounded_down
from fatcore.findings import Finding, caution, note, outside

# ends of growth at which the part is lost; the others are ends of the calculation
CRITICAL = (
    "through-thickness",
    "across-width",
    "separated",
    "fracture",
    "ligament-yield",
    "failure-assessment",
    "stiffness",
    "unstable",
)
FEW_BLOCKS = 20.0  # a mean over a block is then wrong by 5 % of the time left [own choice]
# of the larger of two figures with and without a line between rows: doubted, and outside [own choice]
NEAR_SHARE, FAR_SHARE = 0.95, 0.5


def plan_findings(inspections: int, curve: DetectionCurve | None, from_start: bool) -> list[Finding]:
    """What is said of the inspections themselves; from_start: the first crack is detectable."""
    message = (
        "the inspections shown are those of the worst phase of the schedule: the first just as the crack is"
        " detectable, the last a whole interval before the critical size"
    )
    found = [note("schedule-phase", message, field="inspection_cycles")]
    if inspections == 1:
        message = "one chance only: a crack missed once runs to its critical size"
        found.append(caution("one-chance", message, field="inspections"))
    if from_start:
        message = "the first crack is larger than detectable: counted from its start"
        found.append(note("detectable-from-start", message, field="detectable_mm"))
    if curve is not None:
        message = (
            "the inspections are taken as independent of each other; what hides a crack once may hide it"
            " again, then more are missed"
        )
        found.append(caution("independent-inspections", message, field="worst_missed_probability"))
    return found


def ends_early(end_reason: str | None) -> bool:
    """True where a history ends with the calculation, not with the part; columns of one's own end with it."""
    return end_reason is not None and end_reason not in CRITICAL


def history_findings(history: History | None, left_cycles: float, interval_cycles: float) -> Iterator[Finding]:
    """What the last row of a history is, and what its interval owes to the growth behind it; None is one's own."""
    yield _of_last_row(None if history is None else history.end_reason)
    if history is None:
        return
    if history.size_kind == "unknown":
        message = "the history does not say what its size is: that it is the kind named is taken on faith"
        yield caution("size-kind-on-faith", message, field="size_kind")
    if not history.strength_checked:
        message = (
            "the growth behind this history did not look for both fracture and collapse: a smaller crack than that"
            " of the last row may be critical, and the interval is then shorter; give the end of growth a strength"
        )
        yield caution("critical-size-not-checked", message, field="critical_cycles")
    yield from _of_validity(history)
    yield from _of_blocks(history.block_cycles, left_cycles, interval_cycles)


def row_findings(
    interval_cycles: float, after_cycles: float, missed: float | None, missed_at_rows: float | None
) -> Iterator[Finding]:
    """Where an answer hangs on sizes between rows that lie far apart.

    after_cycles   : interval from the first row on that is sure to be detectable
    missed         : chance that all inspections miss the crack; missed_at_rows : with the sizes of the rows before
                     each; None without a curve
    """
    text = (
        "rows of the history lie far apart: counted from the first of them at which the crack is detectable the"
        f" interval is {rounded_down(after_cycles)} cycles, by a straight line from the row before"
        f" {rounded_down(interval_cycles)}"
    )
    yield from _coarse(after_cycles, interval_cycles, text, "interval_cycles")
    if missed is not None and missed_at_rows is not None:
        text = (
            "rows of the history lie far apart: with the size of the row before each inspection all miss the crack"
            f" with {figure(missed_at_rows)}, by straight lines between the rows with {figure(missed)}"
        )
        yield from _coarse(missed, missed_at_rows, text, "worst_missed_probability")


def _coarse(smaller: float, larger: float, text: str, field: str) -> Iterator[Finding]:
    if smaller < FAR_SHARE * larger:
        yield outside("history-too-coarse", text, field=field)
    elif smaller < NEAR_SHARE * larger:
        yield caution("history-coarse", text, field=field)


def _of_last_row(end_reason: str | None) -> Finding:
    if ends_early(end_reason):
        message = (
            f"the history ends by {end_reason}, not at a critical size: its last row is taken for critical all the same"
        )
        return caution("last-row-not-critical", message, field="critical_cycles")
    message = "the last row of the history is taken as the critical size"
    return note("last-row-critical", message, field="critical_cycles")


def _of_validity(history: History) -> list[Finding]:
    """An interval is no better than the growth that it is taken from."""
    by_end = [code for code in (VANISHES, TOO_LONG) if code == history.end_reason]
    codes = list(dict.fromkeys([*history.outside_codes, *by_end]))
    if not codes:
        return []
    message = f"the growth behind this history is outside validity ({', '.join(codes)}): so is its interval"
    return [outside("history-outside", message, field="interval_cycles")]


def _of_blocks(block: float | None, left_cycles: float, interval_cycles: float) -> list[Finding]:
    """Growth is a mean over blocks: it says little about times within a few of them."""
    if block is None or left_cycles >= FEW_BLOCKS * block:
        return []
    message = (
        f"from detectable to critical the crack takes {rounded_down(left_cycles / block)} blocks of {figure(block)} "
        "cycles, over"
        " which its growth is a mean: when in a block it grows is not in the interval"
    )
    if interval_cycles < block:
        return [outside("interval-within-block", message, field="interval_cycles")]
    return [caution("interval-of-few-blocks", message, field="interval_cycles")]

"""Findings on the choices of a request, where they may favour the part: loading, target, curve rule."""

from __future__ import annotations

from collections.abc import Sequence

from fatcore.check.line import Basis, WeldLine
from fatcore.check.loading import BlockLoading, HistoryLoading, Loading
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.biaxiality import OPENING_ID, SHEAR_ID, default_bounds
from fatcore.curves.curve import Curve
from fatcore.curves.relief import factor_findings
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside

SHEAR_FOR_OPENING, BOUNDS_LOWER = "shear-curve-for-opening", "bounds-lower-damage"
ONE_PASS = "one-pass-asked"


def of_loading(loading: Loading, lines: Sequence[WeldLine], target: Target) -> tuple[Finding, ...]:
    """How cycles were taken, and what the loading leaves out."""
    unused = sorted({case for line in lines for case in line.cases} - set(loading.names()))
    found = []
    if unused:
        text = f"load cases that the loading does not name count nothing: {', '.join(unused)}"
        found.append(caution("case-not-loaded", text, field="cases"))
    if isinstance(loading, HistoryLoading):
        return (*found, *_of_history(loading, target))
    return (*found, *_of_blocks(loading))


def _of_history(loading: HistoryLoading, target: Target) -> list[Finding]:
    text = f"channels superposed, then counted: residue {loading.residue}, cycles {loading.definition}"
    found = [note("counting", text, field="loading", source="astm-e1049")]
    if loading.residue == "half" and target.repeats > 1.0:
        text = (
            f"half cycles are for a record that happens once, {as_given(target.repeats)} repeats are asked:"
            " the cycles from one repeat to the next are not counted"
        )
        found.append(caution("residue-of-one-pass", text, field="residue", source="astm-e1049"))
    return found


def _of_blocks(loading: BlockLoading) -> list[Finding]:
    if len(loading.blocks) == 1:
        return []
    found = [_transitions(loading)]
    absent = {name for block in loading.blocks for name in set(loading.names()) - set(block.factors)}
    if absent:
        text = f"load cases count 0 in the blocks that do not name them: {', '.join(sorted(absent))}"
        found.append(note("case-absent-in-block", text, field="blocks"))
    return found


def _transitions(loading: BlockLoading) -> Finding:
    if loading.joined:
        text = (
            "the load states of all blocks follow each other once a repeat: the cycles between them that no"
            " block holds are counted besides, at each station in the worst order of the ends of the blocks"
        )
        return note("transitions-added", text, field="transitions", source="astm-e1049")
    text = "the blocks are said to hold every cycle: cycles between the load states of different blocks are not counted"
    return caution("block-transitions", text, field="transitions")


def of_target(target: Target) -> tuple[Finding, ...]:
    """Factors that relieve the part."""
    found = [
        *factor_findings(load_factor=target.load_factor, resistance_factor=target.resistance_factor),
    ]
    if target.repeats < 1.0:
        text = f"{as_given(target.repeats)} repeats: less than one repeat of the loading is asked"
        found.append(caution("less-than-one-pass", text, field="repeats"))
    return tuple(found)


def of_passes(target: Target, loading: Loading, cycles: float) -> tuple[Finding, ...]:
    """A caution where several blocks or a history are judged for a single pass, which nobody may have meant.

    cycles : of one pass at the governing point
    """
    several = isinstance(loading, HistoryLoading) or len(loading.blocks) > 1
    if target.repeats != 1.0 or not several:
        return ()
    text = (
        f"1 repeat: the verdict is of a single repeat of the loading, {figure(cycles)} cycles at the governing point;"
        " give the repeats of the whole life, unless the loading is the whole life"
    )
    return (caution(ONE_PASS, text, field="repeats"),)


def of_rule(resistance: Resistance, basis: Basis, *, lowered: bool = False) -> tuple[Finding, ...]:
    """Bounds of the biaxiality rule that were moved, curves that changed places, ratios that are not used.

    lowered : the bounds leave some judged station less damage than the default ones
    """
    if basis != "peak-stress":
        return ()
    if resistance.rule == "fixed":
        return tuple(_of_fixed(resistance.curve))
    return (*_of_bounds(resistance, lowered), *_of_places(resistance))


def _of_fixed(curve: Curve) -> list[Finding]:
    text = f"{curve.id} judges every cycle, whatever its biaxiality ratio"
    found = [caution("biaxiality-not-used", text, field="curve", source="biaxiality-rule")]
    if curve.id == SHEAR_ID:
        text = f"{SHEAR_ID} is for cycles with shear, and is named for cycles that open the notch"
        found.append(outside(SHEAR_FOR_OPENING, text, field="curve", source=curve.source))
    return found


def _of_bounds(resistance: Resistance, lowered: bool) -> list[Finding]:
    low, high = default_bounds()
    if resistance.lower == low and resistance.upper == high:
        return []
    text = (
        f"bounds of the biaxiality rule {as_given(resistance.lower)} and {as_given(resistance.upper)} in place "
        f"of {as_given(low)} and"
        f" {as_given(high)}: they choose the curve"
    )
    if lowered:
        text += ", and take judged cycles off the curve of the larger damage"
        return [outside(BOUNDS_LOWER, text, field="biaxiality_ratio", source="biaxiality-rule")]
    return [caution("bounds-moved", text, field="biaxiality_ratio", source="biaxiality-rule")]


def _of_places(resistance: Resistance) -> list[Finding]:
    found = []
    if resistance.curve.id == SHEAR_ID:
        text = f"{SHEAR_ID} is named as the curve for opening"
        found.append(outside(SHEAR_FOR_OPENING, text, field="opening_curve", source=resistance.curve.source))
    if resistance.shear_curve is not None and resistance.shear_curve.id == OPENING_ID:
        text = f"{OPENING_ID} is named as the curve for shear"
        found.append(caution("opening-curve-for-shear", text, field="shear_curve"))
    return found

"""Findings on the ends of a line: stations left out, over the limit, used more than the judged ones."""

from __future__ import annotations

import numpy as np

from fatcore.check.line import WeldLine
from fatcore.check.stations import LineState
from fatcore.figures import against, as_given, coordinate, figure
from fatcore.findings import Finding, caution, note, outside

UNJUDGED_OVER_LIMIT, MOST_UNJUDGED = "unjudged-over-limit", "most-not-judged"
_FEWEST_JUDGED = 3  # fewer are few [own choice]
_LEAST_JUDGED = 0.5  # of the stations: with fewer the line as a whole was not judged [own choice]


def ends_findings(line: WeldLine, state: LineState, governing_index: int) -> list[Finding]:
    """Findings on the stations left out and on a governing station at the edge of what is judged."""
    if line.closed:
        return _loop(line)
    found = [*_left_out(line, state), *_over_limit(line, state)]
    places = np.flatnonzero(state.judged)
    edges = [int(places[at]) for at, end in ((0, "start"), (-1, "end")) if end not in line.symmetric_ends]
    if state.judged.size > 1 and governing_index in edges:
        which = "first" if governing_index == places[0] else "last"
        text = f"the governing station is the {which} judged one: the largest stress may lie beyond it"
        found.append(caution("governing-at-end", text, field="exclude_ends_mm"))
    return found


def _loop(line: WeldLine) -> list[Finding]:
    if line.exclude_ends_mm <= 0.0:
        return []
    text = "a closed line has no ends: exclude_ends_mm leaves nothing out"
    return [note("loop-without-ends", text, field="exclude_ends_mm")]


def _left_out(line: WeldLine, state: LineState) -> list[Finding]:
    left, size = int(np.count_nonzero(~state.judged)), state.judged.size
    if left == 0:
        return []
    reason = "" if line.exclude_ends_reason is None else f"; reason: {line.exclude_ends_reason}"
    text = f"{left} stations within {as_given(line.exclude_ends_mm)} mm of the line ends are shown, not judged"
    found = [note("ends-not-judged", text + reason, field="exclude_ends_mm")]
    text = f"only {size - left} of {size} stations are judged"
    if size - left < _LEAST_JUDGED * size:
        found.append(outside(MOST_UNJUDGED, text, field="exclude_ends_mm"))
    elif size - left < _FEWEST_JUDGED:
        found.append(caution("few-judged", text, field="exclude_ends_mm"))
    largest, judged = state.utilisation[~state.judged].max(), state.utilisation[state.judged].max()
    if 1.0 >= largest > judged:
        text = (
            f"a station that is not judged is used more ({against(largest, 1.0)}) than the governing one "
            f"({figure(judged)})"
        )
        found.append(caution("unjudged-used-more", text, field="exclude_ends_mm"))
    return found


def _over_limit(line: WeldLine, state: LineState) -> list[Finding]:
    over = np.flatnonzero(~state.judged & (state.utilisation > 1.0))
    if not over.size:
        return []
    worst = int(over[state.utilisation[over].argmax()])
    text = (
        f"stations that are not judged are over the limit, utilisation {against(state.utilisation[worst], 1.0)}"
        f" at {coordinate(line.position_mm[worst])} mm"
    )
    if line.exclude_ends_reason is None:
        text += ", and no exclude_ends_reason says why they are left out"
        return [outside(UNJUDGED_OVER_LIMIT, text, field="exclude_ends_mm")]
    text += f"; reason: {line.exclude_ends_reason}"
    return [caution("unjudged-over-limit-with-reason", text, field="exclude_ends_mm")]

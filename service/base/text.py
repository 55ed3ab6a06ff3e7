"""Answers as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from fatcore.findings import FindingKind

from .finding_rows import finding_rows

WIDTH = 100
_WHOLE_WORDS: Mapping[str, Any] = {"width": WIDTH, "break_on_hyphens": False}  # a code is found by searching
END_WORDS = {
    "arrest": "it comes to rest below the threshold",
    "unstable": "it runs",
    "cycles": "the given cycles are reached",
    "fracture": "the toughness is reached",
    "ligament-yield": "the ligament yields",
    "failure-assessment": "the failure assessment line is reached",
    "stiffness": "the given stiffness ratio is reached",
    "size": "the given depth is reached",
    "length": "the given half length is reached",
}


def number(value: Any, digits: int = 4) -> str:
    """A number for reading: grouped when whole and large, exponent when very large or small.

    >>> number(1234567.0), number(0.012345), number(None), number(3.2e12)
    ('1,235,000', '0.01235', 'infinite', '3.2e+12')
    """
    if value is None:
        return "infinite"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    if 1e4 <= abs(value) < 1e10:
        return f"{float(f'{value:.{digits}g}'):,.0f}"
    return f"{value:.{digits}g}"


def table_text(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, str] | None = None) -> str:
    """Rows under headings, columns aligned; columns maps key to heading."""
    chosen = columns or {key: key for key, value in rows[0].items() if not isinstance(value, list | dict)}
    cells = [[number(row[key]) if row[key] is not None else "-" for key in chosen] for row in rows]
    table = [list(chosen.values()), *cells]
    widths = [max(len(line[index]) for line in table) for index in range(len(chosen))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in table
    )


GRAVITY = ("fail", "undecided", "pass")


def by_gravity(lines: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Lines of a check: failing, undecided, passing; the most used first."""
    return sorted(lines, key=lambda line: (GRAVITY.index(line["verdict"]), -line["governing_utilisation"]))


def place_text(point: Mapping[str, Any]) -> str:
    """Where a station is: along its line, and in the model where the request tells.

    >>> place_text({"index": 3, "position_mm": 7.0, "coordinates_mm": [1.0, -2.5, 0.0], "node_id": 12345})
    'station 3, 7 mm, node 12345, at (1, -2.5, 0)'
    """
    node, place = point["node_id"], point["coordinates_mm"]
    shown = [f"station {point['index']}", f"{point['position_mm'] + 0.0:.6g} mm"]
    shown += [] if node is None else [f"node {node}"]
    return ", ".join([*shown, *([] if place is None else [f"at {point_text(place)}"])])


def point_text(point: Sequence[float]) -> str:
    """Coordinates of a point.

    >>> point_text([1.0, -2.5, -0.0])
    '(1, -2.5, 0)'
    """
    return f"({', '.join(f'{value + 0.0:.6g}' for value in point)})"


def end_words(growth: Mapping[str, Any]) -> str:
    """Why the growth of a crack ends, as a clause."""
    reason = str(growth["end_reason"])
    return END_WORDS.get(reason, reason.replace("-", " "))


def findings_text(findings: Sequence[Mapping[str, Any]]) -> str:
    """Findings, the gravest first; the same message of several lines once, with their names."""
    shown = ["findings"]
    for row in finding_rows(findings):
        where = f" - {', '.join(row.lines)}" if row.lines else ""
        text = f"{row.severity}: {row.message} [{row.code}]{where}"
        shown.append(textwrap.fill(text, initial_indent="  ", subsequent_indent="      ", **_WHOLE_WORDS))
    return "\n".join(shown)


def finding_kind_text(kind: FindingKind) -> str:
    """One code of the catalogue: its severity, what it means and what to do."""
    text = f"{kind.severity}: {kind.meaning} [{kind.code}]"
    return textwrap.fill(text, subsequent_indent="    ", **_WHOLE_WORDS)


def facts_text(facts: Mapping[str, str]) -> str:
    """Names and values in two columns, long values on further lines of their column."""
    width = max(len(name) for name in facts)
    indent = " " * (width + 2)
    shown = (
        textwrap.wrap(f"{name:<{width}}  {value}", subsequent_indent=indent, **_WHOLE_WORDS)
        for name, value in facts.items()
    )
    return "\n".join(line for lines in shown for line in lines)


def closing_text(envelope: Mapping[str, Any]) -> str:
    """What ends every text: the findings and the caution."""
    return f"\n{findings_text(envelope['findings'])}\n\n{textwrap.fill(envelope['caution'], WIDTH)}"


HISTORY_COLUMNS = {
    "elapsed_cycles": "cycles",
    "depth_mm": "depth mm",
    "half_length_mm": "half length mm",
    "delta_k_deepest_mpa_sqrt_mm": "delta K MPa*sqrt(mm)",
    "rate_deepest_mm_per_cycle": "mm/cycle",
    "load_share": "load share",
    "stiffness_ratio": "stiffness",
}
HISTORY_ROWS = 12


def final_size(answer: Mapping[str, Any]) -> dict[str, str]:
    """The size at which growth ends: the depth, or the half length of a crack in a wall of unknown thickness.

    >>> final_size({"final_depth_mm": None, "final_half_length_mm": 7.5})
    {'final half length': '7.5 mm'}
    """
    depth, half = answer["final_depth_mm"], answer["final_half_length_mm"]
    if depth is None:
        return {"final half length": f"{number(half)} mm"}
    return {"final depth": f"{number(depth)} mm"}


def growth_text(envelope: Mapping[str, Any]) -> str:
    """Life of a crack, and some rows of its history."""
    answer = envelope["answer"]
    facts = {
        "life": f"{number(answer['life_cycles'])} cycles",
        "end": end_words(answer),
        **final_size(answer),
    }
    if answer["life_extension_factor"] is not None:
        facts["load sharing"] = f"{number(answer['life_extension_factor'])} times the life under constant load"
    history = {name: answer["history"][name] for name in HISTORY_COLUMNS if answer["history"][name] is not None}
    size = len(history["elapsed_cycles"])
    chosen = sorted({round(step * (size - 1) / (HISTORY_ROWS - 1)) for step in range(HISTORY_ROWS)})
    rows = [{name: column[index] for name, column in history.items()} for index in chosen]
    shown = table_text(rows, {name: HISTORY_COLUMNS[name] for name in history})
    return facts_text(facts) + "\n\n" + shown + "\n" + closing_text(envelope)

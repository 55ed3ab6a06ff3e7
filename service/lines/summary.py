"""What a check request made from a table holds, assumes and leaves out, as text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from fatcore.figures import as_given

from ..base.text import WIDTH, number
from .map import TableLayout
from .table import Mapped


def lines_text(made: Mapped, layout: TableLayout, histories: Iterable[str] = ()) -> str:
    """Lines, stations, load cases; histories of files; what was assumed, skipped and not used; doubts."""
    lines = made.request["lines"]
    stations = sum(len(line["position_mm"]) for line in lines)
    cases = sorted({case for line in lines for case in line["cases"]})
    assumed = [(name, f"assumed: {'; '.join(words)}") for name, words in made.assumptions.items()]
    parts = [
        f"{len(lines)} lines, {stations} stations, load cases: {', '.join(cases)}",
        *_by_text((line["name"], _line(line)) for line in lines),
        *(f"history: {words}" for words in histories),
        f"assumed: lengths of the table times {as_given(layout.length_factor)} are mm, stresses times"
        f" {as_given(layout.stress_factor)} are MPa for the unit loads as the loading counts them",
        *_by_text(assumed),
        *_listed("ratio of size to mesh size not judged", _unjudged(lines)),
        *_listed("skipped", made.skipped),
        *_listed("rules to skip that match no line", made.idle),
        *_listed("columns not used", made.unused),
        *_by_text(made.doubts),
    ]
    return "\n".join(textwrap.fill(part, WIDTH, subsequent_indent="    ") for part in parts)


def _line(line: Mapping[str, Any]) -> str:
    steps = np.diff(line["position_mm"])
    apart = f", {number(float(np.median(steps)))} mm apart" if steps.size else ""
    loop = "loop" if line["closed"] else "open"
    ends = f", {as_given(line['exclude_ends_mm'])} mm of its ends not judged" if line["exclude_ends_mm"] else ""
    mean = ", mean over three nodes" if line["average_over"] == 3 else ""
    mesh, notch = line["mesh"], line["notch"]
    return (
        f"{loop}, {len(line['position_mm'])} stations{apart}; {notch['kind']}"
        f" {as_given(notch['opening_angle_deg'])} deg, {mesh['element']} of {as_given(mesh['element_size_mm'])} mm"
        f"{mean}{ends}"
    )


def _by_text(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """One entry a text, with the names of all lines that share it."""
    groups: dict[str, list[str]] = {}
    for name, text in pairs:
        groups.setdefault(text, []).append(name)
    return [f"  {', '.join(names)}: {text}" for text, names in groups.items()]


def _unjudged(lines: Iterable[Mapping[str, Any]]) -> list[str]:
    return [line["name"] for line in lines if line["notch"]["notch_size_mm"] is None]


def _listed(title: str, names: Iterable[str]) -> list[str]:
    given = list(names)
    return [f"{title}: {', '.join(given)}"] if given else []

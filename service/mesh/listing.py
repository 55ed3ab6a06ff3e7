"""Weld lines of a mesh as JSON and as text: what was found, what was left out, what is doubtful."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Any

from fatcore.figures import as_given, coordinate, figure
from fatcore.outcome import plain
from fatcore.stress.weld_lines.solid.detect import LeftOut, WeldLines
from fatcore.stress.weld_lines.solid.lines import SolidLine

from ..base.text import WIDTH
from .mapping import MappedMesh
from .raw import RawMesh

_FIELDS = (
    "name",
    "kind",
    "opening_angle_deg",
    "closed",
    "length_mm",
    "mesh_size_mm",
    "element_size_mm",
    "across_mm",
    "elements",
    "elements_around",
    "position_mm",
    "coordinates_mm",
    "tangent",
    "bisector",
    "node_opening_deg",
    "symmetric_start",
    "symmetric_end",
)


def listing(raw: RawMesh, found: WeldLines) -> dict[str, Any]:
    """Everything as plain data for JSON; `node_id` is of the file, as `numbered` says."""
    return {
        "lines": [_line(raw, line) for line in found.lines],
        "left_out": [plain(each) for each in found.left_out],
        "findings": [plain(finding) for finding in (*found.findings, *raw.doubts)],
        "numbered": raw.numbered,
        "arrays": {name: 1 if array.ndim == 1 else array.shape[1] for name, array in sorted(raw.point_data.items())},
        "other_cells": dict(raw.other),
    }


def _line(raw: RawMesh, line: SolidLine) -> dict[str, Any]:
    return {**{name: plain(getattr(line, name)) for name in _FIELDS}, "node_id": raw.node_id[line.node_index].tolist()}


def listing_text(raw: RawMesh, found: WeldLines, assumed_factor: float | None) -> str:
    """The same for a person; the factor of lengths where nobody gave one."""
    parts = [
        f"{len(found.lines)} weld line{'s' * (len(found.lines) != 1)}" + (":" if found.lines else " found"),
        *_table(found.lines, raw),
        *(["left out:"] if found.left_out else []),
        *(_left_out(each) for each in found.left_out),
        *_arrays(raw),
        f"node numbers: {raw.numbered}",
        *([] if assumed_factor is None else [f"assumed: lengths of the file times {as_given(assumed_factor)} are mm"]),
        *(f"{each.severity}: {each.message} [{each.code}]" for each in (*found.findings, *raw.doubts)),
    ]
    return "\n".join(textwrap.fill(part, WIDTH, subsequent_indent="    ") for part in parts)


def _table(lines: Iterable[SolidLine], raw: RawMesh) -> list[str]:
    return [
        f"  {line.name}: {figure(line.opening_angle_deg, 4)} deg, {'loop' if line.closed else 'open'},"
        f" {figure(line.length_mm, 4)} mm"
        f", {len(line.node_index)} nodes {figure(line.mesh_size_mm)} mm apart, "
        f"{' and '.join(line.elements)}{_size(line)}"
        f"; starts at {_place(line.coordinates_mm[0])} (node {int(raw.node_id[line.node_index[0]])}),"
        f" runs by {_place(line.coordinates_mm[1])}{_end(line)}"
        for line in lines
    ]


def _size(line: SolidLine) -> str:
    """The size that counts, where it is not the distance of the nodes."""
    return "" if line.element_size_mm == line.mesh_size_mm else f", counted as {figure(line.element_size_mm)} mm"


def _end(line: SolidLine) -> str:
    symmetric = [word for word, on in (("start", line.symmetric_start), ("end", line.symmetric_end)) if on]
    last = "" if line.closed else f" to {_place(line.coordinates_mm[-1])}"
    return last + (f"; {' and '.join(symmetric)} on a plane of symmetry" if symmetric else "")


def _place(point: Iterable[float]) -> str:
    return "(" + ", ".join(coordinate(float(part), 6) for part in point) + ")"


def _left_out(each: LeftOut) -> str:
    why = {"rounded": "edges of a rounded hollow", "short": "too short", "shallow": "above the limit"}[each.reason]
    extent = f"{each.nodes} nodes, {figure(each.opening_angle_deg, 4)} deg, {figure(each.length_mm, 4)} mm"
    return f"  {why}: {extent}, at {_place(each.place_mm)}"


def _arrays(raw: RawMesh) -> list[str]:
    names = [f"{name} ({1 if array.ndim == 1 else array.shape[1]})" for name, array in sorted(raw.point_data.items())]
    stepped = sorted({name for _, arrays in raw.steps for name in arrays})
    steps = [f"{len(raw.steps)} time steps of {', '.join(stepped)}"] if raw.steps else []
    elsewhere = [f"{name} (at {where})" for name, where in sorted(raw.elsewhere.items())]
    units = [f"{name}: {' '.join(dict.fromkeys(filter(None, each)))}" for name, each in sorted(raw.units.items())]
    units = [f"coordinates: {' '.join(dict.fromkeys(raw.length_unit))}"] * bool(raw.length_unit) + units
    other = [f"left out: {', '.join(f'{count} {name}' for name, count in raw.other.items())}"] if raw.other else []
    return [
        f"arrays at the nodes: {', '.join(names) or 'none'}",
        *_listed("arrays that are not read", elsewhere),
        *_listed("units that the file gives", units),
        *steps,
        *other,
    ]


def mapped_text(made: MappedMesh, raw: RawMesh, loaded: Iterable[str] = ()) -> str:
    """Lines, load cases, what was loaded from files, dropped, skipped and not used, doubts."""
    lines = made.request["lines"]
    cases = sorted({case for line in lines for case in line["cases"]})
    parts = [
        f"{len(lines)} line{'s' * (len(lines) != 1)}, load cases: {', '.join(cases)}",
        *(_mapped_line(line) for line in lines),
        *loaded,
        *_listed("nobody named, dropped", made.unnamed),
        *_listed("skipped", made.skipped),
        *_listed("rules to skip that match no line", made.idle),
        *_listed("arrays of stresses that no load case uses", made.unloaded),
        f"left out by the search: {_chains(len(made.found.left_out))} (--list shows them)",
        f"node numbers: {raw.numbered}",
        *(f"{finding.severity}: {finding.message} [{finding.code}]" for finding in made.found.findings),
        *(f"  {name}: {text}" for name, text in made.doubts),
    ]
    return "\n".join(textwrap.fill(part, WIDTH, subsequent_indent="    ") for part in parts)


def _mapped_line(line: dict[str, Any]) -> str:
    notch, mesh = line["notch"], line["mesh"]
    return (
        f"  {line['name']}: {notch['kind']} {as_given(notch['opening_angle_deg'])} deg, "
        f"{len(line['position_mm'])} stations,"
        f" {mesh['element']} of {figure(mesh['element_size_mm'])} mm, starts at {_place(line['coordinates_mm'][0])}"
    )


def _listed(what: str, names: Iterable[str]) -> list[str]:
    shown = ", ".join(names)
    return [f"{what}: {shown}"] if shown else []


def _chains(count: int) -> str:
    return f"{count} chain{'s' * (count != 1)} of edges"

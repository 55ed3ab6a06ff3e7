"""Turns a solid mesh with nodal stresses into a check request."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding
from fatcore.stress.weld_lines.solid.detect import WeldLines, find_weld_lines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.symmetry import planes_of

from ..base.problems import Problem, pointer
from ..lines.request import Doubt, LineSource, guard_request
from ..lines.rows import Row
from .doubts import doubts_by_line
from .layout import MeshLayout, MeshMap, MeshRule, Search
from .naming import name_lines
from .raw import RawMesh, solid_of
from .stated import alike, guard_stated
from .stresses import Cases, arrays_of, jumps_of, stresses_of, stresses_of_table, table_layout
from .tensors import COMPONENTS

_ANGLE_DEG = 3.0  # an opening angle in place of the mesh's, as a drawing gives it


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedMesh:
    """A check request from a mesh, and what a person must know of how it came about.

    found    : the search with everything that it left out; unnamed: lines that nobody named and were dropped
    skipped  : lines that the map leaves out; idle: patterns of rules to skip that match nothing
    unloaded : arrays of the file that no load case uses
    """

    request: dict[str, Any]
    found: WeldLines
    unnamed: tuple[str, ...]
    skipped: tuple[str, ...]
    idle: tuple[str, ...]
    unloaded: tuple[str, ...]
    doubts: tuple[Doubt, ...]


def search(raw: RawMesh, length_factor: float, symmetry: Sequence[str], limits: Search) -> WeldLines:
    """The weld lines of a mesh with limits as a map or a request gives them."""
    return find_weld_lines(solid_of(raw, length_factor), symmetry=planes_of(symmetry), **limits.model_dump())


def map_mesh(raw: RawMesh, mesh_map: MeshMap, rows: Sequence[Row] | None = None) -> MappedMesh:
    """The check request of a mesh, validated, with what was assumed and left out.

    rows   : of the table beside the mesh, where the map has one
    Raises : InputError for mesh and table; Problem whose pointers refer to the map
    """
    layout = mesh_map.mesh
    found = search(raw, layout.length_factor, layout.symmetry, layout.search)
    lines = name_lines(found.lines, layout.names, raw, layout.unnamed == "drop")
    if not lines:
        raise InputError("no weld line is left: the search found none, or nobody named one", "mesh")
    rules = {line.name: _rule(line.name, mesh_map.lines) for line in lines}
    judged = [line for line in lines if not mesh_map.lines[rules[line.name]].skip]
    if not judged:
        raise InputError("every line is skipped", "lines")
    _guard_idle(mesh_map.lines, set(rules.values()))
    wanted = np.unique(np.concatenate([line.node_index for line in judged]))
    assumed = guard_stated(raw, layout)
    cases, jumps = _stresses(raw, mesh_map, rows, wanted)
    kept = {id(line.node_index) for line in lines}  # two lines may begin at one node
    dropped = tuple(line.name for line in found.lines if id(line.node_index) not in kept)
    skipped = tuple(line.name for line in lines if mesh_map.lines[rules[line.name]].skip)
    assumed = (*assumed, *alike(cases, wanted))
    doubts = doubts_by_line(found, judged, (*dropped, *skipped), jumps, raw, assumed)
    sources = [LineSource(name=line.name, rule=rules[line.name]) for line in judged]
    content = []
    for line, source in zip(judged, sources, strict=True):
        with source.located():
            content.append(_content(line, mesh_map.lines[source.rule], cases, raw))
        if doubts[line.name]:
            content[-1]["mesh_doubts"] = _by_code(doubts[line.name])
    request = {**mesh_map.request, "lines": content}
    return MappedMesh(
        request=request,
        found=found,
        unnamed=dropped,
        skipped=skipped,
        idle=tuple(rule.match for at, rule in enumerate(mesh_map.lines) if at not in set(rules.values())),
        unloaded=_unloaded(raw, layout),
        doubts=guard_request(request, sources),
    )


def _rule(name: str, rules: Sequence[MeshRule]) -> int:
    for index, rule in enumerate(rules):
        if fnmatchcase(name, rule.match):
            return index
    raise InputError(f"no rule of the map matches the line {name!r}", "lines")


def _guard_idle(rules: Sequence[MeshRule], used: set[int]) -> None:
    """A rule that judges no line is a slip: its lines went to another rule, or have another name."""
    idle = [index for index, rule in enumerate(rules) if index not in used and not rule.skip]
    if idle:
        message = "no line falls under this rule, the first that matches counts"
        raise Problem(
            422, "a rule of the map judges nothing", [(pointer(["lines", at, "match"]), message) for at in idle]
        )


def _stresses(
    raw: RawMesh, mesh_map: MeshMap, rows: Sequence[Row] | None, wanted: NDArray[np.int64]
) -> tuple[Cases, dict[int, float]]:
    if mesh_map.table is None:
        return stresses_of(raw, mesh_map.mesh, wanted), jumps_of(raw, mesh_map.mesh)
    if rows is None:
        raise InputError("the map has a table of stresses beside the mesh, and none is given", "table")
    layout = table_layout(mesh_map.table, mesh_map.mesh.stress_factor)
    return stresses_of_table(rows, layout, raw, mesh_map.table.first_node, wanted)


def _content(line: SolidLine, rule: MeshRule, cases: Cases, raw: RawMesh) -> dict[str, Any]:
    content: dict[str, Any] = {
        "name": line.name,
        "notch": {
            "kind": line.kind,
            "opening_angle_deg": _opening(line, rule),
            "notch_size_mm": None if rule.notch_size_mm == "not-judged" else rule.notch_size_mm,
        },
        "mesh": _elements(line, rule),
        "position_mm": line.position_mm.tolist(),
        "exclude_ends_mm": rule.exclude_ends_mm,
        "closed": line.closed,
        "average_over": rule.average_over,
        "tangent": line.tangent.tolist(),
        "bisector": line.bisector.tolist(),
        "coordinates_mm": line.coordinates_mm.tolist(),
        "node_id": raw.node_id[line.node_index].tolist(),
        "cases": {case: {"tensors_mpa": _columns(tensors[line.node_index])} for case, tensors in cases.items()},
    }
    if line.symmetric_start or line.symmetric_end:
        ends = (("start", line.symmetric_start), ("end", line.symmetric_end))
        content["symmetric_ends"] = [name for name, on in ends if on]
    if rule.constants is not None:
        content["mesh"] |= {"constants": rule.constants.model_dump(exclude_none=True)}
    content |= rule.own()
    if rule.exclude_ends_reason is not None:
        content["exclude_ends_reason"] = rule.exclude_ends_reason
    return content


def _opening(line: SolidLine, rule: MeshRule) -> float:
    """In whole degrees, which is what edges of elements tell: 135.02 of a curved mesh is no other notch than 135."""
    if rule.opening_angle_deg is None:
        return float(round(line.opening_angle_deg))
    if abs(rule.opening_angle_deg - line.opening_angle_deg) > _ANGLE_DEG:
        raise InputError(
            f"the mesh opens by {figure(line.opening_angle_deg)} deg where {as_given(rule.opening_angle_deg)} "
            "are given",
            "opening_angle_deg",
        )
    return rule.opening_angle_deg


def _element(line: SolidLine, rule: MeshRule) -> str:
    if rule.element is not None:
        return rule.element
    if len(line.elements) != 1:
        raise InputError(f"its elements are of several kinds: {', '.join(line.elements)}", "mesh", "element")
    if line.elements[0] not in ("brick8", "tet4", "tet10"):
        raise InputError(
            f'no constants are published for {line.elements[0]}: give your own with element = "own"', "mesh", "element"
        )
    return line.elements[0]


def _elements(line: SolidLine, rule: MeshRule) -> dict[str, Any]:
    content: dict[str, Any] = {"element": _element(line, rule), "element_size_mm": line.element_size_mm}
    if content["element"] == "brick8":
        content["elements_around"] = line.elements_around
    return content


def _columns(tensors: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> dict[str, list[float]]:
    return {name: tensors[:, at].tolist() for at, name in enumerate(COMPONENTS)}


def _by_code(findings: Iterable[Finding]) -> dict[str, list[str]]:
    messages: dict[str, list[str]] = {}
    for finding in findings:
        messages.setdefault(finding.code, []).append(finding.message)
    return messages


def _unloaded(raw: RawMesh, layout: MeshLayout) -> tuple[str, ...]:
    """Arrays of tensors in the file that no load case uses."""
    used = {name for case in layout.cases.values() for name in arrays_of(raw, case)}
    tensors = [name for name, array in raw.point_data.items() if array.ndim == 2 and array.shape[1] in (6, 9)]
    return tuple(name for name in tensors if name not in used)

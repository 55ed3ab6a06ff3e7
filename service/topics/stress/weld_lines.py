"""Weld lines of a solid mesh: the route, and the reader of VTU bodies."""

from __future__ import annotations

import hashlib
import re
from typing import Annotated, Any

import numpy as np
from pydantic import Field, PlainSerializer, ValidatorFunctionWrapHandler, WrapValidator

from fatcore.bounds import LARGEST, Number
from fatcore.errors import InputError, at
from fatcore.outcome import plain
from fatcore.stress.weld_lines.solid.detect import LeftOut, WeldLines, find_weld_lines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import ElementBlock, SolidMesh, solid_mesh
from fatcore.stress.weld_lines.solid.symmetry import planes_of

from ...base.common import MAX_POINTS, Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from ...base.problems import Problem
from ...base.units import guard_given_unit
from ...mesh.formats.vtu import read_vtu
from ...mesh.raw import Plane, RawMesh
from ...mesh.tensors import COMPONENTS, Component, array_of, guard_components, guard_format, tensors_of, unread_units
from ..costs import weld_lines_cost
from .models import TensorInput

MAX_VTU_BYTES = 1 << 28  # of all arrays of a body together
MAX_ELEMENTS = 2_000_000
MAX_ENTRIES = 20_000_000  # node numbers of all elements


def _array_or_rows(value: Any, checked: ValidatorFunctionWrapHandler) -> Any:
    # arrays come from the reader of VTU bodies only, which has checked them
    return value if isinstance(value, np.ndarray) else checked(value)


def _for_digest(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return {"shape": list(value.shape), "sha256": hashlib.sha256(np.ascontiguousarray(value).tobytes()).hexdigest()}
    return value


_ARRAY = (WrapValidator(_array_or_rows), PlainSerializer(_for_digest))
_Number3 = Annotated[list[Number], Field(min_length=3, max_length=3)]
_Number6 = Annotated[list[Number], Field(min_length=6, max_length=6)]
_Places = Annotated[list[Annotated[int, Field(ge=0, lt=MAX_POINTS)]], Field(min_length=4, max_length=20)]
Points = Annotated[list[_Number3], Field(min_length=4, max_length=MAX_POINTS), *_ARRAY]
Tensors = Annotated[list[_Number6], Field(min_length=4, max_length=MAX_POINTS), *_ARRAY]
Elements = Annotated[list[_Places], Field(min_length=1, max_length=MAX_POINTS), *_ARRAY]


@request_of(ElementBlock)
class MeshElements(Derived):
    """Elements of one kind: places of their nodes among the points, from 0, corners before mid-side nodes."""

    nodes: Elements


@request_of(find_weld_lines, omit=("mesh", "symmetry"))
class WeldLinesRequest(Derived):
    """A solid mesh: points, elements, and where wanted the stress tensors at all its nodes."""

    points_mm: Points
    element_blocks: Annotated[list[MeshElements], Field(min_length=1, max_length=100)]
    symmetry: Annotated[list[Plane], Field(max_length=3, description='planes on which the part is cut, "y=0"')] = Field(
        default_factory=list
    )
    tensors_mpa: Annotated[
        dict[str, Tensors], Field(max_length=100, description="by load case, xx, yy, zz, xy, yz, zx of each node")
    ] = Field(default_factory=dict)


class LineCase(Strict):
    """Stresses of a load case at the stations of a line, as a check takes them."""

    tensors_mpa: TensorInput


@answer_of(SolidLine, omit=("step_mm", "node_index"))
class FoundLine(Strict):
    """A weld line with the frame of every node; node_id: places of its nodes among the points, from 0."""

    node_id: list[int]
    cases: dict[str, LineCase]


@answer_of(LeftOut)
class LeftOutChain(Strict):
    """A chain of re-entrant edges that is listed as no weld line."""


@answer_of(WeldLines)
class WeldLinesAnswer(Strict):
    """Weld lines, longest first, and what was left out."""

    lines: list[FoundLine]


def vtu_body(body: bytes, query: dict[str, str]) -> dict[str, Any]:
    """Data of the request from a VTU body; the query has the rest.

    length_factor : of its coordinates to mm; stress_factor: of its arrays to MPa, with cases
    cases         : "tension:S_tension,lateral:S_lateral", load case and array; a comma of a name as "\\,"
    components    : "xx,yy,zz,xy,yz,zx", order of the numbers in arrays of six
    symmetry      : "y=0,x=10"
    """
    rest = dict(query)
    if "stress_factor" in rest and not rest.get("cases"):
        raise Problem(422, "stress_factor is of the arrays that cases names", [("/stress_factor", "only with cases")])
    factor = _factor(rest, "length_factor")
    cases = [_case(pair) for pair in _words(rest, "cases")]
    raw = read_vtu(body, MAX_VTU_BYTES, MAX_POINTS, MAX_ELEMENTS)
    for unit in raw.length_unit:
        if not guard_given_unit(unit, factor, "its coordinates", length=True):
            raise InputError(f"the file gives its coordinates in {unit!r}, an unknown unit", "length_factor")
    data: dict[str, Any] = {
        "points_mm": raw.points * factor,
        "element_blocks": [{"element": element, "nodes": nodes} for element, nodes in raw.cells],
        "symmetry": _words(rest, "symmetry"),
    }
    if cases:
        data["tensors_mpa"] = _tensors(raw, cases, _factor(rest, "stress_factor"), _components(rest))
    known = WeldLinesRequest.model_fields  # the request refuses others by name
    if twice := {"points_mm", "element_blocks", "tensors_mpa"}.intersection(rest):
        raise Problem(422, "the body has the mesh", [(f"/{name}", "comes from the body") for name in sorted(twice)])
    return {**{name: _number(name, text) if name in known else text for name, text in rest.items()}, **data}


def _words(query: dict[str, str], name: str) -> list[str]:
    """Words between commas; none only where the query does not have the name."""
    text = query.pop(name, None)
    words = (word.replace("\\,", ",").strip() for word in re.split(r"(?<!\\),", text or ""))
    if not (found := [word for word in words if word]) and text is not None:
        raise Problem(422, f"{name} is empty", [(f"/{name}", "name some, or leave it out")])
    return found


def _case(pair: str) -> tuple[str, str]:
    """Name of a load case, and of its array."""
    name, _, array = (word.strip() for word in pair.partition(":"))
    if not name:
        raise InputError(f"{pair!r} has no load case before its array: tension:S_tension", "cases")
    return name, array


def _factor(query: dict[str, str], name: str) -> float:
    if name not in query:
        raise Problem(422, f"{name} is needed: the unit of the file is not in it", [(f"/{name}", "needed")])
    value = _number(name, query.pop(name))
    if not 0.0 < value < LARGEST:
        raise Problem(422, f"{name} must be above zero", [(f"/{name}", "a number above zero, below 1e30")])
    return value


def _number(name: str, text: str) -> int | float:
    try:
        return int(text) if name == "least_nodes" else float(text)
    except ValueError as error:
        raise Problem(422, f"{name} is no number", [(f"/{name}", "a number")]) from error


def _components(query: dict[str, str]) -> list[Component] | None:
    given = _words(query, "components")
    if not given:
        return None
    if sorted(given) != sorted(COMPONENTS):
        raise Problem(422, "components names each of six once", [("/components", ",".join(COMPONENTS))])
    return [next(known for known in COMPONENTS if known == name) for name in given]


def _tensors(
    raw: RawMesh, cases: list[tuple[str, str]], factor: float, components: list[Component] | None
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for case, name in cases:
        with at("cases", case):
            if case in found or not name:
                raise InputError("give each load case once, with its array: tension:S_tension")
            array = array_of(raw.point_data, name, factor, raw.elsewhere)
            _guard_stated(raw, name, components, factor)
            found[case] = factor * tensors_of(array, components)
    return found


def _guard_stated(raw: RawMesh, name: str, components: list[Component] | None, factor: float) -> None:
    """No finding can go with a body into the answer: what a file or a map would get a finding for is refused."""
    array, names = raw.point_data[name], raw.components.get(name, ())
    text = guard_components(names, components, array.shape[1] if array.ndim == 2 else 1)
    if (fixed := raw.fixed.get(name)) and components:
        guard_format(name, fixed, components)
    elif text:
        raise InputError(f"{text}: name them xx, xy, ..., or not")
    if unread := unread_units(name, names, factor, raw.units.get(name, ())):
        raise InputError(f"array {name!r} has units that are not known: {', '.join(map(repr, unread))}")


@post(
    "stress/weld-lines",
    WeldLinesRequest,
    WeldLinesAnswer,
    revision=3,
    summary="Weld lines of a solid mesh",
    cost=weld_lines_cost,
    bodies={"application/xml": vtu_body, "text/xml": vtu_body},
)
def weld_lines(request: WeldLinesRequest) -> Reply:
    """Weld toes and roots of a solid mesh: sharp re-entrant edges of its surface and the ends of its slits, each
    node with tangent, bisector and opening angle; with nodal tensors also the stresses along each line, as a
    check takes them. A VTU file may be sent as the body, with length_factor and the rest in the query.
    Limits: 1,000,000 nodes; 2,000,000 elements with 20,000,000 node numbers, and no more than 20 a node and 1000
    besides; 2000 weld lines, a search that finds more is refused; arrays of a VTU file 256 MiB together once they
    are unpacked, where a number counts with at least four bytes; a body as the service takes any."""
    _guard_counts(request.element_blocks)
    mesh = _mesh(request)
    tensors = {case: _rows_of(case, rows, len(mesh.points_mm)) for case, rows in request.tensors_mpa.items()}
    found: WeldLines = call(find_weld_lines, request, mesh=mesh, symmetry=planes_of(request.symmetry))
    lines = [
        {
            **{name: plain(getattr(line, name)) for name in FoundLine.model_fields if hasattr(line, name)},
            "node_id": line.node_index.tolist(),
            "cases": {case: {"tensors_mpa": _by_name(rows[line.node_index])} for case, rows in tensors.items()},
        }
        for line in found.lines
    ]
    return reply(WeldLinesAnswer, found, lines=lines)


def _guard_counts(blocks: list[MeshElements]) -> None:
    """Refuses what the search would take minutes and gigabytes for, before it is begun."""
    elements = sum(len(block.nodes) for block in blocks)
    entries = sum(len(block.nodes) * max(map(len, block.nodes[:1]), default=0) for block in blocks)
    for count, most, what in ((elements, MAX_ELEMENTS, "elements"), (entries, MAX_ENTRIES, "node numbers of elements")):
        if count > most:
            raise InputError(f"the mesh has {count} {what}, more than {most}", "element_blocks")


def _mesh(request: WeldLinesRequest) -> SolidMesh:
    blocks = [(block.element, block.nodes) for block in request.element_blocks]
    return solid_mesh(np.asarray(request.points_mm, dtype=np.float64), blocks)


def _rows_of(case: str, rows: Any, points: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    values = np.asarray(rows, dtype=np.float64)
    if len(values) != points:
        raise InputError(f"{len(values)} tensors where the mesh has {points} points", "tensors_mpa", case)
    return values


def _by_name(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> dict[str, list[float]]:
    return {name: values[:, column].tolist() for column, name in enumerate(COMPONENTS)}

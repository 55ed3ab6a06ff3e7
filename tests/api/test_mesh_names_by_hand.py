"""Names of the lines of a mesh: straight lines along x written out by hand, at the edge of every rule."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.lines import SolidLine
from service.mesh.layout import LineName
from service.mesh.naming import name_lines
from service.mesh.raw import RawMesh


def a_line(
    name: str, y: float = 0.0, *, first: int = 0, count: int = 5, size: float = 1.0, **changes: Any
) -> SolidLine:
    """Nodes along x from 0, `size` apart, at the height y; their numbers are counted from `first`."""
    x = size * np.arange(count)
    along, up = np.tile([1.0, 0.0, 0.0], (count, 1)), np.tile([0.0, 0.0, 1.0], (count, 1))
    fields: dict[str, Any] = {
        "name": name,
        "kind": name.partition("-")[0],
        "opening_angle_deg": 135.0,
        "closed": False,
        "length_mm": float(x[-1]),
        "mesh_size_mm": size,
        "element_size_mm": size,
        "across_mm": size,
        "step_mm": (size, size),
        "elements": ("brick8",),
        "elements_around": 2,
        "node_index": np.arange(first, first + count),
        "coordinates_mm": np.column_stack([x, np.full(count, y), np.zeros(count)]),
        "position_mm": x,
        "tangent": along,
        "bisector": up,
        "node_opening_deg": np.full(count, 135.0),
        "symmetric_start": False,
        "symmetric_end": False,
    }
    return SolidLine(**fields | changes)


def raw(**sets: Sequence[int]) -> RawMesh:
    nodes = {name: np.array(places) for name, places in sets.items()}
    return RawMesh(points=np.zeros((99, 3)), cells=(), node_id=np.arange(99), numbered="", node_sets=nodes)


LINES = (a_line("toe-1", 0.0), a_line("toe-2", 30.0, first=10), a_line("root-1", 60.0, first=20))


def names(
    *given: dict[str, Any], lines: Sequence[SolidLine] = LINES, drop: bool = False, held: RawMesh | None = None
) -> list[str]:
    """Names of the lines in their order."""
    asked = [LineName.model_validate(each) for each in given]
    return [line.name for line in name_lines(lines, asked, held or raw(), drop)]


def refused(*given: dict[str, Any], **more: Any) -> tuple[str, tuple[str | int, ...]]:
    with pytest.raises(InputError) as error:
        names(*given, **more)
    return str(error.value), error.value.path


def near(name: str, y: float, **more: Any) -> dict[str, Any]:
    return {"name": name, "near_mm": [0.0, y, 0.0], **more}


def test_lines_that_nobody_named_keep_theirs_or_are_dropped() -> None:
    assert names(near("a", 30.0)) == ["toe-1", "a", "root-1"]
    assert names(near("a", 30.0), drop=True) == ["a"]
    assert names() == ["toe-1", "toe-2", "root-1"]
    assert names(drop=True) == []


@pytest.mark.parametrize(("off", "message"), [(5.0, None), (5.01, "is 5.01 mm from the point")])
def test_a_point_is_at_most_five_mesh_sizes_from_its_line(off: float, message: str | None) -> None:
    if message is None:
        assert names(near("a", 30.0 + off))[1] == "a"
        return
    text, path = refused(near("b", 60.0), near("a", 30.0 + off))
    assert text == f"the nearest line, toe-2, {message}: give a point on a line"
    assert path == ("mesh", "names", 1, "near_mm")


def test_the_reach_of_a_point_is_measured_in_sizes_of_the_nearest_line() -> None:
    lines = (a_line("toe-1", 0.0, size=0.5), a_line("toe-2", 30.0, size=4.0))
    assert names(near("a", 2.5), lines=lines) == ["a", "toe-2"]
    assert "is 2.6 mm from" in refused(near("a", 2.6), lines=lines)[0]
    assert names(near("a", 20.0), lines=lines) == ["toe-1", "a"]


@pytest.mark.parametrize(("other", "fits"), [(6.0, True), (5.99, False)])
def test_the_next_line_is_twice_as_far_from_the_point(other: float, fits: bool) -> None:
    """The point lies 2 from one line and 4 from the other, or 3.99."""
    lines = (a_line("toe-1", other), a_line("toe-2", 0.0))
    if fits:
        assert names(near("a", 2.0), lines=lines) == ["toe-1", "a"]
        return
    text, path = refused(near("a", 2.0), lines=lines)
    assert text == "toe-2 and toe-1 are about as near: give a point on the line, or the kind"
    assert path == ("mesh", "names", 0, "near_mm")


@pytest.mark.parametrize(("size", "other", "fits"), [(1.0, 0.2, True), (1.0, 0.199, False), (4.0, 0.79, False)])
def test_a_point_on_a_line_counts_as_a_tenth_of_a_mesh_size_away(size: float, other: float, fits: bool) -> None:
    lines = (a_line("toe-1", 0.0, size=size), a_line("toe-2", other, size=size))
    if fits:
        assert names(near("a", 0.0), lines=lines) == ["a", "toe-2"]
    else:
        assert "about as near" in refused(near("a", 0.0), lines=lines)[0]


def test_a_point_beside_the_only_line_needs_no_other() -> None:
    assert names(near("a", 4.0), lines=(a_line("toe-1"),)) == ["a"]


def test_distances_are_those_to_the_nearest_node() -> None:
    """Half way between two nodes the point is 0.5 away."""
    lines = (a_line("toe-1", 0.0), a_line("toe-2", 1.0))
    assert names({"name": "a", "near_mm": [4.0, 0.0, 0.0]}, lines=lines) == ["a", "toe-2"]
    assert (
        "about as near" in refused({"name": "a", "near_mm": [3.5, 0.0, 0.0]}, lines=(lines[0], a_line("toe-2", 0.8)))[0]
    )


@pytest.mark.parametrize("kind", ["toe", "root"])
def test_a_name_for_one_kind_looks_among_its_lines_only(kind: str) -> None:
    lines = (a_line("toe-1", 0.0), a_line("root-1", 0.1))
    assert names(near("a", 0.0, kind=kind), lines=lines) == (["a", "root-1"] if kind == "toe" else ["toe-1", "a"])
    assert "about as near" in refused(near("a", 0.0), lines=lines)[0]


def test_a_mesh_without_the_kind_or_without_lines_says_so() -> None:
    assert refused(near("a", 0.0, kind="root"), lines=LINES[:2]) == (
        "the mesh has no root",
        ("mesh", "names", 0, "kind"),
    )
    assert refused(near("a", 0.0), lines=())[0] == "the mesh has no line"


def box(*corners: list[float]) -> dict[str, Any]:
    return {"name": "a", "box_mm": list(corners)}


def test_a_line_with_its_ends_on_the_walls_lies_in_the_box() -> None:
    """The line runs from (0, 30, 0) to (4, 30, 0)."""
    assert names(box([0.0, 30.0, 0.0], [4.0, 30.0, 0.0]))[1] == "a"
    assert names(box([4.0, 31.0, -1.0], [0.0, 29.0, 1.0]))[1] == "a"


@pytest.mark.parametrize(
    "corners",
    [
        ([0.01, 29.0, -1.0], [4.0, 31.0, 1.0]),
        ([0.0, 29.0, -1.0], [3.99, 31.0, 1.0]),
        ([0.0, 30.01, -1.0], [4.0, 31.0, 1.0]),
        ([0.0, 29.0, 0.01], [4.0, 31.0, 1.0]),
    ],
)
def test_a_line_that_leaves_the_box_is_not_in_it(corners: tuple[list[float], list[float]]) -> None:
    assert refused(box(*corners)) == ("no lines lie in the box, where one is needed", ("mesh", "names", 0, "box_mm"))


def test_two_lines_in_a_box_are_named_and_refused() -> None:
    text, path = refused(box([0.0, 0.0, 0.0], [4.0, 30.0, 0.0]))
    assert text == "toe-1, toe-2 lie in the box, where one is needed"
    assert path == ("mesh", "names", 0, "box_mm")


def of_set(name: str) -> dict[str, Any]:
    return {"name": "a", "node_set": name}


@pytest.mark.parametrize(("nodes", "fits"), [((10, 11, 12, 13), True), ((10, 11, 12), False), (range(10, 15), True)])
def test_a_line_of_a_set_has_four_fifths_of_its_nodes_there(nodes: Sequence[int], fits: bool) -> None:
    held = raw(SEAM=[*nodes, 90, 91, 92, 93, 94, 95])
    if fits:
        assert names(of_set("SEAM"), held=held)[1] == "a"
        return
    text, path = refused(of_set("SEAM"), held=held)
    assert text == "no lines have four fifths of their nodes in the set, where one is needed"
    assert path == ("mesh", "names", 0, "node_set")


def test_a_hundred_nodes_tell_four_fifths_to_the_node() -> None:
    lines = (a_line("toe-1", count=125),)
    assert names(of_set("SEAM"), lines=lines, held=raw(SEAM=range(100))) == ["a"]
    assert "no lines have" in refused(of_set("SEAM"), lines=lines, held=raw(SEAM=range(99)))[0]


def test_a_set_of_two_lines_is_refused() -> None:
    held = raw(BOTH=[*range(5), *range(10, 15)])
    assert refused(of_set("BOTH"), held=held)[0].startswith("toe-1, toe-2 have four fifths")


@pytest.mark.parametrize(("sets", "known"), [({}, "none"), ({"B": [0], "A": [0]}, "A, B")])
def test_an_unknown_set_is_named_beside_the_known_ones(sets: dict[str, list[int]], known: str) -> None:
    text, path = refused(of_set("C"), held=raw(**sets))
    assert text == f"the file has no node set 'C'; it has {known}"
    assert path == ("mesh", "names", 0, "node_set")


def test_a_line_takes_one_name_and_a_name_one_line() -> None:
    text, path = refused(near("a", 0.0), near("b", 0.0))
    assert (text, path) == ("toe-1 has the name 'a' already", ("mesh", "names", 1, "name"))
    text, path = refused(near("a", 0.0), near("a", 30.0))
    assert (text, path) == ("toe-2 has the name 'a' already", ("mesh", "names", 1, "name"))


def test_the_own_name_of_another_line_is_taken_only_where_that_one_is_named() -> None:
    text, path = refused(near("toe-2", 0.0))
    assert (text, path) == ("'toe-2' is the name of another line, which nobody named", ("mesh", "names"))
    assert names(near("toe-2", 0.0), near("toe-1", 30.0)) == ["toe-2", "toe-1", "root-1"]
    assert names(near("toe-1", 0.0)) == ["toe-1", "toe-2", "root-1"]

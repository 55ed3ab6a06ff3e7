"""Weld lines of a solid mesh: what was found, what was left out and why, what is doubtful."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Gt, Le, Lt

from fatcore.bounds import guarded
from fatcore.errors import InputError
from fatcore.findings import Finding, note
from fatcore.outcome import Outcome, evidence
from fatcore.stress.weld_lines.solid._around import with_elements
from fatcore.stress.weld_lines.solid._chains import Chain, chains_of, void_corners
from fatcore.stress.weld_lines.solid._courses import Course, course_of, line_of, named
from fatcore.stress.weld_lines.solid._edges import Edges, Sides, edge_nodes, edges_of, sides_of
from fatcore.stress.weld_lines.solid._hollows import Flags, in_rounded_hollow
from fatcore.stress.weld_lines.solid._surface import Index, Surface, surface_of
from fatcore.stress.weld_lines.solid.doubts._broken import cut_by_limit, in_pieces, shallow_edges
from fatcore.stress.weld_lines.solid.doubts._lines import line_doubts
from fatcore.stress.weld_lines.solid.doubts._matching import between_unmatched, unmatched_doubts
from fatcore.stress.weld_lines.solid.doubts._surface import plane_doubts, surface_doubts
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, guard_planes, whole_surface

_SURE_NODES = 5  # fewer count only where nothing speaks against the line
_EVEN_DEG = 3.0  # openings of such a short line differ by less

MAX_LEFT_OUT = 1000  # listed; all are counted
MAX_LINES = 2000  # a part has dozens; each takes some milliseconds

Reason = Literal["rounded", "short", "shallow"]
_WORDS: dict[Reason, str] = {
    "rounded": "edges between the flats of a rounded hollow",
    "short": "too short",
    "shallow": "sharper than what is beside them, and above the limit of the opening angle",
}
LimitAngle = Annotated[float, Gt(0.0), Lt(180.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A chain of re-entrant edges that is no weld line: why, how many nodes, where its middle node lies."""

    reason: Reason
    nodes: int
    opening_angle_deg: float
    length_mm: float
    place_mm: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeldLines(Outcome):
    """Weld lines of a mesh, longest first, and the chains that were left out."""

    lines: tuple[SolidLine, ...]
    left_out: tuple[LeftOut, ...]


@guarded
def find_weld_lines(
    mesh: SolidMesh,
    *,
    symmetry: Sequence[SymmetryPlane] = (),
    opening_limit_deg: LimitAngle = 155.0,
    kink_deg: LimitAngle = 35.0,
    jump_deg: LimitAngle = 20.0,
    root_below_deg: LimitAngle = 60.0,
    rounded_share: Annotated[float, Ge(0.0), Le(1.0)] = 0.3,
    least_nodes: Annotated[int, Ge(2), Le(1000)] = 3,
) -> WeldLines:
    """Lines of sharp re-entrant edges on the surface of a mesh, each node with its frame.

    symmetry          : planes on which the part is cut; there a line goes on
    opening_limit_deg : edges of a smaller opening angle of the void are candidates
    kink_deg          : a line is cut where it turns by more; jump_deg: where its opening changes by more
    root_below_deg    : mean opening below which a line is a root
    rounded_share     : of edges between flats of a hollow, beyond which a line is left out
    least_nodes       : lines of fewer nodes are left out, and below 5 those whose openings differ by 3 deg or
                        which have an edge between flats
    Raises            : InputError where elements lie twice in the mesh, for more than 2000 lines, and for a plane
                        of symmetry that is declared twice, that no node touches, with nodes on both sides of it
    Source            : [independent-geometry]
    """
    view = _view_of(mesh, symmetry)
    flags = np.zeros(len(view.edges.opening_deg), dtype=bool)
    candidates = view.candidates(opening_limit_deg)
    flags[candidates] = in_rounded_hollow(view.surface, view.sides, view.edges, candidates)
    kept: list[Chain] = []
    left: list[tuple[Chain, Reason]] = []
    for chain in view.chains(candidates, kink_deg, jump_deg):
        reason = _reason(chain, view.edges, flags, rounded_share, least_nodes)
        if reason is None:
            kept.append(chain)
        else:
            left.append((chain, reason))
    _guard_count(len(kept))
    lines = with_elements(
        named([line_of(view.course(chain), symmetry, root_below_deg, kink_deg) for chain in kept]), mesh
    )
    shallow = shallow_edges(view.surface, view.sides, view.edges, view.own, opening_limit_deg)
    left += _shallow(view.chains(shallow, kink_deg, jump_deg), least_nodes)
    findings = (
        *plane_doubts(view.part, symmetry),
        *_doubts(view, mesh, lines),
        *cut_by_limit(lines, view.sides, view.edges, shallow, kink_deg),
        *in_pieces([chain for chain, reason in left if reason == "short"], view.edges, mesh.points_mm),
        *_said(left),
    )
    left_out = tuple(_left_out(view.course(chain), reason) for chain, reason in _listed(left))
    return WeldLines(lines=lines, left_out=left_out, **evidence(findings=findings, sources=("independent-geometry",)))


def _guard_count(lines: int) -> None:
    if lines > MAX_LINES:
        text = f"{lines} weld lines, more than {MAX_LINES}: cut the part to its welds, or lower opening_limit_deg"
        raise InputError(text, "mesh")


@dataclass(frozen=True, slots=True)
class _View:
    """A mesh as the search sees it.

    part, surface : without and with mirror images; own : edges of the mesh itself that have a length (e,)
    unmatched     : of the edges (e,)
    voids         : stretch of void at both ends of each edge (e, 2)
    """

    part: Surface
    surface: Surface
    sides: Sides
    edges: Edges
    voids: Index
    own: Flags
    unmatched: Flags

    def candidates(self, opening_limit_deg: float) -> Index:
        return np.flatnonzero(self.own & ~self.unmatched & (self.edges.opening_deg < opening_limit_deg))

    def chains(self, chosen: Index, kink_deg: float, jump_deg: float) -> list[Chain]:
        return chains_of(self.sides, self.edges, self.voids, chosen, kink_deg, jump_deg)

    def course(self, chain: Chain) -> Course:
        return course_of(chain, self.sides, self.edges, self.surface.points_mm)


def _view_of(mesh: SolidMesh, symmetry: Sequence[SymmetryPlane]) -> _View:
    part = surface_of(mesh)
    guard_planes(part, symmetry)
    surface = whole_surface(part, symmetry)
    sides = sides_of(surface)
    edges = edges_of(sides)
    own = (edge_nodes(sides, edges) < len(mesh.points_mm)).all(axis=1) & (sides.length_mm[edges.forward] > 0.0)
    unmatched = between_unmatched(surface, sides, edges)
    return _View(part, surface, sides, edges, void_corners(sides, edges), own, unmatched)


def _doubts(view: _View, mesh: SolidMesh, lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    roots = any(line.kind == "root" for line in lines)
    return (
        *surface_doubts(mesh, view.part, view.surface, view.sides, view.edges, roots=roots),
        *unmatched_doubts(view.surface, view.sides, view.edges, view.unmatched, len(mesh.points_mm)),
        *line_doubts(lines, mesh.points_mm),
    )


def _reason(chain: Chain, edges: Edges, flagged: Flags, rounded_share: float, least_nodes: int) -> Reason | None:
    flags, opening = flagged[chain.edges], edges.opening_deg[chain.edges]
    if flags.mean() > rounded_share:
        return "rounded"
    doubtful = len(chain.nodes) < _SURE_NODES and (bool(flags.any()) or np.ptp(opening) >= _EVEN_DEG)
    return "short" if len(chain.nodes) < least_nodes or doubtful else None


def _shallow(chains: Sequence[Chain], least_nodes: int) -> list[tuple[Chain, Reason]]:
    return [(chain, "shallow") for chain in chains if len(chain.nodes) >= least_nodes]


def _listed(left: Sequence[tuple[Chain, Reason]]) -> list[tuple[Chain, Reason]]:
    """The chains of most nodes, as many as an answer lists, in their order."""
    longest = sorted(range(len(left)), key=lambda at: -len(left[at][0].nodes))[:MAX_LEFT_OUT]
    return [left[at] for at in sorted(longest)]


def _left_out(course: Course, reason: Reason) -> LeftOut:
    x, y, z = (float(part) for part in course.points[len(course.points) // 2])
    steps = np.linalg.norm(np.diff(course.points, axis=0), axis=1)
    return LeftOut(
        reason=reason,
        nodes=len(course.nodes),
        opening_angle_deg=float(course.opening_deg.mean()),
        length_mm=float(steps.sum()),
        place_mm=(x, y, z),
    )


def _said(left: Sequence[tuple[Chain, Reason]]) -> tuple[Finding, ...]:
    listed = f", of which the {MAX_LEFT_OUT} longest of all are listed" if len(left) > MAX_LEFT_OUT else ""
    return tuple(
        note("edges-left-out", f"{_chains(count)} left out: {words}{listed}")
        for reason, words in _WORDS.items()
        if (count := sum(each == reason for _, each in left))
    )


def _chains(count: int) -> str:
    return f"{count} chain{'s' * (count != 1)} of re-entrant edges {'are' if count != 1 else 'is'}"

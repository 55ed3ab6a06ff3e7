"""Weld lines of a solid mesh: what was found, what was left out and why, what is doubtful."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Gt, Le, Lt

from fatcore.bounds import guarded
from fatcore.findings import Finding, note
from fatcore.outcome import Outcome, evidence
from fatcore.stress.weld_lines.solid._around import with_elements
from fatcore.stress.weld_lines.solid._chains import Chain, chains_of
from fatcore.stress.weld_lines.solid._courses import Course, course_of, line_of, named
from fatcore.stress.weld_lines.solid._doubts import line_doubts, surface_doubts
from fatcore.stress.weld_lines.solid._edges import Edges, edge_nodes, edges_of, sides_of
from fatcore.stress.weld_lines.solid._hollows import Flags, in_rounded_hollow
from fatcore.stress.weld_lines.solid._surface import surface_of
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, whole_surface

_SURE_NODES = 5  # fewer count only where nothing speaks against the line
_EVEN_DEG = 3.0  # openings of such a short line differ by less

LimitAngle = Annotated[float, Gt(0.0), Lt(180.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A chain of re-entrant edges that is no weld line: why, how many nodes, where its middle node lies."""

    reason: Literal["rounded", "short"]
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
    Raises            : InputError where elements lie twice in the mesh
    Source            : [independent-geometry]
    """
    surface = whole_surface(surface_of(mesh), symmetry)
    sides = sides_of(surface)
    edges = edges_of(sides)
    own = (edge_nodes(sides, edges) < len(mesh.points_mm)).all(axis=1)
    candidates = np.flatnonzero(own & (edges.opening_deg < opening_limit_deg))
    flagged = np.zeros(len(edges.opening_deg), dtype=bool)
    flagged[candidates] = in_rounded_hollow(surface, sides, edges, candidates)
    kept, left_out = [], []
    for chain in chains_of(sides, edges, candidates, kink_deg, jump_deg):
        course = course_of(chain, sides, edges, surface.points_mm)
        reason = _reason(chain, edges, flagged, rounded_share, least_nodes)
        if reason is None:
            kept.append(line_of(course, symmetry, root_below_deg))
        else:
            left_out.append(_left_out(course, reason))
    lines = with_elements(named(kept), mesh)
    doubts = (*surface_doubts(mesh, surface, sides, edges), *line_doubts(lines, mesh.points_mm))
    findings = (*doubts, *_said(left_out))
    return WeldLines(
        lines=lines, left_out=tuple(left_out), **evidence(findings=findings, sources=("independent-geometry",))
    )


def _reason(
    chain: Chain, edges: Edges, flagged: Flags, rounded_share: float, least_nodes: int
) -> Literal["rounded", "short"] | None:
    flags, opening = flagged[chain.edges], edges.opening_deg[chain.edges]
    if flags.mean() > rounded_share:
        return "rounded"
    doubtful = len(chain.nodes) < _SURE_NODES and (bool(flags.any()) or np.ptp(opening) >= _EVEN_DEG)
    return "short" if len(chain.nodes) < least_nodes or doubtful else None


def _left_out(course: Course, reason: Literal["rounded", "short"]) -> LeftOut:
    x, y, z = (float(part) for part in course.points[len(course.points) // 2])
    steps = np.linalg.norm(np.diff(course.points, axis=0), axis=1)
    return LeftOut(
        reason=reason,
        nodes=len(course.nodes),
        opening_angle_deg=float(course.opening_deg.mean()),
        length_mm=float(steps.sum()),
        place_mm=(x, y, z),
    )


def _said(left_out: Sequence[LeftOut]) -> tuple[Finding, ...]:
    words = {"rounded": "edges between the flats of a rounded hollow", "short": "too short"}
    return tuple(
        note("edges-left-out", f"{count} chains of re-entrant edges are left out: {words[reason]}")
        for reason in ("rounded", "short")
        if (count := sum(each.reason == reason for each in left_out))
    )

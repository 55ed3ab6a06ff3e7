"""What is doubtful about lines: uneven steps, several kinds of elements, two too close, ends on a side of the part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from scipy.spatial import cKDTree

from fatcore.figures import figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.require import FloatArray
from fatcore.stress.notch.fields import sliding_limit_angle_deg
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, ends_of_part

_CLOSE = 0.2  # of the mesh size: nearer lines are the two edges at the end of one gap
_ON_SIDE = 1e-2  # of the mesh size
_NEAR_DEG, _FAR_DEG = 5.0, 10.0  # of the nodes off the angle of the line [own choice]
_UNEVEN = 2.0  # longest over shortest step of a line


def line_doubts(lines: Sequence[SolidLine], points: FloatArray) -> tuple[Finding, ...]:
    """Findings on lines: uneven steps, several kinds of elements, two too close, ends on a side of the part."""
    return (*_turning(lines), *_uneven(lines), *_mixed(lines), *_close(lines), *_cut(lines, points))


def _turning(lines: Sequence[SolidLine]) -> Iterator[Finding]:
    """Where one opening angle stands for a line on which it varies, as along the saddle of two tubes.

    Ten degrees off move the weight of the opening mode at a toe by about ten per cent in a mesh of a millimetre, and a
    singular sliding mode is left out where the mean is above its limit.
    """
    limit = sliding_limit_angle_deg()
    for line in lines:
        low, high, mean = float(line.node_opening_deg.min()), float(line.node_opening_deg.max()), line.opening_angle_deg
        off = max(high - mean, mean - low)
        text = f"{line.name}: opens by {figure(low)} to {figure(high)} deg along it, and {figure(mean)} deg counts"
        if off > _FAR_DEG or low < limit < high:
            yield outside("opening-angle-varies-much", f"{text}; split it into lines of nearly one angle")
        elif off > _NEAR_DEG:
            yield caution("opening-angle-varies", text)


def _cut(lines: Sequence[SolidLine], points: FloatArray) -> tuple[Finding, ...]:
    """A note for each flat end of the part on which lines end, which may be a plane of symmetry."""
    found = []
    for plane in ends_of_part(points):
        ending = [line.name for line in lines if not line.closed and _ends_on(line, plane)]
        if ending:
            message = f"{', '.join(ending)} end on {plane}: a free side unless it is declared a plane of symmetry"
            found.append(note("lines-end-on-plane", message))
    return tuple(found)


def _ends_on(line: SolidLine, plane: SymmetryPlane) -> bool:
    """Whether a free end lies on the plane, and not the whole line."""
    free = [at for at, on in ((0, line.symmetric_start), (-1, line.symmetric_end)) if not on]
    on_plane = np.abs(line.coordinates_mm[:, plane.column] - plane.coordinate_mm) <= _ON_SIDE * line.mesh_size_mm
    return bool(on_plane[free].any() and not on_plane.all())


def _uneven(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    return tuple(
        caution(
            "mesh-size-uneven", f"{line.name}: steps from {figure(line.step_mm[0])} to {figure(line.step_mm[1])} mm"
        )
        for line in lines
        if line.step_mm[1] > _UNEVEN * line.step_mm[0]
    )


def _mixed(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    return tuple(
        caution("elements-mixed", f"{line.name}: {' and '.join(line.elements)} share its nodes")
        for line in lines
        if len(line.elements) > 1
    )


def _close(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    found = []
    trees = [cKDTree(line.coordinates_mm) for line in lines]
    for one, other in _neighbours(lines):
        gap = _gap(lines[one], lines[other], trees[other])
        if gap < _CLOSE * min(lines[one].mesh_size_mm, lines[other].mesh_size_mm):
            message = f"{lines[one].name} and {lines[other].name} run {figure(gap)} mm apart: two edges of one gap"
            found.append(caution("lines-too-close", message))
    return tuple(found)


def _neighbours(lines: Sequence[SolidLine]) -> Iterator[tuple[int, int]]:
    """Pairs of lines whose boxes are near enough for nodes that are too close."""
    low = np.array([line.coordinates_mm.min(axis=0) for line in lines])
    high = np.array([line.coordinates_mm.max(axis=0) for line in lines])
    for one, line in enumerate(lines):
        reach = _CLOSE * line.mesh_size_mm
        near = (low[one + 1 :] <= high[one] + reach) & (high[one + 1 :] >= low[one] - reach)
        yield from ((one, one + 1 + at) for at in np.flatnonzero(near.all(axis=1)).tolist())


def _gap(line: SolidLine, other: SolidLine, tree: cKDTree) -> float:
    """The smallest distance of nodes that the two do not share."""
    own = ~np.isin(line.node_index, other.node_index)
    if not own.any():
        return np.inf
    distance, _ = tree.query(line.coordinates_mm[own])
    return float(np.min(distance))

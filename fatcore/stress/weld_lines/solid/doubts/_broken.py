"""Lines that the limits of the search break: cut where the angle passes its limit, or into pieces at kinks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from fatcore.figures import coordinate, figure
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._chains import Chain
from fatcore.stress.weld_lines.solid._edges import Edges, Sides, edge_nodes
from fatcore.stress.weld_lines.solid._hollows import turns_as_much_beside
from fatcore.stress.weld_lines.solid._surface import Index, Surface
from fatcore.stress.weld_lines.solid.elements import Nodes
from fatcore.stress.weld_lines.solid.lines import SolidLine

_SHALLOW_DEG = 170.0  # edges above count as flat
_EVEN_DEG = 3.0  # openings of the pieces of one line differ by less
_PIECES_NODES = 5  # together, from which on pieces may be a line


def shallow_edges(
    surface: Surface, sides: Sides, edges: Edges, own: NDArray[np.bool_], opening_limit_deg: float
) -> Index:
    """Edges above the limit of the angle, below 170 deg, which turn more than the surface on either side of them."""
    shallow = own & (edges.opening_deg >= opening_limit_deg) & (edges.opening_deg < _SHALLOW_DEG)
    chosen = np.flatnonzero(shallow)
    return np.asarray(chosen[~turns_as_much_beside(surface, sides, edges, chosen)])


def cut_by_limit(
    lines: Sequence[SolidLine], sides: Sides, edges: Edges, shallow: Index, kink_deg: float
) -> tuple[Finding, ...]:
    """A caution for each end of a line behind which a shallow edge goes on."""
    nodes, along = edge_nodes(sides, edges)[shallow], sides.along[edges.forward[shallow]]
    start, out = np.concatenate([nodes[:, 0], nodes[:, 1]]), np.vstack([along, -along])
    opening = np.tile(edges.opening_deg[shallow], 2)
    found = []
    for line, word, at, beside in _free_ends(lines):
        ahead = line.coordinates_mm[at] - line.coordinates_mm[beside]
        straight = out @ (ahead / np.linalg.norm(ahead)) >= np.cos(np.radians(kink_deg))
        going_on = opening[(start == line.node_index[at]) & straight]
        if len(going_on):
            found.append(_cut(line, word, line.coordinates_mm[at], float(going_on.min())))
    return tuple(found)


def _free_ends(lines: Sequence[SolidLine]) -> Iterable[tuple[SolidLine, str, int, int]]:
    for line in lines:
        if not line.closed and not line.symmetric_start:
            yield line, "start", 0, 1
        if not line.closed and not line.symmetric_end:
            yield line, "end", -1, -2


def _cut(line: SolidLine, word: str, place: FloatArray, opening_deg: float) -> Finding:
    x, y, z = place
    message = (
        f"{line.name} is cut at its {word} ({coordinate(x)}, {coordinate(y)}, {coordinate(z)} mm), where "
        "the edge goes on at"
    )
    return caution("line-cut-by-limit", f"{message} {figure(opening_deg)} deg, above the limit of the opening angle")


def in_pieces(short: Sequence[Chain], edges: Edges, points: FloatArray) -> tuple[Finding, ...]:
    """A caution where pieces too short for a line touch end to end and together are long enough for one."""
    mean = np.array([edges.opening_deg[chain.edges].mean() for chain in short])
    groups = _joined(short, mean)
    sizes = [len(set(np.concatenate([short[at].nodes for at in group]).tolist())) for group in groups]
    long = [(size, group) for size, group in zip(sizes, groups, strict=True) if size >= _PIECES_NODES]
    if not long:
        return ()
    size, group = max(long, key=lambda each: each[0])
    x, y, z = points[short[group[0]].nodes[0]]
    message = (
        f"{len(long)} possible lines are left out in pieces, the largest of {size} nodes and "
        f"{figure(mean[group[0]])} deg"
        f" at {coordinate(x)}, {coordinate(y)}, {coordinate(z)} mm: a larger kink_deg joins them"
    )
    return (caution("lines-in-pieces", message),)


def _joined(short: Sequence[Chain], mean: FloatArray) -> list[list[int]]:
    """Groups of pieces, two of which meet at a node with the same opening."""
    if len(short) == 0:
        return []
    ends = np.array([(chain.nodes[0], chain.nodes[-1]) for chain in short])
    one, other = _meeting(ends)
    even = np.abs(mean[one] - mean[other]) < _EVEN_DEG
    links = coo_array((np.ones(int(even.sum())), (one[even], other[even])), shape=(len(short), len(short)))
    label = connected_components(links, directed=False)[1]
    order = np.argsort(label, kind="stable")
    return [group.tolist() for group in np.split(order, np.flatnonzero(np.diff(label[order])) + 1)]


def _meeting(ends: Nodes) -> tuple[Index, Index]:
    """Pairs of pieces of which exactly two end at a node."""
    flat = ends.ravel()
    order = np.argsort(flat, kind="stable")
    begin = np.flatnonzero(np.append(True, np.diff(flat[order]) != 0))
    two = begin[np.diff(np.append(begin, len(flat))) == 2]
    return order[two] // 2, order[two + 1] // 2

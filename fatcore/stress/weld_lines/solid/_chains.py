"""Edges joined to lines: cut at branches, kinks and jumps of the opening angle; loops recognised."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._edges import Edges, Sides, edge_nodes
from fatcore.stress.weld_lines.solid._surface import Index
from fatcore.stress.weld_lines.solid.elements import Nodes


@dataclass(frozen=True, slots=True)
class Chain:
    """Edges of one line in order (e,), whether each runs as its forward side; nodes (e + 1,), of a loop (e,)."""

    edges: Index
    along: NDArray[np.bool_]
    nodes: Nodes
    closed: bool


def chains_of(
    sides: Sides, edges: Edges, voids: Index, candidates: Index, kink_deg: float, jump_deg: float
) -> list[Chain]:
    """Chains of candidate edges; voids as of `void_corners`.

    Two edges are joined where exactly two candidates border one stretch of void at a node, the direction
    turns by at most kink_deg and the opening by at most jump_deg. Bodies that touch in an edge have a
    stretch of void on either side of it.
    """
    nodes = edge_nodes(sides, edges)[candidates]
    joints = _joints(voids[candidates])
    out = sides.along[edges.forward[candidates]]
    opening = edges.opening_deg[candidates]
    kept = _smooth(joints, out, opening, kink_deg, jump_deg)
    return [_chain(walk, candidates, nodes) for walk in _walks(len(candidates), kept)]


def void_corners(sides: Sides, edges: Edges) -> Index:
    """At both ends of every edge the stretch of void it borders, (e, 2).

    Corners of faces are linked across every edge; what hangs together at a node sees one stretch of void.
    """
    corner = np.arange(len(sides.face))
    following = _following(sides)
    one = np.concatenate([corner[edges.forward], following[edges.forward]])
    other = np.concatenate([following[edges.backward], corner[edges.backward]])
    size = len(corner)
    links = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(size, size))
    label = connected_components(links, directed=False)[1].astype(np.intp)
    return np.stack([label[edges.forward], label[following[edges.forward]]], axis=1)


def _following(sides: Sides) -> Index:
    """The side that follows each one round its face; sides stand face by face, in order of their places."""
    size = np.bincount(sides.face)
    first = np.cumsum(size) - size
    return np.asarray(first[sides.face] + (sides.place + 1) % size[sides.face], dtype=np.intp)


def _joints(ends: Index) -> Index:
    """Pairs of edge ends (edge, end, edge, end) where exactly two candidates meet, (j, 4)."""
    flat = ends.ravel()
    order = np.argsort(flat, kind="stable")
    begin = np.flatnonzero(np.append(True, np.diff(flat[order]) != 0))
    two = begin[np.diff(np.append(begin, len(flat))) == 2]
    one, other = order[two], order[two + 1]
    return np.stack([one // 2, one % 2, other // 2, other % 2], axis=1)


def _smooth(joints: Index, out: FloatArray, opening: FloatArray, kink_deg: float, jump_deg: float) -> Index:
    one, one_end, other, other_end = joints.T
    arriving = out[one] * np.where(one_end == 1, 1.0, -1.0)[:, np.newaxis]
    leaving = out[other] * np.where(other_end == 0, 1.0, -1.0)[:, np.newaxis]
    straight = np.einsum("jx,jx->j", arriving, leaving) >= np.cos(np.radians(kink_deg))
    return np.asarray(joints[straight & (np.abs(opening[one] - opening[other]) <= jump_deg)])


Walk = tuple[list[tuple[int, int]], bool]  # (edge, end at which it is entered) in order; whether it is a loop


def _walks(count: int, joints: Index) -> list[Walk]:
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for one, one_end, other, other_end in joints.tolist():
        partner[one, one_end] = (other, other_end)
        partner[other, other_end] = (one, one_end)
    seen: set[int] = set()
    ends = [(edge, end) for edge in range(count) for end in (0, 1) if (edge, end) not in partner]
    starts = [*ends, *((edge, 0) for edge in range(count))]
    return [_walk(start, partner, seen) for start in starts if start[0] not in seen]


def _walk(start: tuple[int, int], partner: dict[tuple[int, int], tuple[int, int]], seen: set[int]) -> Walk:
    steps, here = [], start
    while True:
        steps.append(here)
        seen.add(here[0])
        following = partner.get((here[0], 1 - here[1]))
        if following is None:
            return steps, False
        if following == start:
            return steps, True
        here = following


def _chain(walk: Walk, candidates: Index, nodes: Nodes) -> Chain:
    steps, closed = walk
    edge, entered = np.array(steps, dtype=np.intp).T
    first = nodes[edge, entered]
    last = nodes[edge[-1], 1 - entered[-1]]
    return Chain(candidates[edge], entered == 0, first if closed else np.append(first, last), closed)

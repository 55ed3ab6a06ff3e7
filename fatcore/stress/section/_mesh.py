"""Conforming mesh of six-node triangles: polar patches graded to the singular points, Delaunay elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray
from fatcore.stress.section._points import directions, inside, scatter_points
from fatcore.stress.section._shape import Section, Tip, outline, tips_of

IntArray = NDArray[np.int64]
_SMALLEST = 1e-3  # innermost ring over patch radius or control radius, whichever is smaller
_SHOWN = (1e-3, 0.8)  # control radius over patch radius where the mesh shows the control sector


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """Elements of the polar patch of a tip, and which of them lie in the control sector."""

    tip: Tip
    elements: IntArray
    sector: IntArray
    sector_area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Nodes (n, 2) and six-node triangles (m, 6): corners counter-clockwise, then the middles 01, 12, 20."""

    nodes: FloatArray
    triangles: IntArray
    patches: tuple[Patch, ...]


def mesh_of(section: Section, control_radius: float, step: float) -> Mesh:
    """Mesh of a cross-section.

    control_radius : radius of the sector that the mesh shall show [mm]; step : angle of the rays [rad]
    Raises         : NotConvergedError when the triangles do not tile the section
    """
    tips = tips_of(section)
    nodes = scatter_points(section, tips, step)
    triangles = _tile(section, nodes)
    tip_nodes = [int(np.argmin(np.linalg.norm(nodes - tip.position, axis=1))) for tip in tips]
    triangles = triangles[~np.isin(triangles, tip_nodes).any(axis=1)]
    ranges = []
    for tip, centre in zip(tips, tip_nodes, strict=True):
        nodes, fan = _fan(nodes, centre, tip, control_radius, step)
        ranges.append((len(triangles), len(triangles) + len(fan)))
        triangles = np.vstack([triangles, fan])
    require_tiling(section, nodes, triangles)
    nodes, triangles = _open_slit(section, tips, nodes, triangles)
    patches = tuple(
        _patch(tip, nodes, triangles, np.arange(*span), control_radius, step)
        for tip, span in zip(tips, ranges, strict=True)
    )
    nodes, triangles = quadratic(nodes, triangles)
    return Mesh(nodes=nodes, triangles=triangles, patches=patches)


def areas_of(nodes: FloatArray, triangles: IntArray) -> FloatArray:
    """Signed areas of triangles, positive when counter-clockwise."""
    a, b, c = (nodes[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    return np.asarray((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2.0)


def require_tiling(section: Section, nodes: FloatArray, triangles: IntArray) -> None:
    """NotConvergedError unless the triangles tile the section and none crosses the slit."""
    corners = outline(section)
    x, y = corners.T
    wanted = 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    area = areas_of(nodes, triangles)
    height = nodes[triangles][:, :, 1] - section.surface
    slack = 1e-9 * section.plate
    astride = (height.min(axis=1) < -slack) & (height.max(axis=1) > slack)
    left = nodes[triangles][:, :, 0].min(axis=1) < section.slit_half - slack
    used = len(np.unique(triangles)) == len(nodes)
    if abs(area.sum() / wanted - 1.0) > 1e-9 or (area <= 0.0).any() or (astride & left).any() or not used:
        raise NotConvergedError("this cross-section could not be meshed; change a size slightly")


def quadratic(nodes: FloatArray, triangles: IntArray) -> tuple[FloatArray, IntArray]:
    """Six-node triangles from three-node ones; edges get their middle node once."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    unique, place = np.unique(np.sort(edges, axis=1), axis=0, return_inverse=True)
    middles = nodes[unique].mean(axis=1)
    return np.vstack([nodes, middles]), np.hstack([triangles, len(nodes) + place.reshape(-1, 3)])


def _tile(section: Section, nodes: FloatArray) -> IntArray:
    """Delaunay triangles within the section, counter-clockwise."""
    triangles = Delaunay(nodes).simplices.astype(np.int64)
    corners = nodes[triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    area = areas_of(nodes, triangles)
    kept = (np.abs(area) > 1e-7 * longest**2) & inside(section, corners.mean(axis=1))
    turned = np.where((area < 0.0)[:, None], triangles[:, ::-1], triangles)
    return np.asarray(turned[kept])


def _rings(tip: Tip, control_radius: float, step: float) -> FloatArray:
    """Radii of the rings as parts of the patch radius, from the tip outwards; the control sector is one."""
    control = _polygon_radius(tip, control_radius, step) / tip.radius
    shown = _SHOWN[0] < control < _SHOWN[1]
    stops = [_SMALLEST * control, control, 1.0] if shown else [0.1 * _SMALLEST, 1.0]
    parts = [
        np.geomspace(low, high, int(np.ceil(np.log(high / low) / (1.3 * step))) + 1)[:-1]
        for low, high in pairwise(stops)
    ]
    return np.concatenate([*parts, [1.0]])


def _polygon_radius(tip: Tip, control_radius: float, step: float) -> float:
    """Radius of the ring whose straight-sided polygon has the area of the control sector."""
    angle = float(np.diff(directions(tip, step))[0])
    return control_radius / float(np.sqrt(np.sin(angle) / angle))


def _fan(nodes: FloatArray, centre: int, tip: Tip, control_radius: float, step: float) -> tuple[FloatArray, IntArray]:
    """Nodes with those of the patch, and the patch's triangles; the outer ring exists already."""
    angle = directions(tip, step)
    rays = np.column_stack([np.cos(angle), np.sin(angle)])
    closed = tip.half_angle == np.pi
    if closed:
        rays = rays[:-1]
    rings = _rings(tip, control_radius, step)
    fresh = tip.position + tip.radius * rings[:-1, None, None] * rays
    outer = tip.position + tip.radius * rays
    known = [int(np.argmin(np.linalg.norm(nodes - point, axis=1))) for point in outer]
    number = len(nodes) + np.arange(fresh[:, :, 0].size).reshape(fresh.shape[:2])
    number = np.vstack([number, known])
    if closed:
        number = np.hstack([number, number[:, :1]])
    return np.vstack([nodes, fresh.reshape(-1, 2)]), _fan_triangles(centre, number)


def _fan_triangles(centre: int, number: IntArray) -> IntArray:
    """Triangles of a polar grid of node numbers (rings, rays)."""
    first, second = number[:, :-1], number[:, 1:]
    core = np.column_stack([np.full(first.shape[1], centre), first[0], second[0]])
    lower = np.stack([first[:-1], first[1:], second[1:]], axis=-1).reshape(-1, 3)
    upper = np.stack([first[:-1], second[1:], second[:-1]], axis=-1).reshape(-1, 3)
    return np.vstack([core, lower, upper])


def _open_slit(
    section: Section, tips: tuple[Tip, ...], nodes: FloatArray, triangles: IntArray
) -> tuple[FloatArray, IntArray]:
    """Nodes of the slit doubled; triangles above take the copies."""
    root = next((tip for tip in tips if tip.name == "root"), None)
    if root is None:
        return nodes, triangles
    offset = nodes - root.position
    near_tip = 0.1 * np.linalg.norm(offset, axis=1)[np.linalg.norm(offset, axis=1) > 0.0].min()
    on_slit = (np.abs(offset[:, 1]) < 1e-9 * section.plate) & (offset[:, 0] < -near_tip)
    copy = np.arange(len(nodes))
    copy[on_slit] = len(nodes) + np.arange(int(on_slit.sum()))
    above = nodes[triangles][:, :, 1].mean(axis=1) > section.surface
    return np.vstack([nodes, nodes[on_slit]]), np.where(above[:, None], copy[triangles], triangles)


def _patch(
    tip: Tip, nodes: FloatArray, triangles: IntArray, elements: IntArray, control_radius: float, step: float
) -> Patch:
    ring = _polygon_radius(tip, control_radius, step)
    far = np.linalg.norm(nodes[triangles[elements]] - tip.position, axis=2).max(axis=1)
    shown = _SHOWN[0] < ring / tip.radius < _SHOWN[1]
    sector = elements[far < ring * (1.0 + 1e-6)] if shown else elements[:0]
    area = float(areas_of(nodes, triangles[sector]).sum())
    return Patch(tip=tip, elements=elements, sector=sector, sector_area=area)

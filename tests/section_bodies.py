"""Bodies with known answers for the cross-section solver: fans of graded rings round one singular point."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from scipy.sparse.linalg import spsolve

from fatcore.stress.section._fields import SingularField
from fatcore.stress.section._mesh import Mesh, Patch, _fan_triangles, areas_of, quadratic
from fatcore.stress.section._shape import Tip
from fatcore.stress.section._solution import assemble

Array = np.ndarray
NU = 0.3


class Body(NamedTuple):
    """A mesh whose first patch is the singular point."""

    mesh: Mesh
    patch: Patch


def _body(tip: Tip, rays: Array, rings: Array, reach: Array) -> Body:
    """Rings (as parts of the patch radius, the last ones beyond 1) along rays that reach to the outline."""
    inner = rings[rings <= 1.0]
    radius = np.outer(inner * tip.radius, np.ones(len(rays)))
    beyond = np.linspace(0.0, 1.0, 1 + int((rings > 1.0).sum()))[1:]
    outer = tip.radius * (reach / tip.radius) ** beyond[:, None]
    radius = np.vstack([radius, outer])
    grid = radius[:, :, None] * np.stack([np.cos(rays), np.sin(rays)], axis=1)
    nodes = np.vstack([tip.position, (tip.position + grid).reshape(-1, 2)])
    number = 1 + np.arange(radius.size).reshape(radius.shape)
    triangles = _fan_triangles(0, number)
    far = np.linalg.norm(nodes[triangles] - tip.position, axis=2).max(axis=1)
    elements = np.flatnonzero(far <= tip.radius * (1.0 + 1e-9))
    area = float(areas_of(nodes, triangles[elements]).sum())
    patch = Patch(tip=tip, elements=elements, sector=elements, sector_area=area)
    nodes, triangles = quadratic(nodes, triangles)
    return Body(Mesh(nodes=nodes, triangles=triangles, patches=(patch,)), patch)


def wedge(opening_angle_deg: float, step: float, bisector: float = 0.4) -> Body:
    """A sector of radius 2 round (3, 1) with a notch of the given angle."""
    half = float(np.pi - np.radians(opening_angle_deg) / 2.0)
    rays = bisector + half * np.linspace(-1.0, 1.0, int(np.ceil(2.0 * half / step)) + 1)
    tip = Tip(name="tip", position=np.array([3.0, 1.0]), bisector=bisector, half_angle=half, radius=2.0)
    rings = np.geomspace(1e-4, 1.0, int(np.ceil(np.log(1e4) / (1.3 * step))))
    return _body(tip, rays, rings, np.full(len(rays), 2.0))


def cracked_plate(half_length: float, half_width: float, half_height: float, step: float) -> Body:
    """Right half of a plate |x| <= half_width with a central crack |x| <= half_length at y = 0."""
    position = np.array([half_length, 0.0])
    corner = [np.arctan2(half_height, x - half_length) for x in (half_width, 0.0)]
    stops = [0.0, *corner, np.pi]
    upper = [np.linspace(low, high, int(np.ceil((high - low) / step)) + 1)[:-1] for low, high in pairwise(stops)]
    half = np.concatenate([*upper, [np.pi]])
    rays = np.concatenate([-half[:0:-1], half])
    with np.errstate(divide="ignore"):
        side = np.where(np.cos(rays) > 0.0, half_width - half_length, half_length) / np.abs(np.cos(rays))
        reach = np.minimum(side, half_height / np.abs(np.sin(rays)))
    radius = 0.5 * min(half_length, half_width - half_length)
    tip = Tip(name="root", position=position, bisector=0.0, half_angle=np.pi, radius=radius)
    rings = np.geomspace(1e-4, 1.0, int(np.ceil(np.log(1e4) / (1.3 * step))))
    count = int(np.ceil(np.log(half_height / radius) / (0.6 * step)))
    return _body(tip, rays, np.concatenate([rings, 1.0 + np.arange(1, count + 1)]), reach)


def polar(body: Body) -> tuple[Array, Array]:
    """Distance of the nodes from the tip, and direction from the bisector, within -pi to pi."""
    offset = body.mesh.nodes - body.patch.tip.position
    turn = body.patch.tip.bisector
    along = offset @ [np.cos(turn), np.sin(turn)]
    across = offset @ [-np.sin(turn), np.cos(turn)]
    angle = np.arctan2(across, along)
    on_face = np.abs(angle) > np.pi - 1e-6  # of a crack: the element tells on which of the two
    side = np.sign(across[body.mesh.triangles[:, :3]].mean(axis=1))
    faces = np.zeros(len(angle))
    faces[body.mesh.triangles] = side[:, None]
    return np.hypot(along, across), np.where(on_face, faces * np.pi, angle)


def field_moves(body: Body, field: SingularField, nodes: Array) -> Array:
    """Displacements of a singular field at some nodes, in x and y, or along the line."""
    radius, theta = polar(body)
    moved = field.at(radius[nodes], theta[nodes]).displacement
    if field.mode == "tearing":
        return moved
    angle = theta[nodes] + body.patch.tip.bisector
    out, turn = moved.T
    return np.column_stack([out * np.cos(angle) - turn * np.sin(angle), out * np.sin(angle) + turn * np.cos(angle)])


def solved(mesh: Mesh, tearing: bool, loads: Array, held: Array, values: Array | None = None) -> Array:
    """Displacements (n, width) with some degrees of freedom held, at 0 or at the values given."""
    stiffness = assemble(mesh, tearing, NU).tocsr()
    result = np.zeros(len(held)) if values is None else np.where(held, values, 0.0)
    free = np.flatnonzero(~held)
    result[free] = spsolve(stiffness[free][:, free].tocsc(), (loads - stiffness @ result)[free])
    return result.reshape(-1, 1 if tearing else 2)

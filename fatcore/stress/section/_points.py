"""Points of the mesh outside the polar patches: graded along the outline, from a quadtree inside."""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.section._shape import Section, Tip, element_size, outline, segment_distances

_SAMPLES = 1000
_CLEAR = 0.5927  # distance that inner points keep from outline and patches, in element sizes
_SHAKE = 0.01  # moves points by this share of their spacing, so that no four lie on one circle: the
# triangles then do not hang on the last binary digit, and are the same on every processor
_FIRST_CELL = 0.4713  # side of the largest cells over the thinner part; odd figures, so that no cell is a tie


def directions(tip: Tip, step: float) -> FloatArray:
    """Directions [rad] of the rays of the patch, from face to face through the material."""
    count = int(np.ceil(2.0 * tip.half_angle / step))
    return tip.bisector + tip.half_angle * np.linspace(-1.0, 1.0, count + 1)


def inside(section: Section, points: FloatArray) -> FloatArray:
    """True for points within the model."""
    x, y = points.T
    toe, upper = section.plate_toe, section.attachment_toe
    plate = y <= section.surface
    attachment = x <= section.attachment / 2.0
    below_flank = (x - toe[0]) * (upper[1] - toe[1]) + (y - toe[1]) * (toe[0] - upper[0]) <= 0.0
    box = (x >= 0.0) & (y >= section.bottom) & (x <= section.end[0]) & (y <= section.end[1])
    return np.asarray(box & (plate | attachment | below_flank))


def scatter_points(section: Section, tips: tuple[Tip, ...], step: float) -> FloatArray:
    """All points outside the patches with their outer rings and the tips themselves, each once."""
    corners = outline(section)
    starts, ends = corners, np.roll(corners, -1, axis=0)
    if section.slit_half > 0.0:
        starts = np.vstack([starts, corners[-1]])
        ends = np.vstack([ends, [section.slit_half, section.surface]])
    lines = [_along(section, tips, a, b, step) for a, b in zip(starts, ends, strict=True)]
    rings = [_ring(tip, step) for tip in tips]
    inner = _inner(section, tips, starts, ends, step)
    every = np.vstack([*[tip.position for tip in tips], *rings, *lines, inner])
    grid = np.round(every / (1e-9 * section.plate))
    _, first = np.unique(grid, axis=0, return_index=True)
    return np.asarray(every[np.sort(first)])


def _ring(tip: Tip, step: float) -> FloatArray:
    angle = directions(tip, step)
    return np.asarray(tip.position + tip.radius * np.column_stack([np.cos(angle), np.sin(angle)]))


def _along(section: Section, tips: tuple[Tip, ...], start: FloatArray, end: FloatArray, step: float) -> FloatArray:
    """Points of one segment, both ends included; at a tip it ends where the patch begins."""
    along = end - start
    length = float(np.linalg.norm(along))
    cut = [0.0, 0.0]
    for tip in tips:
        for side, corner in enumerate((start, end)):
            if np.allclose(corner, tip.position, rtol=0.0, atol=1e-12 * length):
                cut[side] = tip.radius / length
    share = np.linspace(cut[0], 1.0 - cut[1], _SAMPLES)
    density = length / element_size(section, tips, start + share[:, None] * along, step)
    count = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2.0 * np.diff(share))])
    places = np.linspace(0.0, count[-1], int(np.ceil(count[-1])) + 1)
    places[1:-1] += np.random.default_rng(2).uniform(-_SHAKE, _SHAKE, len(places) - 2)
    return np.asarray(start + np.interp(places, count, share)[:, None] * along)


def _inner(section: Section, tips: tuple[Tip, ...], starts: FloatArray, ends: FloatArray, step: float) -> FloatArray:
    """Centres of the cells of a quadtree, clear of outline and patches."""
    cells, size = _cells(section, tips, step)
    wanted = element_size(section, tips, cells, step)
    kept = inside(section, cells) & (segment_distances(cells, starts, ends).min(axis=1) > _CLEAR * wanted)
    for tip in tips:
        kept = kept & (np.linalg.norm(cells - tip.position, axis=1) > tip.radius * (1.0 + _CLEAR * step))
    shake = np.random.default_rng(1).uniform(-_SHAKE, _SHAKE, cells.shape)
    return np.asarray((cells + shake * size[:, None])[kept])


def _cells(section: Section, tips: tuple[Tip, ...], step: float) -> tuple[FloatArray, FloatArray]:
    """Centres and sizes of cells that were halved until they are as small as wanted."""
    size = _FIRST_CELL * min(section.plate, section.attachment)
    x = np.arange(size / 2.0, section.end[0], size)
    y = np.arange(section.bottom + size / 2.0, section.end[1], size)
    cells = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    quarters = np.array([[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]])
    done, sizes = [], []
    while len(cells):
        small = size <= element_size(section, tips, cells, step)
        done.append(cells[small])
        sizes.append(np.full(int(small.sum()), size))
        cells = (cells[~small][:, None, :] + quarters * size / 4.0).reshape(-1, 2)
        cells = cells[_may_touch(section, cells, size)]
        size /= 2.0
    return np.vstack(done), np.concatenate(sizes)


def _may_touch(section: Section, cells: FloatArray, size: float) -> FloatArray:
    """True for cells that may touch the model; the others need no halving."""
    slack = np.array([[-size, -size]])
    return inside(section, np.maximum(cells + slack, [0.0, section.bottom]))

"""The part cut square to a line, for a point that is hidden from everywhere: the root inside the part."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from .depth import Cut
from .view import FIRST_SIGHT, View

_OFF_AXIS = 0.62  # how far the eye stands off the normal of the cut


def section_sight(tangent: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Normal of the cut (3,) and a direction to look from (3,): the end of the line nearer to the first view's eye."""
    eye = np.array(FIRST_SIGHT) / np.linalg.norm(FIRST_SIGHT)
    normal = tangent if tangent @ eye >= 0.0 else -tangent
    return normal, normal + _OFF_AXIS * (eye - (eye @ normal) * normal)


def section_cut(view: View, point_mm: FloatArray, normal: FloatArray) -> Cut:
    """The cut through a point in px of a view."""
    return Cut(view.project(point_mm[np.newaxis])[0], view.axes @ normal)


def section_outline(points_px: FloatArray, triangles: NDArray[np.int64], cut: Cut) -> FloatArray:
    """Where the triangles cross the plane: ends of segments (s, 2, 3) in px."""
    corners = points_px[triangles]
    above = (corners - cut.point_px) @ cut.normal
    above = np.where(np.abs(above) < 1e-9, 1e-9, above)
    crossed = np.flatnonzero((above > 0.0).any(axis=1) & (above < 0.0).any(axis=1))
    ends = []
    for first, second in ((0, 1), (1, 2), (2, 0)):
        one, other = above[crossed, first], above[crossed, second]
        share = one / np.where(one != other, one - other, 1.0)
        start, end = corners[crossed, first], corners[crossed, second]
        at = start + share[:, np.newaxis] * (end - start)
        ends.append(np.where(((one > 0.0) != (other > 0.0))[:, np.newaxis], at, np.nan))
    three = np.stack(ends, axis=1)
    return np.asarray(three[np.isfinite(three[:, :, 0])].reshape(-1, 2, 3))

"""A direction of sight, and where points of space come to lie in a picture seen from there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

# no 45 deg: edges of a block at that angle would fall on each other
_CORNER = (1.0, 1.3, 0.9)
FIRST_SIGHT = (1.0, -1.3, 0.9)
_LEAST_PX = 90  # height that a line across the picture still leaves to its texts


@dataclass(frozen=True, slots=True)
class View:
    """A parallel projection: x to the right, y down, depth towards the eye, all in px.

    axes     : unit vectors to the right, down, and towards the eye, one a row (3, 3)
    scale    : px per mm; origin_px: place of the coordinate origin (3,)
    width_px, height_px : of the picture
    """

    axes: FloatArray
    scale: float
    origin_px: FloatArray
    width_px: int
    height_px: int

    @property
    def sight(self) -> FloatArray:
        """Unit vector from the part to the eye."""
        return np.asarray(self.axes[2])

    def project(self, points_mm: FloatArray) -> FloatArray:
        """Places of points (n, 3)."""
        return np.asarray(points_mm @ self.axes.T * self.scale + self.origin_px)

    def holds(self, points_px: FloatArray) -> NDArray[np.bool_]:
        """Which places (..., 3) lie inside the picture."""
        flat = points_px[..., :2]
        return np.asarray(((flat >= 0.0) & (flat <= [self.width_px, self.height_px])).all(axis=-1))


def fitted(
    sight: Sequence[float] | FloatArray, points_mm: FloatArray, size_px: tuple[int, int], margin_px: int
) -> View:
    """The view along a direction that holds all points: as wide as said, as high as they and a text need."""
    axes = _axes(np.asarray(sight, dtype=np.float64))
    flat = points_mm @ axes.T
    low, high = flat.min(axis=0), flat.max(axis=0)
    extent = np.maximum(high - low, 1e-9 * max(float(np.abs(flat).max()), 1.0))
    width, most = size_px
    scale = float(min((width - 2 * margin_px) / extent[0], (most - 2 * margin_px) / extent[1]))
    height = max(round(scale * float(extent[1])), _LEAST_PX) + 2 * margin_px
    middle = np.array([width / 2.0, height / 2.0, 0.0])
    return View(axes, scale, middle - scale * (low + high) / 2.0, width, height)


def _axes(sight: FloatArray) -> FloatArray:
    """Upright where the direction allows: z up, else y."""
    eye = sight / np.linalg.norm(sight)
    upright = np.array([0.0, 0.0, 1.0]) if abs(eye[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    right = np.cross(upright, eye)
    right /= np.linalg.norm(right)
    return np.array([right, -np.cross(eye, right), eye])


def sights() -> tuple[tuple[FloatArray, ...], ...]:
    """Directions to look from: the upper four corners, then the lower ones, then nearly along each axis."""
    corners = [np.array(signs) * _CORNER for signs in product((1.0, -1.0), repeat=3)]
    steep = [sign * (np.eye(3)[axis] + 0.25 * np.array(_CORNER) / 1.3) for axis in range(3) for sign in (1.0, -1.0)]
    return (
        tuple(each for each in corners if each[2] > 0.0),
        tuple(each for each in corners if each[2] < 0.0),
        tuple(steep),
    )


def sight_words(sight: FloatArray) -> str:
    """From where a view looks, by the larger components.

    >>> sight_words(np.array([0.6, -0.7, 0.01]))
    '+x −y'
    """
    share = sight / np.abs(sight).max()
    signs = (("+" if value > 0.0 else "−") + name for name, value in zip("xyz", share, strict=True) if abs(value) > 0.2)
    return " ".join(signs)

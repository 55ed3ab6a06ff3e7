"""Where the driving force of a growing crack dies away: its stress intensity changes its sign further on."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fatcore.cracks.configurations.configuration import initial_compliance
from fatcore.cracks.configurations.stress_field import Stressed
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.require import FloatArray

VANISHES = "driving-force-vanishes"
SHARE = 0.1  # of its largest value: with exponent 3 the crack is a thousand times slower [own choice]
SHARE_OF_FIRST = 0.01  # where two lengths grow and no size foretells the rest [own choice]
_SIZES = 600


class Falling(NamedTuple):
    """A driving force that passes zero: the signs of its points, its largest value and the size there."""

    signs: FloatArray
    largest_mpa_sqrt_mm: float
    peak_mm: float
    share: float

    def excess(self, unit: UnitIntensity, depth: FloatArray) -> FloatArray:
        """Passes zero upward where the force has fallen to its share; behind that a life is rounding."""
        left = (self.signs * unit.opening).max(axis=0) / self.largest_mpa_sqrt_mm
        return np.where(depth <= self.peak_mm, -1.0, self.share - left)


def falling_drive(stressed: Stressed) -> Falling | None:
    """The driving force when it changes its sign before the body ends; None when it never does.

    With one length the stress intensity at every size is known beforehand, with load sharing too. With two it
    hangs on the way: then the force counts as gone at a hundredth of its first value, in its first direction.
    """
    last = stressed.body.largest()[0]
    first = stressed.body.start()[0]
    if not (np.isfinite(last) and first < last):
        return None
    sizes = np.geomspace(first, last, _SIZES)[:-1]
    with np.errstate(all="ignore"):
        if stressed.body.two_lengths:
            return _of_two(stressed)
        unit = stressed.unit(sizes, sizes, _added(stressed, sizes))
    return None if _shears(unit) else _foreseen(unit.opening, sizes)


def _of_two(stressed: Stressed) -> Falling | None:
    depth, length = (np.array([size]) for size in stressed.body.start())
    added = np.zeros((0, 1))
    if stressed.sharing is not None:
        added = initial_compliance(stressed.body, float(depth[0]), float(length[0]))[:, None]
    start = stressed.unit(depth, length, added).opening
    largest = float(np.abs(start).max())
    return Falling(np.sign(start), largest, float(depth[0]), SHARE_OF_FIRST) if largest > 0.0 else None


def _added(stressed: Stressed, sizes: FloatArray) -> FloatArray:
    """Compliance that the crack adds at each size."""
    if stressed.sharing is None:
        return np.zeros((0, sizes.size))
    slopes = stressed.body.compliance_derivatives(sizes, sizes)[0]
    steps = 0.5 * (slopes[:, 1:] + slopes[:, :-1]) * np.diff(np.log(sizes))
    start = initial_compliance(stressed.body, float(sizes[0]), float(sizes[0]))[:, None]
    return np.concatenate([start, start + np.cumsum(steps, axis=1)], axis=1)


def _shears(unit: UnitIntensity) -> bool:
    return any(mode is not None and bool(np.any(mode)) for mode in (unit.sliding, unit.tearing))


def _foreseen(opening: FloatArray, sizes: FloatArray) -> Falling | None:
    driven = np.flatnonzero((opening != 0.0).any(axis=0))
    if not driven.size:
        return None
    signs = np.sign(opening[:, driven[0]])[:, None]
    force = (signs * opening).max(axis=0)
    passed = np.flatnonzero(force[driven[0] :] <= 0.0)
    if not passed.size:
        return None
    peak = int(np.argmax(force[: driven[0] + passed[0]]))
    return Falling(signs, float(force[peak]), float(sizes[peak]), SHARE)

"""Where the driving force of a growing crack dies away: it falls to a small share of its earlier peak."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fatcore.cracks.configurations.configuration import initial_compliance
from fatcore.cracks.configurations.stress_field import Stressed
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.require import FloatArray

VANISHES = "driving-force-vanishes"
SHARE = 0.1  # of its largest value: with exponent 3 the crack is a thousand times slower [own choice]
_NEAR = 2.0  # times the share: between the places that a step has looked at the force may be lower
_SIZES = 600


class Falling(NamedTuple):
    """A driving force that falls below its share: signs of its modes and points, its peak, where that is.

    peak_area_mm2 : depth times length at the peak; turns : True when the force passes zero further on
    """

    signs: FloatArray
    peak_mpa_sqrt_mm: float
    peak_area_mm2: float
    turns: bool

    def excess(self, drive: Drive, unit: UnitIntensity, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Passes zero upward where the force has fallen to its share; behind that a life is rounding."""
        left = _force(drive, unit, self.signs) / self.peak_mpa_sqrt_mm
        return np.where(depth * length <= self.peak_area_mm2, -1.0, SHARE - left)


def falling_drive(stressed: Stressed, drive: Drive) -> Falling | None:
    """The driving force of a crack with one length when it falls before the crack ends; None when it does not.

    The stress intensity at every size is known beforehand, with load sharing too.
    """
    last = stressed.crack.largest()[0]
    first = stressed.crack.start()[0]
    if stressed.crack.two_lengths or not (np.isfinite(last) and first < last):
        return None
    sizes = np.geomspace(first, last, _SIZES)
    with np.errstate(all="ignore"):
        unit = stressed.unit(sizes, sizes, _added(stressed, sizes))
        force = _force(drive, unit, _signs(unit))
    return _fallen(force, sizes * sizes, _signs(unit), SHARE)


def lowest_share(drive: Drive, unit: UnitIntensity) -> float:
    """Smallest driving force along a life over its largest one before, 1 when it never falls."""
    with np.errstate(all="ignore"):
        force = _force(drive, unit, _signs(unit))
        share = force / np.maximum.accumulate(force)
    return float(np.nanmin(share, initial=1.0))


class SeenForce:
    """The driving force of a crack with two lengths, as its solved steps have met it so far."""

    def __init__(self, drive: Drive) -> None:
        self.drive = drive
        self.signs: FloatArray | None = None
        self.peak, self.peak_area = 0.0, 0.0

    def met(self, unit: UnitIntensity, depth: FloatArray, length: FloatArray) -> Falling | None:
        """Takes the states of one more step; the falling force when it comes near its share in it."""
        if self.signs is None:
            self.signs = _signs(unit)
        force = np.concatenate([[self.peak], _force(self.drive, unit, self.signs)])
        area = np.concatenate([[self.peak_area], depth * length])
        found = _fallen(force, area, self.signs, _NEAR * SHARE)
        top = int(np.argmax(force))
        self.peak, self.peak_area = float(force[top]), float(area[top])
        return found


def _fallen(force: FloatArray, area: FloatArray, signs: FloatArray, share: float) -> Falling | None:
    """The first fall of a force below a share of what it was before; None when there is none."""
    low = np.flatnonzero(force < share * np.maximum.accumulate(force))
    if not low.size:
        return None
    peak = int(np.argmax(force[: low[0]]))
    return Falling(signs, float(force[peak]), float(area[peak]), bool((force[peak:] <= 0.0).any()))


def _modes(unit: UnitIntensity) -> FloatArray:
    """Modes x points x n."""
    given = [mode for mode in (unit.opening, unit.sliding, unit.tearing) if mode is not None]
    return np.stack(given)


def _signs(unit: UnitIntensity) -> FloatArray:
    """Of each mode and point, where the crack is first driven."""
    modes = _modes(unit)
    driven = np.flatnonzero((modes != 0.0).any(axis=(0, 1)))
    return np.sign(modes[..., driven[:1]]) if driven.size else np.ones((*modes.shape[:2], 1))


def _force(drive: Drive, unit: UnitIntensity, signs: FloatArray) -> FloatArray:
    """Of the point that is driven most, all modes together; negative where all of them have turned round."""
    turned = (signs * _modes(unit) <= 0.0).all(axis=0)
    size = drive.equivalent(unit)
    return np.asarray(np.where(turned, -size, size).max(axis=0))


def _added(stressed: Stressed, sizes: FloatArray) -> FloatArray:
    """Compliance that the crack adds at each size."""
    if stressed.sharing is None:
        return np.zeros((0, sizes.size))
    slopes = stressed.crack.compliance_derivatives(sizes, sizes)[0]
    steps = 0.5 * (slopes[:, 1:] + slopes[:, :-1]) * np.diff(np.log(sizes))
    start = initial_compliance(stressed.crack, float(sizes[0]), float(sizes[0]))[:, None]
    return np.concatenate([start, start + np.cumsum(steps, axis=1)], axis=1)

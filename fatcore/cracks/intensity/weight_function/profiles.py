"""Stress across a crack as points or as a polynomial, and its moments with the weight functions.

With u = 1 - x/a (from the tip) or v = x/a (from the mouth), a weight function is a sum of powers (i - 1) / 2,
i = 0 ... 3. A profile gives the four integrals of stress times power over 0 ... 1, exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import beta

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite, one_length

POWERS: FloatArray = np.array([-0.5, 0.0, 0.5, 1.0])
Ramps = Callable[[FloatArray], list[FloatArray]]
Integral = Callable[[int], FloatArray]
_CHUNK = 1_000_000  # crack sizes times points at once: bounds the memory


@dataclass(frozen=True, slots=True, eq=False)
class PathProfile:
    """Stress of the uncracked body at points of the crack plane, linear between them.

    distance_mm    : distance from the mouth (edge, plate surface, or centre) [mm], ascending from 0
    stress_mpa : stress normal to the crack plane [MPa]; beyond the last point it keeps the last value
    Raises     : InputError when the path does not start at 0 or does not ascend
    """

    distance_mm: ArrayLike
    stress_mpa: ArrayLike
    _start: float = field(init=False, repr=False)
    _knots: FloatArray = field(init=False, repr=False)
    _bends: FloatArray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        dist, stress = finite("distance_mm", self.distance_mm), finite("stress_mpa", self.stress_mpa)
        if one_length(distance_mm=dist, stress_mpa=stress) and dist[0] != 0.0:
            raise InputError("the path must start at the mouth of the crack, distance 0", "distance_mm", 0)
        wrong = np.flatnonzero(np.diff(dist) <= 0.0)
        if wrong.size:
            raise InputError("distances must ascend", "distance_mm", int(wrong[0]) + 1)
        with np.errstate(all="ignore"):  # absurd slopes show in the result, which is checked for finite values
            slopes = np.concatenate([np.diff(stress) / np.diff(dist), [0.0]])
            bends = np.diff(slopes, prepend=0.0)
        object.__setattr__(self, "_start", float(stress[0]))
        object.__setattr__(self, "_knots", dist)
        object.__setattr__(self, "_bends", bends)

    @property
    def reach_mm(self) -> float:
        """Distance of the last point [mm]."""
        return float(self._knots[-1])

    def stress(self, distance_mm: ArrayLike) -> FloatArray:
        """Stress at a distance from the mouth [MPa]."""
        place = np.asarray(distance_mm, dtype=np.float64)
        return np.asarray(np.interp(place, self._knots, np.asarray(self.stress_mpa, dtype=np.float64)))

    def tip_moments(self, depth_mm: FloatArray) -> FloatArray:
        """Integrals over u of stress times u^((i-1)/2), first axis i, for every depth."""
        return self._moments(depth_mm, _tip_ramps)

    def mouth_moments(self, depth_mm: FloatArray) -> FloatArray:
        """Integrals over v of stress times v^((i-1)/2), first axis i, for every depth."""
        return self._moments(depth_mm, _mouth_ramps)

    def _moments(self, depth_mm: FloatArray, ramps: Ramps) -> FloatArray:
        flat = np.ravel(depth_mm)
        total = np.empty((POWERS.size, flat.size))
        step = max(_CHUNK // self._knots.size, 1)
        for first in range(0, flat.size, step):
            part = flat[first : first + step]
            place = np.minimum(self._knots / part[:, None], 1.0)
            total[:, first : first + step] = part * np.stack([ramp @ self._bends for ramp in ramps(place)])
        total += self._start / (POWERS + 1.0)[:, None]
        return total.reshape(POWERS.size, *np.shape(depth_mm))


@dataclass(frozen=True, slots=True, eq=False)
class PolynomialProfile:
    """Stress of the uncracked body as a polynomial of the distance from the mouth over a reference length.

    coefficients_mpa : c_n of stress = sum c_n (x / reference)^n [MPa], ascending powers
    reference_mm     : reference length [mm], usually the plate thickness
    """

    coefficients_mpa: ArrayLike
    reference_mm: float

    def __post_init__(self) -> None:
        one_length(coefficients_mpa=finite("coefficients_mpa", self.coefficients_mpa))
        if not self.reference_mm > 0.0:
            raise InputError("reference_mm must be greater than 0", "reference_mm")

    @property
    def reach_mm(self) -> float:
        """A polynomial has no end."""
        return float("inf")

    def stress(self, distance_mm: ArrayLike) -> FloatArray:
        """Stress at a distance from the mouth [MPa]."""
        place = np.asarray(distance_mm, dtype=np.float64) / self.reference_mm
        return np.asarray(np.polynomial.polynomial.polyval(place, np.asarray(self.coefficients_mpa)))

    def tip_moments(self, depth_mm: FloatArray) -> FloatArray:
        """Integrals over u of stress times u^((i-1)/2), first axis i, for every depth."""
        return self._moments(depth_mm, lambda n: np.asarray(beta(POWERS + 1.0, n + 1.0), dtype=np.float64))

    def mouth_moments(self, depth_mm: FloatArray) -> FloatArray:
        """Integrals over v of stress times v^((i-1)/2), first axis i, for every depth."""
        return self._moments(depth_mm, lambda n: np.asarray(1.0 / (POWERS + n + 1.0), dtype=np.float64))

    def _moments(self, depth_mm: FloatArray, integral: Integral) -> FloatArray:
        scale = np.asarray(depth_mm, dtype=np.float64) / self.reference_mm
        factors = np.asarray(self.coefficients_mpa, dtype=np.float64)
        parts = [np.multiply.outer(integral(n), c * scale**n) for n, c in enumerate(factors)]
        return np.asarray(np.sum(parts, axis=0), dtype=np.float64)


def _tip_ramps(place: FloatArray) -> list[FloatArray]:
    """Integrals of (v - place)_+ u^p over u, for the four powers p; u = 1 - v."""
    u = 1.0 - place
    root, square = np.sqrt(u), u * u
    raised = (u * root, square, square * root, square * u)
    return [value / ((p + 1.0) * (p + 2.0)) for value, p in zip(raised, POWERS, strict=True)]


def _mouth_ramps(place: FloatArray) -> list[FloatArray]:
    """Integrals of (v - place)_+ v^p over v, for the four powers p."""
    root = np.sqrt(place)
    raised = (root, place, place * root, place * place)
    return [
        (1.0 - value * place) / (p + 2.0) - place * (1.0 - value) / (p + 1.0)
        for value, p in zip(raised, POWERS, strict=True)
    ]

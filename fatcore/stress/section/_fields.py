"""Singular field of each mode and its dual in polar axes: displacements times Young's modulus, stresses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.modes import Mode
from fatcore.stress.notch.fields import eigenvalues


class PolarField(NamedTuple):
    """Columns radial, hoop (in plane) or axial alone (tearing): displacement, stress on the radial face, on
    the hoop face."""

    displacement: FloatArray
    radial_face: FloatArray
    hoop_face: FloatArray


@dataclass(frozen=True, slots=True)
class SingularField:
    """Field r^exponent that leaves the faces at +-half_angle free; scale makes the intensity 1."""

    mode: Mode
    exponent: float
    half_angle: float
    poisson_ratio: float
    scale: float = 1.0

    def at(self, radius: FloatArray, theta: FloatArray) -> PolarField:
        """The field at points (n,) in polar coordinates from the bisector."""
        if self.mode == "tearing":
            return self._tearing(radius, theta)
        p, twice_shear = self.exponent, 1.0 / (1.0 + self.poisson_ratio)
        kappa = 3.0 - 4.0 * self.poisson_ratio
        far, near = self.scale * _weights(self.mode == "opening", p, self.half_angle)
        sign, even, odd = (1.0, np.cos, np.sin) if self.mode == "opening" else (-1.0, np.sin, np.cos)
        a, b = far * even((p + 1.0) * theta), near * even((p - 1.0) * theta)
        c, d = far * odd((p + 1.0) * theta), near * odd((p - 1.0) * theta)
        moved = radius**p / twice_shear
        level = p * radius ** (p - 1.0)
        shear = sign * level * ((p + 1.0) * c + (p - 1.0) * d)
        return PolarField(
            np.column_stack(
                [moved * ((kappa - p) * b - (p + 1.0) * a), sign * moved * ((p + 1.0) * c + (kappa + p) * d)]
            ),
            np.column_stack([-level * ((p + 1.0) * a + (p - 3.0) * b), shear]),
            np.column_stack([shear, level * (p + 1.0) * (a + b)]),
        )

    def _tearing(self, radius: FloatArray, theta: FloatArray) -> PolarField:
        p, modulus = self.exponent, 0.5 / (1.0 + self.poisson_ratio)
        level = self.scale * radius ** (p - 1.0)
        moved = self.scale * radius**p * np.sin(abs(p) * theta) / (modulus * abs(p))
        radial = level * np.sin(abs(p) * theta) * np.sign(p)
        return PolarField(moved[:, None], radial[:, None], (level * np.cos(p * theta))[:, None])


@cache
def primary(mode: Mode, opening_angle_deg: float, poisson_ratio: float) -> SingularField:
    """Field of unit intensity: stress on the bisector is r^(lambda - 1) / sqrt(2 pi)."""
    field = _field(mode, opening_angle_deg, poisson_ratio, 1.0)
    ahead = field.at(np.ones(1), np.zeros(1)).hoop_face[0]
    value = ahead[1] if mode == "opening" else ahead[0]
    scale = 1.0 / (np.sqrt(2.0 * np.pi) * value)
    return SingularField(mode, field.exponent, field.half_angle, poisson_ratio, float(scale))


@cache
def dual(mode: Mode, opening_angle_deg: float, poisson_ratio: float) -> SingularField:
    """Field of the opposite exponent, scaled so that its reciprocal work with the primary one is 1."""
    raw = _field(mode, opening_angle_deg, poisson_ratio, -1.0)
    work = reciprocity(primary(mode, opening_angle_deg, poisson_ratio), raw)
    return SingularField(mode, raw.exponent, raw.half_angle, poisson_ratio, 1.0 / work)


def reciprocity(first: SingularField, second: SingularField) -> float:
    """Integral over the circle r = 1 of (stress of the first * displacement of the second - the reverse)."""
    node, weight = np.polynomial.legendre.leggauss(60)
    one, two = (field.at(np.ones(60), first.half_angle * node) for field in (first, second))
    work = (one.radial_face * two.displacement - two.radial_face * one.displacement).sum(axis=1)
    return float(first.half_angle * (weight * work).sum())


def _field(mode: Mode, opening_angle_deg: float, poisson_ratio: float, sign: float) -> SingularField:
    exponent = getattr(eigenvalues(opening_angle_deg), mode)
    half = float(np.pi - np.radians(opening_angle_deg) / 2.0)
    return SingularField(mode, sign * exponent, half, poisson_ratio)


@cache
def _weights(opening: bool, exponent: float, half_angle: float) -> FloatArray:
    """Shares of the two harmonics: the null vector of hoop and shear stress on the face."""
    even, odd = (np.cos, np.sin) if opening else (np.sin, np.cos)
    orders = np.array([exponent + 1.0, exponent - 1.0])
    rows = np.array([even(orders * half_angle), orders * odd(orders * half_angle)])
    return np.asarray(np.linalg.svd(rows)[2][-1])

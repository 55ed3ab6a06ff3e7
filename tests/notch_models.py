"""Notch lines whose exact answer is known: singular fields along a curve in space.

On the bisector, at one small distance, the stresses are those of the singular fields with intensities that
vary along the line, turned into the global frame, plus stresses that no mode may see. The element constant of
such a "mesh" follows from the field itself, so that the equivalent stress must be that of the averaged energy
density of the same intensities, computed here from its definition.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

NU, MODULUS, RADIUS, DISTANCE, MESH = 0.3, 206_000.0, 0.28, 0.05, 0.8
Array = np.ndarray


def exponent_opening(angle_deg: float) -> float:
    """Smallest root of sin(2 g x) + x sin(2 g) = 0 from 0.5 on, g half of the material's sector."""
    gamma = np.pi - np.radians(angle_deg) / 2.0
    return float(brentq(lambda x: np.sin(2 * gamma * x) + x * np.sin(2 * gamma), 0.5 - 1e-9, 0.9, xtol=1e-15))


def energy_opening(angle_deg: float) -> float:
    """Energy of the opening mode averaged over the sector, for unit intensity, radius and modulus."""
    gamma, lam = np.pi - np.radians(angle_deg) / 2.0, exponent_opening(angle_deg)
    chi = 1.0 if angle_deg == 0.0 else -np.sin((1 - lam) * gamma) / np.sin((1 + lam) * gamma)

    def density(theta: float) -> float:
        scale = 1.0 / ((1 + lam) + chi * (1 - lam)) / np.sqrt(2 * np.pi)
        near, far = (1 - lam) * theta, (1 + lam) * theta
        hoop = scale * ((1 + lam) * np.cos(near) + chi * (1 - lam) * np.cos(far))
        radial = scale * ((3 - lam) * np.cos(near) - chi * (1 - lam) * np.cos(far))
        shear = scale * ((1 - lam) * np.sin(near) + chi * (1 - lam) * np.sin(far))
        axial = NU * (hoop + radial)
        squares = hoop**2 + radial**2 + axial**2 + 2 * (1 + NU) * shear**2
        return float(squares - 2 * NU * (hoop * radial + hoop * axial + radial * axial)) / 2.0

    return float(quad(density, -gamma, gamma, epsabs=1e-13)[0] / (2.0 * lam * gamma))


@dataclass
class NotchModel:
    """Nodes, frames and tensors of two load cases of a notch line; what the equivalent stress must be."""

    points: Array
    tangent: Array
    bisector: Array
    normal: Array  # outward, of the plate; the weld lies towards the origin's axis
    intensities: dict[str, Array]
    angle_deg: float
    closed: bool

    def exponents(self) -> Array:
        first = exponent_opening(self.angle_deg)
        second = 0.5 if self.angle_deg == 0.0 else 1.0
        return np.array([first, second, 180.0 / (360.0 - self.angle_deg)])

    def constants(self) -> dict[str, float | None]:
        """K = sqrt(2 pi) r^(1-x) stress on the bisector, written as constant * stress * d^(1-x)."""
        own = np.sqrt(2 * np.pi) * (DISTANCE / MESH) ** (1.0 - self.exponents())
        sliding = float(own[1]) if self.angle_deg == 0.0 else None
        return {"opening": float(own[0]), "sliding": sliding, "tearing": float(own[2])}

    def tensors(self, case: str) -> Array:
        """Stresses (n, 6): the three peaks in the local frame, and parallel stresses that do not count."""
        peaks = self.intensities[case] * DISTANCE ** (self.exponents() - 1.0) / np.sqrt(2 * np.pi)
        out = np.cross(self.tangent, self.bisector)
        frame = np.stack([out, self.bisector, self.tangent], axis=1)
        rng = np.random.default_rng(len(case))
        local = np.zeros((len(peaks), 3, 3))
        local[:, 0, 0], local[:, 1, 1] = peaks[:, 0], rng.uniform(-300.0, 300.0, len(peaks))
        local[:, 0, 1] = local[:, 1, 0] = peaks[:, 1]
        local[:, 0, 2] = local[:, 2, 0] = peaks[:, 2]
        local[:, 1, 2] = local[:, 2, 1] = rng.uniform(-50.0, 50.0, len(peaks))
        local[:, 2, 2] = NU * (local[:, 0, 0] + local[:, 1, 1]) + rng.uniform(-50.0, 50.0, len(peaks))
        full = np.einsum("nji,njk,nkl->nil", frame, local, frame)
        return full[:, [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]]

    def equivalent(self, factors: dict[str, float], average_over: int = 1) -> tuple[Array, Array]:
        """Equivalent stress and biaxiality ratio from the averaged energy of superposed intensities."""
        total = sum((factor * self.intensities[case] for case, factor in factors.items()), np.zeros(3))
        if average_over == 3:
            total = averaged(total, self.closed)
        gamma = np.pi - np.radians(self.angle_deg) / 2.0
        second = (1 + NU) * (9 - 8 * NU) / (8 * np.pi) if self.angle_deg == 0.0 else 0.0
        coefficients = np.array([energy_opening(self.angle_deg), second, (1 + NU) * gamma / np.pi**2])
        parts = coefficients * total**2 / RADIUS ** (2 * (1 - self.exponents())) / MODULUS
        stress = np.sqrt(2 * MODULUS * parts.sum(axis=1) / (1 - NU**2))
        return stress, parts[:, 1:].sum(axis=1) / parts[:, 0]

    def turned(self, turn: Rotation, shift: Array) -> NotchModel:
        moved = (
            turn.apply(self.points) + shift,
            *map(turn.apply, (self.tangent, self.bisector, self.normal)),
        )
        return NotchModel(*moved, self.intensities, self.angle_deg, self.closed)

    def of(self, order: Array) -> NotchModel:
        """The nodes in another order."""
        parts = (self.points, self.tangent, self.bisector, self.normal)
        waves = {case: values[order] for case, values in self.intensities.items()}
        return NotchModel(*(part[order] for part in parts), waves, self.angle_deg, self.closed)


def averaged(values: Array, closed: bool) -> Array:
    """Mean over neighbours, node by node."""
    size = len(values)
    near = [
        [k % size for k in (i - 1, i, i + 1)] if closed else [k for k in (i - 1, i, i + 1) if 0 <= k < size]
        for i in range(size)
    ]
    return np.array([values[members].mean(axis=0) for members in near])


def waves(turn: Array, angle_deg: float) -> dict[str, Array]:
    """Intensities of two load cases along the line; smooth, so that every node has its own."""
    pull = np.column_stack([300 + 80 * np.cos(turn), 60 * np.sin(turn), 90 * np.sin(2 * turn)])
    twist = np.column_stack([70 + 40 * np.sin(turn), 50 * np.cos(turn), 150 + 60 * np.cos(turn)])
    keep = [1.0, 1.0 if angle_deg == 0.0 else 0.0, 1.0]
    return {"pull": pull * keep, "twist": twist * keep}


def tube(angle_deg: float, count: int = 48) -> NotchModel:
    """A loop round a tube of radius 30: attachment weld on its plate, weld inside the circle."""
    turn = 2 * np.pi * np.arange(count) / count
    radial = np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    tangent = np.column_stack([-np.sin(turn), np.cos(turn), 0 * turn])
    normal = np.tile([0.0, 0.0, 1.0], (count, 1))
    half = np.radians(angle_deg) / 2.0
    bisector = -np.cos(half) * radial - np.sin(half) * normal
    return NotchModel(30 * radial, tangent, bisector, normal, waves(turn, angle_deg), angle_deg, True)


def helix(angle_deg: float, count: int = 40) -> NotchModel:
    """An open line that climbs round a shaft, with nodes at uneven distances."""
    turn = 2.5 * (np.arange(count) / count) ** 1.2
    points = np.column_stack([20 * np.cos(turn), 20 * np.sin(turn), 12 * turn])
    tangent = np.column_stack([-20 * np.sin(turn), 20 * np.cos(turn), np.full(count, 12.0)]) / np.hypot(20, 12)
    normal = np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    half = np.radians(angle_deg) / 2.0
    bisector = np.cos(half) * np.cross(normal, tangent) - np.sin(half) * normal
    return NotchModel(points, tangent, bisector, normal, waves(turn, angle_deg), angle_deg, False)

"""What the integration of growth is made of: a state, the rates there, a solved interval."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
from numpy.polynomial import legendre

from fatcore.cracks.growth.integration._collocation import NODES, basis_at
from fatcore.require import FloatArray

_POINTS = np.cos(np.linspace(np.pi, 0.0, NODES + 1))
_END_SLOPE = np.array([0.5 * n * (n + 1) for n in range(NODES + 1)])  # of Legendre polynomials at 1
_FIT = np.linalg.inv(legendre.legvander(_POINTS, NODES))


class State(NamedTuple):
    """Where a step starts: s, ln a, cycles, added compliance (three components; empty without sharing)."""

    place: float
    log_depth: float
    cycles: float
    compliance: FloatArray
    depth_share: float  # part of the growth of s that goes into ln a: a first guess


class LogRates(NamedTuple):
    """Growth per cycle of ln a and ln c (None for one length)."""

    depth: FloatArray
    length: FloatArray | None


class GrowthProblem(Protocol):
    """What the integrator must know of a crack."""

    two_lengths: bool
    shares: bool

    def log_rates(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> LogRates:
        """Rates at sizes and added compliances (3 x n)."""

    def events(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> FloatArray | None:
        """Functions that change sign where the rates have a kink, row by row; None when there are none."""

    def compliance_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Added compliance per unit of ln a and of ln c, each 3 x n."""


@dataclass(frozen=True, slots=True)
class Step:
    """Solved interval: where it starts, its width in s, Legendre coefficients of ln a, cycles and
    compliance.
    """

    origin: State
    width: float
    log_depth: FloatArray
    cycles: FloatArray
    compliance: FloatArray
    two_lengths: bool

    def at(self, t: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Depth, length, cycles and compliance at step coordinates t in [-1, 1]; the length is 1 for one
        length.
        """
        basis = basis_at(t)
        place = self.origin.place + 0.5 * self.width * (t + 1.0)
        log_depth = basis @ self.log_depth if self.two_lengths else place
        return np.exp(log_depth), np.exp(place - log_depth), basis @ self.cycles, self.compliance @ basis.T

    def cut(self, t: float) -> Step:
        """The first part up to step coordinate t, by the same polynomials."""
        to_part = _FIT @ legendre.legvander(0.5 * (t + 1.0) * (_POINTS + 1.0) - 1.0, NODES)
        width = 0.5 * self.width * (t + 1.0)
        added = self.compliance @ to_part.T
        return Step(self.origin, width, to_part @ self.log_depth, to_part @ self.cycles, added, self.two_lengths)

    def end(self) -> State:
        """The state at the far end (all Legendre polynomials are 1 there)."""
        place = self.origin.place + self.width
        log_depth = float(self.log_depth.sum()) if self.two_lengths else place
        share = float(self.log_depth @ _END_SLOPE) * 2.0 / self.width if self.two_lengths else 1.0
        return State(place, log_depth, float(self.cycles.sum()), self.compliance.sum(axis=1), share)


class Termination(NamedTuple):
    """Why the integration cannot go on: the crack is arrested or unstable."""

    reason: str
    state: State

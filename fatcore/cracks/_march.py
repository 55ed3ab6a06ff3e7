"""Integrates a growing crack over its size: collocation in the logarithm of the size, with error control.

One or two lengths grow. The independent variable is s = ln a + ln c (or ln a for one length), in which both
lengths keep their own rate and neither may stand still first; the unknowns are ln a, the cycles and, when
load is shared, the compliance that the crack adds. A panel is one interval of s, solved by Gauss-Legendre
collocation; its length follows from the decay of the Legendre coefficients.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from fatcore.cracks._collocation import AT_NODES, INTEGRAL, NODES, T, basis_at, integral_error
from fatcore.require import FloatArray

__all__ = ["Motion", "Panel", "Speeds", "State", "Stop", "march", "shortened"]

FIRST_PANEL = 0.6
LONGEST_PANEL = 2.5
SHORTEST_PANEL = 1e-6
_ITERATIONS = 12
_STEP = 1e-6
_FREEZE = 1e-3  # steps below this keep the matrix
_OVERSHOOT = 1.02
_WILD = 5.0


class State(NamedTuple):
    """Where a panel starts: s, ln a, cycles, added compliance (three components; empty without sharing)."""

    place: float
    log_depth: float
    cycles: float
    compliance: FloatArray
    depth_share: float  # part of the growth of s that goes into ln a: a first guess


class Speeds(NamedTuple):
    """Growth per cycle of ln a and ln c (None for one length)."""

    depth: FloatArray
    length: FloatArray | None


class Motion(Protocol):
    """What the integrator must know of a crack."""

    two_lengths: bool
    shares: bool

    def speeds(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> Speeds:
        """Rates at sizes and added compliances (3 x n)."""

    def signals(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> FloatArray | None:
        """Functions that change sign where the rates have a kink, row by row; None when there are none."""

    def compliance_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Added compliance per unit of ln a and of ln c, each 3 x n."""


@dataclass(frozen=True, slots=True)
class Panel:
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
        """Depth, length, cycles and compliance at panel coordinates t in [-1, 1]; the length is 1 for one
        length.
        """
        basis = basis_at(tuple(t.tolist()))
        place = self.origin.place + 0.5 * self.width * (t + 1.0)
        log_depth = basis @ self.log_depth if self.two_lengths else place
        return np.exp(log_depth), np.exp(place - log_depth), basis @ self.cycles, self.compliance @ basis.T

    def end(self) -> State:
        """The state at the far end (all Legendre polynomials are 1 there)."""
        place = self.origin.place + self.width
        log_depth = float(self.log_depth.sum()) if self.two_lengths else place
        share = (log_depth - self.origin.log_depth) / self.width
        return State(place, log_depth, float(self.cycles.sum()), self.compliance.sum(axis=1), share)


class Stop(NamedTuple):
    """Why the march cannot go on: the crack stands still, or runs."""

    reason: str
    state: State


class _Trial(NamedTuple):
    panel: Panel | None
    error: float
    sizes: tuple[FloatArray, FloatArray, FloatArray]
    trouble: str


def march(motion: Motion, start: State, tolerance: float, last_depth: float) -> Iterator[Panel | Stop]:
    """Panels from a start on, without end; a Stop is the last item.

    tolerance  : relative error of the cycles and absolute error of ln a that a panel may have
    last_depth : depth that the caller asks for; panels stretch little beyond it
    """
    state, width = start, FIRST_PANEL
    if _stands_still(motion, start):
        yield Stop("arrest", start)
        return
    while True:
        width = min(width, max(_way_to(last_depth, state), SHORTEST_PANEL))
        trial = _solve(motion, state, width, tolerance)
        if trial.panel is not None and trial.error <= 1.0:
            yield trial.panel
            state = trial.panel.end()
            width = min(LONGEST_PANEL, width * min(3.0, 0.9 * max(trial.error, 1e-9) ** (-1.0 / NODES)))
            continue
        if width <= SHORTEST_PANEL:
            if trial.panel is None:
                yield Stop(trial.trouble, state)
                return
            yield trial.panel
            state, width = trial.panel.end(), 64.0 * width
            continue
        with np.errstate(all="ignore"):
            width = max(SHORTEST_PANEL, _shorter(width, motion.signals(*trial.sizes)))


def _way_to(last_depth: float, state: State) -> float:
    """Width of a panel that ends a little beyond a depth, by the last share of the depth in the growth."""
    left = np.log(last_depth) - state.log_depth
    return float(_OVERSHOOT * left / max(state.depth_share, 0.05) + 0.01) if left > 0.0 else LONGEST_PANEL


def _stands_still(motion: Motion, state: State) -> bool:
    depth = np.exp([state.log_depth])
    length = np.exp([state.place - state.log_depth]) if motion.two_lengths else depth
    with np.errstate(all="ignore"):
        speeds = motion.speeds(depth, length, state.compliance[:, None])
    return bool(speeds.depth[0] == 0.0 and (speeds.length is None or speeds.length[0] == 0.0))


def shortened(motion: Motion, panel: Panel, t: float, tolerance: float) -> Panel:
    """The first part of a panel, up to coordinate t, solved anew so that its end is as exact as that of a
    panel.
    """
    trial = _solve(motion, panel.origin, 0.5 * panel.width * (t + 1.0), tolerance)
    assert trial.panel is not None
    return trial.panel


def _shorter(width: float, signals: FloatArray | None) -> float:
    """Up to the first kink when it lies inside the panel, else a third of the panel."""
    if signals is None:
        return width / 3.0
    found = [t for row in signals if (t := _crossing(row)) is not None]
    if not found or min(found) < -0.999:
        return width / 3.0 if not found else 0.25 * width * max(min(found) + 1.0, 1e-5)
    return 0.5 * width * (min(found) + 1.0) * (1.0 - 1e-9)


def _crossing(row: FloatArray) -> float | None:
    """Panel coordinate of the first change of sign, by the polynomial through the nodes."""
    if not np.isfinite(row).all():
        return None
    changes = np.flatnonzero(np.signbit(row[1:]) != np.signbit(row[:-1]))
    if changes.size == 0:
        return None
    low, high = T[changes[0]], T[changes[0] + 1]
    left, right = row[changes[0]], row[changes[0] + 1]
    return float(low + (high - low) * left / (left - right))


def _solve(motion: Motion, state: State, width: float, tolerance: float) -> _Trial:
    place = state.place + 0.5 * width * (T + 1.0)
    solve = _two_lengths if motion.two_lengths else _one_length
    with np.errstate(all="ignore"):  # a trial may reach beyond the last ligament: not finite, then refused
        return solve(motion, state, place, 0.5 * width, tolerance)


def _one_length(motion: Motion, state: State, place: FloatArray, half: float, tolerance: float) -> _Trial:
    depth = np.exp(place)
    slopes = motion.compliance_slopes(depth, depth)[0] if motion.shares else np.zeros((0, NODES))
    compliance = state.compliance[:, None] + half * slopes @ AT_NODES.T
    speeds = motion.speeds(depth, depth, compliance)
    sizes = (depth, depth, compliance)
    return _finished(state, half, speeds, np.ones(NODES), slopes, tolerance, sizes)


def _two_lengths(motion: Motion, state: State, place: FloatArray, half: float, tolerance: float) -> _Trial:
    log_depth = state.log_depth + state.depth_share * (place - state.place)
    slopes = np.zeros((3 if motion.shares else 0, NODES))
    inverse: FloatArray | None = None
    largest, trouble = np.inf, ""
    for _ in range(_ITERATIONS):
        depth, length = np.exp(log_depth), np.exp(place - log_depth)
        compliance = state.compliance[:, None] + half * slopes @ AT_NODES.T
        if inverse is None or largest > _FREEZE:
            speeds, inverse = _with_jacobian(motion, log_depth, place, compliance, half)
        else:
            speeds = motion.speeds(depth, length, compliance)
        share, trouble = _depth_share(speeds)
        sizes = (depth, length, compliance)
        if trouble:
            break
        if motion.shares:
            per_depth, per_length = motion.compliance_slopes(depth, length)
            slopes = share * per_depth + (1.0 - share) * per_length
        step = inverse @ (state.log_depth + half * (AT_NODES @ share) - log_depth)
        log_depth = log_depth + step
        largest = float(np.abs(step).max())
        if largest < 0.01 * tolerance:
            return _finished(state, half, speeds, share, slopes, tolerance, sizes)
        if not largest < _WILD:
            break
    return _Trial(None, np.inf, sizes, trouble or "unstable")


def _with_jacobian(
    motion: Motion, log_depth: FloatArray, place: FloatArray, compliance: FloatArray, half: float
) -> tuple[Speeds, FloatArray]:
    """Rates at the guess, and the inverse of the collocation matrix from a small change of ln a."""
    both = np.concatenate([log_depth, log_depth + _STEP])
    depth, length = np.exp(both), np.exp(np.concatenate([place, place]) - both)
    speeds = motion.speeds(depth, length, np.concatenate([compliance, compliance], axis=1))
    assert speeds.length is not None
    share = speeds.depth / (speeds.depth + speeds.length)
    slope = (share[NODES:] - share[:NODES]) / _STEP
    slope = np.where(np.isfinite(slope), slope, 0.0)
    first = Speeds(speeds.depth[:NODES], speeds.length[:NODES])
    return first, np.asarray(np.linalg.inv(np.eye(NODES) - half * AT_NODES * np.minimum(slope, 0.5)))


def _depth_share(speeds: Speeds) -> tuple[FloatArray, str]:
    """Part of the growth of s that goes into ln a."""
    assert speeds.length is not None
    total = speeds.depth + speeds.length
    if not (np.isfinite(total) & (total > 0.0)).all():
        return total, "arrest" if (total == 0.0).any() else "unstable"
    return speeds.depth / total, ""


def _finished(
    state: State,
    half: float,
    speeds: Speeds,
    share: FloatArray,
    slopes: FloatArray,
    tolerance: float,
    sizes: tuple[FloatArray, FloatArray, FloatArray],
) -> _Trial:
    two_lengths = speeds.length is not None
    total = speeds.depth if speeds.length is None else speeds.depth + speeds.length
    if not (np.isfinite(total) & (total > 0.0)).all():
        return _Trial(None, np.inf, sizes, "arrest" if (total == 0.0).any() else "unstable")
    slowness = 1.0 / total
    cycles = half * (INTEGRAL @ slowness)
    log_depth = half * (INTEGRAL @ share)
    compliance = half * slopes @ INTEGRAL.T
    spent = cycles.sum() + state.cycles
    cycles[0] += state.cycles
    log_depth[0] += state.log_depth
    compliance[:, 0] += state.compliance
    error = integral_error(slowness, half / (spent * tolerance))
    if two_lengths:
        error = max(error, integral_error(share, half / tolerance))
    panel = Panel(state, 2.0 * half, log_depth, cycles, compliance, two_lengths)
    return _Trial(panel, error, sizes, "")

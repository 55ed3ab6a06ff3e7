"""Integrates a growing crack over its size: collocation in the logarithm of the size, with error control.

One or two lengths grow. The independent variable is s = ln a + ln c (or ln a for one length), in which both
lengths keep their own rate and neither may stand still first; the unknowns are ln a, the cycles and, when
load is shared, the compliance that the crack adds. A panel is one interval of s, solved by Gauss-Legendre
collocation; its length follows from the decay of the Legendre coefficients.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from fatcore.cracks._collocation import AT_NODES, INTEGRAL, NODES, T, integral_error
from fatcore.cracks._panel import Motion, Panel, Speeds, State, Stop
from fatcore.require import FloatArray

__all__ = ["march", "shortened"]

FIRST_PANEL = 0.6
LONGEST_PANEL = 2.5
SHORTEST_PANEL = 1e-6
_ITERATIONS = 12
_STEP = 1e-6
_FREEZE = 1e-3  # steps below this keep the matrix
_OVERSHOOT = 1.02
_JUMP = "jump"


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
    state, width, beyond_kink = start, FIRST_PANEL, 0.0
    stop = Stop("arrest", start) if _stands_still(motion, start) else None
    while stop is None:
        width = min(width, max(_way_to(last_depth, state), SHORTEST_PANEL))
        trial = _solve(motion, state, width, tolerance)
        if trial.panel is not None and trial.error <= 1.0:
            yield trial.panel
            state = trial.panel.end()
            longer = width * min(3.0, 0.9 * max(trial.error, 1e-9) ** (-1.0 / NODES))
            width, beyond_kink = min(LONGEST_PANEL, max(longer, beyond_kink)), 0.0
            continue
        if width <= SHORTEST_PANEL:
            panel = trial.panel or (_crossed(motion, state, width) if trial.trouble == _JUMP else None)
            if panel is None:
                stop = Stop("unstable" if trial.trouble == _JUMP else trial.trouble, state)
                continue
            yield panel
            state, width = panel.end(), 64.0 * width
            continue
        with np.errstate(all="ignore"):
            to_kink = _way_to_kink(width, motion.signals(*trial.sizes))
        beyond_kink = 0.0 if to_kink is None else max(beyond_kink, width - to_kink)
        width = max(SHORTEST_PANEL, width / 3.0 if to_kink is None else to_kink)
    yield stop


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
    return trial.panel or panel.cut(t)


def _crossed(motion: Motion, state: State, width: float) -> Panel | None:
    """The shortest panel, over a jump of the rates, with the rates of its middle; None when not finite."""
    place = state.place + 0.5 * width
    log_depth = state.log_depth + 0.5 * width * state.depth_share
    depth, length = np.exp([log_depth]), np.exp([place - log_depth])
    with np.errstate(all="ignore"):
        speeds = motion.speeds(depth, length, state.compliance[:, None])
        share, trouble = _depth_share(speeds)
    if trouble:
        return None
    assert speeds.length is not None
    half = 0.5 * width

    def line(start: FloatArray | float, slope: FloatArray | float) -> FloatArray:
        """Legendre coefficients of a straight line over the panel."""
        values = np.zeros((*np.shape(start), NODES + 1))
        values[..., 0], values[..., 1] = start + half * slope, half * slope
        return values

    cycles = line(state.cycles, 1.0 / float(speeds.depth[0] + speeds.length[0]))
    per_depth, per_length = (
        motion.compliance_slopes(depth, length) if motion.shares else (np.zeros((0, 1)), np.zeros((0, 1)))
    )
    added = line(state.compliance, (share * per_depth + (1.0 - share) * per_length)[:, 0])
    return Panel(state, width, line(state.log_depth, float(share[0])), cycles, added, two_lengths=True)


def _way_to_kink(width: float, signals: FloatArray | None) -> float | None:
    """Width up to the first kink inside the panel; None when there is none, or it is too near to stop at."""
    found = [] if signals is None else [t for row in signals if (t := _crossing(row)) is not None]
    if not found or min(found) < -0.999:
        return None
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
    return _Trial(None, np.inf, sizes, trouble or _JUMP)


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

"""Integrates a growing crack over its size: collocation in the logarithm of the size, with error control.

One or two lengths grow. The independent variable is s = ln a + ln c (or ln a for one length), in which both
lengths keep their own rate and neither may be arrested first; the unknowns are ln a, the cycles and, when
load is shared, the compliance that the crack adds. A step is one interval of s, solved by Gauss-Legendre
collocation; its length follows from the decay of the Legendre coefficients.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from scipy.linalg.lapack import dgesv
from scipy.optimize import brentq

from fatcore.cracks.growth.integration._collocation import (
    AT_NODES,
    INTEGRAL,
    NODES,
    TO_COEFFICIENTS,
    T,
    basis_at,
    integral_error,
    series_at,
)
from fatcore.cracks.growth.integration._step import GrowthProblem, LogRates, State, Step, Termination
from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray

FIRST_STEP = 1.0
LONGEST_STEP = 3.6
COMPLIANCE_TOLERANCE = 1e-8  # relative; an end by stiffness hangs on it, however few cycles are spent there
SHORTEST_STEP = 1e-6
MOST_TRIALS = 1500  # steps tried, taken or not: some 20 to 60 are usual
_ITERATIONS = 12
_DIFFERENCE = 1e-6
_STRAIGHT = 1e-2  # larger relative changes of the rates over such a step are jumps
_NEAR = 0.03  # times the root of the tolerance: the rates are straight lines over a step that small
_OVERSHOOT = 1.1
_JUMP = "jump"
_SHORT = 1e-9  # a step ends that little before a kink
_NEAR_END = (float(T[-1]), 2.0 - float(T[-1]))
_BASIS_NEAR_END = basis_at(np.array(_NEAR_END))[:, :NODES]
_EYE = np.eye(NODES)


class _Trial(NamedTuple):
    step: Step | None
    error: float
    sizes: tuple[FloatArray, FloatArray, FloatArray]
    trouble: str


def integrate(
    growth_problem: GrowthProblem, start: State, tolerance: float, last_depth: float
) -> Iterator[Step | Termination]:
    """Steps from a start on, without end; a Termination is the last item.

    tolerance  : relative error of the cycles and absolute error of ln a that a step may have
    last_depth : depth that the caller asks for; steps stretch little beyond it
    Raises     : NotConvergedError after MOST_TRIALS
    """
    state, still = _with_share(growth_problem, start)
    width, beyond_kink, aimed, trials = FIRST_STEP, 0.0, False, 0
    termination = Termination("arrest", start) if still else None
    while termination is None:
        width = min(width, max(_way_to(last_depth, state), SHORTEST_STEP))
        trial, trials = _solve(growth_problem, state, width, tolerance), trials + 1
        if trials > MOST_TRIALS:
            raise NotConvergedError(f"growth did not reach an end within {MOST_TRIALS} trials of a step")
        if trial.step is not None and trial.error <= 1.0:
            step = _to_kink(growth_problem, trial.step, trial.sizes) if aimed else trial.step
            yield step
            state, aimed = step.end(), False
            longer = width * min(3.0, 0.9 * max(trial.error, 1e-9) ** (-1.0 / NODES))
            width, beyond_kink = min(LONGEST_STEP, max(longer, beyond_kink)), 0.0
            continue
        if width <= SHORTEST_STEP:
            last = trial.step or (_cross_jump(growth_problem, state, width) if trial.trouble == _JUMP else None)
            if last is None:
                termination = Termination("unstable" if trial.trouble == _JUMP else trial.trouble, state)
                continue
            yield last
            state, width, aimed = last.end(), 64.0 * width, False
            continue
        with np.errstate(all="ignore"):
            to_kink = _way_to_kink(width, growth_problem.events(*trial.sizes))
        aimed = to_kink is not None
        beyond_kink = 0.0 if to_kink is None else max(beyond_kink, width - to_kink)
        width = max(SHORTEST_STEP, width / 3.0 if to_kink is None else to_kink)
    yield termination


def _way_to(last_depth: float, state: State) -> float:
    """Width of a step that ends a little beyond a depth, by the last share of the depth in the growth."""
    left = np.log(last_depth) - state.log_depth
    return float(_OVERSHOOT * left / max(state.depth_share, 0.05) + 0.01) if left > 0.0 else LONGEST_STEP


def _with_share(growth_problem: GrowthProblem, state: State) -> tuple[State, bool]:
    """The state with the share of the depth in its growth; True when the crack is arrested."""
    depth = np.exp([state.log_depth])
    length = np.exp([state.place - state.log_depth]) if growth_problem.two_lengths else depth
    with np.errstate(all="ignore"):
        log_rates = growth_problem.log_rates(depth, length, state.compliance[:, None])
    total = log_rates.depth if log_rates.length is None else log_rates.depth + log_rates.length
    if _trouble(total):
        return state, bool(total[0] == 0.0)
    return state._replace(depth_share=float(log_rates.depth[0] / total[0])), False


def shorten(growth_problem: GrowthProblem, step: Step, t: float, tolerance: float) -> Step:
    """The first part of a step, up to coordinate t, solved anew so that its end is as exact as that of a
    step.
    """
    trial = _solve(growth_problem, step.origin, 0.5 * step.width * (t + 1.0), tolerance)
    return trial.step or step.cut(t)


def _cross_jump(growth_problem: GrowthProblem, state: State, width: float) -> Step | None:
    """The shortest step, over a jump of the rates, with the rates of its middle; None when not finite."""
    place = state.place + 0.5 * width
    log_depth = state.log_depth + 0.5 * width * state.depth_share
    depth, length = np.exp([log_depth]), np.exp([place - log_depth])
    with np.errstate(all="ignore"):
        log_rates = growth_problem.log_rates(depth, length, state.compliance[:, None])
    assert log_rates.length is not None
    total = log_rates.depth + log_rates.length
    if _trouble(total):
        return None
    share = log_rates.depth / total
    half = 0.5 * width

    def line(start: FloatArray | float, slope: FloatArray | float) -> FloatArray:
        """Legendre coefficients of a straight line over the step."""
        values = np.zeros((*np.shape(start), NODES + 1))
        values[..., 0], values[..., 1] = start + half * slope, half * slope
        return values

    cycles = line(state.cycles, 1.0 / float(total[0]))
    per_depth, per_length = (
        growth_problem.compliance_slopes(depth, length)
        if growth_problem.shares
        else (np.zeros((0, 1)), np.zeros((0, 1)))
    )
    added = line(state.compliance, (share * per_depth + (1.0 - share) * per_length)[:, 0])
    return Step(state, width, line(state.log_depth, float(share[0])), cycles, added, two_lengths=True)


def _way_to_kink(width: float, events: FloatArray | None) -> float | None:
    """Width up to the first kink inside the step; None when there is none, or it is too near to stop at."""
    if events is None:
        return None
    changed = (np.signbit(events[:, 1:]) != np.signbit(events[:, :-1])).any(axis=1)
    rows = events[changed & np.isfinite(events).all(axis=1)]
    found = [_crossing(row) for row in rows]
    if not found or min(found) < -0.999:
        return None
    return 0.5 * width * (min(found) + 1.0) * (1.0 - _SHORT)


def _to_kink(growth_problem: GrowthProblem, step: Step, sizes: tuple[FloatArray, FloatArray, FloatArray]) -> Step:
    """The step up to the kink that it was aimed at: the refused trial before it placed the kink roughly."""
    rows = growth_problem.events(*sizes)
    assert rows is not None
    coefficients = rows @ TO_COEFFICIENTS.T
    with np.errstate(invalid="ignore"):
        ends = coefficients @ _BASIS_NEAR_END.T
        crossed = np.flatnonzero(ends[:, 0] * ends[:, 1] < 0.0)
    found = [_root(coefficients[i], *_NEAR_END, 1e-13) for i in crossed]
    return step.cut(min(found) - _SHORT) if found else step


def _root(coefficients: FloatArray, low: float, high: float, near: float) -> float:
    series = coefficients.tolist()

    def value(t: float) -> float:
        return series_at(series, t)

    if value(low) * value(high) > 0.0:  # the change of sign is one of rounding
        return 0.5 * (low + high)
    return float(brentq(value, low, high, xtol=near))


def _crossing(row: FloatArray) -> float:
    """Step coordinate of the first of its changes of sign, by the polynomial through the nodes."""
    first = np.flatnonzero(np.signbit(row[1:]) != np.signbit(row[:-1]))[0]
    return _root(TO_COEFFICIENTS @ row, float(T[first]), float(T[first + 1]), 1e-4)


def _solve(growth_problem: GrowthProblem, state: State, width: float, tolerance: float) -> _Trial:
    place = state.place + 0.5 * width * (T + 1.0)
    solve = _two_lengths if growth_problem.two_lengths else _one_length
    with np.errstate(all="ignore"):  # a trial may reach beyond the last ligament: not finite, then refused
        return solve(growth_problem, state, place, 0.5 * width, tolerance)


def _one_length(
    growth_problem: GrowthProblem, state: State, place: FloatArray, half: float, tolerance: float
) -> _Trial:
    depth = np.exp(place)
    slopes = growth_problem.compliance_slopes(depth, depth)[0] if growth_problem.shares else np.zeros((0, NODES))
    compliance = state.compliance[:, None] + half * slopes @ AT_NODES.T
    log_rates = growth_problem.log_rates(depth, depth, compliance)
    sizes = (depth, depth, compliance)
    return _finish(state, half, log_rates, slopes, tolerance, sizes)


def _two_lengths(
    growth_problem: GrowthProblem, state: State, place: FloatArray, half: float, tolerance: float
) -> _Trial:
    log_depth = state.log_depth + state.depth_share * (place - state.place)
    slopes = np.zeros((3 if growth_problem.shares else 0, NODES))
    near = 0.01 * tolerance if growth_problem.shares else _NEAR * tolerance**0.5
    trouble = ""
    for _ in range(_ITERATIONS):
        compliance = state.compliance[:, None] + half * slopes @ AT_NODES.T
        both, sizes = _with_neighbours(growth_problem, log_depth, place, compliance)
        total = both.sum(axis=0)
        trouble = _trouble(total[:NODES])
        if trouble:
            break
        shares = both[0] / total
        share = shares[:NODES]
        if growth_problem.shares:
            per_depth, per_length = growth_problem.compliance_slopes(sizes[0], sizes[1])
            slopes = share * per_depth + (1.0 - share) * per_length
        bend = (shares[NODES:] - share) / _DIFFERENCE
        bend = np.where(np.isfinite(bend), np.minimum(bend, 0.5), 0.0)
        gap = state.log_depth + half * (AT_NODES @ share) - log_depth
        correction = dgesv(_EYE - half * AT_NODES * bend, gap)[2]
        log_depth = log_depth + correction
        if float(np.abs(correction).max()) < near:
            return _finish(state, half, LogRates(*_corrected(both, correction)), slopes, tolerance, sizes)
    return _Trial(None, np.inf, sizes, trouble or _JUMP)


def _with_neighbours(
    growth_problem: GrowthProblem, log_depth: FloatArray, place: FloatArray, compliance: FloatArray
) -> tuple[FloatArray, tuple[FloatArray, FloatArray, FloatArray]]:
    """Rates (depth, length) at the guess and behind them at a slightly larger ln a; sizes of the guess."""
    logs = np.concatenate([log_depth, log_depth + _DIFFERENCE])
    depth, length = np.exp(logs), np.exp(np.concatenate([place, place]) - logs)
    log_rates = growth_problem.log_rates(depth, length, np.concatenate([compliance, compliance], axis=1))
    assert log_rates.length is not None
    return np.stack([log_rates.depth, log_rates.length]), (depth[:NODES], length[:NODES], compliance)


def _corrected(both: FloatArray, correction: FloatArray) -> FloatArray:
    """Rates after a small step of ln a; a jump between the neighbours (a threshold) is not followed."""
    first = both[:, :NODES]
    change = (both[:, NODES:] - first) * (correction / _DIFFERENCE)
    return np.asarray(first + np.where(np.abs(change) < _STRAIGHT * first, change, 0.0))


def _trouble(total: FloatArray) -> str:
    if (np.isfinite(total) & (total > 0.0)).all():
        return ""
    return "arrest" if (total == 0.0).any() else "unstable"


def _finish(
    state: State,
    half: float,
    log_rates: LogRates,
    slopes: FloatArray,
    tolerance: float,
    sizes: tuple[FloatArray, FloatArray, FloatArray],
) -> _Trial:
    two_lengths = log_rates.length is not None
    total = log_rates.depth if log_rates.length is None else log_rates.depth + log_rates.length
    trouble = _trouble(total)
    if trouble:
        return _Trial(None, np.inf, sizes, trouble)
    slowness, share = 1.0 / total, log_rates.depth / total
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
    for row, whole in zip(slopes, np.abs(compliance.sum(axis=1)), strict=True):
        if whole > 0.0:
            error = max(error, integral_error(row, half / (whole * COMPLIANCE_TOLERANCE)))
    step = Step(state, 2.0 * half, log_depth, cycles, compliance, two_lengths)
    return _Trial(step, error, sizes, "")

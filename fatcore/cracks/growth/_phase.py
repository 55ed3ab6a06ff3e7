"""One phase of growth: one crack from its first size to its end."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from fatcore.cracks.configurations.configuration import initial_compliance
from fatcore.cracks.configurations.stress_field import Stressed
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.growth._events import Ending
from fatcore.cracks.growth._vanishing_drive import VANISHES
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.integration._collocation import NODES
from fatcore.cracks.growth.integration._step import LogRates, State, Step, Termination
from fatcore.cracks.growth.integration.integrate import integrate, shorten
from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray

MOST_STEPS = 3000
COARSE_TOLERANCE = 1e-2
_MOST_SHORT, _SHORT_STEP = 100, 1e-4
_COARSE = np.linspace(-1.0, 1.0, 9)
_ROWS = 121


class Samples(NamedTuple):
    """States of a growing crack: depth, half length (the depth again for one length), cycles, added
    compliance.
    """

    depth: FloatArray
    length: FloatArray
    cycles: FloatArray
    added: FloatArray


@dataclass(frozen=True)
class Phase:
    """Solved steps of one crack, and why it ended."""

    stressed: Stressed
    steps: tuple[Step, ...]
    reason: str
    start: State
    drive: Drive  # as used: with a ramp at the threshold where the crack oscillates there
    coarse: bool = False  # integrated with the coarse tolerance, since the fine one met too many jumps

    @cached_property
    def samples(self) -> Samples:
        """States along the phase at even steps of the logarithm of the size, both ends included.

        Where steps begin and end hangs on the last bits of the numbers; these places do not.
        """
        if not self.steps:
            return self._single(self.start)
        places = np.linspace(self.start.place, self.steps[-1].end().place, _ROWS)[1:-1]
        ends = np.array([step.end().place for step in self.steps])
        inner = [self._inside(step, places[np.searchsorted(ends, places) == i]) for i, step in enumerate(self.steps)]
        parts = [self._single(self.start), *inner, self.final()]
        depth, length, cycles, added = (np.concatenate(column, axis=-1) for column in zip(*parts, strict=True))
        return Samples(depth, length, cycles, added)

    @cached_property
    def unit(self) -> UnitIntensity:
        """Stress intensities for load factor 1 along the phase."""
        depth, length, _, added = self.samples
        with np.errstate(all="ignore"):
            return self.stressed.unit(depth, length, added)

    def _inside(self, step: Step, places: FloatArray) -> Samples:
        depth, length, cycles, added = step.at(2.0 * (places - step.origin.place) / step.width - 1.0)
        return Samples(depth, length if self.stressed.crack.two_lengths else depth, cycles, added)

    def final(self) -> Samples:
        """The last state."""
        return self._single(self.steps[-1].end() if self.steps else self.start)

    @property
    def cycles(self) -> float:
        """Cycles at the end."""
        return self.steps[-1].end().cycles if self.steps else self.start.cycles

    def _single(self, state: State) -> Samples:
        depth = np.exp([state.log_depth])
        length = np.exp([state.place - state.log_depth]) if self.stressed.crack.two_lengths else depth
        return Samples(depth, length, np.array([state.cycles]), state.compliance[:, None])


class _CrackGrowth:
    """The crack as the integrator sees it."""

    def __init__(self, stressed: Stressed, drive: Drive) -> None:
        self.stressed, self.drive = stressed, drive
        self.two_lengths = stressed.crack.two_lengths
        self.shares = stressed.sharing is not None
        self.last = (np.zeros((1, 0)), np.zeros(0), np.zeros(0))

    def log_rates(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> LogRates:
        unit = self.stressed.unit(depth, length, compliance)
        self.last = (
            unit.opening[:, :NODES],
            depth[:NODES],
            length[:NODES],
        )  # of two lengths: without neighbours
        rates = self.drive.mean_rate(unit)
        if self.two_lengths:
            return LogRates(rates[0] / depth, rates[1] / length)
        return LogRates(rates.max(axis=0) / depth, None)  # the faster surface takes the other with it

    def events(self, depth: FloatArray, length: FloatArray, compliance: FloatArray) -> FloatArray | None:
        by_law = self.drive.events(self.stressed.unit(depth, length, compliance))
        by_crack = self.stressed.discontinuities(depth, length)
        rows = [part for part in (by_law, by_crack) if part is not None]
        return np.concatenate(rows) if rows else None

    def compliance_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        return self.stressed.crack.compliance_derivatives(depth, length)


def run_phase(stressed: Stressed, drive: Drive, end: EndCriteria, cycles: float, tolerance: float) -> Phase:
    """Grows one crack from its start, with the cycles spent before, to the first end.

    Where one point of the front oscillates at its threshold (it wakes and sleeps as the other one grows), the
    rate jumps without end; then the jump is replaced by a short rise. Where entries of a block cross their
    thresholds more often than steps can follow, the coarse tolerance steps over them.
    Raises : NotConvergedError after 3000 steps
    """
    attempts = [(drive, tolerance)]
    if drive.cuts:
        attempts.append((drive.with_ramp(), tolerance))
    for chosen, error in attempts:
        try:
            return _run(stressed, chosen, end, cycles, error)
        except (_HoversError, NotConvergedError):
            continue
    last = attempts[-1][0]
    return replace(_run(stressed, last, end, cycles, max(tolerance, COARSE_TOLERANCE)), coarse=True)


class _HoversError(Exception):
    """Too many very short steps at a jump of the rate."""


def _run(stressed: Stressed, drive: Drive, end: EndCriteria, cycles: float, tolerance: float) -> Phase:
    start, ending = _start(stressed, cycles), Ending(end, stressed, drive)
    steps: list[Step] = []
    at_start = _excess(ending, _start_samples(stressed, start))
    reached = [reason for reason, value in at_start.items() if value[0] >= 0.0]
    if reached:
        return Phase(stressed, (), reached[0], start, drive)
    growth_problem, short = _CrackGrowth(stressed, drive), 0
    other = None if stressed.crack.two_lengths else end.half_length_mm
    last = min(stressed.crack.largest()[0], end.depth_mm or other or np.inf)
    for item in integrate(growth_problem, start, tolerance, last):
        if isinstance(item, Termination):
            reason = ending.at_rest(item.reason, float(np.exp(item.state.log_depth)))
            return Phase(stressed, tuple(steps), reason, start, drive)
        opening, *sizes = growth_problem.last
        ending.meets(UnitIntensity(opening), *sizes)
        found = _first_end(ending, item)
        if found is not None:
            part = shorten(growth_problem, item, found[0], tolerance)
            steps.append(_trim(ending, part, found[1]))
            return Phase(stressed, tuple(steps), found[1], start, drive)
        steps.append(item)
        short += item.width < _SHORT_STEP
        if short > _MOST_SHORT and drive.cuts:
            raise _HoversError
        if len(steps) >= MOST_STEPS:
            break
    raise NotConvergedError("growth did not reach an end within 3000 steps")


def _start(stressed: Stressed, cycles: float) -> State:
    depth, length = stressed.crack.start()
    place = np.log(depth) + (np.log(length) if stressed.crack.two_lengths else 0.0)
    added = np.zeros(0)
    if stressed.sharing is not None:
        added = initial_compliance(stressed.crack, depth, length)
    return State(float(place), float(np.log(depth)), cycles, added, depth_share=1.0)


def _start_samples(stressed: Stressed, start: State) -> Samples:
    depth, length = stressed.crack.start()
    return Samples(np.array([depth]), np.array([length]), np.array([start.cycles]), start.compliance[:, None])


def _excess(ending: Ending, values: Samples, reason: str = VANISHES) -> dict[str, FloatArray]:
    with np.errstate(all="ignore"):
        return ending.excess((values.depth, values.length), values.cycles, values.added, reason)


def _at(stressed: Stressed, step: Step, t: FloatArray) -> Samples:
    depth, length, cycles, added = step.at(t)
    return Samples(depth, length if stressed.crack.two_lengths else depth, cycles, added)


def _first_end(ending: Ending, step: Step) -> tuple[float, str] | None:
    """Step coordinate and reason of the first end in a step."""
    values = _excess(ending, _at(ending.stressed, step, _COARSE))
    found = []
    for reason, row in values.items():
        over = np.flatnonzero(~(row[1:] < 0.0))
        if over.size:
            found.append((_root(ending, step, reason, int(over[0])), reason))
    return min(found) if found else None


def _trim(ending: Ending, step: Step, reason: str) -> Step:
    """The last step, longer or shorter by a hair: between its nodes the step before was less exact."""
    near = 1.0 - 1e-4
    before, at_end = _excess(ending, _at(ending.stressed, step, np.array([near, 1.0])), reason)[reason]
    rise = at_end - before
    if not (np.isfinite(rise) and abs(at_end) < 0.1 * rise):
        return step
    return step.cut(float(1.0 - at_end / rise * (1.0 - near)))


def _root(ending: Ending, step: Step, reason: str, index: int) -> float:
    def excess(t: float) -> float:
        value = float(_excess(ending, _at(ending.stressed, step, np.array([t])), reason)[reason][0])
        return value if np.isfinite(value) else 1e3

    low = float(_COARSE[index])
    if excess(low) >= 0.0:  # the last step ended there by a hair
        return low + 1e-9
    return float(brentq(excess, low, float(_COARSE[index + 1]), xtol=1e-13, rtol=1e-13))

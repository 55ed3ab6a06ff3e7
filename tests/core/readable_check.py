"""The peak-stress check as plain loops, station by station, cycle by cycle: slow, and easy to follow."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import NamedTuple

import numpy as np

from fatcore.check.line import WeldLine
from fatcore.check.loading import BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.curve import Curve
from fatcore.require import FloatArray
from fatcore.spectrum.multiaxial.modes import mode_cycles
from fatcore.stress.mean_stress import mean_stress_coefficient
from fatcore.stress.peak.peak_weights import peak_weights

STILL = LoadState(maximum=0.0, minimum=0.0)


class Cycle(NamedTuple):
    """Lowest and highest stress of each mode, its range, and how often."""

    low: tuple[float, ...]
    high: tuple[float, ...]
    range: tuple[float, ...]
    count: float


def _closed(low: FloatArray, high: FloatArray, count: float) -> Cycle:
    return Cycle(tuple(low.tolist()), tuple(high.tolist()), tuple((high - low).tolist()), count)


NO_CYCLE = _closed(np.zeros(3), np.zeros(3), 0.0)


class Station(NamedTuple):
    """What the check says of a station."""

    equivalent_mpa: float
    ratio: float
    damage: float
    utilisation: float


class Rule(NamedTuple):
    """Weights of the modes, both curves, their bounds, and whether load ratios count."""

    weights: tuple[float, ...]
    opening: Curve
    shear: Curve
    lower: float
    upper: float
    relieved: bool


def check_stations(
    line: WeldLine, loading: Loading, resistance: Resistance, target: Target, condition: str
) -> list[Station]:
    """Every station of a line."""
    assert line.notch is not None
    assert line.mesh is not None
    weights = peak_weights(
        opening_angle_deg=line.notch.opening_angle_deg,
        element=line.mesh.element,
        element_size_mm=line.mesh.element_size_mm,
        notch_size_mm=line.notch.notch_size_mm,
    ).as_array()
    curves = [held.corrected.scaled(1.0 / target.resistance_factor) for held in target.held(resistance)]
    relieved = condition == "stress-relieved"
    rule = Rule(tuple(weights.tolist()), curves[0], curves[1], resistance.lower, resistance.upper, relieved)
    allowed = target.limit(resistance).damage_limit / target.repeats
    return [
        _station({name: target.load_factor * line.cases[name][at] for name in loading.names()}, loading, rule, allowed)
        for at in range(len(line.position_mm))
    ]


def _station(unit: dict[str, FloatArray], loading: Loading, rule: Rule, allowed: float) -> Station:
    sets = (
        [_of_history(unit, loading, rule)] if isinstance(loading, HistoryLoading) else _of_blocks(unit, loading, rule)
    )
    worst = max(sets, key=lambda cycles: _damage(cycles, rule))  # the first of equal ones
    largest = max(worst, key=lambda cycle: _equivalent(cycle, rule)[0], default=NO_CYCLE)
    damage = _damage(worst, rule)
    return Station(*_equivalent(largest, rule), damage, _utilisation(worst, rule, allowed))


def _of_history(unit: dict[str, FloatArray], loading: HistoryLoading, rule: Rule) -> list[Cycle]:
    samples = zip(*(loading.channels[name] for name in unit), strict=True)
    states = [sum(f * stress for f, stress in zip(row, unit.values(), strict=True)) for row in samples]
    counted = mode_cycles(np.array(states).T, rule.weights, residue=loading.residue, definition=loading.definition)
    columns = counted.minimum_mpa, counted.maximum_mpa, counted.range_mpa
    rows = zip(*(column.tolist() for column in columns), counted.count.tolist(), strict=True)
    return [Cycle(tuple(low), tuple(high), tuple(size), count) for low, high, size, count in rows]


def _of_blocks(unit: dict[str, FloatArray], loading: BlockLoading, rule: Rule) -> list[list[Cycle]]:
    """The cycles of the blocks, with those between them for each order of the ends of the blocks."""
    pairs, own, before = [], [], None
    for block in loading.blocks:
        states = [block.factors.get(name, STILL) for name in unit]
        ends = sorted((tuple(each.maximum for each in states), tuple(each.minimum for each in states)), reverse=True)
        one, other = (_stress(unit, end) for end in ends)
        own.append(_closed(np.minimum(one, other), np.maximum(one, other), block.cycles))
        if ends != before:
            pairs.append(ends)
        before = ends
    if not loading.joined:
        return [own]
    orders = product(*([ends, ends[::-1]] if ends[0] != ends[1] else [ends] for ends in pairs))
    return [own + list(_between(unit, order, rule)) for order in orders]


def _stress(unit: dict[str, FloatArray], factors: Sequence[float]) -> FloatArray:
    return np.sum([f * stress for f, stress in zip(factors, unit.values(), strict=True)], axis=0)


def _between(unit: dict[str, FloatArray], order: Sequence[Sequence[tuple[float, ...]]], rule: Rule) -> Iterator[Cycle]:
    """Cycles of one pass through the states that no block holds."""
    states = [state for ends in order for state in ends]
    history = np.array([_stress(unit, state) for state in states]).T
    held = [frozenset(ends) for ends in order]
    counted = mode_cycles(history, rule.weights)
    for k in range(counted.count.size):
        first, second = int(counted.start_index[k]), int(counted.end_index[k])
        own = np.abs(history[:, first] - history[:, second])
        wider = counted.range_mpa[k] > own + 1e-9 * own.max()
        pair = frozenset((states[first], states[second]))
        inside = pair in held
        if inside:
            held.remove(pair)
        if not inside or wider.any():
            yield _closed(counted.minimum_mpa[k], counted.maximum_mpa[k], 1.0)


def _equivalent(cycle: Cycle, rule: Rule) -> tuple[float, float]:
    """Equivalent range and biaxiality ratio."""
    energies = []
    for weight, low, high, size in zip(rule.weights, cycle.low, cycle.high, cycle.range, strict=True):
        ratio = low / high if high != 0.0 else math.inf
        coefficient = float(mean_stress_coefficient(ratio)) if rule.relieved else 1.0
        energies.append(coefficient * (weight * size) ** 2)
    total = sum(energies)
    if energies[0] <= 1e-18 * total:
        return math.sqrt(total), math.inf
    return math.sqrt(total), (energies[1] + energies[2]) / energies[0]


def _damage(cycles: Sequence[Cycle], rule: Rule) -> float:
    return _damage_at([(*_equivalent(cycle, rule), cycle.count) for cycle in cycles], rule)


def _damage_at(cycles: Sequence[tuple[float, float, float]], rule: Rule, factor: float = 1.0) -> float:
    """Of equivalent ranges, ratios and counts, at a factor on the ranges."""
    total = 0.0
    for stress, ratio, count in cycles:
        opening = _on_curve(rule.opening, factor * stress) if ratio <= rule.upper else 0.0
        shear = _on_curve(rule.shear, factor * stress) if ratio >= rule.lower else 0.0
        total += count * max(opening, shear)
    return total


def _on_curve(curve: Curve, stress: float) -> float:
    if stress == 0.0 or stress < (curve.cut_off_mpa or 0.0):
        return 0.0
    branch = sum(stress < knee for knee in curve.knees_mpa)
    return stress ** curve.slopes[branch] / 10.0 ** curve.log10_constants[branch]


def _utilisation(cycles: Sequence[Cycle], rule: Rule, allowed: float) -> float:
    """By halving the factor on the ranges, on its logarithm."""
    known = [(*_equivalent(cycle, rule), cycle.count) for cycle in cycles]
    if not any(stress > 0.0 for stress, _, _ in known):
        return 0.0
    low, high = -40.0, 40.0
    while high - low > 1e-11:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _damage_at(known, rule, math.exp(middle)) <= allowed else (low, middle)
    return math.exp(-0.5 * (low + high))

"""What the verification cases of this topic share: how one is written down, and plain look-ups."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.standards.reading import Row, all_rows
from fatcore.verification.case import case_of

check = partial(case_of, "curves")


def range_at(curve_id: str, cycles: float) -> Callable[[], float]:
    """Range of a catalogue curve at a life, when called."""
    return lambda: float(find_curve(curve_id).range_mpa(cycles))


def ratio(over: Callable[[], float], under: Callable[[], float]) -> Callable[[], float]:
    """Quotient of two calculations, when called."""
    return lambda: over() / under()


def rows_in(source: str, environment: str) -> list[Row]:
    """Catalogue rows of a source in one environment."""
    rows = all_rows().values()
    return [row for row in rows if row.get("source") == source and row.get("environment") == environment]


def branch_range(curve_id: str, branch: int, cycles: float) -> Callable[[], float]:
    """Range at a life on one branch as printed, before joining."""
    entry = all_rows()[curve_id].entry
    constant, slope = entry["log10_constants"][branch], entry["slopes"][branch]
    return lambda: float(10.0 ** ((constant - math.log10(cycles)) / slope))


def life_at(curve_id: str, stress_mpa: float) -> Callable[[], float]:
    """Life of a catalogue curve at a range, when called."""
    return lambda: float(find_curve(curve_id).life_cycles(stress_mpa))


def damage_of(curve_id: str, *blocks: tuple[float, float]) -> Callable[[], float]:
    """Damage sum of blocks (range, cycles) on a catalogue curve, when called."""
    return lambda: sum(n * float(find_curve(curve_id).damage_per_cycle(stress)) for stress, n in blocks)


def log10_below(upper_id: str, lower_id: str) -> Callable[[], float]:
    """Difference of the first log10 constants of two catalogue curves, when called."""
    return lambda: find_curve(upper_id).log10_constants[0] - find_curve(lower_id).log10_constants[0]

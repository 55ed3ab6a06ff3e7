"""Segments of a curve laid out from what documents print: a point or intercepts, and knee lives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from fatcore.curves.deviations import power_of_ten
from fatcore.errors import InputError
from fatcore.require import one_length

_UPRIGHT, _LEVEL = 0.1, 60.0  # slopes of the joints at a step


def check_lives(slopes: Sequence[float], knee_cycles: Sequence[float], cut_off_cycles: float | None) -> None:
    """InputError when slopes and knee lives do not make a curve, with or without a cut-off."""
    if not slopes:
        raise InputError("a curve needs at least one slope", "slopes")
    if len(knee_cycles) != len(slopes) - 1:
        raise InputError(f"{len(slopes)} slopes need {len(slopes) - 1} knees", "knee_cycles")
    if any(late <= early for early, late in pairwise(knee_cycles)):
        raise InputError("knee lives must rise", "knee_cycles")
    if cut_off_cycles is not None and cut_off_cycles <= max(knee_cycles, default=0.0):
        raise InputError("the cut-off life must lie beyond the last knee", "cut_off_cycles")


def through_point(
    range_mpa: float, cycles: float, slopes: Sequence[float], knee_cycles: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """log10 constants and knee ranges of the line through (range_mpa, cycles), on any segment."""
    knees = [math.log10(life) for life in knee_cycles]
    home = sum(math.log10(cycles) > knee for knee in knees)
    constants = [0.0] * len(slopes)
    constants[home] = math.log10(cycles) + slopes[home] * math.log10(range_mpa)
    for j in range(home, len(knees)):
        constants[j + 1] = _carried(constants[j], slopes[j], slopes[j + 1], knees[j])
    for j in range(home, 0, -1):
        constants[j - 1] = _carried(constants[j], slopes[j], slopes[j - 1], knees[j - 1])
    return tuple(constants), _knee_ranges(constants, slopes, knee_cycles)


def join_points(
    range_mpa: Sequence[float], life_cycles: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Slopes between points in order of falling range and rising life, and the lives of the inner points.

    >>> join_points([1000.0, 100.0, 10.0], [1e3, 1e6, 1e11])
    ((3.0, 5.0), (1000000.0,))
    """
    if one_length(range_mpa=range_mpa, life_cycles=life_cycles) < 2:
        raise InputError("at least two points make a curve", "range_mpa")
    loads, lives = np.log10(range_mpa), np.log10(life_cycles)
    if (np.diff(loads) >= 0.0).any():
        raise InputError("the points must come in order of falling range", "range_mpa")
    if (np.diff(lives) <= 0.0).any():
        raise InputError("lives must rise from point to point", "life_cycles")
    slopes = -np.diff(lives) / np.diff(loads)
    return tuple(slopes.tolist()), tuple(map(float, life_cycles[1:-1]))


def join_segments(
    log10_constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """log10 constants and knee ranges, every later branch moved to meet the one before it at the knee."""
    constants = [float(log10_constants[0])]
    for j, life in enumerate(knee_cycles):
        constants.append(_carried(constants[j], slopes[j], slopes[j + 1], math.log10(life)))
    return tuple(constants), _knee_ranges(constants, slopes, knee_cycles)


def crossings(log10_constants: Sequence[float], slopes: Sequence[float]) -> tuple[float, ...]:
    """Lives at which neighbouring branches meet; InputError when two are parallel."""
    lives = []
    for (c1, m1), (c2, m2) in pairwise(zip(log10_constants, slopes, strict=True)):
        if m1 == m2:
            raise InputError("neighbouring branches of equal slope do not cross: give knee_cycles", "slopes")
        lives.append(power_of_ten("log10_constants", (c1 * m2 - c2 * m1) / (m2 - m1)))
    return tuple(lives)


def join_mismatch(
    log10_constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]
) -> tuple[float, ...]:
    """Relative difference in range at each knee: the next printed branch against the one before [-].

    >>> [round(value, 5) for value in join_mismatch([12.48, 16.13], [3.0, 5.0], [1e7])]
    [-0.00153]
    """
    branches = zip(log10_constants, slopes, strict=True)
    return tuple(
        power_of_ten("knee_cycles", (c2 - math.log10(life)) / m2 - (c1 - math.log10(life)) / m1) - 1.0
        for ((c1, m1), (c2, m2)), life in zip(pairwise(branches), knee_cycles, strict=True)
    )


def check_branches(log10_constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]) -> None:
    """InputError when constants, slopes and knee lives do not belong together."""
    if len(log10_constants) != len(slopes):
        raise InputError("log10_constants and slopes need one length, at least 1", "log10_constants")
    check_lives(slopes, knee_cycles, None)


def range_on(log10_constant: float, slope: float, life_cycles: float) -> float:
    """Range at a life on one branch."""
    return power_of_ten("log10_constants", (log10_constant - math.log10(life_cycles)) / slope)


def step_segments(
    log10_constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[int, ...]]:
    """Branches with a joint of its own at every step, so that lives are nowhere longer than on the branches.

    A branch that lies lower beyond the knee: ranges in between live to the knee at most, by a nearly upright
    joint. One that lies higher: ranges in between live as on the branch before, by a nearly level joint.
    Returns : log10 constants, slopes, numbers of the joints
    """
    check_branches(log10_constants, slopes, knee_cycles)
    constants, gradients, joints = [float(log10_constants[0])], [float(slopes[0])], list[int]()
    for index, life in enumerate(knee_cycles):
        ranges = [range_on(log10_constants[k], slopes[k], life) for k in (index, index + 1)]
        if ranges[0] != ranges[1]:
            joint = _UPRIGHT if ranges[1] < ranges[0] else _LEVEL
            joints.append(len(gradients))
            gradients.append(joint)
            constants.append(math.log10(life) + joint * math.log10(min(ranges)))
        constants.append(float(log10_constants[index + 1]))
        gradients.append(float(slopes[index + 1]))
    return tuple(constants), tuple(gradients), tuple(joints)


def cut_off_range(
    log10_constants: Sequence[float], slopes: Sequence[float], cut_off_cycles: float | None
) -> float | None:
    """Range at the cut-off life, on the last segment; None without a cut-off."""
    if cut_off_cycles is None:
        return None
    return power_of_ten("cut_off_cycles", (log10_constants[-1] - math.log10(cut_off_cycles)) / slopes[-1])


def _carried(constant: float, slope: float, next_slope: float, log10_life: float) -> float:
    return log10_life + next_slope * (constant - log10_life) / slope


def _knee_ranges(
    constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]
) -> tuple[float, ...]:
    above = zip(constants, slopes, knee_cycles, strict=False)
    return tuple(power_of_ten("knee_cycles", (c - math.log10(life)) / m) for c, m, life in above)

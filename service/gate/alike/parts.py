"""Whether two weld lines have one course of the stresses: over their whole lengths, or over most of the stations."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from fatcore.require import FloatArray

from .course import FLAT, WITHIN, WITHIN_SPREAD, course_of, same_courses
from .pattern import figures

LEAST_STATIONS = 5  # of fewer a course is too common to know a line by it alone
SHARE = 0.8  # of the stations of the shorter line, side by side
BENT = 4.0  # so many times the bound a part leaves a straight line, since straight ones lie in one another
STARTS = 9  # so many places of such a part in the shorter line are tried
LOOKS = 5  # so many of its stations are compared first


def same_course(first: str, second: str) -> bool:
    """Whether two patterns are one course of any size: as a whole, or in a part of their stations, from either end.

    Equal figures at all stations show nothing, and a straight part of a line fits into any steeper one.

    >>> same_course("4 5 6 5 3", "8 10 12 10 6 9"), same_course("4 5 6 5 3", "4 6 5 5 3 2")
    (True, False)
    """
    short, long = sorted((_figures(first), _figures(second)), key=len)
    if short.size < LEAST_STATIONS:
        return False
    whole = course_of(first)
    if not np.isnan(whole[0]) and same_courses(whole[np.newaxis], course_of(second))[0]:
        return True
    return _part_lies_in(short, long)


@lru_cache(maxsize=20_000)
def _figures(pattern: str) -> FloatArray:
    return figures(pattern)


def _part_lies_in(short: FloatArray, long: FloatArray) -> bool:
    """Whether most of the shorter line is a run of stations of the longer one but for a factor."""
    courses = _courses_of_parts(short)
    size = courses.shape[1]
    windows = sliding_window_view(long, size)
    means = windows.mean(axis=1)
    windows, means = windows[means > 0.0], means[means > 0.0]
    bounds = _bounds(courses)
    looks = np.linspace(0, size - 1, LOOKS).round().astype(int)
    looked = windows[:, looks] / means[:, np.newaxis]
    near_by = (np.abs(looked[:, np.newaxis] - courses[:, looks]) <= bounds[:, np.newaxis]).all(axis=2)
    rows, parts = np.nonzero(near_by)
    apart = np.abs(windows[rows] / means[rows, np.newaxis] - courses[parts]).max(axis=1, initial=0.0)
    return bool((apart <= bounds[parts]).any())


def _courses_of_parts(values: FloatArray) -> FloatArray:
    """Parts of a line with their mean as 1, each from both of its ends; those that are straight are left out."""
    size = int(np.ceil(SHARE * values.size))
    starts = np.unique(np.linspace(0, values.size - size, STARTS).round().astype(int))
    parts = sliding_window_view(values, size)[starts]
    means = parts.mean(axis=1)
    courses = parts[means > 0.0] / means[means > 0.0, np.newaxis]
    along = np.linspace(-1.0, 1.0, size)
    straight = 1.0 + np.outer(courses @ along / (along @ along), along)
    bent = np.ptp(courses - straight, axis=1)
    courses = courses[(bent > FLAT) & (bent > BENT * _bounds(courses))]
    return np.concatenate([courses, courses[:, ::-1]])


def _bounds(courses: FloatArray) -> FloatArray:
    bounds: FloatArray = np.minimum(WITHIN, WITHIN_SPREAD * np.ptp(courses, axis=1))
    return bounds

"""The course of the stresses along a weld line, free of their size: the same for a line that is scaled."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from .pattern import figures

POINTS = 33
LEAST_STATIONS = 3  # of fewer the course shows nothing
FLAT = 0.01  # share of the mean: figures that vary by less have no course
WITHIN = 0.01  # share of the mean by which two same courses may differ ...
WITHIN_SPREAD = 0.05  # ... and share of what they vary by
WERE_WITHIN = 3.0  # so many times as much made them the same before: a pair at the bound does not flicker


@lru_cache(maxsize=20_000)
def course_of(pattern: str) -> FloatArray:
    """The figures at evenly spread stations, their mean as 1, (POINTS,); not a number where they have none.

    >>> course_of("4 5 6")[:2].round(4).tolist(), bool(np.isnan(course_of("5 5 5")).all())
    ([0.8, 0.8125], True)
    """
    values = figures(pattern)
    if values.size < LEAST_STATIONS or np.ptp(values) <= FLAT * values.mean():
        return np.full(POINTS, np.nan)
    scaled: FloatArray = values / values.mean()
    return np.interp(np.linspace(0, 1, POINTS), np.linspace(0, 1, values.size), scaled)


def figures_of_courses(courses: FloatArray) -> FloatArray:
    """Figures of courses, (n, POINTS), that do not ask for the end which is first, (n, 3).

    Those of two same courses differ by WITHIN at the most, so that they find candidates quickly.
    """
    half, quarter = POINTS // 2, POINTS // 4
    pairs = ((half, half), (0, -1), (quarter, -1 - quarter))
    return np.column_stack([(courses[:, one] + courses[:, other]) / 2.0 for one, other in pairs])


def same_courses(courses: FloatArray, own: FloatArray, widen: float = 1.0) -> NDArray[np.bool_]:
    """Which courses, (n, POINTS), are this one, from either end; those that have none are the same.

    >>> rows = np.array([course_of(pattern) for pattern in ("44 55 66", "60 50 40", "4 5 7", "5 5 5")])
    >>> same_courses(rows, course_of("4 5 6")).tolist(), same_courses(rows, course_of("3 3 3")).tolist()
    ([True, True, False, False], [False, False, False, True])
    """
    apart = np.minimum(*(np.abs(courses - way).max(axis=1) for way in (own, own[::-1])))
    bounds = widen * np.minimum(WITHIN, WITHIN_SPREAD * np.minimum(np.ptp(courses, axis=1), np.ptp(own)))
    found: NDArray[np.bool_] = (apart <= bounds) | (np.isnan(courses[:, 0]) & np.isnan(own[0]))
    return found

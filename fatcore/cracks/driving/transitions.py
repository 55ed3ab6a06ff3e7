"""Cycles between the entries of a block that repeats: the large ones that no entry holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import ArrayLike

from fatcore.require import FloatArray, finite, one_length

Transitions = Literal["added", "in-entries"]
TRANSITIONS: tuple[Transitions, ...] = get_args(Transitions)
# cycles of a pass between both extremes that a complete count holds: a residue has half a one at least [astm-e1049]
LEAST_WHOLE_CYCLES = 0.5
_EXPONENT = 3.0  # weighs the two orders of the ends of an entry [own choice]

Pair = tuple[float, float]


class TransitionCycles(NamedTuple):
    """Load factors of cycles between entries, and how often each occurs in one pass."""

    maximum: FloatArray
    minimum: FloatArray
    cycles: FloatArray


def transition_cycles(maximum: ArrayLike, minimum: ArrayLike) -> TransitionCycles:
    """Rainflow cycles of one pass over the ends of all entries, less the cycles that are entries themselves.

    maximum, minimum : load factors of the entries in their order, each run of cycles between two ends
    Returns          : empty when entries share their extremes, so that counting the entries is exact. Counted
                       besides the entries the cycles are never fewer than those of the whole sequence: in it
                       an entry of n cycles gives n - 1 of its own, and the ends of all entries once
    Source           : [astm-e1049], closed on itself; which end of an entry comes first is not known, so the
                       worse of both orders counts
    >>> transition_cycles([1.0, -1.0], [0.9, -1.1])
    TransitionCycles(maximum=array([1.]), minimum=array([-1.1]), cycles=array([1.]))
    """
    high, low = finite("maximum", maximum), finite("minimum", minimum)
    one_length(maximum=high, minimum=low)
    entries = Counter(zip(high.tolist(), low.tolist(), strict=True))
    orders = (np.stack(ends, axis=1).ravel().tolist() for ends in ((high, low), (low, high)))
    found = max(((_close_cycles(points) - entries) for points in orders), key=_weight)
    pairs = sorted(found.items(), reverse=True)
    return TransitionCycles(
        maximum=np.array([pair[0] for pair, _ in pairs]),
        minimum=np.array([pair[1] for pair, _ in pairs]),
        cycles=np.array([float(count) for _, count in pairs]),
    )


def _weight(cycles: Counter[Pair]) -> float:
    return float(sum(count * (high - low) ** _EXPONENT for (high, low), count in cycles.items()))


def _close_cycles(points: list[float]) -> Counter[Pair]:
    """Rainflow count of points that repeat: begun at the largest, no residue is left."""
    first = int(np.argmax(points))
    kept: list[float] = []
    found: Counter[Pair] = Counter()
    for point in _find_turning_points([*points[first:], *points[: first + 1]]):
        kept.append(point)
        while len(kept) >= 4 and _inner(kept):
            one, other = kept[-3], kept[-2]
            found[max(one, other), min(one, other)] += 1
            del kept[-3:-1]
    for high, low in zip(kept[0:-1:2], kept[1::2], strict=True):
        found[high, low] += 1
    return found


def _inner(kept: list[float]) -> bool:
    """True when the two middle ones of the last four lie between the outer ones."""
    outer = sorted((kept[-4], kept[-1]))
    return outer[0] <= min(kept[-3], kept[-2]) and max(kept[-3], kept[-2]) <= outer[1]


def _find_turning_points(points: Iterable[float]) -> list[float]:
    kept: list[float] = []
    for point in points:
        if kept and point == kept[-1]:
            continue
        if len(kept) >= 2 and (kept[-1] - kept[-2]) * (point - kept[-1]) > 0.0:
            kept[-1] = point
        else:
            kept.append(point)
    return kept

"""Peak-stress core against the bare numpy expression, side by side in one run."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from functools import partial
from time import perf_counter

import numpy as np

from fatcore.stress.peak.equivalent import equivalent_and_ratio
from fatcore.stress.weld_lines.frame import moving_average, peak_components

STATIONS = 1_000_000
REPEATS = 9

Row = tuple[str, float, float, float, float]


def best_in_turn(*calls: Callable[[], object], repeats: int = REPEATS) -> list[float]:
    """Shortest time of each call in seconds; the calls take turns, so that a slow moment hits all alike."""
    times = [float("inf")] * len(calls)
    for _ in range(repeats):
        for index, call in enumerate(calls):
            start = perf_counter()
            call()
            times[index] = min(times[index], perf_counter() - start)
    return times


def peak_memory(call: Callable[[], object]) -> float:
    """Largest memory that a call holds beside what there was, in bytes."""
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    kept = call()
    largest = tracemalloc.get_traced_memory()[1] - before
    tracemalloc.stop()
    assert kept is not None
    return float(largest)


def rows() -> list[Row]:
    """Name, measured, reference, ratio and limit of each comparison; seconds or bytes."""
    ranges = np.random.default_rng(1).normal(scale=100.0, size=(STATIONS, 3))
    weights, factors = np.array([1.1, 3.2, 2.0]), np.array([0.5, 1.0, 1.5])
    x, y, z = (np.ascontiguousarray(column) for column in ranges.T)
    a, b, c = weights

    def bare() -> object:
        return np.sqrt((a * x) ** 2 + (b * y) ** 2 + (c * z) ** 2)

    core = partial(equivalent_and_ratio, weights, ranges)
    relieved = partial(equivalent_and_ratio, weights, ranges, factors)
    reference, plain, with_factors = best_in_turn(bare, core, relieved)
    used, given = peak_memory(core) + ranges.nbytes, float(ranges.nbytes)
    return [
        ("equivalent stress and biaxiality, 1e6 stations", plain, reference, plain / reference, 3.0),
        (
            "the same with mean-stress coefficients",
            with_factors,
            reference,
            with_factors / reference,
            3.0,
        ),
        ("memory with its input (bytes)", used, given, used / given, 4.0),
        *tensor_rows(reference),
    ]


def tensor_rows(reference: float) -> list[Row]:
    """Tensors to smoothed peaks, shown without a limit of its own beside the same reference."""
    rng = np.random.default_rng(2)
    stress = rng.normal(scale=100.0, size=(STATIONS, 6))
    tangent = np.tile([1.0, 0.0, 0.0], (STATIONS, 1))
    bisector = np.tile([0.0, 1.0, 0.0], (STATIONS, 1))

    def smoothed() -> object:
        return moving_average(peak_components(stress, tangent, bisector), closed=True)

    (taken,) = best_in_turn(smoothed)
    return [("nodal tensors to smoothed peaks, 1e6 nodes", taken, reference, taken / reference, float("inf"))]

"""Life look-up against the bare power function on the same array, side by side; and its memory."""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from fatcore.curves.curve import Curve

POINTS = 1_000_000
ROUNDS = 15

Row = tuple[str, float, float, float, float]


def rows() -> list[Row]:
    """Name, measured, reference, ratio, limit: seconds for the first rows, bytes for the last."""
    curve = Curve.from_point(id="three", source="own-curve", range_mpa=90.0, slopes=(3, 5, 9), knee_cycles=(1e7, 1e8))
    ranges = np.random.default_rng(1).uniform(10.0, 300.0, POINTS)
    lives = curve.life_cycles(ranges)
    exponents = np.full(POINTS, -3.0)
    found = []
    for name, work, bare in (
        (
            "life of 1e6 ranges, three segments",
            lambda: curve.life_cycles(ranges),
            lambda: np.power(ranges, exponents),
        ),
        (
            "life of 1e6 ranges, scalar exponent",
            lambda: curve.life_cycles(ranges),
            lambda: np.power(ranges, -3.0),
        ),
        ("damage of 1e6 ranges", lambda: curve.damage_per_cycle(ranges), lambda: np.power(ranges, 3.0)),
        ("range at 1e6 lives", lambda: curve.range_mpa(lives), lambda: np.power(lives, -1.0 / 3.0)),
    ):
        measured, reference = side_by_side(work, bare)
        found.append((name, measured, reference, measured / reference, 5.0))
    peak = float(peak_bytes(lambda: curve.life_cycles(ranges)))
    found.append(("memory of 1e6 lives [bytes]", peak, float(ranges.nbytes), peak / ranges.nbytes, 4.0))
    return found


def side_by_side(work: Callable[[], object], bare: Callable[[], object]) -> tuple[float, float]:
    """Best times of two functions that take turns, so that both meet the same machine."""
    times = [(clock(work), clock(bare)) for _ in range(ROUNDS)]
    return min(each[0] for each in times), min(each[1] for each in times)


def clock(work: Callable[[], object]) -> float:
    """Seconds that one call takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def peak_bytes(work: Callable[[], object]) -> int:
    """Largest memory that one call adds, its result included."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


if __name__ == "__main__":
    for name, measured, reference, ratio, limit in rows():
        print(f"{name:40s} {measured:12.4g} {reference:12.4g} {ratio:6.2f} (at most {limit:g})")

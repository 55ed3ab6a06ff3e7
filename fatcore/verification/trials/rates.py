"""Growth rates of an open set of readings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

import numpy as np

from fatcore.trials.growth.rate import Rates, Reduction, growth_rates
from fatcore.verification.case import VerificationCase
from fatcore.verification.trials._cases import check

# first path of the set, in inches every ten thousand cycles
_SIZES = (0.90, 0.95, 1.00, 1.05, 1.12, 1.19, 1.27, 1.35, 1.48, 1.64)
_SOURCE, _WHERE = "alloy-a-1993", "path 1; rates computed independently"


@cache
def _rates(reduction: Reduction) -> Rates:
    return growth_rates(np.array(_SIZES), 1e4 * np.arange(10.0), reduction)


def _size(place: int) -> Callable[[], float]:
    return lambda: float(_rates("seven-point").size_mm[place])


def _rate(reduction: Reduction, place: int) -> Callable[[], float]:
    return lambda: float(_rates(reduction).rate_mm_per_cycle[place])


def _cases() -> Iterator[VerificationCase]:
    parabolas = (
        ("1.05476", "6.10714e-6"),
        ("1.11857", "6.71428e-6"),
        ("1.18619", "7.82142e-6"),
        ("1.26429", "9.46428e-6"),
    )
    for place, (size, rate) in enumerate(parabolas):
        cycles = f"{place + 3}0,000 cycles"
        for name, expected, compute in (("size", size, _size(place)), ("rate", rate, _rate("seven-point", place))):
            title = f"{name} of the seven-point parabola at {cycles} [in, in/cycle]"
            yield check(
                f"alloy-a-{name}-{place + 3}",
                title,
                _SOURCE,
                _WHERE,
                expected,
                compute,
                status="derived",
                tolerance=None if name == "size" else 1.01e-11,
                why="" if name == "size" else "the figures derived carry one unit of the last digit",
            )
    for place, expected in enumerate(("5e-6", "5e-6", "5e-6", "7e-6", "7e-6", "8e-6", "8e-6", "1.3e-5", "1.6e-5")):
        title = f"secant {place + 1} [in/cycle]"
        yield check(
            f"alloy-a-secant-{place}",
            title,
            _SOURCE,
            _WHERE,
            expected,
            _rate("secant", place),
            status="derived",
            tolerance=1e-15,
            why="differences of the readings",
        )


CASES = tuple(_cases())

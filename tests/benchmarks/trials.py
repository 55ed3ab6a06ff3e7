"""Speed of the evaluation of tests: a series with exact bounds, one specimen of growth, a resampled band [s]."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from fatcore.trials.growth.evaluation import evaluate_growth
from fatcore.trials.growth.outcome import GrowthTest
from fatcore.trials.growth.specimen import GrowthSpecimen
from fatcore.trials.sn.line import evaluate_series
from fatcore.trials.sn.series import TrialSeries

Row = tuple[str, float, float, float, float]
TESTS, READINGS = 40, 500


def best(run: Callable[[], object], repeats: int = 7) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def series(*, stopped: bool) -> TrialSeries:
    rng, ranges = np.random.default_rng(1), np.repeat(np.geomspace(90.0, 250.0, 8), TESTS // 8)
    life = 10.0 ** (12.3 - 3.0 * np.log10(ranges) + 0.2 * rng.standard_normal(TESTS))
    stop = 2e6 if stopped else np.inf
    return TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life >= stop)


def growth_test() -> GrowthTest:
    sizes = np.linspace(12.0, 32.0, READINGS)
    rng = np.random.default_rng(2)
    steps = np.diff(sizes) / 1e-4 * np.exp(0.05 * rng.standard_normal(READINGS - 1)) * (12.0 / sizes[1:]) ** 4
    specimen = GrowthSpecimen(
        family="specimen-compact",
        parameters={"width_mm": 50.0, "thickness_mm": 10.0, "force_n": 6000.0},
        load_ratio=0.1,
        yield_strength_mpa=400.0,
    )
    return GrowthTest(specimen=specimen, size_mm=sizes, cycles=np.concatenate([[0.0], np.cumsum(steps)]))


def rows() -> list[Row]:
    """Name, measured, allowed, ratio, limit 1: seconds."""
    plain, stopped, test = series(stopped=False), series(stopped=True), growth_test()

    def evaluated(given: TrialSeries, samples: int | None = None) -> object:
        seed = None if samples is None else 1
        return evaluate_series(
            given, rule="tolerance", survival_probability=0.95, confidence=0.95, resamples=samples, seed=seed
        )

    found = []
    for name, run, allowed in (
        ("series of 40 tests with exact bounds", lambda: evaluated(plain), 0.020),
        ("series of 40 tests with run-outs", lambda: evaluated(stopped), 0.020),
        (
            "growth specimen of 500 readings",
            lambda: evaluate_growth([test], reduction="seven-point", confidence=0.95),
            0.020,
        ),
        ("band of 2,000 resamplings", lambda: evaluated(plain, 2000), 2.0),
        ("band of 2,000 resamplings with run-outs", lambda: evaluated(stopped, 2000), 2.0),
    ):
        measured = best(run, 3 if allowed > 1.0 else 7)
        found.append((name, measured, allowed, measured / allowed, 1.0))
    return found

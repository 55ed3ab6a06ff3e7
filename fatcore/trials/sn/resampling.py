"""Bands of a line by seeded resampling: new lives from the fitted line, each sample fitted again."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Le, doc
from numpy.typing import NDArray

from fatcore.curves.tested import DEVIATION
from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.require import FloatArray
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.likelihood import maximum_likelihood
from fatcore.trials.sn.series import TrialSeries

Resamples = Annotated[
    Annotated[int, Ge(100), Le(20_000)] | None, doc("samples drawn anew from the line; null: no band of this kind")
]
Seed = Annotated[Annotated[int, Ge(0), Le(2**32 - 1)] | None, doc("of the random numbers; needed with resamples")]
_MOST_NUMBERS = 1_000_000  # samples times tests, which take some seconds with run-outs
_AT_ONCE = 100_000  # of them, which bounds the memory
_ENOUGH = 0.9  # of the samples must settle a line


class ResampledBand(NamedTuple):
    """log10 of life at each range: limits of the median at the confidence, both sides; the lower limit of the
    life that the survival probability keeps, one side; samples that settled a line."""

    low: FloatArray
    high: FloatArray
    lower_limit: FloatArray
    samples: int


class _Lines(NamedTuple):
    """Lines of samples: at the mean range, slope, standard deviation with its degrees of freedom."""

    centre: FloatArray
    slope: FloatArray
    scatter: FloatArray


def guard_resampling(tests: int, resamples: int | None, seed: int | None) -> None:
    """InputError where only one of samples and seed is given, and for more than a million samples times tests."""
    if (resamples is None) != (seed is None):
        missing = "resamples" if resamples is None else "seed"
        raise InputError(f"a band by resampling needs resamples and seed, here {missing} is missing", missing)
    if resamples is not None and resamples * tests > _MOST_NUMBERS:
        text = f"{resamples} samples of {tests} tests: resamples times tests may reach {as_given(_MOST_NUMBERS)}"
        raise InputError(text, "resamples")


def resample_band(
    series: TrialSeries,
    fit: SnFit,
    log10_range: FloatArray,
    *,
    survival_probability: float,
    confidence: float,
    resamples: int,
    seed: int,
) -> ResampledBand:
    """Limits by the scatter of lines through samples that were drawn from the fitted one at the ranges of the tests.

    What counts is by how many of its own scatters a sample misses the line that it was drawn from: without run-outs
    this repeats the exact limits. Tests are stopped where the longest run-out of the series was; samples that
    settle no line are left out.
    Raises : InputError where too few samples settle a line
    Source : [parametric-resampling]
    """
    numbers, most = np.random.default_rng(seed), max(_AT_ONCE // fit.tests, 1)
    parts = [_lines(series, fit, numbers, min(most, resamples - done)) for done in range(0, resamples, most)]
    found = _Lines(*(np.concatenate(each)[:, np.newaxis] for each in zip(*parts, strict=True)))
    if len(found.centre) < _ENOUGH * resamples:
        raise InputError("too few failures: most samples drawn anew would settle no line", "resamples")
    location = found.centre - found.slope * (log10_range - fit.mean_log10_range)
    true, scatter, half = fit.location(log10_range), fit.sd_log10_cycles, fit.quantile(0.5)
    kept = fit.quantile(1.0 - survival_probability)
    missed = (location - true - half * scatter) / found.scatter + half
    least, most_missed = np.quantile(missed, [0.5 - 0.5 * confidence, 0.5 + 0.5 * confidence], axis=0)
    deep = np.quantile((location - true - kept * scatter) / found.scatter, confidence, axis=0)
    median = true + half * scatter
    return ResampledBand(
        median - most_missed * scatter,
        median - least * scatter,
        true - deep * scatter,
        len(found.centre),
    )


def _lines(series: TrialSeries, fit: SnFit, numbers: np.random.Generator, samples: int) -> _Lines:
    x = series.log10_range - fit.mean_log10_range
    z = _draws(fit, numbers, (samples, fit.tests))
    y = fit.location(series.log10_range) + fit.sd_log10_cycles * z
    if series.failed.all() and fit.distribution == "normal":
        return _by_squares(fit, x, y)
    failed = np.ones(y.shape, dtype=np.bool_)
    if not series.failed.all():
        stop = float(series.log10_life[~series.failed].max())
        failed = y < stop
        y = np.minimum(y, stop)
    usable = _usable(failed, x, fixed=fit.fixed_slope)
    return _by_likelihood(fit, x, y[usable], failed[usable])


def _by_squares(fit: SnFit, x: FloatArray, y: FloatArray) -> _Lines:
    centre = y.mean(axis=1)
    slope = np.full(len(y), fit.slope) if fit.fixed_slope else -(y @ x) / fit.spread
    left = y - centre[:, np.newaxis] + slope[:, np.newaxis] * x
    return _Lines(centre, slope, np.sqrt(np.square(left).sum(axis=1) / fit.degrees_of_freedom))


def _by_likelihood(fit: SnFit, x: FloatArray, y: FloatArray, failed: NDArray[np.bool_]) -> _Lines:
    if not len(y):
        return _Lines(np.empty(0), np.empty(0), np.empty(0))
    ones = np.ones((len(x), 1))
    design = ones if fit.fixed_slope else np.column_stack([ones, x])
    found = maximum_likelihood(y + fit.slope * x if fit.fixed_slope else y, design, failed, fit.distribution)
    slope = np.full(len(y), fit.slope) if fit.fixed_slope else -found.location[:, 1]
    # samples have the scatter of greatest likelihood, which is too small for the failures that there are
    count = failed.sum(axis=1)
    scatter = found.scale * DEVIATION[fit.distribution] * np.sqrt(count / (count - design.shape[1]))
    return _Lines(found.location[:, 0], slope, scatter)


def _draws(fit: SnFit, numbers: np.random.Generator, shape: tuple[int, int]) -> FloatArray:
    """Standard deviations from the location."""
    if fit.distribution == "normal":
        return numbers.standard_normal(shape)
    return np.asarray(np.log(numbers.standard_exponential(shape)) / DEVIATION[fit.distribution])


def _usable(failed: NDArray[np.bool_], x: FloatArray, *, fixed: bool) -> NDArray[np.bool_]:
    """Samples with failures enough: one more than the parameters of the line, at two ranges where it is free."""
    enough = np.asarray(failed.sum(axis=1) > (1 if fixed else 2))
    if fixed:
        return enough
    top = np.where(failed, x, -np.inf).max(axis=1)
    return np.asarray(enough & (top > np.where(failed, x, np.inf).min(axis=1)))

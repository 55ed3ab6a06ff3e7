"""Bands of a line by seeded resampling: new lives from the fitted line, each sample fitted again."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Le, doc
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.trials.sn.fit import SnFit, standard_quantile
from fatcore.trials.sn.likelihood import maximum_likelihood
from fatcore.trials.sn.series import TrialSeries

Resamples = Annotated[
    Annotated[int, Ge(100), Le(20_000)] | None, doc("samples drawn anew from the line; null: no band of this kind")
]
Seed = Annotated[Annotated[int, Ge(0), Le(2**32 - 1)] | None, doc("of the random numbers; needed with resamples")]
_MOST_NUMBERS = 20_000_000  # samples times tests
_ENOUGH = 0.9  # of the samples must settle a line


class ResampledBand(NamedTuple):
    """log10 of life at each range: limits of the median at the confidence, both sides; the lower limit of the
    life that the survival probability keeps, one side; samples that settled a line."""

    low: FloatArray
    high: FloatArray
    lower_limit: FloatArray
    samples: int


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
    """Lines through samples that were drawn from the fitted one at the ranges of the tests.

    Tests are stopped where the longest run-out of the series was; samples that settle no line are left out.
    Raises : InputError for more than 2e7 numbers, and where too few samples settle a line
    Source : [parametric-resampling]
    """
    size = fit.tests
    if resamples * size > _MOST_NUMBERS:
        raise InputError(f"resamples times tests may reach {_MOST_NUMBERS:g}", "resamples")
    x = series.log10_range - fit.mean_log10_range
    z = _draws(fit, np.random.default_rng(seed), (resamples, size))
    y = fit.location(series.log10_range) + fit.sd_log10_cycles * z
    failed = np.ones(y.shape, dtype=np.bool_)
    if not series.failed.all():
        stop = float(series.log10_life[~series.failed].max())
        failed = y < stop
        y = np.minimum(y, stop)
    design = np.ones((size, 1)) if fit.fixed_slope else np.column_stack([np.ones(size), x])
    lives = y + fit.slope * x if fit.fixed_slope else y
    usable = _usable(failed, x, fixed=fit.fixed_slope)
    if usable.mean() < _ENOUGH:
        raise InputError("too few failures: most samples drawn anew would settle no line", "resamples")
    found = maximum_likelihood(lives[usable], design, failed[usable], fit.distribution)
    slope = np.full(len(found.scale), fit.slope) if fit.fixed_slope else -found.location[:, 1]
    # samples have the scatter of greatest likelihood, which is too small for the failures that there are
    count = failed[usable].sum(axis=1)
    scatter = found.scale * np.sqrt(count / np.maximum(count - design.shape[1], 1))
    at = log10_range - fit.mean_log10_range
    location = found.location[:, :1] - slope[:, np.newaxis] * at
    median = location + standard_quantile(fit.distribution, 0.5) * scatter[:, np.newaxis]
    kept = location + standard_quantile(fit.distribution, 1.0 - survival_probability) * scatter[:, np.newaxis]
    low, high = np.quantile(median, [0.5 - 0.5 * confidence, 0.5 + 0.5 * confidence], axis=0)
    return ResampledBand(low, high, np.quantile(kept, 1.0 - confidence, axis=0), int(usable.sum()))


def _draws(fit: SnFit, numbers: np.random.Generator, shape: tuple[int, int]) -> FloatArray:
    if fit.distribution == "normal":
        return numbers.standard_normal(shape)
    return np.asarray(np.log(numbers.standard_exponential(shape)))


def _usable(failed: NDArray[np.bool_], x: FloatArray, *, fixed: bool) -> NDArray[np.bool_]:
    """Samples with failures enough: one more than the parameters of the line, at two ranges where it is free."""
    enough = np.asarray(failed.sum(axis=1) > (1 if fixed else 2))
    if fixed:
        return enough
    top = np.where(failed, x, -np.inf).max(axis=1)
    return np.asarray(enough & (top > np.where(failed, x, np.inf).min(axis=1)))

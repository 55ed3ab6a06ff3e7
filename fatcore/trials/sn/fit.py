"""The straight line in log-log through a series: least squares, or maximum likelihood with run-outs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import doc

from fatcore.bounds import STEEPEST, Slope, guarded
from fatcore.curves.deviations import exact_deviations
from fatcore.curves.tested import DEVIATION
from fatcore.errors import InputError
from fatcore.figures import against, as_given
from fatcore.require import FloatArray
from fatcore.trials.sn.likelihood import Distribution, maximum_likelihood
from fatcore.trials.sn.series import TrialSeries

Method = Literal["least-squares", "maximum-likelihood"]
_SAME_RANGE = 1e-9  # of log10: ranges that differ by rounding only give no slope
_LEAST_SCATTER = 1e-9
FixedSlope = Annotated[Slope | None, doc("slope that is given, not found; 3 and 5 are usual for welds")]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SnFit:
    """log10 N = log10_constant - slope log10 S, about which log10 N scatters.

    log10_constant     : of the location of the distribution: the median of a normal one, else 63.2 % failed
    sd_log10_cycles    : standard deviation, with degrees_of_freedom in place of the number of tests
    likelihood_scatter : the one of greatest likelihood, which is smaller; of least squares too
    mean_log10_range, spread : middle of the ranges and the sum of squares about it, of the tests that count
    covariance         : of constant at the mean range, of minus the slope where it is free, of the log of the
                         scatter; of maximum likelihood only
    """

    slope: float
    log10_constant: float
    sd_log10_cycles: float
    likelihood_scatter: float
    degrees_of_freedom: int
    tests: int
    failures: int
    fixed_slope: bool
    distribution: Distribution
    method: Method
    log_likelihood: float
    mean_log10_range: float
    spread: float
    covariance: FloatArray | None = None

    def location(self, log10_range: FloatArray) -> FloatArray:
        """log10 of life at the location of the distribution."""
        return np.asarray(self.log10_constant - self.slope * log10_range)

    def leverage(self, log10_range: FloatArray) -> FloatArray:
        """1/n + (x - mean)^2/Sxx of least squares; 1/n with a fixed slope."""
        size = np.full(np.shape(log10_range), 1.0 / self.tests)
        return size if self.fixed_slope else size + np.square(log10_range - self.mean_log10_range) / self.spread

    def quantile(self, probability: float) -> float:
        """Standard deviations of the distribution at a share failed."""
        return standard_quantile(self.distribution, probability)


def standard_quantile(distribution: Distribution, share_failed: float) -> float:
    """Standard deviations from the location to the life at which a share has failed.

    >>> round(standard_quantile("normal", 0.023), 4), round(standard_quantile("smallest-extreme-value", 0.5), 4)
    (-1.9954, -0.2858)
    """
    if distribution == "normal":
        return exact_deviations(share_failed)
    return math.log(-math.log1p(-share_failed)) / DEVIATION[distribution]


@guarded
def fit_line(series: TrialSeries, fixed_slope: FixedSlope = None, distribution: Distribution = "normal") -> SnFit:
    """The line of a series.

    Returns     : least squares where every test failed and the scatter is normal, else maximum likelihood
    Raises      : InputError for fewer than three failures (two with a fixed slope), ranges that do not differ,
                  lives that do not fall, tests without scatter
    Source      : [astm-e739-10], [location-scale-likelihood]
    """
    failed = series.failed
    parameters = 1 if fixed_slope is not None else 2
    if failed.sum() < parameters + 1:
        have = f"{int(failed.sum())} failure(s)"
        raise InputError(
            f"{have}: a line of {'fixed' if fixed_slope else 'free'} slope needs {parameters + 1}", "life_cycles"
        )
    if fixed_slope is None and np.ptp(series.log10_range[failed]) < _SAME_RANGE:
        raise InputError("all failures are at one stress range: a slope needs two, or give fixed_slope", "range_mpa")
    if failed.all() and distribution == "normal":
        return _least_squares(series, fixed_slope)
    return _by_likelihood(series, fixed_slope, distribution)


def _least_squares(series: TrialSeries, fixed_slope: float | None) -> SnFit:
    x, y, size = series.log10_range, series.log10_life, len(series.log10_life)
    middle = float(x.mean())
    spread = float(np.square(x - middle).sum())
    slope = fixed_slope if fixed_slope is not None else -float((x - middle) @ (y - y.mean())) / spread
    constant = float(y.mean()) + slope * middle
    squares = float(np.square(y - constant + slope * x).sum())
    freedom = size - (1 if fixed_slope is not None else 2)
    scatter = _guarded_scatter(math.sqrt(squares / freedom))
    likely = math.sqrt(squares / size)
    return SnFit(
        slope=_guarded_slope(slope),
        log10_constant=constant,
        sd_log10_cycles=scatter,
        likelihood_scatter=likely,
        degrees_of_freedom=freedom,
        tests=size,
        failures=size,
        fixed_slope=fixed_slope is not None,
        distribution="normal",
        method="least-squares",
        log_likelihood=-size * (0.5 + math.log(likely) + 0.5 * math.log(2.0 * math.pi)),
        mean_log10_range=middle,
        spread=spread,
    )


def _by_likelihood(series: TrialSeries, fixed_slope: float | None, distribution: Distribution) -> SnFit:
    x, failed = series.log10_range, series.failed
    middle = float(x[failed].mean())
    ones = np.ones((len(x), 1))
    design = ones if fixed_slope is not None else np.column_stack([ones, x - middle])
    y = series.log10_life + (fixed_slope or 0.0) * (x - middle)
    found = maximum_likelihood(y[np.newaxis], design, failed[np.newaxis], distribution)
    slope = fixed_slope if fixed_slope is not None else -float(found.location[0, 1])
    failures = int(failed.sum())
    freedom = failures - design.shape[1]
    likely = float(found.scale[0]) * DEVIATION[distribution]
    return SnFit(
        slope=_guarded_slope(slope),
        log10_constant=float(found.location[0, 0]) + slope * middle,
        sd_log10_cycles=likely * math.sqrt(failures / freedom),
        likelihood_scatter=likely,
        degrees_of_freedom=freedom,
        tests=len(x),
        failures=failures,
        fixed_slope=fixed_slope is not None,
        distribution=distribution,
        method="maximum-likelihood",
        log_likelihood=float(found.value[0]),
        mean_log10_range=middle,
        spread=float(np.square(x[failed] - middle).sum()),
        covariance=found.covariance[0],
    )


def _guarded_slope(slope: float) -> float:
    if slope <= 0.0:
        text = "lives do not fall as the stress range rises: no line of fatigue goes through them"
        raise InputError(text, "life_cycles")
    if slope > STEEPEST:
        text = (
            f"a slope of {against(slope, STEEPEST)}, above {as_given(STEEPEST)}: the ranges hardly differ; "
            f"give fixed_slope"
        )
        raise InputError(text, "range_mpa")
    return slope


def _guarded_scatter(scatter: float) -> float:
    if scatter < _LEAST_SCATTER:
        raise InputError("the tests lie on one line without scatter: nothing can be said of the scatter", "life_cycles")
    return scatter

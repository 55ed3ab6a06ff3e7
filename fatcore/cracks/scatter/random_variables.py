"""Random inputs of a crack growth calculation: distributions by mean and variation, published sets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le
from scipy.special import gamma

from fatcore.bounds import SMALLEST, Positive, guard
from fatcore.errors import InputError, UnknownError
from fatcore.require import FloatArray
from fatcore.tables import load, table_names

Spread = Annotated[float, Ge(SMALLEST), Le(10.0)]
PREFIX = "cracks/scatter_"
_NARROW = 1e-4  # variation below which the first term of its series in 1 / shape is exact to that share
VARIABLES = (
    "depth_mm",
    "aspect_ratio",
    "first_coefficient_factor",
    "last_coefficient_factor",
    "threshold_mpa_sqrt_mm",
    "stress_factor",
    "concentration_factor",
    "intensity_factor",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Distribution:
    """A positive random variable.

    kind      : lognormal, normal (cut at a thousandth of its mean), exponential, weibull, fixed
    mean      : mean value, > 0; for a lognormal one `median` may be given in its place
    variation : coefficient of variation, > 0 (exponential and fixed have none)
    log_deviation : standard deviation of the logarithm, in place of the variation of a lognormal one
    """

    kind: Literal["lognormal", "normal", "exponential", "weibull", "fixed"]
    mean: Positive | None = None
    variation: Spread | None = None
    median: Positive | None = None
    log_deviation: Spread | None = None

    def __post_init__(self) -> None:
        guard(self)
        needs_width = self.kind in ("lognormal", "normal", "weibull")
        if needs_width and self.variation is None and self.log_deviation is None:
            raise InputError(f"a {self.kind} variable needs its variation", "variation")
        if self.kind != "lognormal" and (self.median is not None or self.log_deviation is not None):
            raise InputError("median and log_deviation belong to a lognormal variable", "median")
        if (self.mean is None) == (self.median is None):
            raise InputError("give the mean, or the median of a lognormal variable", "mean")
        if not needs_width and self.variation is not None:
            raise InputError(f"{self.kind} takes no variation", "variation")
        if self.variation is not None and self.log_deviation is not None:
            raise InputError("give the variation or log_deviation, not both", "log_deviation")

    @property
    def logarithmic_deviation(self) -> float:
        """Standard deviation of the logarithm of a lognormal variable.

        >>> round(Distribution(kind="lognormal", mean=1.0, variation=0.6).logarithmic_deviation, 4)
        0.5545
        """
        if self.log_deviation is not None:
            return self.log_deviation
        return math.sqrt(math.log1p((self.variation or 0.0) ** 2))

    @property
    def middle(self) -> float:
        """Median of a lognormal variable; of the others the mean."""
        if self.median is not None:
            return self.median
        mean = self.mean or 0.0
        return mean * math.exp(-0.5 * self.logarithmic_deviation**2) if self.kind == "lognormal" else mean

    def sample(self, generator: np.random.Generator, count: int) -> FloatArray:
        """`count` values."""
        if self.kind == "lognormal":
            return self.middle * np.exp(self.logarithmic_deviation * generator.standard_normal(count))
        mean = self.mean or 0.0
        if self.kind == "normal":
            values = mean * (1.0 + (self.variation or 0.0) * generator.standard_normal(count))
            return np.maximum(values, 1e-3 * mean)
        if self.kind == "exponential":
            return mean * np.maximum(generator.standard_exponential(count), 1e-9)
        if self.kind == "weibull":
            shape = weibull_shape(self.variation or 0.0)
            return mean / float(gamma(1.0 + 1.0 / shape)) * generator.weibull(shape, count)
        return np.full(count, mean)


def weibull_shape(variation: float) -> float:
    """Shape of a Weibull variable with a coefficient of variation, by bisection.

    >>> round(weibull_shape(1.0), 6)
    1.0
    """
    if variation < _NARROW:
        return math.pi / (math.sqrt(6.0) * variation)
    low, high = 0.2, 2.0 / _NARROW
    for _ in range(200):
        middle = math.sqrt(low * high)
        spread = float(gamma(1.0 + 2.0 / middle) / gamma(1.0 + 1.0 / middle) ** 2) - 1.0
        low, high = (middle, high) if spread > variation**2 else (low, middle)
    return low


def drawn(variables: Mapping[str, Distribution], generator: np.random.Generator, count: int) -> dict[str, FloatArray]:
    """One column per variable, drawn in the fixed order of VARIABLES so that a seed gives the same
    samples.
    """
    for name in variables:
        if name not in VARIABLES:
            raise UnknownError("random variable", name, VARIABLES, "variables", name)
    return {name: variables[name].sample(generator, count) for name in VARIABLES if name in variables}


@cache
def published_variables(name: str) -> dict[str, Distribution]:
    """The random variables of a published set, by name; UnknownError for another set."""
    if name not in published_sets():
        raise UnknownError("set of random variables", name, published_sets())
    table = load(PREFIX + name.replace("-", "_"))
    return {key: Distribution(**entry) for key, entry in table["variables"].items()}


def published_sets() -> tuple[str, ...]:
    """Names of the published sets."""
    tables = (table for table in table_names("cracks") if table.startswith(PREFIX))
    return tuple(sorted(table.removeprefix(PREFIX).replace("_", "-") for table in tables))

"""Standard deviations below a mean line by the rule of each source; every rule keeps its name."""

from __future__ import annotations

import math
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le
from scipy.special import chdtri, fdtri, nctdtrit, ndtri, stdtrit

from fatcore.bounds import Positive, Probability, guarded
from fatcore.curves.deviations import exact_deviations
from fatcore.require import FloatArray

Rule = Literal["tolerance", "iso-12107", "iiw", "prediction"]
Freedom = Annotated[int, Ge(1), Le(100_000)]
_IIW_SURVIVAL, _IIW_CONFIDENCE = 0.95, 0.75


@guarded
def tolerance_factor(
    degrees_of_freedom: Freedom, leverage: Positive, survival_probability: Probability, confidence: Probability
) -> float:
    """Exact factor of a one-sided tolerance limit at a point of a line, or of a sample [-].

    leverage : 1/n + (x - mean)^2/Sxx of the point; 1/n for a sample and for a line of fixed slope
    survival_probability : an exact share, also 0.977, by which documents name a line
    Source   : [tolerance-factor]

    >>> round(tolerance_factor(9, 0.1, 0.95, 0.95), 4)
    2.911
    """
    depth = exact_deviations(survival_probability)
    return float(depth_factor(degrees_of_freedom, np.array(leverage), depth, confidence))


def depth_factor(
    degrees_of_freedom: float, leverage: FloatArray, depth: FloatArray | float, confidence: float, width: float = 0.0
) -> FloatArray:
    """Scatters below a fitted point that reach, with the confidence, what lies `depth` true scatters below it [-].

    leverage : variance of the point over that of a test; width: of what is reached, 1 for a test of normal scatter
    Source   : [tolerance-factor]
    """
    root = np.sqrt(leverage + width * width)
    return np.asarray(nctdtrit(degrees_of_freedom, depth / root, confidence) * root)


@guarded
def iso_factor(
    degrees_of_freedom: Freedom, leverage: Positive, survival_probability: Probability, confidence: Probability
) -> float:
    """Factor of the lower limit of a line of ISO 12107 [-].

    An approximation: above the exact one in the middle of the ranges, at their ends below it from about twenty tests.

    Source : [iso-12107-2012]

    >>> round(iso_factor(7, 0.19421, 0.95, 0.95), 4)
    3.4831
    """
    sample = tolerance_factor(degrees_of_freedom, 1.0 / (degrees_of_freedom + 1.0), survival_probability, confidence)
    return sample * math.sqrt(1.0 + leverage)


@guarded
def prediction_factor(degrees_of_freedom: Freedom, leverage: Positive, survival_probability: Probability) -> float:
    """Factor of the limit that one future test keeps with a probability [-].

    Source : [tolerance-factor]

    >>> round(prediction_factor(7, 0.19421, 0.95), 4)
    2.0704
    """
    return float(stdtrit(degrees_of_freedom, survival_probability)) * math.sqrt(1.0 + leverage)


@guarded
def iiw_factor(tests: Annotated[int, Ge(2), Le(100_000)]) -> float:
    """Factor of the characteristic line of the IIW: 95 % survival at two-sided 75 % confidence [-].

    Both the mean and the deviation are taken at their own limit of confidence.
    Source : [iiw-2259-15-evaluation]

    >>> round(iiw_factor(10), 3)
    2.713
    """
    tail = (1.0 - _IIW_CONFIDENCE) / 2.0
    of_mean = float(stdtrit(tests - 1, 1.0 - tail)) / math.sqrt(tests)
    smallest = float(chdtri(tests - 1, 1.0 - tail))  # chdtri takes the share above
    return of_mean + float(ndtri(_IIW_SURVIVAL)) * math.sqrt((tests - 1) / smallest)


def student(degrees_of_freedom: int, confidence: float) -> float:
    """Quantile of both sides: the share `confidence` lies between minus and plus it."""
    return float(stdtrit(degrees_of_freedom, 0.5 + 0.5 * confidence))


def band_factor(degrees_of_freedom: int, confidence: float, parameters: int = 2) -> float:
    """Factor of the band that holds a whole line of two parameters (Working-Hotelling)."""
    return math.sqrt(parameters * fisher(parameters, degrees_of_freedom, confidence))


def fisher(between: int, within: int, probability: float) -> float:
    """Quantile of the ratio of two variances."""
    return float(fdtri(between, within, probability))

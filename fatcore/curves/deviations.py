"""Survival probability as a number of standard deviations below the mean line, and scatter indices."""

from __future__ import annotations

from scipy.special import ndtri

from fatcore.bounds import Probability, guarded
from fatcore.errors import InputError

# scatter of log10 life where a source tabulates none [common practice]
DEFAULT_SD_LOG10_CYCLES = 0.20
# the rounded name that documents give to the line two standard deviations below the mean
_TWO_SIGMA_NAME = 0.977
# of the powers of ten that a double holds
LARGEST_EXPONENT = 300.0


def power_of_ten(name: str, exponent: float) -> float:
    """10**exponent; InputError naming the input when the figures leave what a double holds.

    >>> power_of_ten("slopes", 3.0)
    1000.0
    """
    if not abs(exponent) < LARGEST_EXPONENT:
        raise InputError("these figures make a curve beyond the range of numbers", name)
    return float(10.0**exponent)


@guarded
def deviations(survival_probability: Probability) -> float:
    """Standard deviations from the mean line down to the line of a survival probability [-].

    survival_probability : 0.977 is read as the name of the two-deviation line, which it is in every document of
                           the catalogue, and gives exactly 2, as do those up to 0.97725
    Source               : [normal-quantile]

    >>> deviations(0.5), deviations(0.977), round(deviations(0.95), 4)
    (0.0, 2.0, 1.6449)
    """
    exact = float(ndtri(survival_probability))
    # a higher probability never lies nearer to the mean than the rounded name does
    return max(exact, 2.0) if survival_probability >= _TWO_SIGMA_NAME else exact

"""Survival probability as a number of standard deviations below the mean line, and scatter indices."""

from __future__ import annotations

from scipy.special import ndtri

from fatcore.bounds import Probability, guarded
from fatcore.errors import InputError

# scatter of log10 life where a source tabulates none [common practice]
DEFAULT_SD_LOG10_CYCLES = 0.20
# the rounded name that documents give to the line two standard deviations below the mean
_TWO_SIGMA_NAME, TWO_SIGMA = 0.977, 2.0
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
def exact_deviations(survival_probability: Probability) -> float:
    """Standard deviations of a normal scatter from the mean down to what a share exceeds [-].

    For a share that is counted or asked for with a confidence; `deviations` is for the line of a document.
    Source : [normal-quantile]

    >>> round(exact_deviations(0.977), 4)
    1.9954
    """
    return float(ndtri(survival_probability))


def names_two_deviations(survival_probability: float) -> bool:
    """Whether documents name the line two deviations below the mean by this figure, which as a share is nearer.

    >>> names_two_deviations(0.977), names_two_deviations(0.97725), names_two_deviations(0.95)
    (True, False, False)
    """
    return survival_probability >= _TWO_SIGMA_NAME and float(ndtri(survival_probability)) < TWO_SIGMA


@guarded
def deviations(survival_probability: Probability) -> float:
    """Standard deviations from the mean line down to the line of a survival probability [-].

    survival_probability : 0.977 is read as the name of the two-deviation line, which it is in every document of
                           the catalogue, and gives exactly 2, as do those up to 0.97725
    Source               : [normal-quantile]

    >>> deviations(0.5), deviations(0.977), round(deviations(0.95), 4)
    (0.0, 2.0, 1.6449)
    """
    # a higher probability never lies nearer to the mean than the rounded name does
    return TWO_SIGMA if names_two_deviations(survival_probability) else exact_deviations(survival_probability)

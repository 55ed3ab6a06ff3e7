"""Peak stress method: equivalent peak stress and biaxiality ratio of many stations at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite, within

_NO_OPENING = 1e-9  # of the equivalent stress: an opening stress that small is rounding
_BLOCK = 8192  # stations at a time: the work arrays of a block stay in the processor's cache


def equivalent_peak_stress(
    weights: ArrayLike, ranges_mpa: ArrayLike, coefficients_cw: ArrayLike | None = None
) -> FloatArray:
    """Equivalent peak stress range, the root of the sum of c_w (f_w range)^2 over the modes.

    weights         : opening, sliding, tearing (3,) [-], zero for a mode left out; or a shape that broadcasts
                      to that of the ranges
    ranges_mpa      : ranges of the peaks (..., 3) [MPa]; their sign does not matter
    coefficients_cw : mean-stress coefficients [-], shape of the ranges or one that broadcasts; None is 1
    Returns         : ranges [MPa], shape of the ranges without the last axis
    Raises          : InputError for wrong shapes, values not finite, negative weights or coefficients
    Source          : [peak-stress-review-2020]

    >>> round(float(equivalent_peak_stress([1.0, 2.0, 3.0], [2.0, 3.0, 4.0])), 3)
    13.565
    """
    return equivalent_and_ratio(weights, ranges_mpa, coefficients_cw)[0]


def biaxiality_ratio(weights: ArrayLike, ranges_mpa: ArrayLike, coefficients_cw: ArrayLike | None = None) -> FloatArray:
    """Energy of the two shear modes over that of the opening mode.

    weights, ranges_mpa, coefficients_cw : as in `equivalent_peak_stress`
    Returns : ratio [-], infinite where the opening range is below 1e-9 of the equivalent; shape of the
              ranges without the last axis
    Raises  : InputError for wrong shapes, values not finite, negative weights or coefficients
    Source  : [peak-stress-review-2020]

    >>> biaxiality_ratio([1.0, 1.0, 1.0], [[2.0, 1.0, 1.0], [0.0, 1.0, 0.0]]).tolist()
    [0.5, inf]
    """
    return equivalent_and_ratio(weights, ranges_mpa, coefficients_cw)[1]


def equivalent_and_ratio(
    weights: ArrayLike, ranges_mpa: ArrayLike, coefficients_cw: ArrayLike | None = None
) -> tuple[FloatArray, FloatArray]:
    """Equivalent peak stress range [MPa] and biaxiality ratio [-] in one pass.

    weights, ranges_mpa, coefficients_cw : as in `equivalent_peak_stress`
    Returns : ranges [MPa] and ratios [-], each of the shape of the ranges without the last axis
    Raises  : InputError for wrong shapes, values not finite, negative weights or coefficients
    Source  : [peak-stress-review-2020]
    """
    squares = np.square(_three("weights", within("weights", weights, 0.0, np.inf)))
    ranges = np.asarray(ranges_mpa, dtype=np.float64)
    shape = _three("ranges_mpa", ranges).shape[:-1]
    rows, factors = ranges.reshape(-1, 3), _factors("coefficients_cw", coefficients_cw, ranges)
    if squares.ndim > 1:
        squares = _rows("weights", squares, ranges)
    equivalent, ratio = np.empty(len(rows)), np.empty(len(rows))
    for start in range(0, len(rows), _BLOCK):
        part = slice(start, start + _BLOCK)
        own = squares if squares.ndim == 1 else squares[part]
        _block(own, rows[part], None if factors is None else factors[part], equivalent[part], ratio[part])
    # a range that is not finite shows in the sum: one look at the result spares a pass over the input
    if not np.isfinite(equivalent).all():
        finite("ranges_mpa", ranges)
        raise InputError("equivalent stress overflows", "ranges_mpa")
    return equivalent.reshape(shape), ratio.reshape(shape)


def _block(
    squares: FloatArray,
    ranges: FloatArray,
    factors: FloatArray | None,
    equivalent: FloatArray,
    ratio: FloatArray,
) -> None:
    """Fills equivalent and ratio of one block of stations."""
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        energy = np.square(ranges.T, order="C")
        energy *= squares.T if squares.ndim > 1 else squares[:, None]
        if factors is not None:
            energy *= factors.T
        opening, sliding, tearing = energy
        np.add(sliding, tearing, out=sliding)
        np.add(opening, sliding, out=equivalent)
        np.sqrt(equivalent, out=equivalent)
        np.divide(sliding, opening, out=ratio)
    # what rounding leaves of an opening stress is none
    ratio[opening <= _NO_OPENING**2 * np.square(equivalent)] = np.inf


def _factors(name: str, factors: ArrayLike | None, ranges: FloatArray) -> FloatArray | None:
    return None if factors is None else _rows(name, within(name, factors, 0.0, np.inf), ranges)


def _rows(name: str, values: FloatArray, ranges: FloatArray) -> FloatArray:
    try:
        return np.broadcast_to(values, ranges.shape).reshape(-1, 3)
    except ValueError:
        message = f"{name} of shape {values.shape} do not fit ranges of shape {ranges.shape}"
        raise InputError(message, name) from None


def _three(name: str, array: FloatArray) -> FloatArray:
    if array.ndim == 0 or array.shape[-1] != 3:
        raise InputError(f"{name} must have opening, sliding, tearing along the last axis", name)
    return array

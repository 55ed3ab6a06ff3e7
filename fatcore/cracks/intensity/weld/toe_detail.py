"""Weld-toe magnification as a power of the relative depth, by structural detail, membrane stress."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.require import FloatArray
from fatcore.tables import load

_DATA = load("cracks/intensity_toe_detail")
DETAILS = tuple(sorted(name for name, part in _DATA.items() if isinstance(part, dict) and "v" in part))
# symbol of the table -> name of the dimension
SHAPE = {
    "h": "weld_height_over_thickness",
    "l": "weld_leg_over_thickness",
    "s": "attachment_over_thickness",
    "n": "attachment_length_over_thickness",
    "b": "width_over_thickness",
    "q": "toe_angle_deg",
}


def detail_magnification(name: str, relative_depth: ArrayLike, **shape: ArrayLike) -> FloatArray:
    """Toe magnification by structural detail under membrane stress, at least 1 (coefficients unconfirmed).

    name           : one of DETAILS
    relative_depth : crack depth over plate thickness a/T [-]
    shape          : weld_height_over_thickness and weld_leg_over_thickness [-]; for the longitudinal detail
                     attachment_over_thickness, attachment_length_over_thickness, width_over_thickness [-] and
                     toe_angle_deg [deg]
    Returns        : magnification [-]
    Valid          : toe.LIMITS
    Raises         : UnknownError for another detail, InputError for a missing dimension, NotCoveredError
                     for a fillet weld taller than half the plate
    Source         : [toe-detail-1993]
    >>> weld = {"weld_height_over_thickness": 0.5, "weld_leg_over_thickness": 0.6}
    >>> round(float(detail_magnification("transverse", 0.01, **weld)), 3)
    2.271
    """
    if name not in DETAILS:
        raise UnknownError("detail", name, DETAILS, "detail")
    values = _values(name, shape)
    if name == "cruciform-fillet" and (values["h"] > _DATA["limits"]["fillet_height_over_thickness"][1]).any():
        raise NotCoveredError("no coefficients for fillet welds taller than half the plate", SHAPE["h"])
    v, w = (sum(factor * _power(values, key) for key, factor in _DATA[name][part].items()) for part in "vw")
    return np.asarray(np.maximum(v * np.asarray(relative_depth, dtype=np.float64) ** w, _DATA["floor"]))


def _values(name: str, shape: dict[str, ArrayLike]) -> dict[str, FloatArray]:
    """The dimensions that the detail needs, by symbol."""
    symbols = _symbols(name)
    missing = sorted(SHAPE[symbol] for symbol in symbols if SHAPE[symbol] not in shape)
    if missing:
        raise InputError(f"detail {name!r} needs {', '.join(missing)}", missing[0])
    values = {symbol: np.asarray(shape[SHAPE[symbol]], dtype=np.float64) for symbol in symbols}
    return {symbol: value / 45.0 if symbol == "q" else value for symbol, value in values.items()}


def _symbols(name: str) -> set[str]:
    return {key[0] for part in "vw" for key in _DATA[name][part] if key != "one"}


def needs(name: str) -> set[str]:
    """Names of the ratios and the angle that a detail needs."""
    return {SHAPE[symbol] for symbol in _symbols(name)}


def _power(values: dict[str, FloatArray], key: str) -> FloatArray | float:
    """1 for 'one', the value for 'h', its square for 'hh'."""
    return 1.0 if key == "one" else values[key[0]] ** len(key)

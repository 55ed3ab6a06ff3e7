"""Crack through the thickness in the middle of a plate under uniform stress."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import MEMBRANE, WHOLE_PLATE, Family, Parameter, Values, relative_length
from fatcore.cracks.intensity.limits import limit
from fatcore.errors import UnknownError
from fatcore.require import FloatArray, within
from fatcore.tables import load

SOURCES = ("tada-paris-irwin-2000", "feddersen-1966")
TABLES = ("cracks/intensity_centre",)
_DATA = load(TABLES[0])
_TADA = tuple(_DATA["secant"]["tada"])
FORMS = ("tada", "feddersen")

LIMITS = (limit(_DATA["limits"], "feddersen_alpha", SOURCES[1], "1 % at 0.8, then worse"),)


def tada(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the centre crack, within 0.1 % for any length.

    alpha   : crack length over plate width 2a/W [-], 0 to below 1
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [tada-paris-irwin-2000]
    >>> round(float(tada(0.5)), 4)
    1.1862
    """
    return _tada(within("alpha", alpha, 0.0, 1.0, open_high=True))


def feddersen(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the centre crack by the plain secant, 0.3 % to alpha = 0.7.

    alpha   : crack length over plate width 2a/W [-], 0 to below 1
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [feddersen-1966]
    """
    return np.cos(0.5 * np.pi * within("alpha", alpha, 0.0, 1.0, open_high=True)) ** -0.5


def stress_intensity(
    half_length_mm: ArrayLike,
    *,
    width_mm: ArrayLike | None = None,
    membrane_mpa: ArrayLike = 0.0,
    form: Literal["tada", "feddersen"] = "tada",
) -> FloatArray:
    """Stress intensity factor of a centre crack; fast, checks nothing but the name of the form.

    half_length_mm : half crack length a [mm]; width_mm : full plate width W [mm], None is wide
    membrane_mpa   : remote stress [MPa]
    Returns        : K [MPa√mm], signed
    Source         : [tada-paris-irwin-2000], [feddersen-1966]
    """
    if form not in FORMS:
        raise UnknownError("form", form, FORMS, "form")
    half = np.asarray(half_length_mm, dtype=np.float64)
    plain = np.asarray(membrane_mpa) * np.sqrt(np.pi * half)
    if width_mm is None:
        return np.asarray(plain)
    alpha = 2.0 * half / np.asarray(width_mm)
    factor = _tada(alpha) if form == "tada" else np.cos(0.5 * np.pi * alpha) ** -0.5
    return np.asarray(plain * factor)


def _tada(alpha: FloatArray) -> FloatArray:
    square = alpha * alpha
    return np.asarray((_TADA[0] + (_TADA[2] + _TADA[4] * square) * square) * np.cos(0.5 * np.pi * alpha) ** -0.5)


def _centre(values: Values) -> dict[str, FloatArray]:
    if values["width_mm"] is None:
        return {}
    alpha = relative_length(values, "half_length_mm")
    return {"alpha": alpha, **({"feddersen_alpha": alpha} if values["form"] == "feddersen" else {})}


FAMILIES = (
    Family(
        name="centre",
        title="crack through a plate, in the middle of its width",
        size="half_length_mm",
        k=stress_intensity,
        parameters=(
            Parameter("width_mm", "length", None),
            MEMBRANE,
            Parameter("form", "choice", "tada", FORMS),
        ),
        ratios=_centre,
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=(),
        by_choice={"tada": SOURCES[:1], "feddersen": SOURCES[1:]},
        tables=TABLES,
    ),
)

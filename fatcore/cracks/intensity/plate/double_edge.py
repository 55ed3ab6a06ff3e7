"""Equal cracks from both edges of a plate under uniform remote stress."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import MEMBRANE, WHOLE_PLATE, WIDTH, Family, Parameter, Values, relative_length
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.plate.edge_factors import polynomial
from fatcore.errors import UnknownError
from fatcore.require import FloatArray, within
from fatcore.tables import load

SOURCES = ("tada-paris-irwin-2000",)
TABLES = ("cracks/intensity_double_edge",)
_DATA = load(TABLES[0])
Form = Literal["cosine", "rational", "cubic"]
FORMS = ("cosine", "rational", "cubic")

LIMITS = (limit(_DATA["limits"], "cubic_alpha", SOURCES[0], "the cubic is a fit to 0.7"),)


def geometry_factor(alpha: ArrayLike, form: Form = "cosine") -> FloatArray:
    """Geometry factor of the plate with two edge cracks.

    alpha   : length of both cracks over plate width 2a/W [-], 0 to below 1
    form    : cosine (preferred: near the independent cubic), rational, cubic
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Valid   : LIMITS for the cubic
    Raises  : InputError outside 0 <= alpha < 1, UnknownError for another form
    Source  : [tada-paris-irwin-2000]
    >>> round(float(geometry_factor(0.5)), 4), round(float(geometry_factor(0.5, "rational")), 4)
    (1.1628, 1.1841)
    """
    return _factor(within("alpha", alpha, 0.0, 1.0, open_high=True), form)


def stress_intensity(
    depth_mm: ArrayLike, *, width_mm: ArrayLike, membrane_mpa: ArrayLike = 0.0, form: Form = "cosine"
) -> FloatArray:
    """Stress intensity factor of each of two edge cracks; fast, checks nothing but the name of the form.

    depth_mm : depth of each crack a [mm]; width_mm : full plate width W [mm]; membrane_mpa : stress [MPa]
    Returns  : K [MPa√mm], signed
    Source   : [tada-paris-irwin-2000]
    """
    depth = np.asarray(depth_mm, dtype=np.float64)
    factor = _factor(2.0 * depth / np.asarray(width_mm), form)
    return np.asarray(factor * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth))


def _factor(alpha: FloatArray, form: str) -> FloatArray:
    if form == "cosine":
        cosine = np.cos(0.5 * np.pi * alpha)
        root = np.sqrt(np.sinc(0.5 * alpha) / cosine)
        return np.asarray((_DATA["cosine"][0] + _DATA["cosine"][1] * cosine**4) * root)
    if form == "rational":
        return np.asarray(polynomial(alpha, _DATA["rational"]) / np.sqrt(1.0 - alpha))
    if form == "cubic":
        return polynomial(alpha, _DATA["cubic"])
    raise UnknownError("form", form, FORMS, "form")


def _double(values: Values) -> dict[str, FloatArray]:
    alpha = relative_length(values, "depth_mm")
    return {"alpha": alpha, **({"cubic_alpha": alpha} if values["form"] == "cubic" else {})}


FAMILIES = (
    Family(
        name="double-edge",
        title="equal cracks from both edges of a plate",
        size="depth_mm",
        k=stress_intensity,
        parameters=(WIDTH, MEMBRANE, Parameter("form", "choice", "cosine", FORMS)),
        ratios=_double,
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=SOURCES,
        tables=TABLES,
    ),
)

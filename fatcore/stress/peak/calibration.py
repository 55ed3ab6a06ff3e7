"""A user's own element constant from models whose notch stress intensity is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le

from fatcore.bounds import NumberColumn, PositiveColumn, guarded
from fatcore.errors import InputError
from fatcore.findings import Finding, caution
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length, other_length
from fatcore.stress.guarding import finite_result

_FEW_MESHES = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration(Outcome):
    """An own element constant.

    constant    : mean over the meshes [-]
    scatter_pct : largest distance of a mesh from the mean [%]
    constants   : one a mesh [-]
    """

    constant: float
    scatter_pct: float
    constants: FloatArray


@guarded
def calibrate_element(
    *,
    intensity_mpa_mm_lambda: NumberColumn,
    peak_mpa: NumberColumn,
    element_size_mm: PositiveColumn,
    eigenvalue: Annotated[float, Ge(0.5), Le(1.0)],
) -> Calibration:
    """Element constant of one mode, constant = K / (peak * d^(1 - lambda)), over several meshes.

    intensity_mpa_mm_lambda : known notch stress intensity, one value or one a mesh [MPa*mm^(1-lambda)]
    peak_mpa                : peak stress of each mesh [MPa]; element_size_mm : its average element size [mm]
    eigenvalue              : exponent of the mode [-]
    Returns                 : mean constant with its scatter, all of them
    Raises                  : InputError for ragged columns, a peak of zero or of another sign than K
    Source                  : [peak-stress-review-2020]
    """
    count = one_length(peak_mpa=peak_mpa, element_size_mm=element_size_mm)
    peak, size = np.asarray(peak_mpa, dtype=np.float64), np.asarray(element_size_mm, dtype=np.float64)
    known = np.asarray(intensity_mpa_mm_lambda, dtype=np.float64)
    if known.ndim and known.shape != (count,):
        message = other_length("intensity_mpa_mm_lambda", len(known), count)
        raise InputError(message, "intensity_mpa_mm_lambda")
    if (known * peak <= 0.0).any():
        raise InputError("peak_mpa must not be zero and must have the sign of the intensity", "peak_mpa")
    with np.errstate(all="ignore"):
        constants = finite_result(known / (peak * size ** (1.0 - eigenvalue)), "peak_mpa")
    if (constants == 0.0).any():
        raise InputError("intensity is too small beside the peaks", "intensity_mpa_mm_lambda")
    mean = float(constants.mean())
    return Calibration(
        constant=mean,
        scatter_pct=float(np.abs(constants / mean - 1.0).max() * 100.0),
        constants=constants,
        **evidence(findings=_few(count, size), sources=("peak-stress-review-2020",)),
    )


def _few(count: int, element_size_mm: FloatArray) -> tuple[Finding, ...]:
    if count >= _FEW_MESHES and np.ptp(element_size_mm) > 0.0:
        return ()
    message = f"{count} mesh(es): the scatter of a constant shows only over three or more meshes of different size"
    return (caution("few-meshes", message, field="element_size_mm"),)

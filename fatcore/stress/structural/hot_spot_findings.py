"""What is doubtful about a structural stress: it should be the largest of the stresses that it rests on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray

_ROUNDING = 1e-9  # relative to the largest stress: what the weights leave of a constant path


def rise_findings(hot_spot_stress_mpa: ArrayLike, reference_stress_mpa: ArrayLike) -> tuple[Finding, ...]:
    """Stations whose stress does not rise towards the toe, so that reading it out gains from the notch.

    Points in the wrong order, or a path from another place than the toe, look like that.
    hot_spot_stress_mpa  : stress at the toe, one a station [MPa]
    reference_stress_mpa : stresses that it rests on (..., points), the nearest point first [MPa]
    Returns              : `outside` where it lies below the stress at the nearest point, or is of the other
                           sign, a caution where only below one further away, each with the number of stations
    """
    stress = np.atleast_1d(np.asarray(hot_spot_stress_mpa, dtype=np.float64))
    reference = np.atleast_2d(np.asarray(reference_stress_mpa, dtype=np.float64))
    size, slack = np.abs(stress), _ROUNDING * np.abs(reference).max(axis=-1)
    nearest = reference[:, 0]
    turned = (np.minimum(size, np.abs(nearest)) > slack) & ((stress < 0.0) != (nearest < 0.0))
    below = (size < np.abs(nearest) - slack) | turned
    smaller = (size < np.abs(reference).max(axis=-1) - slack) & ~below
    text = (
        "the structural stress lies below the stress at the nearest point, or has the other sign: are the "
        "points in rising distance from the toe, and does the path start there?"
    )
    gone = outside("hot-spot-below-nearest", text, field="hot_spot_stress_mpa")
    text = "the structural stress is smaller than a stress that it rests on: it does not rise to the toe"
    doubt = caution("hot-spot-below-reference", text, field="hot_spot_stress_mpa")
    return (*_counted(gone, below, stress), *_counted(doubt, smaller, stress))


def _counted(finding: Finding, where: NDArray[np.bool_], stress: FloatArray) -> tuple[Finding, ...]:
    if not where.any():
        return ()
    return (replace(finding, count=int(np.count_nonzero(where)), value=float(stress[where][0])),)

"""Reference stress of a cracked section: the stress that says how near the ligament is to plastic
collapse.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.require import FloatArray


def edge_free_reference_mpa(relative_depth: ArrayLike, membrane_mpa: ArrayLike, bending_mpa: ArrayLike) -> FloatArray:
    """Edge crack whose section is free to bend: the force has an arm to the middle of the ligament.

    relative_depth : a/W [-]; membrane_mpa, bending_mpa : stresses of the uncracked section, bending positive
                     where it opens the crack
    Returns        : [MPa], infinite where no ligament is left
    Source         : [bs-7910-2013], negligible bending restraint
    """
    alpha, membrane = np.asarray(relative_depth, dtype=np.float64), np.asarray(membrane_mpa)
    return plate_reference_mpa(alpha, membrane, np.asarray(bending_mpa) + 3.0 * alpha * membrane)


def plate_reference_mpa(relative_area: ArrayLike, membrane_mpa: ArrayLike, bending_mpa: ArrayLike) -> FloatArray:
    """Combined tension and bending on a ligament; infinite where no ligament is left.

    relative_area : lost share of the section [-]; membrane_mpa, bending_mpa : uncracked stresses; each counts
                    by its size, so that bending which closes the crack is no relief
    Returns       : [MPa]
    Source        : [bs-7910-2013]
    """
    left = np.maximum(1.0 - np.asarray(relative_area, dtype=np.float64), 0.0)
    membrane, bending = np.abs(membrane_mpa), np.abs(bending_mpa)
    with np.errstate(divide="ignore", invalid="ignore"):
        value = (bending + np.sqrt(bending**2 + 9.0 * membrane**2 * left**2)) / (3.0 * left**2)
    return np.asarray(np.where(left > 0.0, value, np.inf))

"""Reference stress of a cracked section: the stress that says how near the ligament is to plastic
collapse.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.require import FloatArray, positive, within


def centre_reference_mpa(relative_length: ArrayLike, membrane_mpa: ArrayLike) -> FloatArray:
    """Centre crack: mean stress of the ligaments.

    relative_length : 2a/W [-], 0 to below 1; membrane_mpa : remote stress
    Returns         : [MPa]
    Source          : [bs-7910-2013]
    """
    alpha = within("relative_length", relative_length, 0.0, 1.0, open_high=True)
    return np.asarray(np.abs(membrane_mpa) / (1.0 - alpha))


def edge_reference_mpa(relative_depth: ArrayLike, membrane_mpa: ArrayLike, bending_mpa: ArrayLike = 0.0) -> FloatArray:
    """Edge crack, or a long surface crack, in a section that is held straight.

    relative_depth : a/W [-], 0 to below 1; membrane_mpa, bending_mpa : stresses of the uncracked section
    Returns        : [MPa]
    Source         : [bs-7910-2013]
    """
    alpha = within("relative_depth", relative_depth, 0.0, 1.0, open_high=True)
    return plate_reference_mpa(alpha, membrane_mpa, bending_mpa)


def edge_free_reference_mpa(relative_depth: ArrayLike, membrane_mpa: ArrayLike, bending_mpa: ArrayLike) -> FloatArray:
    """Edge crack whose section is free to bend: the force has an arm to the middle of the ligament.

    relative_depth : a/W [-]; membrane_mpa, bending_mpa : stresses of the uncracked section, bending positive
                     where it opens the crack
    Returns        : [MPa], infinite where no ligament is left
    Source         : [bs-7910-2013], negligible bending restraint
    """
    alpha, membrane = np.asarray(relative_depth, dtype=np.float64), np.asarray(membrane_mpa)
    return plate_reference_mpa(alpha, membrane, np.asarray(bending_mpa) + 3.0 * alpha * membrane)


def surface_reference_mpa(
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike,
    thickness_mm: float,
    half_width_mm: float | None,
    membrane_mpa: ArrayLike,
    bending_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Semi-elliptical surface crack, bending restrained.

    depth_mm, half_length_mm, thickness_mm : a, c, t [mm]; half_width_mm : half plate width, None is wide
    membrane_mpa, bending_mpa : stresses of the uncracked plate
    Returns : [MPa]; when the plate is narrower than 2(c + t) the relative area is taken over the whole width
    Raises  : InputError for lengths that are not positive
    Source  : [bs-7910-2013]
    >>> float(surface_reference_mpa(5.0, 10.0, 10.0, None, 100.0).round(3))
    133.333
    """
    depth, half = positive("depth_mm", depth_mm), positive("half_length_mm", half_length_mm)
    relative = (depth / thickness_mm) / (1.0 + thickness_mm / half)
    if half_width_mm is not None:
        narrow = half_width_mm < half + thickness_mm
        relative = np.where(narrow, depth * half / (thickness_mm * half_width_mm), relative)
    return plate_reference_mpa(relative, membrane_mpa, bending_mpa)


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

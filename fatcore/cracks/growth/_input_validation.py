"""What a growing crack cannot do with what is given: parts that do not fit, nothing that cycles."""

from __future__ import annotations

import numpy as np

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.load_blocks import CrackLoading
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.errors import InputError, at

_SIZES = 32


def guard_given(stressed: Stressed, end: EndCriteria) -> None:
    """InputError for what the crack cannot use, and for a section that sharing needs and does not know."""
    crack = stressed.crack
    if stressed.sharing is not None:
        with at("crack"):
            _ = crack.section
    if crack.carries_stress and stressed.stress != Stress():
        raise InputError("the given stress intensity holds its stress: leave the stress out", "stress")
    if end.grow_through and not crack.breaks_through:
        raise InputError("only a surface crack can go on as a through crack", "end", "grow_through")


def guard_criterion(crack: CrackConfiguration, criterion: str | None) -> None:
    """InputError for a criterion where there is nothing to combine: the opening mode alone."""
    if criterion is not None and set(crack.modes) == {"opening"}:
        raise InputError("a criterion has a meaning only with several modes", "criterion")


def guard_cycling(stressed: Stressed, loading: CrackLoading) -> None:
    """InputError when nothing cycles: no load, or no range of it; a lasting stress alone grows nothing."""
    if not (loading.maximum > loading.minimum).any():
        raise InputError("nothing cycles: maximum and minimum are equal everywhere", "loading", "maximum")
    crack, stress = stressed.crack, stressed.stress
    if not crack.carries_stress:
        if not any((stress.membrane_mpa, stress.bending_mpa, *stress.stress_mpa)):
            text = "nothing cycles: give membrane_mpa, bending_mpa or a path for load factor 1"
            raise InputError(text, *crack.load_path)
        return
    first, last = crack.start()[0], crack.largest()[0]
    sizes = np.geomspace(first, last, _SIZES)[:-1]
    with np.errstate(all="ignore"):
        unit = stressed.unit(sizes, sizes, np.zeros((0, sizes.size)))
    modes = (unit.opening, unit.sliding, unit.tearing)
    if not any(mode is not None and np.any(mode) for mode in modes):
        text = "nothing cycles: the stress intensity for load factor 1 is zero at every size"
        raise InputError(text, *crack.load_path)

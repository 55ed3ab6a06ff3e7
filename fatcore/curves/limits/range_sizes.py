"""Ranges that do no damage, or are so small that they look like another unit."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.figures import figure
from fatcore.findings import Finding, caution, note, outside

# MPa, and MJ/m³: a largest range below it looks like another unit [own choice]
_LEAST = {"stress_range_mpa": 1.0, "energy_density_mj_m3": 1.0e-4}
_UNITS = {"stress_range_mpa": "MPa", "energy_density_mj_m3": "MJ/m³"}
# of the cut-off: ranges below it look like another unit, not like a part that lasts [own choice]
_FAR_BELOW = 0.1


def small_findings(
    load_range: ArrayLike, name: str = "stress_range_mpa", field: str | None = None
) -> tuple[Finding, ...]:
    """A caution where the largest range is so small that it looks like another unit.

    load_range : of stress [MPa] or energy density [MJ/m³]; name: stress_range_mpa or energy_density_mj_m3
    field      : input that it stands in, None is the name
    """
    largest = float(np.max(load_range, initial=0.0))
    if not 0.0 < largest < _LEAST[name]:
        return ()
    text = f"the largest range is {figure(largest)} {_UNITS[name]}, as if it stood in another unit"
    return (caution("range-small", text, field=field or name),)


def too_small_findings(range_mpa: ArrayLike, field: str = "stress_range_mpa") -> tuple[Finding, ...]:
    """`outside` where the largest of the ranges that a verdict rests on looks like another unit [MPa]."""
    found = small_findings(range_mpa, field=field)
    return tuple(outside("ranges-too-small", each.message, field=each.field) for each in found)


def no_damage_finding(range_mpa: ArrayLike, cut_off_mpa: float | None, name: str) -> Finding:
    """That no range does damage: a note where all lie properly below the cut-off, else a caution.

    cut_off_mpa : range below which a cycle of the curve does none, None without one; name: of the ranges or
                  the damage in request or answer
    """
    largest, cut_off = float(np.max(range_mpa, initial=0.0)), cut_off_mpa or 0.0
    if largest < _FAR_BELOW * cut_off or cut_off == 0.0:
        text = f"no range does any damage on this curve (largest {figure(largest)}): check the unit"
        return caution("no-damage-counted", text, field=name)
    text = f"no range does any damage: the largest, {figure(largest)} MPa, is below the limit, {figure(cut_off)} MPa"
    return note("ranges-below-cut-off", text, field=name)

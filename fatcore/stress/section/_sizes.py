"""Door of the small solver: sizes, material and loads that make a joint which the mesh can hold."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fatcore.errors import InputError, at
from fatcore.require import finite, positive, within
from fatcore.stress.section._cases import CASES, needs_span
from fatcore.stress.section._shape import Section

_THICKNESS_MM = (0.5, 500.0)
_ATTACHMENT = (0.1, 10.0)  # thickness of the attachment over that of the plate
_LEG = (0.1, 10.0)  # leg over the thinner of plate and attachment
_LEGS = (1.0 / 3.0, 3.0)  # leg on the attachment over leg on the plate
_GAP = 0.04  # least gap over attachment thickness, if there is one
_LOAD_MPA = (1e-6, 1e6)  # least and largest size


def section_of(
    *,
    attachments: int,
    plate_thickness_mm: float,
    attachment_thickness_mm: float,
    plate_leg_mm: float,
    attachment_leg_mm: float | None,
    gap_mm: float,
) -> Section:
    """The cross-section; InputError with the name of the size that makes none or that cannot be meshed."""
    if attachments not in (1, 2):
        raise InputError("attachments must be 1 or 2", "attachments")
    plate = _number("plate_thickness_mm", plate_thickness_mm, _THICKNESS_MM)
    low, high = (limit * plate for limit in _ATTACHMENT)
    attachment = _number("attachment_thickness_mm", attachment_thickness_mm, (low, high))
    thin = min(plate, attachment)
    leg = _number("plate_leg_mm", plate_leg_mm, (_LEG[0] * thin, _LEG[1] * thin))
    name = "attachment_leg_mm"
    other = leg if attachment_leg_mm is None else _number(name, attachment_leg_mm, (0.0, np.inf))
    if not _LEGS[0] * leg <= other <= _LEGS[1] * leg:
        raise InputError(f"{name} must lie between a third and three times plate_leg_mm", name)
    gap = _number("gap_mm", gap_mm, (0.0, attachment))
    if 0.0 < gap < _GAP * attachment:
        message = f"gap_mm must be 0 or at least {_GAP:g} of attachment_thickness_mm"
        raise InputError(message, "gap_mm")
    return Section(
        plate=plate,
        attachment=attachment,
        leg_plate=leg,
        leg_attachment=other,
        slit_half=gap / 2.0,
        mirrored=attachments == 2,
    )


def loads_of(loads: Mapping[str, float]) -> dict[str, float]:
    """The loads that are not zero; InputError for an unknown name or when nothing is left."""
    with at("loads"):
        for name, value in loads.items():
            if name not in CASES:
                raise InputError(f"unknown load {name!r}; known: {', '.join(CASES)}", name)
            within(name, value, -_LOAD_MPA[1], _LOAD_MPA[1])
            if 0.0 < abs(value) < _LOAD_MPA[0]:
                raise InputError(f"{name} must be 0 or at least {_LOAD_MPA[0]:g} MPa in size", name)
    acting = {name: float(loads[name]) for name in CASES if loads.get(name, 0.0) != 0.0}
    if not acting:
        raise InputError("at least one load must differ from 0", "loads")
    return acting


def span_of(section: Section, loads: Mapping[str, float], support_span_mm: float | None) -> float:
    """Distance of the supports, 0 where no load needs it; InputError when missing, useless or too small."""
    if not any(needs_span(section, name) for name in loads):
        if support_span_mm is not None:
            message = "only one attachment under membrane stress needs support_span_mm"
            raise InputError(message, "support_span_mm")
        return 0.0
    if support_span_mm is None:
        message = "needed: the pulled attachment bends the plate between its supports"
        raise InputError(message, "support_span_mm")
    span = float(positive("support_span_mm", support_span_mm))
    least = 2.0 * (float(section.plate_toe[0]) + section.plate)
    if not least <= span <= 1000.0 * section.plate:
        message = f"support_span_mm must lie in [{least:g}, {1000.0 * section.plate:g}]: supports clear of the weld"
        raise InputError(message, "support_span_mm")
    return span


def _number(name: str, value: float, limits: tuple[float, float]) -> float:
    number = float(finite(name, value))
    if not limits[0] <= number <= limits[1]:
        message = f"{name} must lie in [{limits[0]:g}, {limits[1]:g}] for this joint and its mesh"
        raise InputError(message, name)
    return number

"""Sizes of a joint that the mesh can hold, and the distance of its supports."""

from __future__ import annotations

from collections.abc import Iterable

from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.stress.section._cases import needs_span
from fatcore.stress.section._shape import Section

_ATTACHMENT = (0.1, 10.0)  # thickness of the attachment over that of the plate
_LEG = (0.1, 10.0)  # leg over the thinner of plate and attachment
_LEGS = (1.0 / 3.0, 3.0)  # leg on the attachment over leg on the plate
_GAP = 0.04  # least gap over attachment thickness, if there is one


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
    thin = min(plate_thickness_mm, attachment_thickness_mm)
    other = plate_leg_mm if attachment_leg_mm is None else attachment_leg_mm
    _guard_ratio("attachment_thickness_mm", attachment_thickness_mm, plate_thickness_mm, _ATTACHMENT)
    _guard_ratio("plate_leg_mm", plate_leg_mm, thin, _LEG)
    _guard_ratio("attachment_leg_mm", other, plate_leg_mm, _LEGS)
    _guard_ratio("gap_mm", gap_mm, attachment_thickness_mm, (0.0, 1.0))
    if 0.0 < gap_mm < _GAP * attachment_thickness_mm:
        message = f"gap_mm must be 0 or at least {as_given(_GAP)} of attachment_thickness_mm"
        raise InputError(message, "gap_mm")
    return Section(
        plate=plate_thickness_mm,
        attachment=attachment_thickness_mm,
        leg_plate=plate_leg_mm,
        leg_attachment=other,
        slit_half=gap_mm / 2.0,
        mirrored=attachments == 2,
    )


def span_of(section: Section, loads: Iterable[str], support_span_mm: float | None) -> float:
    """Distance of the supports, 0 where no load needs it; InputError when missing, useless or too small."""
    if not any(needs_span(section, name) for name in loads):
        if support_span_mm is not None:
            message = "only one attachment under membrane stress needs support_span_mm"
            raise InputError(message, "support_span_mm")
        return 0.0
    if support_span_mm is None:
        message = "needed: the pulled attachment bends the plate between its supports"
        raise InputError(message, "support_span_mm")
    least = 2.0 * (float(section.plate_toe[0]) + section.plate)
    if not least <= support_span_mm <= 1000.0 * section.plate:
        message = (
            f"support_span_mm must lie in [{as_given(least)}, {as_given(1000.0 * section.plate)}]: "
            "supports clear of the weld"
        )
        raise InputError(message, "support_span_mm")
    return support_span_mm


def _guard_ratio(name: str, size: float, to: float, ratios: tuple[float, float]) -> None:
    low, high = (ratio * to for ratio in ratios)
    if not low <= size <= high:
        raise InputError(f"{name} must lie in [{as_given(low)}, {as_given(high)}] for this joint and its mesh", name)

"""Load cases: tractions of unit nominal stress on the two loaded ends, in equilibrium, and their symmetry.

Nominal stresses of the attachment hold in its section at the plate surface, those of the plate far from the
weld. Other ends are free, unless the load needs a reaction: then the two ends of the plate share it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.section._shape import Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A load; even_x, even_y: the load is its own mirror image at x = 0, at y = 0 (both attachments)."""

    name: str
    tearing: bool
    even_x: bool
    even_y: bool


CASES = {
    case.name: case
    for case in (
        Case(name="plate_membrane_mpa", tearing=False, even_x=True, even_y=True),
        Case(name="plate_bending_mpa", tearing=False, even_x=True, even_y=False),
        Case(name="attachment_membrane_mpa", tearing=False, even_x=True, even_y=True),
        Case(name="attachment_bending_mpa", tearing=False, even_x=False, even_y=True),
        Case(name="attachment_shear_mpa", tearing=False, even_x=False, even_y=True),
        Case(name="plate_tearing_mpa", tearing=True, even_x=False, even_y=True),
        Case(name="attachment_tearing_mpa", tearing=True, even_x=True, even_y=False),
    )
}


class _Place(NamedTuple):
    """What tractions depend on: distance of the supports, y on the plate end, x on the attachment end."""

    section: Section
    span: float
    y: FloatArray
    x: FloatArray


_Face = tuple[FloatArray | float, FloatArray | float, FloatArray | float]
_FREE: _Face = (0.0, 0.0, 0.0)


def needs_span(section: Section, name: str) -> bool:
    """Whether the load bends the plate between supports, so that their distance counts."""
    return name == "attachment_membrane_mpa" and not section.mirrored


def tractions(
    section: Section, name: str, span: float
) -> tuple[Callable[[FloatArray], FloatArray], Callable[[FloatArray], FloatArray]]:
    """Tractions (n, 3) on the plate end as function of y, on the attachment end as function of x.

    span : distance of the supports of the plate [mm], for loads that `needs_span`
    """
    build = _BUILDERS[name]

    def at_plate(y: FloatArray) -> FloatArray:
        return _columns(build(_Place(section, span, y, np.zeros(1)))[0], len(y))

    def at_attachment(x: FloatArray) -> FloatArray:
        return _columns(build(_Place(section, span, np.zeros(1), x))[1], len(x))

    return at_plate, at_attachment


def _columns(parts: _Face, count: int) -> FloatArray:
    return np.stack([np.broadcast_to(np.asarray(part, dtype=np.float64), count) for part in parts], axis=1)


def _plate_membrane(_: _Place) -> tuple[_Face, _Face]:
    return (1.0, 0.0, 0.0), _FREE


def _plate_bending(at: _Place) -> tuple[_Face, _Face]:
    return (2.0 * at.y / at.section.plate, 0.0, 0.0), _FREE


def _attachment_membrane(at: _Place) -> tuple[_Face, _Face]:
    if at.section.mirrored:
        return _FREE, (0.0, 1.0, 0.0)
    force, t = at.section.attachment / 2.0, at.section.plate
    bending = 12.0 * force * (at.span / 2.0 - at.section.end[0]) / t**3
    shear = -1.5 * force / t * (1.0 - (2.0 * at.y / t) ** 2)
    return (bending * at.y, shear, 0.0), (0.0, 1.0, 0.0)


def _attachment_bending(at: _Place) -> tuple[_Face, _Face]:
    b, t = at.section.attachment, at.section.plate
    reaction = 0.0 if at.section.mirrored else b**2 / t**3
    return (reaction * at.y, 0.0, 0.0), (0.0, 2.0 * at.x / b, 0.0)


def _attachment_shear(at: _Place) -> tuple[_Face, _Face]:
    """The end carries the moment that makes the one at the plate surface vanish."""
    b, t = at.section.attachment, at.section.plate
    balance = 12.0 * (at.section.end[1] - at.section.surface) / b**2
    end: _Face = (1.5 * (1.0 - (2.0 * at.x / b) ** 2), balance * at.x, 0.0)
    if at.section.mirrored:
        return (-b / t, 0.0, 0.0), end
    return (-b / (2.0 * t) - 3.0 * b * at.y / t**2, 0.0, 0.0), end


def _plate_tearing(_: _Place) -> tuple[_Face, _Face]:
    return (0.0, 0.0, 1.0), _FREE


def _attachment_tearing(at: _Place) -> tuple[_Face, _Face]:
    reaction = 0.0 if at.section.mirrored else -at.section.attachment / (2.0 * at.section.plate)
    return (0.0, 0.0, reaction), (0.0, 0.0, 1.0)


_BUILDERS: dict[str, Callable[[_Place], tuple[_Face, _Face]]] = {
    "plate_membrane_mpa": _plate_membrane,
    "plate_bending_mpa": _plate_bending,
    "attachment_membrane_mpa": _attachment_membrane,
    "attachment_bending_mpa": _attachment_bending,
    "attachment_shear_mpa": _attachment_shear,
    "plate_tearing_mpa": _plate_tearing,
    "attachment_tearing_mpa": _attachment_tearing,
}

"""Cross-section of the joint: its right upper part, the singular points, and the wanted element size.

The plate lies along x, its mid-plane is y = 0; the attachment stands on it round x = 0. With attachments on
both sides a quarter of the section is modelled, with one attachment the right half.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.section.results import Location

_ARM = 2.0  # free length of plate and attachment beyond the toes, in thicknesses: end effects fade to e^-8
_PATCH = 0.35  # radius of the polar patch over the distance to the nearest other feature


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Sizes of the joint [mm]; slit_half 0 is full penetration, mirrored: an attachment on each side."""

    plate: float
    attachment: float
    leg_plate: float
    leg_attachment: float
    slit_half: float
    mirrored: bool

    @property
    def surface(self) -> float:
        """Height of the plate surface."""
        return self.plate / 2.0

    @property
    def bottom(self) -> float:
        """Lower edge of the model."""
        return 0.0 if self.mirrored else -self.plate / 2.0

    @property
    def plate_toe(self) -> FloatArray:
        """Toe on the plate."""
        return np.array([self.attachment / 2.0 + self.leg_plate, self.surface])

    @property
    def attachment_toe(self) -> FloatArray:
        """Toe on the attachment."""
        return np.array([self.attachment / 2.0, self.surface + self.leg_attachment])

    @property
    def end(self) -> FloatArray:
        """x of the loaded end of the plate, y of the loaded end of the attachment."""
        return np.array([self.plate_toe[0] + _ARM * self.plate, self.attachment_toe[1] + _ARM * self.attachment])


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """A singular point: bisector direction and half angle of the material [rad], radius of its patch [mm]."""

    name: Location
    position: FloatArray
    bisector: float
    half_angle: float
    radius: float

    @property
    def opening_angle_deg(self) -> float:
        """Angle between the faces [deg]."""
        return float(360.0 - np.degrees(2.0 * self.half_angle))


def tips_of(section: Section) -> tuple[Tip, ...]:
    """Plate toe, attachment toe and, unless the joint is fully fused, the root."""
    toe, upper = section.plate_toe, section.attachment_toe
    root = np.array([section.slit_half, section.surface])
    flank = float(np.arctan2(section.leg_attachment, section.leg_plate))
    between = float(np.linalg.norm(toe - upper))
    free_toe = [between, section.surface - section.bottom]
    free_upper = [between, section.attachment / 2.0]
    tips = []
    if section.slit_half > 0.0:
        normal = np.array([np.sin(flank), np.cos(flank)])
        to_toe, to_upper = (float(np.linalg.norm(point - root)) for point in (toe, upper))
        free_toe.append(to_toe)
        free_upper.append(to_upper)
        free_root = [to_toe, to_upper, section.slit_half, section.surface - section.bottom]
        free_root.append(float((toe - root) @ normal))
        tips.append(_tip("root", root, 0.0, np.pi, free_root))
    half = (np.pi + flank) / 2.0
    tips.append(_tip("plate-toe", toe, 2.0 * np.pi - half, half, free_toe))
    half = np.pi - (np.pi / 2.0 + flank) / 2.0
    return (*tips, _tip("attachment-toe", upper, np.pi / 2.0 + half, half, free_upper))


def outline(section: Section) -> FloatArray:
    """Corners of the model (9, 2), counter-clockwise; the last one is the mouth of the slit."""
    right, top = section.end
    low, level, side = section.bottom, section.surface, section.attachment / 2.0
    return np.array(
        [
            *([0.0, low], [right, low], [right, level], section.plate_toe, section.attachment_toe),
            *([side, top], [0.0, top], [0.0, level]),
        ]
    )


def element_size(section: Section, tips: tuple[Tip, ...], points: FloatArray, step: float) -> FloatArray:
    """Wanted edge length at points (n, 2): grows with the distance to the nearest singular point."""
    above = points[:, 1] > section.attachment_toe[1]
    size = np.where(above, section.attachment, section.plate) * step
    for tip in tips:
        distance = np.linalg.norm(points - tip.position, axis=1)
        size = np.minimum(size, step * np.maximum(distance, tip.radius))
    return size


def segment_distances(points: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Distances (n, m) of points from straight segments."""
    along = ends - starts
    offset = points[:, None, :] - starts
    share = np.clip((offset * along).sum(axis=2) / (along**2).sum(axis=1), 0.0, 1.0)
    return np.asarray(np.linalg.norm(offset - share[:, :, None] * along, axis=2))


def _tip(name: Location, position: FloatArray, bisector: float, half: float, free: list[float]) -> Tip:
    radius = _PATCH * min(free)
    return Tip(name=name, position=position, bisector=bisector, half_angle=half, radius=radius)

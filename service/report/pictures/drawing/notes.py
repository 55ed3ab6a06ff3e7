"""What stands in a view beside the lines: the marked station with its text, names of lines, axes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fatcore.require import FloatArray

from ..palette import GREY
from .room import Box, Room
from .svg import SMALL_PX, TEXT_PX, circle, fitted_text, stroke, text, triangle, width_px
from .view import View
from .welds import Drawn

_RING_PX = 9.0
_MOST_NAMES = 40
_CALLOUT_PX, _NAME_PX = 380.0, 190.0
_TOO_DEAR = 20.0  # a name over that many lines or texts is left out
_PAD_PX, _LINE_PX = 8.0, 20.0
_ARM_PX = 26.0

Place = tuple[float, float]


def ring(place: Place, seen: bool) -> str:
    """The mark of the governing point, dashed where the part hides it."""
    return circle(place, _RING_PX, "none", "#fff", 6.0) + circle(
        place, _RING_PX, "none", "#000", 2.6, "" if seen else "4 3"
    )


def callout(place: Place, words: Sequence[str], room: Room) -> str:
    """The text of the governing point in the freest corner, with a line to its ring."""
    size = [TEXT_PX, *[SMALL_PX] * (len(words) - 1)]
    lines = [fitted_text(line, letter, _CALLOUT_PX) for line, letter in zip(words, size, strict=True)]
    width = max(width_px(line, letter) for line, letter in zip(lines, size, strict=True)) + 2.0 * _PAD_PX
    height = _LINE_PX * len(lines) + 2.0 * _PAD_PX - 4.0
    rows, columns = room.cost.shape
    room.take((place[0] - 16.0, place[1] - 16.0, 32.0, 32.0))
    box, _ = room.best(_grid(columns, rows, width, height), place)
    left, top, *_ = box or (max(columns - width, 0.0), 0.0)
    room.take((left, top, width, height))
    texts = [
        text((left + _PAD_PX, top + _PAD_PX + 13.0 + _LINE_PX * k), line, size=letter, weight="normal" if k else "bold")
        for k, (line, letter) in enumerate(zip(lines, size, strict=True))
    ]
    frame = (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}" rx="3" fill="#fff"'
        ' stroke="#000" stroke-width="1"/>'
    )
    return _leader(place, (left, top, width, height), room) + frame + "".join(texts)


def _grid(columns: int, rows: int, width: float, height: float) -> Iterator[Box]:
    for left in np.linspace(8.0, max(columns - width - 8.0, 8.0), 9):
        for top in np.linspace(28.0, max(rows - height - 28.0, 28.0), 7):
            yield float(left), float(top), width, height


def _leader(place: Place, box: Box, room: Room) -> str:
    left, top, width, height = box
    nearest = np.array([np.clip(place[0], left, left + width), np.clip(place[1], top, top + height)])
    way = np.array(place) - nearest
    length = float(np.hypot(*way))
    if length <= _RING_PX:
        return ""
    end = nearest + way * (1.0 - _RING_PX / length)
    room.weld(np.linspace(nearest, end, int(length) + 1))
    data = f"M{nearest[0]:.1f} {nearest[1]:.1f}L{end[0]:.1f} {end[1]:.1f}"
    return stroke(data, "#fff", 3.4) + stroke(data, "#000", 1.1)


def name_labels(lines: Sequence[Drawn], room: Room, but: int | None) -> str:
    """Names of the lines beside them where there is room, the most used first; `but` has its name already."""
    order = sorted((k for k in range(len(lines)) if k != but), key=lambda k: -_most_used(lines[k]))
    return "".join(_name(lines[k], room) for k in order[:_MOST_NAMES])


def _most_used(line: Drawn) -> float:
    return 0.0 if line.line.utilisation is None else float(line.line.utilisation.max())


def _name(line: Drawn, room: Room) -> str:
    words = fitted_text(line.line.name, SMALL_PX, _NAME_PX)
    seen = not len(line.kept) or bool((line.seen & line.kept).any())
    width = width_px(words, SMALL_PX) + 4.0
    priced = [
        (price, anchor, box)
        for anchor in _anchors(line, seen)
        for box, price in [room.best(_beside(anchor, width), anchor, part=0.0)]
        if box is not None and price <= _TOO_DEAR
    ]
    if not priced:
        return ""
    _, anchor, box = min(priced)
    room.take(box)
    named = text((box[0] + 2.0, box[1] + 13.5), words, size=SMALL_PX, colour="#000" if seen else GREY, halo=True)
    return _pointer(anchor, box) + named


def _anchors(line: Drawn, seen: bool) -> list[Place]:
    """Points of a line that its name may point to, only seen ones where some are."""
    pieces = np.flatnonzero(line.kept & (line.seen | (not seen))) if len(line.kept) else np.array([0])
    at = [pieces[int(share * (len(pieces) - 1))] for share in (0.5, 0.3, 0.7, 0.15, 0.85) if len(pieces)]
    return [(float(line.points_px[k, 0]), float(line.points_px[k, 1])) for k in at]


def _beside(anchor: Place, width: float) -> Iterator[Box]:
    """Boxes round a point of a line, nearer ones first."""
    x, y = anchor
    for gap in (8.0, 18.0, 32.0):
        for across, down in ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1)):
            left = x + across * gap - (0.5 * (1 - across)) * width
            top = y + down * (gap + 9.0) - 9.0
            yield left, top, width, 18.0


def _pointer(anchor: Place, box: Box) -> str:
    """A thin line from a name to its line."""
    left, top, width, height = box
    near = (min(max(anchor[0], left), left + width), min(max(anchor[1], top + 3.0), top + height - 3.0))
    return stroke(f"M{anchor[0]:.1f} {anchor[1]:.1f}L{near[0]:.1f} {near[1]:.1f}", "#333", 0.8)


def triad(view: View, room: Room) -> str:
    """The axes x, y, z in the freest corner at the left, else at the right."""
    side = 2.0 * (_ARM_PX + 16.0)
    boxes = [
        (left, top, side, side)
        for left in (2.0, view.width_px - side - 2.0)
        for top in (view.height_px - side - 2.0, 24.0)
    ]
    box, _ = room.best(boxes, (0.0, float(view.height_px)))
    left, top, *_ = box or boxes[0]
    room.take((left, top, side, side))
    centre = np.array([left + side / 2.0, top + side / 2.0])
    order = sorted(range(3), key=lambda axis: view.axes[2, axis])
    return "".join(_arm(centre, view.axes[:2, axis], "xyz"[axis]) for axis in order)


def _arm(centre: FloatArray, arm: FloatArray, name: str) -> str:
    length = float(np.hypot(*arm))
    if length < 0.05:
        return ""
    unit, tip = (float(arm[0] / length), float(arm[1] / length)), centre + _ARM_PX * arm
    end = centre + (_ARM_PX * length + 9.0) * np.array(unit)
    data = f"M{centre[0]:.1f} {centre[1]:.1f}L{tip[0]:.1f} {tip[1]:.1f}"
    head = triangle((float(tip[0] + 3.0 * unit[0]), float(tip[1] + 3.0 * unit[1])), unit, 8.0, 3.2, "#000")
    return (
        stroke(data, "#000", 1.6) + head + text((float(end[0]), float(end[1]) + 4.5), name, anchor="middle", halo=True)
    )

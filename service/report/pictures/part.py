"""Where on the part: its edges in grey, the weld lines by utilisation, the governing point marked, as one SVG."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.stress.weld_lines.solid.part import PartSurface

from .drawing.legend import KEY_PX, SCALE_PX, key, remark, scale
from .drawing.panel import panel
from .drawing.scene import WIDTH_PX, Shot, shots
from .drawing.svg import clean, stroke
from .palette import FULL_MM, Picture
from .placed import Mark, PlacedLine

_REMARK_PX = 22.0
_OFF_PART = 0.02  # of the largest extent


def part_picture(
    lines: Sequence[PlacedLine],
    part: PartSurface | None = None,
    *,
    mark: Mark | None = None,
    remarks: Sequence[str] = (),
) -> str:
    """The picture as an SVG file of its own; the same input gives the same bytes.

    lines   : at least one; part: surface of the solid they lie on, None draws the lines alone
    mark    : the governing station; where the part hides it, a second view is turned to it or cut there
    remarks : sentences below the picture
    Raises  : InputError where a line does not lie on the part: other length unit, or another part
    """
    picture = part_figure(lines, part, mark=mark, remarks=remarks)
    width, height = picture.view_box.split()[2:]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{picture.view_box}" width="{width}" height="{height}" '
        f'role="img" aria-label="{clean(picture.label)}"><title>{clean(picture.label)}</title>'
        f'<rect width="{width}" height="{height}" fill="#fff"/>{picture.svg}</svg>\n'
    )


def part_figure(
    lines: Sequence[PlacedLine],
    part: PartSurface | None = None,
    *,
    mark: Mark | None = None,
    remarks: Sequence[str] = (),
) -> Picture:
    """The same for a page."""
    if part is not None:
        _guard_places(lines, part)
    views = shots(lines, part, mark)
    content, height = [], 0.0
    for shot in views:
        drawing = panel(shot, lines, part, mark, _extent(lines, part))
        rim = stroke(f"M0 0h{WIDTH_PX}", "#bbb", 0.8) if height else ""
        content.append(f'<g transform="translate(0 {height:g})">{drawing}{rim}</g>')
        height += shot.view.height_px
    for block, size in _below(lines, views, mark, remarks, height):
        content.append(block)
        height += size
    body = f'<g font-family="sans-serif" stroke-linejoin="round">{"".join(content)}</g>'
    return Picture(body, f"0 0 {WIDTH_PX} {height:g}", _label(lines, mark), FULL_MM)


def _below(
    lines: Sequence[PlacedLine], views: Sequence[Shot], mark: Mark | None, remarks: Sequence[str], top: float
) -> list[tuple[str, float]]:
    """Scale, key and remarks with their heights."""
    judged = any(line.utilisation is not None for line in lines)
    blocks = [(scale(top), SCALE_PX)] if judged else []
    top += SCALE_PX if judged else 0.0
    hidden, unjudged = views[0].depth is not None, not all(line.judged.all() for line in lines)
    blocks.append((key(top, hidden=hidden, unjudged=unjudged, marked=mark is not None), KEY_PX))
    top += KEY_PX
    return blocks + [(remark(top + _REMARK_PX * k, words), _REMARK_PX) for k, words in enumerate(remarks)]


def _guard_places(lines: Sequence[PlacedLine], part: PartSurface) -> None:
    """Refuses lines outside of the box round the part, and farther from its points than any edge is long."""
    points = part.points_mm
    low, high = points.min(axis=0), points.max(axis=0)
    slack = _OFF_PART * float((high - low).max())
    longest = float(np.linalg.norm(np.diff(points[part.edges], axis=1), axis=2).max())
    near = cKDTree(points)
    for index, line in enumerate(lines):
        places = line.coordinates_mm
        off = ((places < low - slack) | (places > high + slack)).any(axis=1)
        off |= near.query(places)[0] > longest * (1.0 + 1e-9)
        if off.any():
            raise InputError(
                f"{line.name}, station {int(np.argmax(off))} lies outside of the mesh or deep inside it:"
                " another length unit, or another part",
                "lines",
                index,
                "coordinates_mm",
            )


def _extent(lines: Sequence[PlacedLine], part: PartSurface | None) -> str:
    points = np.vstack([line.coordinates_mm for line in lines]) if part is None else part.points_mm
    ranges = zip("xyz", points.min(axis=0), points.max(axis=0), strict=True)
    text = ",  ".join(f"{axis} {figure(low + 0.0, 4)} … {figure(high + 0.0, 4)}" for axis, low, high in ranges)
    return f"{'lines' if part is None else 'part'}:  {text} mm".replace("-", "−")


def _label(lines: Sequence[PlacedLine], mark: Mark | None) -> str:
    names = f"{len(lines)} weld line{'s' if len(lines) > 1 else ''} in space"
    return names if mark is None else f"{names}; governing point: {', '.join(mark.words)}"

"""Utilisation along weld lines, with ranges by block and biaxiality below it, as small pictures of one kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.figures import against, coordinate

from ...base.text import number
from ...topics.check.judging import BiaxialityCurves
from ...topics.check.lines import LineInput
from ...topics.check.models import CheckRequest
from ..levels import Levels
from . import style
from .drawing.svg import fitted_text
from .palette import Picture

MOST_PICTURES = 24
MOST_STATIONS = 160  # of a line that are drawn
_TITLE_PT, _NAME_PT = 240.0, 66.0  # room for the name of a line, and of a level
_LEFT_MM, _LEGEND_MM = 10.0, 25.0  # where the panels start, and the legend of the ranges
_UTILISATION_MM, _RANGE_MM, _BIAXIALITY_MM = 13.0, 11.0, 10.0
_LABEL_MM = 2.5  # from one label to the next on an ordinate
_FROM_LOG = 20.0  # utilisation from which its axis is logarithmic above the limit

Line = Mapping[str, Any]


def shown_lines(answer: Mapping[str, Any]) -> list[Line]:
    """The lines with the largest utilisation that have two stations."""
    ordered = sorted(answer["lines"], key=lambda line: -line["governing_utilisation"])
    return [line for line in ordered[:MOST_PICTURES] if len(line["position_mm"]) > 1]


def drawn_stations(line: Line) -> NDArray[np.intp]:
    """Stations that a picture shows: all, or of many the largest and the least of each stretch, ends and governing.

    >>> drawn_stations({"utilisation": [0.1, 0.3], "governing_index": 1})
    array([0, 1])
    """
    used = np.array(line["utilisation"])
    if used.size <= MOST_STATIONS:
        return np.arange(used.size)
    stretches = np.array_split(np.arange(used.size), MOST_STATIONS // 2 - 2)
    ends = [pick(used[part]) + part[0] for part in stretches for pick in (np.argmax, np.argmin)]
    return np.unique(np.array([0, *ends, line["governing_index"], used.size - 1], dtype=np.intp))


def line_figures(request: CheckRequest, lines: Sequence[Line], levels: Mapping[str, Levels]) -> list[Picture]:
    """A picture of each line, the ranges by block where they are known; levels: by the name of the line."""
    inputs = {line.name: line for line in request.lines}
    return [_line_figure(line, inputs[line["name"]], request, levels.get(line["name"])) for line in lines]


def _line_figure(line: Line, given: LineInput, request: CheckRequest, levels: Levels | None) -> Picture:
    curves = given.curves or request.curves
    bounds = curves if isinstance(curves, BiaxialityCurves) else None
    panels: list[Callable[[Any, Line], None]] = [_utilisation, partial(_range, levels=levels)]
    heights = [_UTILISATION_MM, _RANGE_MM]
    gaps = [style.GAP_MM + style.legend_mm(1 + len(levels.names) if levels else 1)]
    if given.basis == "peak-stress":
        panels.append(partial(_biaxiality, bounds=bounds))
        heights.append(_BIAXIALITY_MM)
        gaps.append(style.GAP_MM + style.legend_mm(1))

    def draw(drawn: Any) -> None:
        axes = style.panels(drawn, heights, gaps_mm=gaps, left_mm=_LEFT_MM)
        for panel, content in zip(axes, panels, strict=True):
            content(panel, line)
        style.title_row(axes[0], fitted_text(line["name"], style.TITLE_PT, _TITLE_PT), 1, fontsize=style.TITLE_PT)
        for panel in axes:
            _ends(panel, line["position_mm"], given)
        length = max(map(abs, line["position_mm"]))
        axes[-1].set_xlabel(style.scaled(axes[-1].xaxis, "position along the line", "mm", length))

    height = style.MARGINS_MM["top"] + sum(heights) + sum(gaps) + style.MARGINS_MM["bottom"]
    return style.figure(draw, _label(line), _words(line, levels), height_mm=height)


def _label(line: Line) -> str:
    used, at = against(line["governing_utilisation"], 1.0), line["position_mm"][line["governing_index"]]
    return f"{line['name']}: utilisation along the line, {used} of 1 at {coordinate(at)} mm"


def _words(line: Line, levels: Levels | None) -> str:
    at, used = line["governing_index"], line["largest_unjudged_utilisation"]
    words = f"{line['verdict']}; the equivalent range there is {number(line['equivalent_stress_mpa'][at])} MPa"
    words += "" if used is None else f"; hollow: not judged, utilisation up to {against(used, 1.0)}"
    shown, all_of = len(drawn_stations(line)), len(line["position_mm"])
    words += "" if shown == all_of else f"; {shown} of {all_of} stations are drawn, the largest of each stretch"
    for name, ranges in zip(levels.names, levels.range_mpa, strict=True) if levels else ():
        words += f"; {name}: up to {number(float(ranges.max()))} MPa"
    return words


def _key(line: Line) -> str:
    key = f"utilisation [–]: ◆ {against(line['governing_utilisation'], 1.0)} · - - limit"
    return key + ("" if line["largest_unjudged_utilisation"] is None else " · ○ not judged")


def _utilisation(axes: Any, line: Line) -> None:
    top = max(1.0, *line["utilisation"])
    _along(axes, line, line["utilisation"])
    axes.axhline(1.0, **style.LIMIT)
    if top > _FROM_LOG:
        axes.set_yscale("symlog", linthresh=1.0, linscale=1.5)
        axes.set_ylim(0.0, 3.0 * top)
        _decades(axes, 0, _UTILISATION_MM)
    else:
        axes.set_ylim(0.0, 1.12 * top)
        axes.locator_params("y", nbins=3)
    style.title_row(axes, _key(line), 0)


def _decades(axes: Any, lowest: int, height_mm: float) -> None:
    """Zero and the decades from the upper end down that leave room for their labels, in one notation."""
    high = axes.get_ylim()[1]
    powers = 10.0 ** np.arange(int(np.floor(np.log10(high))), lowest - 1, -1)
    place = axes.yaxis.get_transform().transform
    height = height_mm / place(np.array([high]))[0] * place(powers)
    kept: list[int] = []
    for k, at in enumerate(height):
        if at > _LABEL_MM and (not kept or height[kept[-1]] - at > _LABEL_MM):
            kept.append(k)
    axes.set_yticks([0.0, *powers[kept[::-1]]])
    axes.yaxis.set_major_formatter(style.log_labels(style.SMALL, high))
    axes.minorticks_off()


def _range(axes: Any, line: Line, *, levels: Levels | None) -> None:
    """Largest range of each station in front of those of the blocks."""
    if levels:
        position = np.array(line["position_mm"])[levels.stations]
        for name, ranges, look in zip(levels.names, levels.range_mpa, style.LEVELS, strict=False):
            axes.plot(position, ranges, label=fitted_text(name, style.TEXT_PT, _NAME_PT), **look)
    stress = line["equivalent_stress_mpa"]
    _along(axes, line, stress, label="largest")
    axes.set_ylim(0.0, 1.12 * max(stress) or 1.0)
    axes.locator_params("y", nbins=3)
    style.title_row(axes, style.scaled(axes.yaxis, "range", "MPa", max(stress)), 0)
    if levels:
        style.legend_above(axes, left_mm=_LEGEND_MM)


def _along(axes: Any, line: Line, values: Any, **more: Any) -> None:
    """A value of every station, those that are not judged hollow, the governing one marked."""
    shown, at = drawn_stations(line), line["governing_index"]
    position, drawn = np.array(line["position_mm"]), np.asarray(values, dtype=np.float64)
    axes.plot(position[shown], drawn[shown], **style.DATA, **style.thin_markers(len(shown)), **more)
    left = shown[~np.array(line["judged"])[shown]]
    if left.size:
        axes.plot(position[left], drawn[left], **style.UNJUDGED)
    axes.plot([position[at]], [drawn[at]], **style.GOVERNING)


def _biaxiality(axes: Any, line: Line, *, bounds: BiaxialityCurves | None) -> None:
    ratio = np.array([np.nan if value is None else value for value in line["biaxiality_ratio"]])
    _along(axes, line, ratio)
    top = 2.0 * max(1.0, float(np.nanmax(ratio)) if np.isfinite(ratio).any() else 1.0)
    axes.set_yscale("symlog", linthresh=0.01, linscale=1.0)
    axes.set_ylim(0.0, top)
    _decades(axes, -2, _BIAXIALITY_MM)
    style.title_row(axes, "biaxiality [–]" + (": ···· bounds of the curve rule" if bounds else ""), 0)
    for edge in (bounds.lower, bounds.upper) if bounds else ():
        axes.axhline(edge, **style.BOUND)


def _ends(axes: Any, position: Sequence[float], given: LineInput) -> None:
    if given.closed or given.exclude_ends_mm <= 0.0:
        return
    first, last, width = position[0], position[-1], given.exclude_ends_mm
    ends = {"start": (first, first + width), "end": (last - width, last)}
    for start, end in (span for name, span in ends.items() if name not in given.symmetric_ends):
        axes.axvspan(start, end, **style.NOT_JUDGED)
    axes.set_xlim(first, last)

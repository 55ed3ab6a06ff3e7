"""Utilisation along weld lines, with range and biaxiality below it, as small pictures of one kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np

from fatcore.figures import against, coordinate

from ...base.text import number
from ...topics.check.judging import BiaxialityCurves
from ...topics.check.lines import LineInput
from ...topics.check.models import CheckRequest
from . import style
from .palette import FULL_MM, Picture, shorten

MOST_PICTURES = 24
_HEADROOM_MM = 20.0  # margins of the whole picture


def line_figures(request: CheckRequest, answer: Mapping[str, Any]) -> list[Picture]:
    """Pictures of the lines with the largest utilisation that have two stations, the governing one across the page."""
    inputs = {line.name: line for line in request.lines}
    ordered = sorted(answer["lines"], key=lambda line: -line["governing_utilisation"])
    shown = [line for line in ordered[:MOST_PICTURES] if len(line["position_mm"]) > 1]
    return [_line_figure(line, inputs[line["name"]], request, wide=line is ordered[0]) for line in shown]


def _line_figure(line: Mapping[str, Any], given: LineInput, request: CheckRequest, *, wide: bool) -> Picture:
    curves = given.curves or request.curves
    bounds = curves if isinstance(curves, BiaxialityCurves) else None
    peaks = given.basis == "peak-stress"
    panels: list[Callable[[Any, Mapping[str, Any]], None]] = [
        _utilisation,
        *([_range] if wide else []),
        *([partial(_biaxiality, bounds=bounds)] if peaks else []),
    ]
    height = _HEADROOM_MM + 34.0 + 26.0 * (len(panels) - 1)

    def draw(drawn: Any) -> None:
        axes = style.panels(drawn, (1.4, 1.0, 1.0)[: len(panels)])
        for panel, content in zip(axes, panels, strict=True):
            content(panel, line)
        style.heading(axes[0], shorten(line["name"], 80 if wide else 42), _short(line))
        for panel in axes:
            _ends(panel, line["position_mm"], given)
        axes[-1].set_xlabel("position along the line [mm]")
        drawn.align_ylabels(axes)

    return style.figure(draw, _words(line), width_mm=FULL_MM if wide else style.HALF_MM, height_mm=height)


def _words(line: Mapping[str, Any]) -> str:
    at = line["governing_index"]
    return (
        f"{line['name']}: utilisation along the line, {against(line['governing_utilisation'], 1.0)}"
        f" of 1 at {coordinate(line['position_mm'][at])} mm, where the equivalent range is"
        f" {number(line['equivalent_stress_mpa'][at])} MPa, {line['verdict']}{_unjudged(line)}"
    )


def _unjudged(line: Mapping[str, Any]) -> str:
    used = line["largest_unjudged_utilisation"]
    return "" if used is None else f"; hollow: not judged, utilisation up to {against(used, 1.0)}"


def _short(line: Mapping[str, Any]) -> str:
    stress = line["equivalent_stress_mpa"][line["governing_index"]]
    return f"◆ utilisation {against(line['governing_utilisation'], 1.0)} at {number(stress)} MPa · - - limit"


def _utilisation(axes: Any, line: Mapping[str, Any]) -> None:
    used = line["utilisation"]
    _along(axes, line, used)
    axes.axhline(1.0, **style.LIMIT)
    axes.set_ylim(0.0, 1.12 * max(1.0, *used))
    axes.set_ylabel("utilisation [–]")


def _range(axes: Any, line: Mapping[str, Any]) -> None:
    stress = line["equivalent_stress_mpa"]
    _along(axes, line, stress)
    axes.set_ylim(0.0, 1.12 * max(stress) or 1.0)
    axes.set_ylabel("range [MPa]")


def _along(axes: Any, line: Mapping[str, Any], values: Any) -> None:
    """A value of every station, those that are not judged hollow, the governing one marked."""
    position, at = line["position_mm"], line["governing_index"]
    axes.plot(position, values, **style.DATA, **style.thin_markers(len(position)))
    _hollow(axes, line, values)
    axes.plot([position[at]], [values[at]], **style.GOVERNING)


def _biaxiality(axes: Any, line: Mapping[str, Any], *, bounds: BiaxialityCurves | None) -> None:
    ratio = np.array([np.nan if value is None else value for value in line["biaxiality_ratio"]])
    _along(axes, line, ratio)
    top = 2.0 * max(1.0, float(np.nanmax(ratio)) if np.isfinite(ratio).any() else 1.0)
    axes.set_yscale("symlog", linthresh=0.01, linscale=0.4)
    axes.set_ylim(0.0, top)
    decades = range(-2, int(np.ceil(np.log10(top))))
    axes.set_yticks([0.0, *(10.0**k for k in decades[len(decades) > 3 :: 1 + len(decades) // 4])])
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.minorticks_off()
    axes.set_ylabel("biaxiality [–]")
    for edge in (bounds.lower, bounds.upper) if bounds else ():
        axes.axhline(edge, **style.BOUND)


def _hollow(axes: Any, line: Mapping[str, Any], values: Any) -> None:
    """Stations that are not judged, over the points of the others."""
    left = ~np.array(line["judged"])
    if left.any():
        axes.plot(np.array(line["position_mm"])[left], np.asarray(values)[left], **style.UNJUDGED)


def _ends(axes: Any, position: Sequence[float], given: LineInput) -> None:
    if given.closed or given.exclude_ends_mm <= 0.0:
        return
    first, last, width = position[0], position[-1], given.exclude_ends_mm
    ends = {"start": (first, first + width), "end": (last - width, last)}
    for start, end in (span for name, span in ends.items() if name not in given.symmetric_ends):
        axes.axvspan(start, end, **style.NOT_JUDGED)
    axes.set_xlim(first, last)

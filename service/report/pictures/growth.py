"""Crack size over the cycles with the milestones of the answer; beside it what drives the crack and what it sheds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from fatcore.figures import rounded_down

from ...base.forms.lives import cycles_text
from ...base.text import end_words, number
from . import style
from .palette import Picture

_SIZE_MM, _PANELS_MM, _BESIDE = 40.0, 21.0, 3.0  # beside: a milestone this many lives away is told, not drawn
_COMPARED = {
    "constant_load_life_cycles": "life without sharing",
    "life_without_retardation_cycles": "life without retardation",
    "life_without_compression_cycles": "life without compression",
}
_DRIVES = ("delta_k_deepest_mpa_sqrt_mm", "delta_k_surface_mpa_sqrt_mm")
_FIRST_SIZE = {"depth": "depth", "buried": "half size", "unknown": "size"}  # else it goes through the wall


class Milestone(NamedTuple):
    """A number of cycles that the picture marks."""

    cycles: float
    words: str


def growth_figures(answer: Mapping[str, Any]) -> list[Picture]:
    """Pictures of a growing crack; load share and stiffness are there when something shares the load."""
    return [_size_figure(answer), _drive_figure(answer["history"])]


def milestones(answer: Mapping[str, Any]) -> list[Milestone]:
    """Cycles that the answer tells besides the end: through the wall, lives without an effect, those asked."""
    history, life = answer["history"], answer["life_cycles"]
    wall = _wall_index(history)
    found = [] if wall is None else [Milestone(history["elapsed_cycles"][wall], "through the wall")]
    found += [Milestone(answer[key], words) for key, words in _COMPARED.items() if answer[key] is not None]
    if answer.get("repeats_asked") is not None and life and answer["life_repeats"]:
        found.append(Milestone(answer["repeats_asked"] * life / answer["life_repeats"], "cycles asked"))
    return found


def _wall_index(history: Mapping[str, Any]) -> int | None:
    """First point of a surface crack as a through crack: driven alike at both points, and no deeper, ever after."""
    depth, deepest, surface = (history[key] for key in ("depth_mm", *_DRIVES))
    if depth is None or surface is None:
        return None
    at = len(depth)
    while at and depth[at - 1] == depth[-1] and deepest[at - 1] == surface[at - 1]:
        at -= 1
    return at if 0 < at < len(depth) else None


def _size_figure(answer: Mapping[str, Any]) -> Picture:
    history = answer["history"]
    cycles, sizes = history["elapsed_cycles"], _sizes(history)
    marked = [each for each in milestones(answer) if each.cycles <= _BESIDE * cycles[-1]]
    top_mm = style.legend_mm(len(sizes) + len(marked) + 1)

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=top_mm)
        for (name, size), look in zip(sizes.items(), (style.DATA, style.SECOND), strict=False):
            axes.plot(cycles, size, label=name, **look)
        ends = [size[-1] for size in sizes.values()]
        end = f"end: {answer['end_reason'].replace('-', ' ')}"
        axes.plot(cycles[-1:] * len(ends), ends, label=end, **style.GOVERNING)
        for each, look in zip(marked, style.MILESTONES, strict=False):
            axes.axvline(each.cycles, label=each.words, **look)
        axes.set_ylim(bottom=0.0)
        axes.set_ylabel(style.scaled(axes.yaxis, "crack size", "mm", max(map(max, sizes.values()))))
        _finish(axes, max(cycles[-1], *(each.cycles for each in marked), 0.0))
        style.legend_above(axes)

    height = top_mm + _SIZE_MM + style.MARGINS_MM["bottom"]
    return style.figure(draw, "Crack size in mm over the cycles", _words(answer), height_mm=height)


def _sizes(history: Mapping[str, Any]) -> dict[str, list[float]]:
    """The columns of sizes by what they are of this crack."""
    first, half = history["depth_mm"], history["half_length_mm"]
    name = _FIRST_SIZE.get(history["size_kind"])
    named = {"half length": half or first} if name is None else {name: first, "half length": half}
    return {name: size for name, size in named.items() if size is not None}


def _words(answer: Mapping[str, Any]) -> str:
    history = answer["history"]
    told = [f"{name} {number(size[0])} to {number(size[-1])} mm" for name, size in _sizes(history).items()]
    told.append(f"end at {cycles_text(history['elapsed_cycles'][-1])}: {end_words(answer)}")
    return "; ".join([*told, *(f"{each.words} {rounded_down(each.cycles)}" for each in milestones(answer))])


def _drive_figure(history: Mapping[str, Any]) -> Picture:
    cycles, (deepest, surface) = history["elapsed_cycles"], (history[key] for key in _DRIVES)
    alone = surface in (None, deepest)
    drives = {"crack tip": deepest} if alone else {"deepest point": deepest, "at the surface": surface}
    given = {"load share": history["load_share"], "stiffness": history["stiffness_ratio"]}
    shares = {name: column for name, column in given.items() if column is not None}
    rows = [columns for columns in (drives, shares) if columns]
    top_mm, gaps = style.legend_mm(len(drives)), [style.legend_mm(2) + style.GAP_MM] * (len(rows) - 1)

    def draw(drawn: Any) -> None:
        axes = style.panels(drawn, [1.0] * len(rows), top_mm=top_mm, gaps_mm=gaps)
        _pair(axes[0], cycles, drives)
        axes[0].set_ylabel(style.scaled(axes[0].yaxis, "ΔK", "MPa√mm", max(map(max, drives.values()))))
        if shares:
            _pair(axes[1], cycles, {name: [100.0 * each for each in column] for name, column in shares.items()})
            axes[1].set_ylabel("left [%]")
        _finish(axes[-1], cycles[-1])
        drawn.align_ylabels(axes)

    told = [f"{name}: {number(column[0])} to {number(column[-1])} MPa√mm" for name, column in drives.items()]
    told += [f"{name}: {number(100.0 * column[-1])} % at the end" for name, column in shares.items()]
    label = "Range of stress intensity" + (", load share and stiffness" if shares else "") + " over the cycles"
    room = _PANELS_MM * 2.0 if shares else _SIZE_MM
    height = top_mm + room + sum(gaps) + style.MARGINS_MM["bottom"]
    return style.figure(draw, label, "; ".join(told), height_mm=height)


def _pair(axes: Any, cycles: Sequence[float], columns: Mapping[str, Sequence[float]]) -> None:
    for (name, column), look in zip(columns.items(), (style.DATA, style.SECOND), strict=False):
        axes.plot(cycles, column, label=name, **look)
        axes.plot(cycles[-1:], column[-1:], **style.GOVERNING)
    axes.set_ylim(bottom=0.0)
    style.legend_above(axes)


def _finish(axes: Any, last: float) -> None:
    axes.set_xlim(0.0, 1.04 * last or 1.0)
    axes.set_xlabel(style.scaled(axes.xaxis, "cycles", "", last))
    axes.locator_params("x", nbins=6)

"""Tests and the lines through them: lives against ranges, growth rates against ranges of stress intensity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib import ticker

from fatcore.curves.curve import Curve
from fatcore.require import FloatArray

from ...base.text import number
from . import style
from .palette import AMBER, BLACK, BLUE, GREY, SKY, VERMILION, Picture, shorten

_MARKS = ("o", "s", "^", "D", "v", "P", "X", "*")
_COLOURS = (BLUE, VERMILION, AMBER, SKY, GREY, BLACK)
_NAME = 28  # characters of a name in a legend
_LEGEND = 8  # specimens that are named apart


def sn_figure(answer: Mapping[str, Any], series: Sequence[Any], curve: Curve | None) -> Picture:
    """Every test of the series, run-outs with an arrow, the line with its bands and the design curve.

    series : of the request: the one evaluated, and the one it is compared with; curve: beside which the tests are put
    """

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=3.0)
        ranges = np.array(answer["range_mpa"])
        axes.fill_betweenx(
            ranges,
            answer["life_low_cycles"],
            answer["life_high_cycles"],
            label="confidence of the median",
            **style.BAND,
        )
        axes.plot(answer["life_median_cycles"], ranges, label="median", **style.MEAN)
        axes.plot(answer["life_tolerance_cycles"], ranges, label="lower tolerance limit", **style.BOUND)
        lives = _lives(series)
        axes.plot(
            lives, _on_line(answer["design_curve"], lives), label=f"design curve, rule {answer['rule']}", **style.DESIGN
        )
        if curve is not None:
            axes.plot(lives, curve.range_mpa(lives), label=shorten(curve.id, _NAME), **style.LIMIT)
        for place, each in enumerate(series):
            _tests(axes, each, place)
        _sn_axes(axes, series)

    label = (
        f"Tests of {answer['name']}: stress range in MPa over cycles; slope {number(answer['slope'])}, median range at"
        f" two million cycles {number(answer['range_at_two_million_mpa'])} MPa"
    )
    return style.figure(draw, label, height_mm=100.0)


def _lives(series: Sequence[Any]) -> FloatArray:
    lives = np.concatenate([each.life_cycles for each in series])
    low, high = np.floor(np.log10(lives.min())), np.ceil(np.log10(max(lives.max(), 2e6)))
    return np.logspace(low, high, 61)


def _on_line(line: Mapping[str, Any], lives: FloatArray) -> FloatArray:
    """Ranges of a line of one slope."""
    constant, slope = line["log10_constants"][0], line["slopes"][0]
    return np.asarray(10.0 ** ((constant - np.log10(lives)) / slope))


def _tests(axes: Any, series: Any, place: int) -> None:
    life, stress = np.array(series.life_cycles), np.array(series.range_mpa)
    stopped = ~series.failed
    look = {"marker": _MARKS[place], "color": _COLOURS[place], "linestyle": "none", "markersize": 4.5, "zorder": 4}
    axes.plot(life[~stopped], stress[~stopped], label=shorten(series.name, _NAME), **look)
    if stopped.any():
        axes.plot(
            life[stopped],
            stress[stopped],
            label=f"{shorten(series.name, _NAME)}, run-outs",
            markerfacecolor="#ffffff",
            **look,
        )
        for x, y in zip(life[stopped], stress[stopped], strict=True):
            arrow = {"arrowstyle": "->", "color": _COLOURS[place], "linewidth": 0.8}
            axes.annotate("", (x, y), (14.0, 0.0), "data", "offset points", arrowprops={**arrow, "arrowstyle": "<-"})


def _sn_axes(axes: Any, series: Sequence[Any]) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    stress = np.concatenate([each.range_mpa for each in series])
    axes.set_ylim(0.5 * stress.min(), 1.5 * stress.max())
    lives = _lives(series)
    axes.set_xlim(lives[0], lives[-1])
    axes.set_xlabel("cycles")
    axes.set_ylabel("stress range [MPa]")
    style.cycle_ticks(axes)
    style.stress_ticks(axes)
    axes.legend(loc="lower left")


def rates_figure(answer: Mapping[str, Any]) -> Picture:
    """Rates of every specimen, the mean law and the one two standard deviations above."""
    specimens = answer["specimens"]

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=3.0)
        for place, each in enumerate(specimens):
            rate = np.array(each["rate_mm_per_cycle"])
            grew = rate > 0.0
            name = {"label": shorten(each["name"], _NAME)} if place < _LEGEND else {}
            look = {"marker": _MARKS[place % len(_MARKS)], "color": _COLOURS[place % len(_COLOURS)], "markersize": 3.5}
            axes.plot(np.array(each["delta_k_mpa_sqrt_mm"])[grew], rate[grew], linestyle="none", **look, **name)
        if answer["mean_law"] is not None:
            _laws(axes, answer, _span(specimens))
        _rate_axes(axes)

    count = len(specimens)
    label = (
        f"Growth rate in mm per cycle over the range of stress intensity, {count} specimen{'s' if count > 1 else ''}"
    )
    return style.figure(draw, label, height_mm=100.0)


def _laws(axes: Any, answer: Mapping[str, Any], span: FloatArray) -> None:
    mean, upper = (answer[name]["stages"][0] for name in ("mean_law", "upper_law"))
    rate = mean["coefficient"] * span ** mean["exponent"]
    factor = upper["coefficient"] / mean["coefficient"]
    axes.plot(span, rate, label="mean law", **style.DESIGN)
    axes.plot(span, rate * factor, label="two standard deviations above", **style.LIMIT)
    axes.plot(span, rate / factor, label="two below", **style.BOUND)


def _span(specimens: Sequence[Mapping[str, Any]]) -> FloatArray:
    every = np.concatenate([each["delta_k_mpa_sqrt_mm"] for each in specimens])
    return np.geomspace(every.min(), every.max(), 31)


def _rate_axes(axes: Any) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlabel("ΔK [MPa√mm]")
    axes.set_ylabel("growth rate [mm/cycle]")
    axes.yaxis.set_major_formatter(style.power_of_ten)
    axes.xaxis.set_major_locator(ticker.LogLocator(base=10.0, subs=(1.0, 2.0, 5.0), numticks=20))
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.xaxis.set_minor_formatter(ticker.NullFormatter())
    axes.legend(loc="upper left")

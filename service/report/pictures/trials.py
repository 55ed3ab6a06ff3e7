"""Tests and the lines through them: lives against ranges, growth rates against ranges of stress intensity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib import ticker

from fatcore.curves.curve import Curve
from fatcore.require import FloatArray
from fatcore.trials.sn.series import TrialSeries

from ...base.text import number
from . import style
from .palette import AMBER, BLACK, BLUE, GREY, SKY, VERMILION, Picture, shorten

_MARKS = ("o", "s", "^", "D", "v", "P", "X", "*")
_COLOURS = (BLUE, VERMILION, AMBER, SKY, GREY, BLACK)
_NAME = 24  # characters of a name in a legend
_NAMED = 8  # specimens that are named apart
_PLOT_MM, _LEFT_MM = 62.0, 18.0  # left of the rates: powers of ten with a digit before them


def sn_figure(answer: Mapping[str, Any], series: Sequence[TrialSeries], curve: Curve | None) -> Picture:
    """Every test of the series, open ones stopped whole, the line with its bands and the design curve.

    series : the one evaluated, and the one it is compared with; curve: beside which the tests are put
    """
    entries = 4 + (curve is not None) + sum(1 + (not each.failed.all()) for each in series)
    lives = _lives(series)

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=style.legend_mm(entries))
        ranges = np.array(answer["range_mpa"])
        low, high = answer["life_low_cycles"], answer["life_high_cycles"]
        axes.fill_betweenx(ranges, low, high, label="confidence", **style.BAND)
        axes.plot(answer["life_median_cycles"], ranges, label="median", **style.MEAN)
        axes.plot(answer["life_tolerance_cycles"], ranges, label="tolerance limit", **style.BOUND)
        design = f"design, {answer['rule']}"
        axes.plot(lives, _on_line(answer["design_curve"], lives), label=design, **style.DESIGN)
        if curve is not None:
            axes.plot(lives, curve.range_mpa(lives), label=shorten(curve.id, _NAME), **style.LIMIT)
        for place, each in enumerate(series):
            _tests(axes, each, place)
        _sn_axes(axes, series, lives)

    words = (
        f"{answer['tests']} tests, {answer['run_outs']} stopped whole; slope {number(answer['slope'])}, median range at"
        f" two million cycles {number(answer['range_at_two_million_mpa'])} MPa"
    )
    label = f"Tests of {shorten(answer['name'], 80)}: stress range in MPa over cycles"
    return style.figure(draw, label, words, height_mm=_PLOT_MM + style.legend_mm(entries))


def _lives(series: Sequence[TrialSeries]) -> FloatArray:
    lives = np.concatenate([np.asarray(each.life_cycles, np.float64) for each in series])
    low, high = np.floor(np.log10(lives.min())), np.ceil(np.log10(max(float(lives.max()), 2e6)))
    return np.logspace(low, high, 61)


def _on_line(line: Mapping[str, Any], lives: FloatArray) -> FloatArray:
    """Ranges of a line of one slope."""
    constant, slope = line["log10_constants"][0], line["slopes"][0]
    return np.asarray(10.0 ** ((constant - np.log10(lives)) / slope))


def _tests(axes: Any, series: TrialSeries, place: int) -> None:
    life, stress, failed = np.asarray(series.life_cycles), np.asarray(series.range_mpa), series.failed
    look = {"marker": _MARKS[place], "color": _COLOURS[place], "linestyle": "none", "markersize": 3.6, "zorder": 4}
    axes.plot(life[failed], stress[failed], label=shorten(series.name, _NAME), **look)
    if not failed.all():
        axes.plot(life[~failed], stress[~failed], label="run-outs", markerfacecolor="#ffffff", **look)


def _sn_axes(axes: Any, series: Sequence[TrialSeries], lives: FloatArray) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    stress = np.concatenate([np.asarray(each.range_mpa, np.float64) for each in series])
    axes.set_ylim(0.5 * stress.min(), 1.5 * stress.max())
    axes.set_xlim(lives[0], lives[-1])
    axes.set_xlabel("cycles")
    axes.set_ylabel("stress range [MPa]")
    style.cycle_ticks(axes)
    style.stress_ticks(axes)
    style.legend_above(axes)


def rates_figure(answer: Mapping[str, Any]) -> Picture:
    """Rates of every specimen, the mean law, the upper one and the line as far below."""
    specimens = answer["specimens"]
    with_law = answer["mean_law"] is not None
    entries = min(len(specimens), _NAMED) + 3 * with_law

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=style.legend_mm(entries), left_mm=_LEFT_MM)
        for place, each in enumerate(specimens):
            _rates(axes, each, place)
        if with_law:
            _laws(axes, answer, _span(specimens))
        _rate_axes(axes)

    count = len(specimens)
    label = (
        f"Growth rate in mm per cycle over the range of stress intensity, {count} specimen{'s' if count > 1 else ''}"
    )
    return style.figure(draw, label, _rate_words(answer), height_mm=_PLOT_MM + style.legend_mm(entries))


def _rate_words(answer: Mapping[str, Any]) -> str:
    every = [rate for each in answer["specimens"] for rate in each["rate_mm_per_cycle"]]
    words = f"{len(every)} rates, {number(min(every))} to {number(max(every))} mm per cycle"
    if answer["mean_law"] is None:
        return words
    stage = answer["mean_law"]["stages"][0]
    return f"{words}; mean law with coefficient {number(stage['coefficient'])}, exponent {number(stage['exponent'])}"


def _rates(axes: Any, specimen: Mapping[str, Any], place: int) -> None:
    rate, delta_k = np.array(specimen["rate_mm_per_cycle"]), np.array(specimen["delta_k_mpa_sqrt_mm"])
    name = {"label": shorten(specimen["name"], _NAME)} if place < _NAMED else {}
    look = {"marker": _MARKS[place % len(_MARKS)], "color": _COLOURS[place % len(_COLOURS)], "markersize": 2.6}
    axes.plot(delta_k[rate > 0.0], rate[rate > 0.0], linestyle="none", **look, **name)


def _laws(axes: Any, answer: Mapping[str, Any], span: FloatArray) -> None:
    mean = answer["mean_law"]["stages"][0]
    rate = mean["coefficient"] * span ** mean["exponent"]
    axes.plot(span, rate, label="mean law", **style.DESIGN)
    if answer["upper_law"] is None:
        return
    factor = answer["upper_law"]["stages"][0]["coefficient"] / mean["coefficient"]
    axes.plot(span, rate * factor, label="upper law", **style.LIMIT)
    axes.plot(span, rate / factor, label="as far below", **style.BOUND)


def _span(specimens: Sequence[Mapping[str, Any]]) -> FloatArray:
    every = np.concatenate([each["delta_k_mpa_sqrt_mm"] for each in specimens])
    return np.geomspace(every.min(), every.max(), 31)


def _rate_axes(axes: Any) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlabel("ΔK [MPa√mm]")
    axes.set_ylabel("growth rate [mm/cycle]")
    style.stress_ticks(axes)
    axes.xaxis.set_major_locator(ticker.LogLocator(base=10.0, subs=(1.0, 2.0, 5.0), numticks=20))
    axes.xaxis.set_major_formatter(style.log_labels(*axes.get_xlim()))
    axes.xaxis.set_minor_formatter(ticker.NullFormatter())
    style.legend_above(axes)

"""Range over exceedances, and which ranges do the damage, on one ordinate."""

from __future__ import annotations

from typing import Any

import numpy as np

from fatcore.require import FloatArray

from ...base.text import number
from . import style
from .palette import Picture

CLASSES = 25
MOST_STEPS = 2_000
_HEIGHT_MM = 50.0


def exceedance(range_mpa: FloatArray, count: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ranges falling, and how many cycles reach each of them; thinned to what a picture can show.

    >>> exceedance(np.array([10.0, 30.0]), np.array([5.0, 1.0]))
    (array([30., 10.]), array([1., 6.]))
    """
    order = np.argsort(-range_mpa, kind="stable")
    ranges, reached = range_mpa[order], np.cumsum(count[order])
    if ranges.size > MOST_STEPS:
        keep = np.unique(np.geomspace(1, ranges.size, MOST_STEPS).astype(np.intp)) - 1
        ranges, reached = ranges[keep], reached[keep]
    return ranges, reached


def damage_share(range_mpa: FloatArray, damage: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Middles of equal classes of range, and the share of the damage that falls into each [%]."""
    top = float(range_mpa.max()) * (1.0 + 1e-9)
    shares, edges = np.histogram(range_mpa, bins=CLASSES, range=(0.0, top), weights=damage)
    total = float(damage.sum())
    return (edges[:-1] + edges[1:]) / 2.0, 100.0 * shares / (total if total > 0.0 else 1.0)


def exceedance_figures(
    range_mpa: FloatArray, count: FloatArray, damage: FloatArray, *, cut_off_mpa: float | None = None
) -> list[Picture]:
    """Exceedances, and the share of the damage by range, on one ordinate; none when no cycle has a range."""
    if not (range_mpa > 0.0).any():
        return []
    top = float(range_mpa.max())
    bound = cut_off_mpa if cut_off_mpa is not None and cut_off_mpa < top else None
    return [_exceedance(range_mpa, count, bound), _shares(range_mpa, damage, bound)]


def _exceedance(range_mpa: FloatArray, count: FloatArray, bound: float | None) -> Picture:
    ranges, reached = exceedance(range_mpa, count)

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=style.legend_mm(1))
        # a step starts at the least count that can be shown, so that the largest range is seen
        axes.step(np.r_[reached[0] / 100.0, reached], np.r_[ranges[0], ranges], where="pre", **style.DATA)
        axes.set_xscale("log")
        axes.set_xlim(10.0 ** np.floor(np.log10(reached[0] / 3.0)), 10.0 ** np.ceil(np.log10(reached[-1])))
        style.cycle_ticks(axes)
        axes.set_xlabel("cycles that reach the range")
        _ordinate(axes, float(ranges[0]), bound)

    words = (
        f"{number(float(reached[-1]))} cycles, {number(float(reached[0]))} of them at {number(float(ranges[0]))} MPa"
    )
    return style.figure(draw, "Range in MPa over exceedances", words, height_mm=_HEIGHT_MM)


def _shares(range_mpa: FloatArray, damage: FloatArray, bound: float | None) -> Picture:
    middles, shares = damage_share(range_mpa, damage)

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=style.legend_mm(1))
        seen = shares > 0.0
        axes.barh(middles[seen], shares[seen], height=(middles[1] - middles[0]) * 0.9, **style.SHARE)
        axes.set_xlabel("share of the damage [%]")
        _ordinate(axes, float(range_mpa.max()), bound)

    most = int(shares.argmax())
    words = f"most, {number(float(shares[most]), 3)} %, in the class round {number(float(middles[most]), 3)} MPa"
    return style.figure(draw, "Share of the damage in % by range in MPa", words, height_mm=_HEIGHT_MM)


def _ordinate(axes: Any, top: float, bound: float | None) -> None:
    axes.set_ylabel(style.scaled(axes.yaxis, "range", "MPa", top))
    axes.set_ylim(0.0, top * 1.08)
    if bound is not None:
        axes.axhline(bound, label=f"cut-off {number(bound)} MPa", **style.BOUND)
        style.legend_above(axes)

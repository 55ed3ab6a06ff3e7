"""Range over exceedances, and which ranges do the damage, side by side on one ordinate."""

from __future__ import annotations

from typing import Any

import numpy as np

from fatcore.require import FloatArray

from ...base.text import number
from . import style
from .palette import Picture

CLASSES = 25
MOST_STEPS = 2_000


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


def exceedance_figure(
    range_mpa: FloatArray, count: FloatArray, damage: FloatArray, *, cut_off_mpa: float | None = None
) -> Picture | None:
    """The picture; None when no cycle has a range."""
    if not (range_mpa > 0.0).any():
        return None
    ranges, reached = exceedance(range_mpa, count)
    middles, shares = damage_share(range_mpa, damage)

    def draw(drawn: Any) -> None:
        left, right = _side_by_side(drawn)
        # a step starts at the least count that can be shown, so that the largest range is seen
        left.step(np.r_[reached[0] / 100.0, reached], np.r_[ranges[0], ranges], where="pre", **style.DATA)
        left.set_xscale("log")
        style.cycle_ticks(left)
        left.set_xlim(10.0 ** np.floor(np.log10(reached[0] / 3.0)), 10.0 ** np.ceil(np.log10(reached[-1])))
        left.set_xlabel("cycles that reach the range")
        left.set_ylabel("range [MPa]")
        left.set_ylim(0.0, float(ranges[0]) * 1.08)
        right.barh(middles, shares, height=(middles[1] - middles[0]) * 0.9, **style.SHARE)
        right.set_xlabel("share of the damage [%]")
        for axes in (left, right):
            if cut_off_mpa is not None and cut_off_mpa < float(ranges[0]):
                axes.axhline(cut_off_mpa, label=f"cut-off {number(cut_off_mpa)} MPa", **style.BOUND)
        if left.get_legend_handles_labels()[0]:
            left.legend(loc="upper right")

    label = (
        f"Range over exceedances, {number(float(reached[-1]))} cycles up to {number(float(ranges[0]))} MPa, "
        "and the share of the damage by range"
    )
    return style.figure(draw, label, height_mm=66.0)


def _side_by_side(drawn: Any) -> tuple[Any, Any]:
    grid = drawn.add_gridspec(1, 2, width_ratios=(1.6, 1.0), left=0.085, right=0.98, bottom=0.17, top=0.93, wspace=0.08)
    left = drawn.add_subplot(grid[0])
    right = drawn.add_subplot(grid[1], sharey=left)
    right.tick_params(labelleft=False)
    return left, right

"""The point on the design curve, with the band of the curve's own scatter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fatcore.curves.curve import Curve
from fatcore.figures import as_given, rounded_down
from fatcore.require import FloatArray

from ...base.text import number
from . import style
from .palette import Picture

_PLOT_MM = 47.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """What is put on the curve: cycles, and the constant range that does the same damage in them.

    largest_mpa : largest range of the loading, drawn as a line when it differs
    """

    cycles: float
    range_mpa: float
    largest_mpa: float


def applied_point(curve: Curve, cycles: float, damage: float, largest_mpa: float) -> CurvePoint | None:
    """The constant range that does a damage in a number of cycles on one curve; None without damage.

    >>> line = Curve.from_point(id="c", source="own", range_mpa=100.0, slopes=[3.0])
    >>> round(applied_point(line, 1e6, 0.5, 120.0).range_mpa, 9)
    100.0
    """
    if not (damage > 0.0 and cycles > 0.0):
        return None
    return CurvePoint(cycles=cycles, range_mpa=float(curve.range_mpa(cycles / damage)), largest_mpa=largest_mpa)


def curve_figure(design: Curve, base: Curve, point: CurvePoint | None, damage_limit: float) -> Picture:
    """Design curve as used, survival band of the curve where its source states the scatter, and the point."""
    lives = _lives(design, point)
    stress = design.quantity == "stress range"
    unit, ordinate = ("MPa", "stress range [MPa]") if stress else ("MJ/m³", "density range [MJ/m³]")
    entries = _entries(base, point, damage_limit)

    def draw(drawn: Any) -> None:
        (axes,) = style.panels(drawn, top_mm=style.legend_mm(entries))
        _band(axes, base, lives)
        axes.plot(lives, design.range_at(lives), label=_design_name(design), **style.DESIGN)
        if damage_limit != 1.0:
            name = f"damage limit {number(damage_limit)}"
            axes.plot(lives * damage_limit, design.range_at(lives), label=name, **style.LIMIT)
        if point:
            _point(axes, point)
        _finish(axes, lives, ordinate)

    first, last = rounded_down(lives[0]), rounded_down(lives[-1])
    words = f"Design curve {design.id} from {first} to {last} cycles on logarithmic scales"
    if has_band(base):
        words += "; a band of 10 to 90 % survival by the source of the curve"
    if point:
        words += f"; the point lies at {number(point.cycles)} cycles and {number(point.range_mpa)} MPa"
        words += f"; the largest range is {number(point.largest_mpa)} MPa"
    label = f"Design curve {design.id}: {design.quantity} in {unit} over cycles"
    return style.figure(draw, label, words, height_mm=_PLOT_MM + style.legend_mm(entries))


def has_band(base: Curve) -> bool:
    """Whether the source of a curve states what a band needs: the survival probability and the scatter."""
    return base.survival_probability is not None and base.sd_log10_cycles is not None


def _entries(base: Curve, point: CurvePoint | None, damage_limit: float) -> int:
    above = point is not None and _is_above(point)
    return 1 + 2 * has_band(base) + (damage_limit != 1.0) + (point is not None) + above


def _design_name(design: Curve) -> str:
    survival = design.survival_probability
    return "design curve" if survival is None else f"design, survival {as_given(100.0 * survival)} %"


def _lives(design: Curve, point: CurvePoint | None) -> FloatArray:
    marks = [1e4, 1e8, *design.knee_cycles()]
    cut_off = design.cut_off_cycles()
    marks += [cut_off] if cut_off else []
    if point:
        marks += [point.cycles / 3.0, point.cycles * 3.0, float(design.life_cycles(point.range_mpa)) * 3.0]
    inside = [mark for mark in marks if 1.0 <= mark <= 1e14]
    low, high = np.floor(np.log10(min(inside))), np.ceil(np.log10(max(inside)))
    corners = [mark for mark in [*design.knee_cycles(), cut_off or 0.0] if 10**low < mark < 10**high]
    return np.unique(np.concatenate([np.logspace(low, high, 121), corners]))


def _band(axes: Any, base: Curve, lives: FloatArray) -> None:
    if not has_band(base):
        return
    low, mean, high = (base.at_survival(share).range_at(lives) for share in (0.9, 0.5, 0.1))
    axes.fill_between(lives, low, high, label="survival 10 to 90 %", **style.BAND)
    axes.plot(lives, mean, label="survival 50 %", **style.MEAN)


def _point(axes: Any, point: CurvePoint) -> None:
    axes.plot([point.cycles], [point.range_mpa], label="equivalent range", **style.GOVERNING)
    if _is_above(point):
        axes.axhline(point.largest_mpa, label=f"largest {number(point.largest_mpa)} MPa", **style.BOUND)


def _is_above(point: CurvePoint) -> bool:
    return point.largest_mpa > 1.001 * point.range_mpa


def _finish(axes: Any, lives: Sequence[float] | FloatArray, ordinate: str) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(lives[0], lives[-1])
    axes.set_xlabel("cycles")
    axes.set_ylabel(ordinate)
    style.cycle_ticks(axes)
    style.stress_ticks(axes)
    style.legend_above(axes)

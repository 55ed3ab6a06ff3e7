"""Crack size, range of stress intensity and load share over the cycles, one above the other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...base.text import number
from . import style
from .palette import Picture


def growth_figure(history: Mapping[str, Any]) -> Picture:
    """The picture of a growing crack; the load share is there when something shares the load."""
    shared = history["load_share"] is not None
    cycles = history["elapsed_cycles"]

    def draw(drawn: Any) -> None:
        axes = style.panels(drawn, (1.2, 1.2, 1.0) if shared else (1.0, 1.0), top_mm=3.0, right_mm=8.0)
        named = (("depth", history["depth_mm"]), ("half length", history["half_length_mm"]))
        sizes = [(name, column) for name, column in named if column is not None]
        (name, first), (other, second) = (*sizes, ("", None))[:2]
        _pair(axes[0], cycles, first, second, (name, other))
        axes[0].set_ylabel("crack size [mm]")
        deepest, surface = history["delta_k_deepest_mpa_sqrt_mm"], history["delta_k_surface_mpa_sqrt_mm"]
        _pair(axes[1], cycles, deepest, surface, ("deepest point", "at the surface"))
        axes[1].set_ylabel("ΔK [MPa√mm]")
        if shared:
            axes[2].plot(cycles, [100.0 * share for share in history["load_share"]], **style.DATA)
            axes[2].set_ylabel("load share [%]")
            axes[2].set_ylim(bottom=0.0)
        axes[-1].set_xlabel("cycles")
        axes[-1].set_xlim(0.0, 1.02 * cycles[-1] or 1.0)
        axes[-1].xaxis.set_major_formatter(_cycles)
        axes[-1].locator_params("x", nbins=8)
        drawn.align_ylabels(axes)

    label = f"Crack size and range of stress intensity{' and load share' if shared else ''} over the cycles"
    return style.figure(draw, label, height_mm=140.0 if shared else 105.0)


def _cycles(value: float, _: object) -> str:
    return number(value)


def _pair(axes: Any, cycles: list[float], first: list[float], second: Any, names: tuple[str, str]) -> None:
    axes.plot(cycles, first, label=names[0], **style.DATA)
    if second is not None:
        axes.plot(cycles, second, label=names[1], **style.SECOND)
        axes.legend(loc="upper left")
    axes.plot(cycles[-1:], first[-1:], **style.GOVERNING)
    axes.set_ylim(bottom=0.0)

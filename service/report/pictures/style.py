"""One look for every diagram: line styles, sizes; draws with matplotlib to inline SVG.

Text stays text, in the generic family of the reader's machine.
"""

from __future__ import annotations

import io
import threading
import warnings
from collections.abc import Callable, Sequence
from typing import Any

import matplotlib
import numpy as np
from matplotlib import ticker
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from .markup import inline_svg
from .palette import AMBER, BLACK, BLUE, GREY, HALF_MM, SKY, VERMILION, Picture

DATA = {"color": BLUE, "linestyle": "-", "linewidth": 1.5}
SECOND = {"color": VERMILION, "linestyle": (0, (6, 1.5, 1.5, 1.5)), "linewidth": 1.5}
LIMIT = {"color": VERMILION, "linestyle": (0, (5, 2)), "linewidth": 1.3}
# ranges by block, behind the largest: light, told apart by their dashes
LEVELS = (
    {"color": "#7a8a00", "linestyle": "-", "linewidth": 0.9},
    {"color": "#a05195", "linestyle": (0, (4, 1.2)), "linewidth": 0.9},
    {"color": GREY, "linestyle": (0, (1, 1.2)), "linewidth": 1.1},
)
MILESTONES = (
    {"color": BLACK, "linestyle": (0, (1, 1.2)), "linewidth": 1.2},
    {"color": GREY, "linestyle": (0, (6, 2)), "linewidth": 1.0},
    {"color": GREY, "linestyle": (0, (6, 2, 1, 2)), "linewidth": 1.0},
    {"color": GREY, "linestyle": (0, (3, 1)), "linewidth": 1.6},
    {"color": GREY, "linestyle": "-", "linewidth": 0.7},
)
BOUND = {"color": GREY, "linestyle": (0, (1, 1.5)), "linewidth": 1.0}
DESIGN = {"color": BLACK, "linestyle": "-", "linewidth": 1.5}
MEAN = {"color": GREY, "linestyle": (0, (7, 2, 1, 2)), "linewidth": 1.0}
BAND = {"facecolor": SKY, "alpha": 0.28, "edgecolor": GREY, "linewidth": 0.5}
SHARE = {"facecolor": AMBER, "alpha": 0.75, "edgecolor": BLACK, "linewidth": 0.5}
NOT_JUDGED = {
    "facecolor": "#e9ebee",
    "edgecolor": "#b8bec5",
    "hatch": "////",
    "linewidth": 0.0,
    "zorder": 0.5,
}
GOVERNING = {
    "color": BLACK,
    "marker": "D",
    "markersize": 6.0,
    "markerfacecolor": AMBER,
    "markeredgewidth": 1.1,
    "linestyle": "none",
    "zorder": 5,
    "clip_on": False,
}

UNJUDGED = {
    "color": BLUE,
    "marker": "o",
    "markersize": 3.6,
    "markerfacecolor": "#ffffff",
    "markeredgewidth": 0.9,
    "linestyle": "none",
    "zorder": 4,
    "clip_on": False,
}

# a picture is 88 mm wide, the width of a phone: what is printed in 8 points has 11 px there
LEGEND_ROW_MM, GAP_MM, EDGE_MM = 3.5, 1.2, 0.8
POINTS_PER_MM = 72.0 / 25.4
MARGINS_MM = {"left": 15.5, "right": 4.5, "top": 8.5, "bottom": 10.2}

TEXT_PT, TITLE_PT = 8.0, 8.5
RC = {
    "svg.fonttype": "none",
    "svg.hashsalt": "toeline",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": TEXT_PT,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "axes.grid": True,
    "grid.linewidth": 0.4,
    "grid.color": "#d0d0d0",
    "legend.fontsize": TEXT_PT,
    "legend.frameon": False,
    "legend.borderpad": 0.0,
    "legend.borderaxespad": 0.35,
    "legend.labelspacing": 0.2,
    "legend.handlelength": 1.9,
    "legend.handletextpad": 0.5,
    "legend.columnspacing": 1.0,
    "text.usetex": False,
    "text.parse_math": False,
    "axes.unicode_minus": True,
}

LARGE, SMALL = 1e4, 1e-2  # beyond which figures get a power of ten
FEW_DECADES = 2.5

# matplotlib keeps its settings in one place of the process, and is not made for threads
_lock = threading.Lock()


def figure(
    draw: Callable[[Any], None], label: str, description: str = "", *, width_mm: float = HALF_MM, height_mm: float
) -> Picture:
    """The picture that a function draws into an empty matplotlib figure; the same drawing gives the same bytes."""
    text = io.StringIO()
    with _lock, matplotlib.rc_context(RC), warnings.catch_warnings():
        # a letter that the measuring font lacks is drawn by the reader's font all the same
        warnings.filterwarnings("ignore", "Glyph", UserWarning)
        drawn = Figure(figsize=(width_mm / 25.4, height_mm / 25.4))
        FigureCanvasSVG(drawn)
        draw(drawn)
        drawn.savefig(text, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    return Picture(*inline_svg(text.getvalue()), label, width_mm, description)


def panels(
    drawn: Any,
    ratios: Sequence[float] = (1.0,),
    *,
    top_mm: float = MARGINS_MM["top"],
    left_mm: float = MARGINS_MM["left"],
    gaps_mm: Sequence[float] = (),
) -> list[Any]:
    """Axes one above the other with a common abscissa; margins, and gaps between them, in mm."""
    width, height = drawn.get_size_inches() * 25.4
    gaps = [*(gaps_mm or [GAP_MM] * (len(ratios) - 1)), 0.0]
    room = height - top_mm - MARGINS_MM["bottom"] - sum(gaps)
    left, wide = left_mm / width, (width - left_mm - MARGINS_MM["right"]) / width
    made: list[Any] = []
    edge = height - top_mm
    for ratio, gap in zip(ratios, gaps, strict=True):
        size = room * ratio / sum(ratios)
        edge -= size
        made.append(drawn.add_axes((left, edge / height, wide, size / height), **({"sharex": made[0]} if made else {})))
        edge -= gap
    for axes in made[:-1]:
        axes.tick_params(labelbottom=False)
    return made


def power_of_ten(value: float, _: object = None) -> str:
    """Label of a tick of a logarithmic axis without any formula syntax.

    >>> power_of_ten(1e-7), power_of_ten(2e5), power_of_ten(1.0), power_of_ten(0.0)
    ('10⁻⁷', '2·10⁵', '10⁰', '0')
    """
    if not value:
        return "0"
    digit, _, exponent = f"{value:.0e}".partition("e")
    power = "10" + str(int(exponent)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return power if digit == "1" else f"{digit}·{power}"


def log_labels(low: float, high: float) -> Callable[[float, object], str]:
    """Labels of all ticks of a logarithmic axis in one notation: plain, or as powers of ten."""
    return power_of_ten if low < SMALL or high > LARGE else lambda value, _: f"{value:g}"


def scaled(axis: Any, name: str, unit: str, top: float) -> str:
    """Sets the figures of a linear axis in one notation, and returns its label, in whose unit a power of ten is."""
    power = int(np.floor(np.log10(top) / 3.0)) * 3 if top >= LARGE or 0.0 < top < SMALL else 0
    own = f"{power_of_ten(10.0**power)} {unit}".rstrip() if power else unit
    axis.set_major_formatter(lambda value, _: f"{value / 10.0**power:g}".replace("-", "−"))
    return f"{name} [{own}]" if own else name


def thin_markers(size: int) -> dict[str, Any]:
    """Small markers where the stations are few enough to be told apart."""
    return {"marker": "o", "markersize": 2.2} if size <= 80 else {}


def title_row(axes: Any, words: str, row: int, **more: Any) -> None:
    """Words in a row above the axes, counted upwards, from the left edge of the picture."""
    where = (EDGE_MM / HALF_MM, 1.0), (0.0, 2.5 + row * LEGEND_ROW_MM * POINTS_PER_MM)
    axes.annotate(words, where[0], where[1], ("figure fraction", "axes fraction"), "offset points", **more)


def legend_above(axes: Any, columns: int = 2, *, left_mm: float = EDGE_MM) -> None:
    """Legend over the axes, where it hides nothing; its rows are `legend_mm` high."""
    drawn = axes.get_figure()
    place = (left_mm / HALF_MM, axes.get_position().y1)
    axes.legend(loc="lower left", bbox_to_anchor=place, bbox_transform=drawn.transFigure, ncols=columns)


def legend_mm(entries: int, columns: int = 2) -> float:
    """Room for a legend above the axes."""
    return 1.5 + LEGEND_ROW_MM * -(-entries // columns)


def stress_ticks(axes: Any) -> None:
    """Ticks at 1, 2 and 5 of every decade of a logarithmic ordinate, of many decades at some of them."""
    low, high = axes.get_ylim()
    few = high < 10.0**FEW_DECADES * low
    axes.yaxis.set_major_locator(ticker.LogLocator(base=10.0, subs=(1.0, 2.0, 5.0) if few else (1.0,), numticks=8))
    axes.yaxis.set_major_formatter(log_labels(low, high))
    axes.yaxis.set_minor_formatter(ticker.NullFormatter())


def cycle_ticks(axes: Any) -> None:
    """Decades of a logarithmic abscissa, none between them; to be called when its ends are set."""
    axes.xaxis.set_major_locator(ticker.LogLocator(base=10.0, numticks=9))
    axes.xaxis.set_major_formatter(log_labels(*axes.get_xlim()))
    axes.xaxis.set_minor_formatter(ticker.NullFormatter())

"""One look for every diagram: line styles, sizes; draws with matplotlib to inline SVG.

Text stays text, in the generic family of the reader's machine.
"""

from __future__ import annotations

import io
import re
import threading
import warnings
from collections.abc import Callable, Sequence
from typing import Any

import matplotlib
from matplotlib import ticker
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from .palette import AMBER, BLACK, BLUE, FULL_MM, GREY, SKY, VERMILION, Picture

DATA = {"color": BLUE, "linestyle": "-", "linewidth": 1.5}
SECOND = {"color": VERMILION, "linestyle": (0, (6, 1.5, 1.5, 1.5)), "linewidth": 1.5}
LIMIT = {"color": VERMILION, "linestyle": (0, (5, 2)), "linewidth": 1.3}
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
}

UNJUDGED = {
    "color": BLUE,
    "marker": "o",
    "markersize": 3.6,
    "markerfacecolor": "#ffffff",
    "markeredgewidth": 0.9,
    "linestyle": "none",
    "zorder": 4,
}

HALF_MM = 88.0
MARGINS_MM = {"left": 15.0, "right": 4.0, "top": 9.5, "bottom": 11.0}

RC = {
    "svg.fonttype": "none",
    "svg.hashsalt": "toeline",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "axes.grid": True,
    "grid.linewidth": 0.4,
    "grid.color": "#d0d0d0",
    "legend.fontsize": 7.0,
    "legend.frameon": True,
    "legend.framealpha": 0.85,
    "legend.edgecolor": "none",
    "text.usetex": False,
    "text.parse_math": False,
    "axes.unicode_minus": True,
}

# matplotlib keeps its settings in one place of the process, and is not made for threads
_lock = threading.Lock()


def figure(draw: Callable[[Any], None], label: str, *, width_mm: float = FULL_MM, height_mm: float = 70.0) -> Picture:
    """The picture that a function draws into an empty matplotlib figure; the same drawing gives the same bytes."""
    text = io.StringIO()
    with _lock, matplotlib.rc_context(RC), warnings.catch_warnings():
        # a letter that the measuring font lacks is drawn by the reader's font all the same
        warnings.filterwarnings("ignore", "Glyph", UserWarning)
        drawn = Figure(figsize=(width_mm / 25.4, height_mm / 25.4))
        FigureCanvasSVG(drawn)
        draw(drawn)
        drawn.savefig(text, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    return Picture(*_inline(text.getvalue()), label, width_mm)


def _inline(svg: str) -> tuple[str, str]:
    """Content and box of the <svg> element: no namespaces, metadata or style sheet, only the ids it refers to."""
    body = svg[svg.index("<svg") :]
    box = re.search(r'viewBox="([^"]*)"', body)
    assert box
    body = body[body.index(">") + 1 : body.rindex("</svg>")]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r"<style[^>]*>.*?</style>", "", body, flags=re.DOTALL)
    body = re.sub(r"<!--.*?-->", "", body, flags=re.DOTALL)
    body = body.replace("xlink:href", "href")
    body = re.sub(r"(font(?:-family)?: [^;\"]*?)'DejaVu Sans', ", r"\1", body)
    body = re.sub(r' transform="rotate\(-0 [^"]*\)"', "", body)
    used = set(re.findall(r'(?:href="#|url\(#)([^")]*)', body))
    body = re.sub(r' id="([^"]*)"', lambda found: found[0] if found[1] in used else "", body)
    return re.sub(r"\s*\n\s*", " ", body).strip(), box[1]


def panels(
    drawn: Any,
    ratios: Sequence[float] = (1.0,),
    *,
    top_mm: float = MARGINS_MM["top"],
    right_mm: float = MARGINS_MM["right"],
) -> list[Any]:
    """Axes one above the other with a common abscissa and margins in mm."""
    width, height = drawn.get_size_inches() * 25.4
    margins = {**MARGINS_MM, "top": top_mm, "right": right_mm}
    grid = drawn.add_gridspec(
        len(ratios),
        1,
        height_ratios=ratios,
        left=margins["left"] / width,
        right=1.0 - margins["right"] / width,
        bottom=margins["bottom"] / height,
        top=1.0 - margins["top"] / height,
        hspace=0.12,
    )
    first = drawn.add_subplot(grid[0])
    rest = [drawn.add_subplot(grid[row], sharex=first) for row in range(1, len(ratios))]
    for axes in [first, *rest][:-1]:
        axes.tick_params(labelbottom=False)
    return [first, *rest]


def power_of_ten(value: float, _: object = None) -> str:
    """Label of a decade without any formula syntax.

    >>> power_of_ten(1e-7), power_of_ten(100.0)
    ('10⁻⁷', '100')
    """
    if 0.01 <= value < 1e4:
        return f"{value:g}"
    exponent = f"{value:.0e}".partition("e")
    power = str(int(exponent[2])).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"10{power}" if exponent[0] == "1" else f"{exponent[0]}·10{power}"


def thin_markers(size: int) -> dict[str, Any]:
    """Small markers where the stations are few enough to be told apart."""
    return {"marker": "o", "markersize": 2.2} if size <= 80 else {}


def heading(axes: Any, title: str, below: str) -> None:
    """Title of a small picture with its figures in a smaller line under it."""
    axes.set_title(title, pad=12.0)
    axes.annotate(below, (0.0, 1.0), (0.0, 3.0), "axes fraction", "offset points", fontsize=7.0, color=GREY)


def stress_ticks(axes: Any) -> None:
    """Plain numbers at 1, 2 and 5 of every decade of a logarithmic ordinate."""
    axes.yaxis.set_major_locator(ticker.LogLocator(base=10.0, subs=(1.0, 2.0, 5.0), numticks=20))
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.yaxis.set_minor_formatter(ticker.NullFormatter())


def cycle_ticks(axes: Any) -> None:
    """Decades of a logarithmic abscissa, none between them."""
    axes.xaxis.set_major_locator(ticker.LogLocator(base=10.0, numticks=20))
    axes.xaxis.set_major_formatter(power_of_ten)
    axes.xaxis.set_minor_formatter(ticker.NullFormatter())

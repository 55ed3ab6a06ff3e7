"""Colours of every picture, what a picture is, and names that fit: all that needs no plotting package.

Colours are told apart by colour-blind readers, and every role has its own line style or marker as well, so
that a black and white print loses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

BLUE, VERMILION, BLACK, GREY, SKY, AMBER = "#0072b2", "#d55e00", "#000000", "#595959", "#56b4e9", "#e69f00"

# utilisation up to each bound, and beyond the last: from blue to red, darker and wider towards the limit
BOUNDS = (0.25, 0.5, 0.7, 0.8, 0.9, 1.0, 1.25)
STEPS = ("#4f9fdb", "#2f80c6", "#22609f", "#4b55a5", "#7a3f92", "#a32a6e", "#c8102e", "#7a0010")
WIDTHS = (2.2, 2.9, 3.7, 4.5, 5.3, 6.1, 7.8, 9.4)
FULL_MM, HALF_MM = 180.0, 88.0  # across the page, and two beside each other


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing for a page.

    svg   : markup inside the <svg> element; view_box: its corners
    label : name of the picture, for those who cannot see it; description: what it shows, in its numbers
    """

    svg: str
    view_box: str
    label: str
    width_mm: float
    description: str = ""


def shorten(text: str, size: int) -> str:
    """A name that fits above a picture, its middle left out when it is long.

    >>> shorten("toe on the rail, left of the bracket", 20)
    'toe on the…e bracket'
    """
    text, half = " ".join(text.split()), size // 2
    return text if len(text) <= size else f"{text[:half]}…{text[-(size - half - 1) :]}"

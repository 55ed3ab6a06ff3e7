"""Texts and shapes of a picture as SVG markup."""

from __future__ import annotations

import unicodedata
from html import escape

from ....base.forms.printable import LINES, escaped
from ..palette import BLACK, shorten

_WIDTHS = (("WM@%", 1.0), ("mw…", 1.0), (" ijlI|!.,:;'\"frt()[]", 0.42))
TEXT_PX = 16.0
SMALL_PX = 14.5


def clean(text: str) -> str:
    """Text as content or attribute of an element.

    >>> clean('a < "b"\\x00')
    'a &lt; &quot;b&quot;\\\\x00'
    """
    return escape(escaped(text, keep=LINES))


def width_px(text: str, size: float) -> float:
    """Width of a text in a usual typeface, rather too wide."""
    return size * sum(map(_width, text))


def _width(letter: str) -> float:
    """Width of a letter over the size of the typeface: a wide sans-serif one."""
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.05
    return next((width for letters, width in _WIDTHS if letter in letters), 0.78 if letter.isupper() else 0.64)


def fitted_text(words: str, size: float, most_px: float) -> str:
    """Words cut in their middle until they are no wider than said."""
    letters = len(words)
    while width_px(shown := shorten(words, letters), size) > most_px and letters > 3:
        letters = min(letters - 1, int(letters * most_px / width_px(shown, size)) + 1)
    return shown


def text(
    place: tuple[float, float],
    words: str,
    *,
    size: float = TEXT_PX,
    anchor: str = "start",
    colour: str = BLACK,
    weight: str = "normal",
    halo: bool = False,
) -> str:
    """A line of text; with a halo it can be read over lines."""
    common = f'x="{place[0]:.1f}" y="{place[1]:.1f}" font-size="{size:g}"'
    common += "" if anchor == "start" else f' text-anchor="{anchor}"'
    common += "" if weight == "normal" else f' font-weight="{weight}"'
    below = f'<text {common} fill="none" stroke="#fff" stroke-width="3.6">{clean(words)}</text>' if halo else ""
    return f'{below}<text {common} fill="{colour}">{clean(words)}</text>'


def stroke(data: str, colour: str, width: float, dash: str = "") -> str:
    """A path that is drawn and not filled; nothing for no path."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:g}"{dashed}/>' if data else ""


def circle(place: tuple[float, float], radius: float, fill: str, colour: str, width: float, dash: str = "") -> str:
    """A circle with its rim."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<circle cx="{place[0]:.1f}" cy="{place[1]:.1f}" r="{radius:g}" fill="{fill}" stroke="{colour}"'
        f' stroke-width="{width:g}"{dashed}/>'
    )


def triangle(tip: tuple[float, float], along: tuple[float, float], length: float, half: float, fill: str) -> str:
    """A filled head of an arrow that ends at its tip; along: unit vector."""
    (x, y), (u, v) = tip, along
    one = (x - length * u - half * v, y - length * v + half * u)
    other = (x - length * u + half * v, y - length * v - half * u)
    points = " ".join(f"{px:.1f},{py:.1f}" for px, py in (tip, one, other))
    return f'<polygon points="{points}" fill="{fill}" stroke="#fff" stroke-width="0.8"/>'

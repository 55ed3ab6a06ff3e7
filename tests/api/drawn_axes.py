"""Reads pictures back: panels of an SVG by their frames, and values of what is drawn there by the ticks."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from html import unescape

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
_FRAME = re.compile(
    r'<path d="M ([\d.]+) ([\d.]+) L ([\d.]+) \2 L \3 ([\d.]+) L \1 \4 L \1 \2 z " style="fill: none"/>'
)
_NUMBER = "[-−\\d,.·⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+"
_TICK = r'<use [^>]*?x="([\d.]+)" y="([\d.]+)"[^>]*/>\s*<text style="[^"]*text-anchor: {}[^>]*>(' + _NUMBER + ")</text>"
_POWERS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


def pictures(page: str) -> dict[str, str]:
    """The SVG of each picture by its name."""
    found = re.findall(r'<svg [^>]*aria-label="([^"]*)"[^>]*>.*?</svg>', page, re.DOTALL)
    return dict(zip(map(unescape, found), re.findall(r"<svg .*?</svg>", page, re.DOTALL), strict=True))


def figure_of(words: str) -> float:
    """The number of a tick.

    >>> figure_of("−2·10⁻³"), figure_of("10⁴"), figure_of("1,000")
    (-0.002, 10000.0, 1000.0)
    """
    words = words.replace("−", "-").replace(",", "")
    power = re.fullmatch(r"(?:(-?[\d.]+)·)?10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)", words)
    return float(f"{power[1] or 1}e{power[2].translate(_POWERS)}") if power else float(words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One pair of axes; content: its markup."""

    content: str
    left: float
    right: float
    low: float
    high: float

    def lines(self, colour: str) -> list[Points]:
        """Corners (n, 2) in px of the lines of a colour, without samples of a legend."""
        found = re.findall(
            rf'<path d="(M [^"]*)" clip-path="[^"]*" style="fill: none;[^"]*stroke: {colour}[;"]', self.content
        )
        return [np.array(re.findall(r"[ML] ([\d.-]+) ([\d.-]+)", data), dtype=np.float64) for data in found]

    def marks(self, fill: str) -> Points:
        """Places (n, 2) in px of the marks with a fill, those of a legend left out."""
        groups = re.findall(rf'<g style="fill: {fill}[^>]*>(.*?)</g>', self.content)
        alone = re.findall(rf'<use [^>]*style="fill: {fill}[^>]*/>', self.content)
        found = re.findall(r'x="([\d.-]+)" y="([\d.-]+)"', " ".join([*groups, *alone]))
        places = np.array(found, dtype=np.float64).reshape(-1, 2)
        inside = (self.high - 0.1 <= places[:, 1]) & (places[:, 1] <= self.low + 0.1)
        return places[inside & (self.left - 0.1 <= places[:, 0]) & (places[:, 0] <= self.right + 0.1)]

    def across(self, *, log: bool = False) -> Callable[[Points], Points]:
        """From px to values of the abscissa, without the power in its label."""
        return _scale([(float(x), words) for x, _, words in re.findall(_TICK.format("middle"), self.content)], log)

    def up(self, *, log: bool = False) -> Callable[[Points], Points]:
        """From px to values of the ordinate, without the power in its label."""
        return _scale([(float(y), words) for _, y, words in re.findall(_TICK.format("end"), self.content)], log)


def _scale(ticks: list[tuple[float, str]], log: bool) -> Callable[[Points], Points]:
    pairs = [(place, figure_of(words)) for place, words in ticks]
    kept = [(place, np.log10(value) if log else value) for place, value in pairs if value > 0.0 or not log]
    assert len(kept) > 1
    slope, start = np.polyfit(*np.array(kept).T, 1)
    assert np.abs(np.array([start + slope * place - value for place, value in kept])).max() < 0.01 * abs(slope)
    return lambda px: np.asarray(10.0 ** (start + slope * px) if log else start + slope * px)


def panels(svg: str) -> list[Panel]:
    """The panels of a picture from above; the frame of the picture itself is not one."""
    frames = list(_FRAME.finditer(svg))[1:]
    ends = [*(frame.start() for frame in frames[1:]), len(svg)]
    return [
        Panel(
            content=svg[frame.end() : end],
            **dict(zip(("left", "low", "right", "high"), map(float, frame.groups()), strict=True)),
        )
        for frame, end in zip(frames, ends, strict=True)
    ]

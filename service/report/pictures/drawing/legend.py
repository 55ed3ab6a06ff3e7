"""Below the views: the scale of utilisation with its limit, and what the strokes mean."""

from __future__ import annotations

from collections.abc import Sequence

from ..palette import BOUNDS, STEPS, WIDTHS
from .svg import SMALL_PX, circle, fitted_text, stroke, text, triangle, width_px
from .welds import HIDDEN_DASH, HIDDEN_PX, UNJUDGED_DASH, UNJUDGED_PX

_LEFT_PX, _STEP_PX = 120.0, 72.0
_KEY_PX = 34.0
SCALE_PX, KEY_PX = 56.0, 30.0


def scale(top: float) -> str:
    """The steps of utilisation, as wide as they are drawn, with their bounds; the limit stands out."""
    middle = top + 24.0
    shown = [text((8.0, middle + 5.0), "utilisation")]
    for k, (colour, width) in enumerate(zip(STEPS, WIDTHS, strict=True)):
        start = _LEFT_PX + k * _STEP_PX
        data = f"M{start:g} {middle:g}h{_STEP_PX:g}"
        shown.append((stroke(data, "#000", width + 2.4) if k > BOUNDS.index(1.0) else "") + stroke(data, colour, width))
    for k, bound in enumerate((0.0, *BOUNDS)):
        at, limit = _LEFT_PX + k * _STEP_PX, bound == 1.0
        shown.append(
            stroke(f"M{at:g} {middle - (16.0 if limit else 7.0):g}V{middle + 8.0:g}", "#000", 2.2 if limit else 1.0)
        )
        weight = "bold" if limit else "normal"
        shown.append(text((at, middle + 22.0), f"{bound:g}", size=SMALL_PX, anchor="middle", weight=weight))
    at = _LEFT_PX + (BOUNDS.index(1.0) + 1) * _STEP_PX
    return "".join(shown) + text((at - 5.0, middle - 8.0), "limit", size=SMALL_PX, anchor="end", weight="bold")


def key(top: float, *, hidden: bool, unjudged: bool, marked: bool) -> str:
    """What the strokes and marks mean, those that occur."""
    middle, left = top + 14.0, 8.0
    shown = []
    for sample, words in _samples(middle, hidden=hidden, unjudged=unjudged, marked=marked):
        shown.append(
            f'<g transform="translate({left:g} 0)">{sample}{text((_KEY_PX, middle + 4.5), words, size=SMALL_PX)}</g>'
        )
        left += _KEY_PX + width_px(words, SMALL_PX) + 18.0
    return "".join(shown)


def _samples(y: float, *, hidden: bool, unjudged: bool, marked: bool) -> Sequence[tuple[str, str]]:
    line = f"M0 {y:g}h28"
    start = circle((5.0, y), 3.2, "#fff", "#000", 1.2) + triangle((26.0, y), (1.0, 0.0), 9.0, 4.2, "#000")
    return [
        *([(circle((14.0, y), 8.0, "none", "#000", 2.6), "governing point")] if marked else []),
        (start, "start, direction"),
        *([(stroke(line, STEPS[2], UNJUDGED_PX, UNJUDGED_DASH), "not judged")] if unjudged else []),
        *([(stroke(line, STEPS[2], HIDDEN_PX, HIDDEN_DASH), "hidden by the part")] if hidden else []),
    ]


def remark(top: float, words: str) -> str:
    """A sentence on what is not shown."""
    return text((8.0, top + 16.0), fitted_text(words, SMALL_PX, 700.0), size=SMALL_PX)

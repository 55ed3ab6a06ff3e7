"""How far down the pages of a printed report are filled, read from the PDF as the browser writes it."""

from __future__ import annotations

import re
import zlib

import numpy as np
from numpy.typing import NDArray

POINTS_PER_MM = 72.0 / 25.4
TOP_MM, BOTTOM_MM = 18.0, 16.0  # margins of the style sheet, in which head and number of the page stand
_OPERATORS = re.compile(rb"(?:^|\s)((?:-?[\d.]+\s+){6})(cm|Tm)\b|(?:^|\s)(q|Q)(?=\s)")


def page_fills(pdf: bytes) -> list[float]:
    """Share of the height between the margins that ends with the lowest text of each page."""
    objects = {int(found[1]): found[2] for found in re.finditer(rb"(\d+) 0 obj\n(.*?)endobj", pdf, re.DOTALL)}
    return [_fill(objects, page) for page in objects.values() if re.search(rb"/Type /Page\b(?!s)", page)]


def _fill(objects: dict[int, bytes], page: bytes) -> float:
    contents, box = re.search(rb"/Contents (\d+) 0 R", page), re.search(rb"/MediaBox \[0 0 [\d.]+ ([\d.]+)\]", page)
    assert contents
    assert box
    stream = re.search(rb"stream\r?\n(.*?)endstream", objects[int(contents[1])], re.DOTALL)
    assert stream
    height, low = float(box[1]), BOTTOM_MM * POINTS_PER_MM
    high = height - TOP_MM * POINTS_PER_MM
    lowest = min((y for y in _text_heights(zlib.decompress(stream[1])) if low <= y <= high), default=high)
    return (high - lowest) / (high - low)


def _text_heights(stream: bytes) -> list[float]:
    """Heights over the lower edge of the page where texts start [points]."""
    now, kept, found = np.eye(3), [], []
    for each in _OPERATORS.finditer(stream):
        if each[3] == b"q":
            kept.append(now)
        elif each[3] == b"Q":
            now = kept.pop()
        elif each[2] == b"cm":
            now = _matrix(each[1]) @ now
        else:
            found.append(float((_matrix(each[1]) @ now)[2, 1]))
    return found


def _matrix(numbers: bytes) -> NDArray[np.float64]:
    a, b, c, d, e, f = map(float, numbers.split())
    return np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]])

"""Numbers of a page that stay beside their unit where a line ends."""

from __future__ import annotations

import re

_UNITS = """MPa√mm MPa GPa MJ/m³ mm/cycle mm N/mm N kN kNm Hz K V s deg % cycles cycle repeats repeat times blocks
hours hour h km seasons season years year days day"""
_BEHIND = re.compile(rf"(?<=\d)\s(?=(?:{'|'.join(map(re.escape, _UNITS.split()))})(?![\w/√²³]))")
_APART = re.compile(r"(<(style|svg|code|script|title)\b.*?</\2>|<[^>]*>)", re.DOTALL)
NO_BREAK = "\u00a0"


def unbroken(page: str) -> str:
    """A page of HTML in whose texts no line ends between a number and its unit.

    >>> unbroken('<p title="5 mm">range 5 mm of 3 lines, 2.5\\nMPa√mm</p><svg>M 5 s</svg>')
    '<p title="5 mm">range 5\\xa0mm of 3 lines, 2.5\\xa0MPa√mm</p><svg>M 5 s</svg>'
    """
    parts = _APART.split(page)
    parts[::3] = [_BEHIND.sub(NO_BREAK, text) for text in parts[::3]]
    del parts[2::3]  # the names of the elements
    return "".join(parts)

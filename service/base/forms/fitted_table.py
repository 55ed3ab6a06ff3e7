"""Columns of a text table within a width: heads in several lines, narrower gaps, at last words in several lines."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from itertools import zip_longest

SOFT = "\u00ad"  # where a head may be parted
_LEAST, _LONGEST_WORD = 10, 40  # width of a column of words; a longer word is broken


def fitted_lines(columns: Sequence[tuple[str, Sequence[str], bool]], width: int) -> list[str]:
    """The lines of a table: as wide as it is where it fits, else as narrow as it has to be; nothing is left out.

    columns : head, texts of one width below it, and whether they are numbers, set to the right

    >>> fitted_lines([("line", ["toe A", "B"], False), ("used up", ["0.5", "12."], True)], 12)
    ['line   used', '         up', 'toe A   0.5', 'B       12.']
    """
    whole = [max(map(len, [_joined(head), *texts])) for head, texts, _ in columns]
    if sum(whole) + 2 * (len(whole) - 1) <= width:
        return _lines(columns, whole, 2)
    least = [max(map(len, [*_parts(head), *texts])) for head, texts, _ in columns]
    gap = 2 if sum(least) + 2 * (len(least) - 1) <= width else 1
    return _lines(columns, _narrowed(columns, least, width - gap * (len(least) - 1)), gap)


def _narrowed(columns: Sequence[tuple[str, Sequence[str], bool]], widths: list[int], room: int) -> list[int]:
    """Widths that fit, taken from the widest columns of words: first as far as these hold whole words, then farther."""
    left = list(widths)
    for most in (_LONGEST_WORD, _LEAST):
        least = [size if right else _word(texts, most) for size, (_, texts, right) in zip(widths, columns, strict=True)]
        while sum(left) > room and any(size > end for size, end in zip(left, least, strict=True)):
            able = [at for at, size in enumerate(left) if size > least[at]]
            left[max(able, key=lambda at: left[at])] -= 1
    return left


def _word(texts: Sequence[str], most: int) -> int:
    """Width of the longest part of the texts that is not to be broken."""
    words = (len(word) for text in texts for word in re.split(r"(?<=-)|\s", text))
    return max(_LEAST, min(max(words, default=0), most))


def _lines(columns: Sequence[tuple[str, Sequence[str], bool]], widths: Sequence[int], gap: int) -> list[str]:
    cells = [
        [_head(head, size), *([text] if len(text) <= size else textwrap.wrap(text, size) for text in texts)]
        for (head, texts, _), size in zip(columns, widths, strict=True)
    ]
    found = []
    for row in zip(*cells, strict=True):
        for parts in zip_longest(*row, fillvalue=""):
            set_out = (
                part.rjust(size) if right else part.ljust(size)
                for part, size, (_, _, right) in zip(parts, widths, columns, strict=True)
            )
            found.append((" " * gap).join(set_out).rstrip())
    return found


def _joined(head: str) -> str:
    return head.replace(SOFT, "")


def _parts(head: str) -> list[str]:
    return [part for word in head.split(" ") for part in word.replace(SOFT, f"-{SOFT}").split(SOFT)]


def _head(head: str, width: int) -> list[str]:
    """The head in lines of at most this width."""
    if len(_joined(head)) <= width:
        return [_joined(head)]
    lines = [""]
    for word in head.split(" "):
        whole = [_joined(word)] if len(_joined(word)) <= width else _parts(word)
        for part in whole:
            longer = f"{lines[-1]} {part}".strip()
            lines = [*lines[:-1], longer] if len(longer) <= width else [*lines, part]
    return lines

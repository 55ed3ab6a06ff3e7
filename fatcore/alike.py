"""Names that a reader takes for one another: the one rule for names that must not be borrowed or mixed up."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

# letters of other alphabets that look like a Latin one in most typefaces, after case folding
TWINS = str.maketrans(
    "\u0430\u0432\u0435\u043a\u043c\u043d\u043e\u0440\u0441\u0442\u0443\u0445\u0455\u0456\u0458\u0501\u051b\u051d"
    "\u03b1\u03b2\u03b5\u03b7\u03b9\u03ba\u03bc\u03bd\u03bf\u03c1\u03c4\u03c5\u03c7\u0131",
    "abekmhopctyxsijdqw" + "abenikuvoptuxi",
)
UNSEEN = {"Cf", "Cc"}  # format and control characters
FILLERS = dict.fromkeys([0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x2800, *range(0xFE00, 0xFE10)])  # no ink


@lru_cache(maxsize=4096)
def as_read(name: str) -> str:
    """A name as the eye takes it: one form of every letter, no case, no space at its ends or twice within.

    >>> as_read(" Toe\\u200b  \\u0410 ") == as_read("toe a")
    True
    """
    letters = unicodedata.normalize("NFKC", name).casefold()
    letters = unicodedata.normalize("NFKC", letters).translate(FILLERS)
    seen = [letter for letter in letters if letter.isspace() or unicodedata.category(letter) not in UNSEEN]
    return " ".join("".join(seen).translate(TWINS).split())


def bare_name(name: str) -> str:
    """Its letters and digits as the eye takes them: dashes, blanks and other marks tell no names apart.

    >>> bare_name("Works_Toe"), bare_name(" works-toe")
    ('workstoe', 'workstoe')
    """
    return "".join(letter for letter in as_read(name) if letter.isalnum())


def alike(name: str, known: Iterable[str]) -> str | None:
    """The first of the known names that a reader takes this one for, None without any."""
    bare = bare_name(name)
    return next((each for each in known if bare_name(each) == bare), None)

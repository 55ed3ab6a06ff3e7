"""One tree of errors; each says which input it is about by its path in the request."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from difflib import SequenceMatcher
from itertools import islice

Step = str | int

MOST_SHOWN, MOST_NEAR = 12, 6  # names of a catalogue, and those that are like one
LONGEST_NAME = 200  # characters of a name that are compared with those of a catalogue, and repeated
MOST_COMPARED = 5000  # names of a catalogue or of a table of the caller
_LIKE = 0.6  # share of letters or words in common from which names are like each other


class FatcoreError(Exception):
    """Base of all errors of the core.

    message : what is wrong, for a person
    path    : names and indices that lead to the input at fault, outermost first
    """

    def __init__(self, message: str, *path: Step) -> None:
        super().__init__(message)
        self.message = message
        self.path: tuple[Step, ...] = path


class InputError(FatcoreError, ValueError):
    """A value that no calculation can use: wrong sign, wrong shape, not finite."""


class UnknownError(InputError):
    """A name that is not in the catalogue; the message has the nearest, and all known ones or those like it."""

    def __init__(self, kind: str, name: str, known: Iterable[str], *path: Step) -> None:
        self.known = tuple(sorted(known))
        said = name if len(str(name)) <= LONGEST_NAME else f"{name[:LONGEST_NAME]} ..."
        super().__init__(f"unknown {kind} {said!r}{_like(str(name), self.known)}", *path)


class NotCoveredError(FatcoreError):
    """A valid input that the source of the formula does not cover."""


class NotConvergedError(FatcoreError):
    """An iteration that did not reach its tolerance."""


def nearest(name: str, known: Iterable[str], most: int) -> list[str]:
    """The known names that are most like one, by words and numbers in common and by their letters.

    >>> nearest("iiw-71", ["iiw-steel-71", "iiw-steel-80"], 1), nearest("siez_mm", ["depth", "size_mm"], 9)
    (['iiw-steel-71'], ['size_mm'])
    """
    name = name[:LONGEST_NAME]
    wanted = _parts(name)
    scores = {each: _likeness(name, wanted, each) for each in islice(known, MOST_COMPARED)}
    return sorted((each for each in scores if scores[each] > 0.0), key=lambda each: -scores[each])[:most]


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """The nearest of the known names as a question in brackets behind a blank; nothing where none is like it.

    >>> did_you_mean("toee", ["toe", "root"]), did_you_mean("x", ["toe", "root"])
    (" (did you mean 'toe'?)", '')
    """
    return "".join(f" (did you mean {each!r}?)" for each in nearest(name, known, 1))


def _like(name: str, known: tuple[str, ...]) -> str:
    """The known names behind an unknown one: all of a few, of many the nearest, or the first where none is like it."""
    if len(known) <= MOST_SHOWN:
        return f"{did_you_mean(name, known)}; known: {', '.join(known)}"
    near = nearest(name, known, MOST_NEAR)
    if near:
        return f"; nearest of {len(known)}: {', '.join(near)}"
    return f"; known: {', '.join(known[:MOST_SHOWN])} ..."


def _parts(name: str) -> set[str]:
    """Words and numbers of a name."""
    return set(re.findall(r"[^\W\d_]+|\d+", name.lower()))


def _likeness(name: str, wanted: set[str], known: str) -> float:
    parts = _parts(known)
    common = wanted & parts
    shared = len(common) / max(1, len(wanted))
    letters = SequenceMatcher(None, name.lower(), known.lower()).ratio()
    if letters < _LIKE and shared < _LIKE and not any(part.isdecimal() for part in common):
        return 0.0
    return letters + shared + len(common) / max(1, len(wanted | parts))


@contextmanager
def at(*path: Step) -> Iterator[None]:
    """Prefix the path of any core error raised inside, so that it points into the whole request.

    >>> try:
    ...     with at("lines", 2):
    ...         raise InputError("must be positive", "notch_size_mm")
    ... except InputError as error:
    ...     error.path
    ('lines', 2, 'notch_size_mm')
    """
    try:
        yield
    except FatcoreError as error:
        error.path = (*path, *error.path)
        raise

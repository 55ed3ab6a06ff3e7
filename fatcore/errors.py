"""One tree of errors; each says which input it is about by its path in the request."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

Step = str | int


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
    """A name that is not in the catalogue; the message lists near or all known ones."""

    def __init__(self, kind: str, name: str, known: Iterable[str], *path: Step) -> None:
        self.known = tuple(sorted(known))
        shown = ", ".join(self.known[:12]) + (" ..." if len(self.known) > 12 else "")
        super().__init__(f"unknown {kind} {name!r}; known: {shown}", *path)


class NotCoveredError(FatcoreError):
    """A valid input that the source of the formula does not cover."""


class NotConvergedError(FatcoreError):
    """An iteration that did not reach its tolerance."""


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

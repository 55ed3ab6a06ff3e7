"""Scopes: what a key may be used for, as words of the file of keys."""

from __future__ import annotations

from collections.abc import Set

from fatcore.errors import did_you_mean

from ..base.problems import Problem
from ..topics.registry import load

CALCULATIONS, METRICS = "calculations", "metrics"  # every calculation; the counters of the service
BATCH = "batch"  # no scope: each of its items is asked for by its own name


def require_known(scopes: list[str]) -> list[str]:
    """The scopes as they are; ValueError for a word that is none."""
    names = {name for _, name in load()}
    known = {CALCULATIONS, METRICS, *names, *(name.partition("/")[0] for name in names)}
    for scope in scopes:
        if scope not in known:
            meant = did_you_mean(scope, known)  # the word itself is not repeated: it could be a key
            raise ValueError(f"must hold calculations, metrics, topics and names of calculations only{meant}")
    return scopes


def require_allowed(scopes: Set[str] | None, name: str) -> None:
    """Problem 403 where a key of these scopes may not be used for what has this name; None allows everything."""
    if scopes is not None and not allows(scopes, name):
        raise Problem(403, f"this key may not be used for {name}")


def allows(scopes: Set[str], name: str) -> bool:
    """Whether scopes let through what has this name: a calculation, `batch` or `metrics`.

    >>> allows({"stress"}, "stress/peak"), allows({"stress"}, "check"), allows({"metrics"}, "batch")
    (True, False, False)
    """
    if name == METRICS:
        return METRICS in scopes
    if name == BATCH:
        return bool(scopes - {METRICS})
    return not scopes.isdisjoint((CALCULATIONS, name, name.partition("/")[0]))

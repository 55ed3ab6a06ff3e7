"""Published growth laws by name: `<source and edition>/<set>`, like "bs7910-2013/air-mean"."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from fatcore.alike import alike
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, UnitSystem, convert_coefficient
from fatcore.errors import InputError, UnknownError
from fatcore.tables import load, table_names

PREFIX = "cracks/laws_"


@cache
def named_law(name: str) -> GrowthLaw:
    """The published law with this name; UnknownError lists the known ones.

    >>> named_law("iiw-2016/steel").low[0].exponent
    3.0
    """
    entries = _entries("sets")
    if name not in entries:
        raise UnknownError("growth law", name, entries, "name")
    table, entry = entries[name]
    threshold = named_threshold(f"{_edition(table)}/{entry['threshold']}") if "threshold" in entry else Threshold()
    return GrowthLaw(
        low=_stages(entry, "low"),
        high=_stages(entry, "high"),
        threshold=threshold,
        name=name,
        statistic=entry["statistic"],
        highest_load_ratio=entry.get("highest_load_ratio", 1.0),
        sources=tuple(entry["sources"]),
        table=table,
    )


@cache
def named_threshold(name: str) -> Threshold:
    """The published threshold with this name, like "iiw-2008/steel"; editions differ."""
    entries = _entries("thresholds")
    if name not in entries:
        raise UnknownError("threshold", name, entries, "threshold")
    return Threshold(**entries[name][1])


def law_names() -> tuple[str, ...]:
    """Names of all published laws, sorted."""
    return tuple(sorted(_entries("sets")))


def guard_own_law(name: str) -> None:
    """InputError for the name of a law of the user's own that looks like a published one: answers name laws by it."""
    known = alike(name, law_names())
    if known is not None:
        raise InputError(f"{name.strip()!r} looks like the published growth law {known}: choose another name", "name")


def law_titles() -> dict[str, str]:
    """What each published law is for, by name."""
    return {name: str(entry["title"]) for name, (_, entry) in sorted(_entries("sets").items())}


def threshold_names() -> tuple[str, ...]:
    """Names of all published thresholds, sorted."""
    return tuple(sorted(_entries("thresholds")))


@cache
def _entries(kind: str) -> dict[str, tuple[str, dict[str, Any]]]:
    tables = [table for table in table_names("cracks") if table.startswith(PREFIX)]
    return {f"{_edition(t)}/{key}": (t, entry) for t in tables for key, entry in load(t).get(kind, {}).items()}


def _edition(table: str) -> str:
    return table.removeprefix(PREFIX).replace("_", "-")


def _stages(entry: dict[str, Any], key: str) -> tuple[Stage, ...]:
    return tuple(_stage(line, entry["units"]) for line in entry.get(key, ()))


def _stage(line: dict[str, float], units: UnitSystem) -> Stage:
    printed = line["coefficient"] if "coefficient" in line else math.exp(line["log_coefficient"])
    exponent = line["exponent"]
    return Stage(coefficient=float(convert_coefficient(printed, exponent, units)), exponent=exponent)

"""Loads every topic file, so that the register of calculations is complete."""

from __future__ import annotations

from functools import cache
from importlib import import_module

from ..base.common import Calculation, calculations

TOPIC_MODULES = (
    "stress.routes",
    "stress.section",
    "stress.weld_lines",
    "curves.routes",
    "spectrum.routes",
    "cracks.intensity",
    "cracks.scatter",
    "cracks.routes",
    "trials.sn",
    "trials.staircase",
    "trials.growth",
    "trials.length",
    "check.routes",
    "meta",
)


def load() -> dict[tuple[str, str], Calculation]:
    """Every calculation by method and name, after importing the topic files."""
    _import_topics()
    return calculations()


@cache
def _import_topics() -> None:
    for module in TOPIC_MODULES:
        import_module(f".{module}", __package__)


def find(name: str, method: str = "POST") -> Calculation | None:
    """The calculation of this name, or None."""
    return load().get((method, name))

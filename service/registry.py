"""Loads every topic file, so that the register of calculations is complete."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec

from service.common import Calculation, calculations

__all__ = ["TOPIC_MODULES", "find", "load"]

TOPIC_MODULES = (
    "stress",
    "stress_section",
    "curves",
    "spectrum",
    "cracks_intensity",
    "cracks",
    "check",
    "meta",
)


def load() -> dict[tuple[str, str], Calculation]:
    """Every calculation by method and name, after importing the topic files."""
    for module in TOPIC_MODULES:
        if find_spec(f"service.{module}"):
            import_module(f"service.{module}")
    return calculations()


def find(name: str, method: str = "POST") -> Calculation | None:
    """The calculation of this name, or None."""
    return load().get((method, name))

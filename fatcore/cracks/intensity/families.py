"""All families of cracks by name: whatever the modules of formulas list as FAMILIES."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pkgutil import walk_packages

from fatcore.cracks import intensity
from fatcore.cracks.intensity.family import Family
from fatcore.errors import UnknownError


def _listed() -> Iterator[Family]:
    for module in walk_packages(intensity.__path__, f"{intensity.__name__}."):
        if module.name != __name__:
            yield from getattr(import_module(module.name), "FAMILIES", ())


FAMILIES: dict[str, Family] = {item.name: item for item in _listed()}


def family(name: str) -> Family:
    """The family with this name; UnknownError lists the known ones."""
    if name not in FAMILIES:
        raise UnknownError("family", name, FAMILIES, "family")
    return FAMILIES[name]

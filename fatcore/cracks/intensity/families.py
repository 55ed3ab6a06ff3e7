"""All families of cracks by name."""

from __future__ import annotations

from fatcore.cracks.intensity.family import Family
from fatcore.cracks.intensity.plate.families import PLATE
from fatcore.cracks.intensity.solid.families import SOLID
from fatcore.cracks.intensity.weld.families import WELD
from fatcore.errors import UnknownError

FAMILIES: dict[str, Family] = {item.name: item for item in (*PLATE, *SOLID, *WELD)}


def family(name: str) -> Family:
    """The family with this name; UnknownError lists the known ones."""
    if name not in FAMILIES:
        raise UnknownError("family", name, FAMILIES, "family")
    return FAMILIES[name]

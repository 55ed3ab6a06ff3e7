"""All families of cracks by name."""

from __future__ import annotations

from fatcore.cracks.intensity._families_body import BODY
from fatcore.cracks.intensity._families_plate import PLATE
from fatcore.cracks.intensity._families_weld import WELD
from fatcore.cracks.intensity.family import REQUIRED, Bound, Family, IntensityOutcome, Parameter
from fatcore.errors import UnknownError

__all__ = ["FAMILIES", "REQUIRED", "Bound", "Family", "IntensityOutcome", "Parameter", "family"]

FAMILIES: dict[str, Family] = {item.name: item for item in (*PLATE, *BODY, *WELD)}


def family(name: str) -> Family:
    """The family with this name; UnknownError lists the known ones."""
    if name not in FAMILIES:
        raise UnknownError("family", name, FAMILIES, "family")
    return FAMILIES[name]

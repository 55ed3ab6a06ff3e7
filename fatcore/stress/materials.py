"""Materials with a published control radius."""

from __future__ import annotations

from typing import Any

from fatcore import tables
from fatcore.errors import UnknownError
from fatcore.findings import Finding, note

__all__ = ["RADIUS_TABLE", "control_radius_of", "material_family", "material_findings", "material_names"]

RADIUS_TABLE = "stress/control_radii"


def material_names() -> tuple[str, ...]:
    """Names of the materials in the table."""
    return tuple(row["name"] for row in tables.load(RADIUS_TABLE)["radius"])


def control_radius_of(material: str) -> float:
    """Radius of the sector in which the strain energy is averaged.

    material : one of `material_names()`
    Returns  : radius [mm]
    Raises   : UnknownError for a material without a published radius
    Source   : [control-radius-review-2017], [austenitic-energy-2026]

    >>> control_radius_of("structural-steel")
    0.28
    """
    return float(_row(material)["control_radius_mm"])


def material_family(material: str) -> str | None:
    """Material that a curve must have been found on, for a name of the table; None for any other name."""
    rows = {row["name"]: row for row in tables.load(RADIUS_TABLE)["radius"]}
    return str(rows[material]["family"]) if material in rows else None


def material_findings(material: str) -> tuple[Finding, ...]:
    """Where the control radius of a material comes from."""
    row = _row(material)
    message = f"control radius {row['control_radius_mm']:g} mm of {material}"
    return (note("control-radius", message, field="control_radius_mm", source=row["source"]),)


def _row(material: str) -> dict[str, Any]:
    rows = {row["name"]: row for row in tables.load(RADIUS_TABLE)["radius"]}
    if material not in rows:
        raise UnknownError("material", material, rows, "name")
    return dict(rows[material])

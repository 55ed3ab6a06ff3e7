"""Materials with a published control radius."""

from __future__ import annotations

from typing import Any

from fatcore import tables
from fatcore.errors import UnknownError
from fatcore.findings import Finding, Limit, caution, note, outside, outside_limits

RADIUS_TABLE = "stress/control_radii"
SAME_RADIUS = 0.005  # relative: a rounded figure is the same one
LARGEST_RADIUS_RATIO = 2.0  # over the published one of the material [own choice]
POISSON_LIMIT = Limit("poisson_ratio", 0.27, 0.34, "control-radius-review-2017", "structural metals")


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
    """Material that a curve must have been found on, for a name or a family of the table; None for others.

    >>> material_family("aluminium-alloy"), material_family("steel"), material_family("S355")
    ('aluminium', 'steel', None)
    """
    rows = tables.load(RADIUS_TABLE)["radius"]
    families = {name: str(row["family"]) for row in rows for name in (row["family"], row["name"])}
    return families.get(material)


def material_findings(material: str) -> tuple[Finding, ...]:
    """Where the control radius of a material comes from."""
    row = _row(material)
    message = f"control radius {row['control_radius_mm']:g} mm of {material}"
    return (note("control-radius", message, field="control_radius_mm", source=row["source"]),)


def radius_findings(material: str, control_radius_mm: float) -> tuple[Finding, ...]:
    """A caution where a control radius is given that differs from the published one of the material.

    A larger radius makes the equivalent stress smaller.
    control_radius_mm : radius as given [mm]
    """
    if material not in material_names():
        return ()
    published = control_radius_of(material)
    if abs(control_radius_mm / published - 1.0) <= SAME_RADIUS:
        return ()
    text = f"control radius {control_radius_mm:g} mm is given, that of {material} is {published:g} mm"
    return (
        caution("control-radius-given", text, field="control_radius_mm", source=_row(material)["source"]),
    )


def poisson_findings(material: str, poisson_ratio: float) -> tuple[Finding, ...]:
    """A caution where Poisson's ratio is not the one that the control radius of the material was found with.

    A larger one makes the equivalent stress smaller.
    poisson_ratio : as given [-]
    """
    if material not in material_names():
        return ()
    row = _row(material)
    if poisson_ratio == row["poisson_ratio"]:
        return ()
    text = f"Poisson's ratio {poisson_ratio:g} is given, that of {material} is {row['poisson_ratio']:g}"
    return (caution("poisson-ratio-given", text, field="poisson_ratio", source=row["source"]),)


def material_limits(material: str, poisson_ratio: float, control_radius_mm: float) -> tuple[Finding, ...]:
    """`outside` findings where the inputs leave what any material of the method has.

    poisson_ratio : beyond 0.27 to 0.34 [-]; control_radius_mm: above twice the published one [mm]
    """
    found = outside_limits([POISSON_LIMIT], poisson_ratio=poisson_ratio)
    if material not in material_names():
        return found
    published = control_radius_of(material)
    if control_radius_mm <= LARGEST_RADIUS_RATIO * published * (1.0 + 1e-9):
        return found
    text = (
        f"control radius {control_radius_mm:g} mm, that of {material} is {published:g} mm: more than"
        f" {LARGEST_RADIUS_RATIO:g} times it"
    )
    far = outside("control-radius-far", text, field="control_radius_mm", source=_row(material)["source"])
    return (*found, far)


def _row(material: str) -> dict[str, Any]:
    rows = {row["name"]: row for row in tables.load(RADIUS_TABLE)["radius"]}
    if material not in rows:
        raise UnknownError("material", material, rows, "name")
    return dict(rows[material])

"""Materials with a published control radius."""

from __future__ import annotations

from typing import Any, NamedTuple

from fatcore import tables
from fatcore.errors import UnknownError
from fatcore.figures import against, as_given
from fatcore.findings import Finding, Limit, caution, note, outside, outside_limits
from fatcore.stress.notch.fields import eigenvalue_opening

RADIUS_TABLE = "stress/control_radii"
_SAME_RADIUS = 0.005  # relative: a rounded figure is the same one
LOWERED_STRESS = 0.03  # share, as the narrowest published scatter of an element constant [own choice]
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


class PublishedMaterial(NamedTuple):
    """What a material has in the table; of one without a row, that with the largest radius."""

    poisson_ratio: float
    control_radius_mm: float


def published_material(material: str) -> PublishedMaterial:
    """Poisson's ratio [-] and control radius [mm] to compare given ones with."""
    row = _compared_row(material)
    return PublishedMaterial(float(row["poisson_ratio"]), float(row["control_radius_mm"]))


def material_findings(material: str) -> tuple[Finding, ...]:
    """Where the control radius of a material comes from."""
    row = _row(material)
    message = f"control radius {as_given(row['control_radius_mm'])} mm of {material}"
    return (note("control-radius", message, field="control_radius_mm", source=row["source"]),)


def radius_findings(material: str, control_radius_mm: float) -> tuple[Finding, ...]:
    """A caution where a control radius is given that is not the published one of the material.

    A larger radius makes the equivalent stress smaller.
    material          : name; another than those of the table has no published radius, which is said
    control_radius_mm : radius as given [mm]
    """
    row = _compared_row(material)
    published = float(row["control_radius_mm"])
    known = material in material_names()
    if known and abs(control_radius_mm / published - 1.0) <= _SAME_RADIUS:
        return ()
    text = f"control radius {as_given(control_radius_mm)} mm is given, {_published(material)}"
    return (caution("control-radius-given", text, field="control_radius_mm", source=row["source"]),)


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
    text = f"Poisson's ratio {as_given(poisson_ratio)} is given, that of {material} is {as_given(row['poisson_ratio'])}"
    return (caution("poisson-ratio-given", text, field="poisson_ratio", source=row["source"]),)


def material_limits(
    material: str,
    poisson_ratio: float,
    control_radius_mm: float,
    opening_angle_deg: float,
    notch_size_mm: float | None = None,
) -> tuple[Finding, ...]:
    """`outside` findings where the inputs leave what any material of the method has.

    material          : name; another than those of the table is compared with the largest radius of all
    poisson_ratio     : beyond 0.27 to 0.34 [-]
    control_radius_mm : above the published one by more than lowers the stress by 3 %, or above the size [mm]
    opening_angle_deg : of the notch [deg], which tells how the stress falls with the radius; 0 is strictest
    notch_size_mm           : of the notch or the plates round it [mm]; None compares nothing
    """
    return (
        *outside_limits([POISSON_LIMIT], poisson_ratio=poisson_ratio),
        *_far(material, control_radius_mm, opening_angle_deg),
        *_over_size(control_radius_mm, notch_size_mm),
    )


def _far(material: str, control_radius_mm: float, opening_angle_deg: float) -> tuple[Finding, ...]:
    row = _compared_row(material)
    if control_radius_mm <= row["control_radius_mm"]:
        return ()
    exponent = 1.0 - float(eigenvalue_opening(opening_angle_deg))
    lowered = 1.0 - (row["control_radius_mm"] / control_radius_mm) ** exponent
    if lowered <= LOWERED_STRESS * (1.0 + 1e-9):
        return ()
    text = (
        f"control radius {as_given(control_radius_mm)} mm, {_published(material)}: it lowers the stress by"
        f" {against(100.0 * lowered, 100.0 * LOWERED_STRESS)} %, more than {as_given(100.0 * LOWERED_STRESS)} %"
    )
    return (outside("control-radius-far", text, field="control_radius_mm", source=row["source"]),)


def _over_size(control_radius_mm: float, notch_size_mm: float | None) -> tuple[Finding, ...]:
    if notch_size_mm is None or control_radius_mm <= notch_size_mm:
        return ()
    text = (
        f"control radius {as_given(control_radius_mm)} mm is larger than the size of the notch, "
        f"{as_given(notch_size_mm)} mm:"
        " the stress within it is not that of a sharp notch"
    )
    return (outside("control-radius-far", text, field="control_radius_mm"),)


def _published(material: str) -> str:
    """The radius that a given one is compared with, in words."""
    row = _compared_row(material)
    if material in material_names():
        return f"that of {material} is {as_given(row['control_radius_mm'])} mm"
    whose = f"{material!r} has no published one" if material else "no material is named"
    return f"{whose}; the largest of all is {as_given(row['control_radius_mm'])} mm ({row['name']})"


def _compared_row(material: str) -> dict[str, Any]:
    """The row of a material; for one without a published radius that of the largest."""
    if material in material_names():
        return _row(material)
    return dict(max(tables.load(RADIUS_TABLE)["radius"], key=lambda row: row["control_radius_mm"]))


def _row(material: str) -> dict[str, Any]:
    rows = {row["name"]: row for row in tables.load(RADIUS_TABLE)["radius"]}
    if material not in rows:
        raise UnknownError("material", material, rows, "name")
    return dict(rows[material])

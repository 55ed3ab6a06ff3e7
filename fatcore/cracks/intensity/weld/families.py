"""Families of cracks at welds: root gap, surface crack at a toe, surface crack at a structural detail."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fatcore.cracks.intensity.family import Bound, Family, Parameter, Values
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.solid.families import ELLIPSE, ellipse, ellipse_remarks
from fatcore.cracks.intensity.weld import at_toe, root_gap, toe
from fatcore.cracks.intensity.weld.toe_detail import DETAILS
from fatcore.findings import Finding, Limit, caution, note
from fatcore.require import FloatArray
from fatcore.tables import load

_PLATE = (
    Parameter("half_length_mm", "length"),
    Parameter("thickness_mm", "length"),
    Parameter("half_width_mm", "length", None),
)
_DOUBTFUL_LENGTH = load(toe.TABLES[1])["longitudinal"]["doubtful_length"]  # over thickness
_MEMBRANE, _BENDING = Parameter("membrane_mpa", "load", 0.0), Parameter("bending_mpa", "load", 0.0)


def _solid(name: str) -> Limit:
    """A limit of the solid form under a name of its own, since the plain plate has one of the same name."""
    low, high = next((item.low, item.high) for item in toe.LIMITS if item.name == name)
    return Limit(f"solid_{name}", low, high, toe.SOURCES[2], "range of the solid form")


_SOLID = tuple(_solid(item.name) for item in toe.LIMITS)


def _root(values: Values) -> dict[str, FloatArray]:
    across = values["thickness_mm"] + 2.0 * values["leg_mm"]
    return {
        "gap_over_width": np.asarray(2.0 * values["half_length_mm"] / across),
        "leg_over_thickness": np.asarray(values["leg_mm"] / values["thickness_mm"]),
    }


def _toe(values: Values) -> dict[str, FloatArray]:
    ratios = ellipse(values)
    if values["form"] == "plane":
        return ratios
    footprint = np.asarray(values["footprint_mm"] / values["thickness_mm"])
    return {
        **ratios,
        "solid_relative_depth": ratios["relative_depth"],
        "solid_aspect_ratio": ratios["aspect_ratio"],
        "solid_footprint_over_thickness": footprint,
    }


def _toe_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:
    weld = toe.front_magnification(
        values["depth_mm"],
        values["half_length_mm"],
        values["thickness_mm"],
        values["footprint_mm"],
        values["form"],
    )
    first = 2 * at_toe.POINTS.index(values["point"])
    found = [*ellipse_remarks(values, ratios), _sharp(), *_floor(*weld[first : first + 2])]
    if values["form"] == "solid":
        text = "recalled coefficients, not confirmed, for membrane stress only; bending takes the plane form"
        found.append(caution("unconfirmed-coefficients", text, field="form", source=toe.SOURCES[2]))
    return tuple(found)


def _detail(values: Values) -> dict[str, FloatArray]:
    names = {name: values[name] for name in at_toe.DETAIL_SHAPE}
    shape = at_toe.detail_shape(values["thickness_mm"], values["toe_angle_deg"], names)
    ratios = {name: np.asarray(value) for name, value in shape.items()}
    if values["detail"] == "cruciform-fillet":
        ratios["fillet_height_over_thickness"] = ratios.pop("weld_height_over_thickness", np.asarray(0.5))
        ratios["fillet_leg_over_thickness"] = ratios.pop("weld_leg_over_thickness", np.asarray(0.5))
    return {**ellipse(values), **ratios}


def _detail_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:
    found = [*ellipse_remarks(values, ratios), _sharp()]
    text = "recalled coefficients of this detail, not confirmed"
    found.append(caution("unconfirmed-coefficients", text, field="detail", source=toe.SOURCES[1]))
    length = ratios.get("attachment_length_over_thickness")
    if values["detail"] == "longitudinal" and length is not None and (length > _DOUBTFUL_LENGTH).any():
        text = (
            f"beyond {_DOUBTFUL_LENGTH:g} thicknesses the square of the attachment length, "
            "doubtful in sign and size, matters"
        )
        found.append(caution("doubtful-length-term", text, field="attachment_length_mm", source=toe.SOURCES[1]))
    return tuple(found)


def _sharp() -> Finding:
    return note("sharp-toe", "the magnification holds for a sharp weld toe; a toe radius lowers it near the surface")


def _floor(*magnification: FloatArray) -> tuple[Finding, ...]:
    if not any((value <= 1.0).any() for value in magnification):
        return ()
    return (note("magnification-floor", "the toe magnification is held at 1, as its source asks"),)


WELD = (
    Family(
        name="root-gap",
        title="unfused root gap of a load-carrying cruciform joint with fillet welds",
        size="half_length_mm",
        k=root_gap.stress_intensity,
        parameters=(Parameter("thickness_mm", "length"), Parameter("leg_mm", "length"), _MEMBRANE),
        ratios=_root,
        bounds=(Bound("gap_over_width", 1.0, message="the gap is as wide as the welded section"),),
        limits=root_gap.LIMITS,
        sources=root_gap.SOURCES,
        tables=root_gap.TABLES,
    ),
    Family(
        name="surface-at-toe",
        title="semi-elliptical surface crack at the toe of an attachment weld",
        size="depth_mm",
        k=at_toe.stress_intensity,
        parameters=(
            *_PLATE,
            Parameter("footprint_mm", "length"),
            Parameter("point", "choice", "deepest", at_toe.POINTS),
            Parameter("form", "choice", "plane", toe.FORMS),
            _MEMBRANE,
            _BENDING,
        ),
        ratios=_toe,
        bounds=ELLIPSE,
        limits=(*surface.LIMITS, *_SOLID),
        sources=(*surface.SOURCES, toe.SOURCES[0]),
        by_choice={"solid": toe.SOURCES[2:]},
        tables=(*surface.TABLES, toe.TABLES[0], toe.TABLES[2]),
        remarks=_toe_remarks,
    ),
    Family(
        name="surface-at-detail",
        title="deepest point of a surface crack at the weld toe of a structural detail",
        size="depth_mm",
        k=at_toe.detail_intensity,
        parameters=(
            *_PLATE,
            Parameter("detail", "choice", choices=DETAILS),
            *(Parameter(name, "length", None) for name in at_toe.DETAIL_SHAPE),
            Parameter("toe_angle_deg", "angle", None, high=90.0),
            _MEMBRANE,
        ),
        ratios=_detail,
        bounds=ELLIPSE,
        limits=(*surface.LIMITS, *toe.DETAIL_LIMITS),
        sources=(*surface.SOURCES, toe.SOURCES[1]),
        tables=(*surface.TABLES, toe.TABLES[1]),
        remarks=_detail_remarks,
    ),
)

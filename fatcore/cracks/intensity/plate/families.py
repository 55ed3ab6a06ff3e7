"""Families of cracks through a plate: centre, edge, double edge, and the test specimens."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fatcore.cracks.intensity.family import Bound, Family, Parameter, Values
from fatcore.cracks.intensity.plate import centre, double_edge, edge, specimens
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray

_WIDTH = Parameter("width_mm", "length")
_MEMBRANE = Parameter("membrane_mpa", "load", 0.0)
_BENDING = Parameter("bending_mpa", "load", 0.0)
_SPECIMEN = (_WIDTH, Parameter("thickness_mm", "length"), Parameter("force_n", "load"))
_WHOLE = (Bound("alpha", 1.0, message="the crack is as large as the plate"),)


def _one(values: Values) -> FloatArray:
    return np.asarray(values["depth_mm"] / values["width_mm"])


def _two(values: Values, size: str) -> FloatArray:
    return np.asarray(2.0 * values[size] / values["width_mm"])


def _centre(values: Values) -> dict[str, FloatArray]:
    if values["width_mm"] is None:
        return {}
    alpha = _two(values, "half_length_mm")
    return {"alpha": alpha, **({"feddersen_alpha": alpha} if values["form"] == "feddersen" else {})}


def _edge_free(values: Values) -> dict[str, FloatArray]:
    alpha = _one(values)
    return {"alpha": alpha, **({"polynomial_alpha": alpha} if values["form"] == "polynomial" else {})}


def _edge_clamped(values: Values) -> dict[str, FloatArray]:
    alpha, length = _one(values), np.asarray(values["free_length_mm"] / values["width_mm"])
    if values["form"] == "twelve-term":
        return {"alpha": alpha, "clamped_long_alpha": alpha, "clamped_long_length": length}
    return {"alpha": alpha, "length_over_width": length}


def _double(values: Values) -> dict[str, FloatArray]:
    alpha = _two(values, "depth_mm")
    return {"alpha": alpha, **({"cubic_alpha": alpha} if values["form"] == "cubic" else {})}


def _bend(values: Values) -> dict[str, FloatArray]:
    ratios = {"alpha": _one(values)}
    span = values["span_mm"]
    return ratios if span is None else {**ratios, "span_over_width": np.asarray(span / values["width_mm"])}


def _free_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    if values["form"] != "handbook" or not np.any(values["bending_mpa"]):
        return ()
    text = "the closed handbook form in bending lies up to 2.3 % below computed factors near a/W = 0.3"
    return (caution("handbook-bending-low", text, field="form", source="edge-collocation"),)


def _clamped_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    if values["form"] != "twelve-term":
        return ()
    text = "twelve recalled coefficients, not confirmed; the closed form is the arbiter"
    return (caution("unconfirmed-coefficients", text, field="form", source="bs-8571-2014"),)


PLATE = (
    Family(
        name="centre",
        title="crack through a plate, in the middle of its width",
        size="half_length_mm",
        k=centre.stress_intensity,
        parameters=(
            Parameter("width_mm", "length", None),
            _MEMBRANE,
            Parameter("form", "choice", "tada", centre.FORMS),
        ),
        ratios=_centre,
        bounds=_WHOLE,
        limits=centre.LIMITS,
        sources=(),
        by_choice={"tada": centre.SOURCES[:1], "feddersen": centre.SOURCES[1:]},
        tables=centre.TABLES,
    ),
    Family(
        name="edge-free",
        title="crack from one edge of a plate, ends free to rotate",
        size="depth_mm",
        k=edge.stress_intensity,
        parameters=(_WIDTH, _MEMBRANE, _BENDING, Parameter("form", "choice", "accurate", edge.FORMS)),
        ratios=_edge_free,
        bounds=_WHOLE,
        limits=edge.LIMITS,
        sources=(),
        by_choice={
            "accurate": ("edge-collocation",),
            "handbook": edge.SOURCES[:1],
            "polynomial": edge.SOURCES[:1],
        },
        tables=edge.TABLES,
        remarks=_free_remarks,
    ),
    Family(
        name="edge-clamped",
        title="crack from one edge of a plate between ends that do not rotate",
        size="depth_mm",
        k=edge.clamped_intensity,
        parameters=(
            _WIDTH,
            Parameter("free_length_mm", "length"),
            _MEMBRANE,
            Parameter("form", "choice", "accurate", edge.CLAMPED_FORMS),
        ),
        ratios=_edge_clamped,
        bounds=(Bound("alpha", 0.999999, message="the crack is as large as the plate"),),
        limits=edge.LIMITS,
        sources=(),
        by_choice={
            "accurate": ("edge-clamped-closed-form", "edge-collocation"),
            "handbook": ("edge-clamped-closed-form", "tada-paris-irwin-2000"),
            "twelve-term": ("bs-8571-2014",),
        },
        tables=edge.TABLES,
        remarks=_clamped_remarks,
    ),
    Family(
        name="edge-bending-prevented",
        title="crack from one edge of a plate, every section kept straight",
        size="depth_mm",
        k=edge.prevented_intensity,
        parameters=(_WIDTH, _MEMBRANE),
        ratios=lambda values: {"alpha": _one(values)},
        bounds=_WHOLE,
        sources=("harris-1967",),
        tables=edge.TABLES,
    ),
    Family(
        name="double-edge",
        title="equal cracks from both edges of a plate",
        size="depth_mm",
        k=double_edge.stress_intensity,
        parameters=(_WIDTH, _MEMBRANE, Parameter("form", "choice", "cosine", double_edge.FORMS)),
        ratios=_double,
        bounds=_WHOLE,
        limits=double_edge.LIMITS,
        sources=double_edge.SOURCES,
        tables=double_edge.TABLES,
    ),
    Family(
        name="specimen-compact",
        title="compact tension specimen",
        size="depth_mm",
        k=specimens.compact,
        parameters=_SPECIMEN,
        ratios=lambda values: {"alpha": _one(values), "compact_alpha": _one(values)},
        bounds=_WHOLE,
        limits=specimens.LIMITS,
        sources=("astm-e647",),
        tables=specimens.TABLES,
    ),
    Family(
        name="specimen-middle",
        title="middle-cracked tension specimen",
        size="half_length_mm",
        k=specimens.middle,
        parameters=_SPECIMEN,
        ratios=lambda values: dict.fromkeys(("alpha", "middle_alpha"), _two(values, "half_length_mm")),
        bounds=_WHOLE,
        limits=specimens.LIMITS,
        sources=("astm-e647",),
        tables=specimens.TABLES,
    ),
    Family(
        name="specimen-bend",
        title="three-point bend specimen",
        size="depth_mm",
        k=specimens.bend,
        parameters=(*_SPECIMEN, Parameter("span_mm", "length", None)),
        ratios=_bend,
        bounds=_WHOLE,
        limits=specimens.LIMITS,
        sources=("astm-e399",),
        tables=specimens.TABLES,
    ),
    Family(
        name="specimen-eccentric",
        title="eccentrically loaded single-edge specimen",
        size="depth_mm",
        k=specimens.eccentric,
        parameters=_SPECIMEN,
        ratios=lambda values: {"alpha": _one(values)},
        bounds=_WHOLE,
        limits=specimens.LIMITS,
        sources=("astm-e647",),
        tables=specimens.TABLES,
    ),
)

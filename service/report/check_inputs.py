"""Inputs of a check in words: what it judges by, its loading, its weld lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import Any

from fatcore.figures import as_given

from ..base.common import Strict
from ..topics.check.judging import BiaxialityCurves, CheckMaterial
from ..topics.check.lines import LineInput
from ..topics.check.locations import line_course
from ..topics.check.models import BlocksLoadingInput, CheckRequest, HistoryLoadingInput, TargetInput, one_repeat_of
from ..topics.check.settings import OWN, material_of, needs_radius
from ..topics.curves.models import UserDefinedCurve
from .inputs import InputGroup, InputRow, group_inputs, list_inputs, stated_rows
from .tables import named_curve_term

MOST_BLOCKS = 40
MOST_LETTERS = 150  # of names of lines in one cell
_CURVES = {"opening_curve": "opening curve", "curve": "design curve", "shear_curve": "shear curve"}
_GROWTH = {"crack": "Crack", "law": "Growth law", "end": "End of growth", "sharing": "Load sharing"}


def check_inputs(request: CheckRequest) -> dict[str, Any]:
    """What the section on inputs shows, by the names of its template."""
    loads = [line.unit_load for line in request.lines if line.unit_load]
    return {
        "groups_of_inputs": list(_groups(request)),
        "unit_loads": sorted({f"{as_given(load.value)} {load.unit}" for load in loads}),
        "line_groups": list(_line_groups(request.lines)),
        "own": [name for name in OWN if any(getattr(line, name) is not None for line in request.lines)],
        "courses": [{"line": line.name, "course": _course_text(line)} for line in request.lines],
        "growth_groups": request.growth and group_inputs(request.growth, _GROWTH, "Place", leave_out=("path",)),
        "most_blocks": MOST_BLOCKS,
        "load_cases": [{"case": case, "description": words} for case, words in request.load_cases.items()],
        **_loading(request),
    }


def _groups(request: CheckRequest) -> Iterator[InputGroup]:
    yield InputGroup(title="Material and condition", rows=list(_material_rows(request)))
    yield InputGroup(title="Asked", rows=list(_target_rows(request)))
    yield InputGroup(title="Curves", rows=list(_curve_rows(request)))
    yield InputGroup(title="Stated, not judged", rows=stated_rows(request))


def _row(model: Strict, name: str, words: str, value: str) -> InputRow:
    """A field in words; the default is marked where the field was not given."""
    return InputRow(name=words, value=value, default=name not in model.model_fields_set)


def _material_rows(request: CheckRequest) -> Iterator[InputRow]:
    """The material of the check, its radius only where a line uses it."""
    material: CheckMaterial = request.material
    yield _row(material, "name", "material", material.name)
    if material.description is not None:
        yield _row(material, "description", "of the material", material.description)
    yield from (row for row in list_inputs(material, ("name", "description", "poisson_ratio", "control_radius_mm")))
    if needs_radius(request):
        yield _row(material, "poisson_ratio", "Poisson's ratio", as_given(material.poisson_ratio))
        radius = f"{as_given(material_of(request).control_radius_mm)} mm"
        published = "" if material.control_radius_mm is not None else ", as published"
        yield _row(material, "control_radius_mm", "control radius", radius + published)
        exact = "integrated exactly" if request.coefficients == "exact" else "by the published fits"
        yield _row(request, "coefficients", "energy coefficients", exact)
    yield _row(request, "condition", "condition", request.condition)


def _target_rows(request: CheckRequest) -> Iterator[InputRow]:
    target: TargetInput = request.target
    one = one_repeat_of(request.loading)
    yield _row(target, "repeats", "repeats of the loading", as_given(target.repeats))
    if one is not None:
        from_rates = "" if request.loading.one_repeat is not None else ", by the rates of the record"
        yield InputRow(name="one repeat is", value=f"{as_given(one.value)} {one.unit}{from_rates}", default=False)
    yield _row(target, "survival_probability", "survival probability", _survival(target.survival_probability))
    if target.damage_limit is None:
        limit = target.damage_limit_rule or "as the curves' documents state it"
        given = "damage_limit" if target.damage_limit_rule is None else "damage_limit_rule"
        yield _row(target, given, "permissible damage sum", limit)
    else:
        yield _row(target, "damage_limit", "permissible damage sum", as_given(target.damage_limit))
    if target.design_fatigue_factor is not None:
        yield _row(target, "design_fatigue_factor", "design fatigue factor", as_given(target.design_fatigue_factor))
    if target.sample_size is not None:
        yield _row(target, "sample_size", "tests behind the curve", as_given(target.sample_size))
    yield _row(target, "load_factor", "factor on the loads", as_given(target.load_factor))
    yield _row(target, "resistance_factor", "factor that divides strengths", as_given(target.resistance_factor))


def _survival(probability: float | None) -> str:
    return "as the curves state it" if probability is None else f"{as_given(100.0 * probability)} %"


def _curve_rows(request: CheckRequest) -> Iterator[InputRow]:
    curves = request.curves
    for name, words in _CURVES.items():
        curve = getattr(curves, name, None)
        if isinstance(curve, UserDefinedCurve):
            origin = curve.origin or "origin not stated"
            yield _row(curves, name, words, f"{curve.name} (own; {origin})")
            yield from (
                InputRow(name=f"{words}, {row.name}", value=row.value, default=row.default)
                for row in list_inputs(curve, ("name", "origin"))
            )
        elif curve is not None:
            yield _row(curves, name, words, named_curve_term(curve))
    if isinstance(curves, BiaxialityCurves):
        both = f"{as_given(curves.lower)} and {as_given(curves.upper)}"
        given = "lower" if "lower" in curves.model_fields_set else "upper"
        yield _row(curves, given, "biaxiality bounds", both)
    elif curves.shear_curve is not None:
        yield _row(curves, "interaction", "interaction", curves.interaction or "that of the document")
    yield _row(curves, "environment", "environment of the curves", curves.environment or "that of the curves")
    yield from list_inputs(curves, (*_CURVES, "rule", "lower", "upper", "interaction", "environment"))


def _loading(request: CheckRequest) -> dict[str, Any]:
    loading = request.loading
    if isinstance(loading, HistoryLoadingInput):
        channels = loading.channels.items()
        return {
            "record": list_inputs(loading, ("kind", "channels", "stretches", "one_repeat")),
            "channels": [
                {"case": name, "samples": len(values), "low": as_given(min(values)), "high": as_given(max(values))}
                for name, values in channels
            ],
            "stretches": [
                {**each.model_dump(), "sample_rate_hz": each.sample_rate_hz and as_given(each.sample_rate_hz)}
                for each in loading.stretches[:MOST_BLOCKS]
            ],
        }
    blocks = loading.blocks if isinstance(loading, BlocksLoadingInput) else [loading]
    told = any(block.name or block.description for block in blocks)
    return {"cases": list(dict.fromkeys(name for block in blocks for name in block.factors)), "told": told}


def _course_text(line: LineInput) -> str:
    return "; ".join(f"{words} {place}" for words, place in line_course(line).items())


def _line_groups(lines: Sequence[LineInput]) -> Iterator[dict[str, Any]]:
    """Lines of the same settings together."""
    groups: dict[tuple[Any, ...], list[str]] = {}
    for line in lines:
        groups.setdefault(tuple({**_settings(line), **_own(line)}.items()), []).append(line.name)
    for key, names in groups.items():
        words = dict(key)
        yield {"lines": _some(names), **words, "own": any(words[name] is not None for name in OWN)}


def _some(names: Sequence[str]) -> str:
    """As many names as a cell has room for, and how many more there are."""
    lengths = accumulate(map(len, names))
    shown = max(1, sum(length <= MOST_LETTERS for length in lengths))
    return ", ".join(names[:shown]) + (f" and {len(names) - shown} more" if shown < len(names) else "")


def _own(line: LineInput) -> dict[str, str | None]:
    """What the line is judged by for itself, as words; None where the check says it."""
    words: dict[str, str | None] = {"curves": None, "condition": line.condition, "material": None}
    for name in ("curves", "material"):
        part = getattr(line, name)
        if part is not None:
            words[name] = "; ".join(f"{row.name} {row.value}" for row in list_inputs(part))
    return words


def _settings(line: LineInput) -> dict[str, Any]:
    notch, mesh, ends = line.notch, line.mesh, line.exclude_ends_mm
    size = f", {as_given(notch.notch_size_mm)} mm" if notch and notch.notch_size_mm else ""
    return {
        "basis": line.basis,
        "notch": f"{notch.kind}, {as_given(notch.opening_angle_deg)}°{size}" if notch else None,
        "mesh": f"{mesh.element}, {as_given(mesh.element_size_mm)} mm" if mesh else None,
        "stations": len(line.position_mm),
        "ends": f"{as_given(ends)} mm ({line.exclude_ends_reason or 'no reason given'})" if ends else None,
        "average": f"{line.average_over} node" + ("s" if line.average_over > 1 else ""),
        "cases": _some(list(line.cases)),
    }

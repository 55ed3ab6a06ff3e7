"""A check in words: verdict with its reason, governing point, inputs, method."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..base.text import by_gravity, number, place_text
from ..topics.check.lines import LineInput
from ..topics.check.models import (
    BiaxialityCurves,
    BlockInput,
    BlocksLoadingInput,
    CheckRequest,
    ConstantLoadingInput,
    HistoryLoadingInput,
    TargetInput,
)
from ..topics.check.routes import material_of, target_of
from ..topics.curves.models import CurveRef
from .markup import Html, facts, join_markup, table, tag

MOST_BLOCKS = 40
BASES = {
    "peak-stress": "peak stresses of a sharp-notch model",
    "structural": "structural stress",
    "effective-notch": "effective notch stress",
    "nominal": "nominal stress",
}


def reason(answer: Mapping[str, Any]) -> str:
    """The verdict in one or two sentences."""
    used = (
        f"{_named(answer, 'fail', 'Failing')}{_named(answer, 'undecided', 'Undecided')}"
        f"Utilisation {number(answer['utilisation'])} in stress at the governing point."
    )
    factor = answer["factor_to_limit"]
    if answer["verdict"] == "undecided":
        return (
            f"{used} A validity limit is left, or stations that are not judged are over the limit, at"
            f" {', '.join(answer['deciding_lines'])}: what is shown there carries no verdict."
        )
    growth = answer["growth"]
    if growth is not None and not growth["reaches_target"]:
        lives = f"{number(growth['life_repeats'])} of the {number(growth['repeats_asked'])} passes asked"
        used = f"The crack at {growth['line']} lives {lives}. {used}"
    if answer["verdict"] == "pass" or (factor is not None and factor >= 1.0):
        return f"{used} All loads together may grow by a factor of {number(factor)} before the limit is reached."
    return f"{used} All loads together must come down to {number(factor)} of those given to just pass."


def _named(answer: Mapping[str, Any], verdict: str, word: str) -> str:
    """Every line of a verdict with its utilisation, as a sentence."""
    lines = [line for line in by_gravity(answer["lines"]) if line["verdict"] == verdict]
    names = ", ".join(f"{line['name']} ({number(line['governing_utilisation'])})" for line in lines)
    return f"{word}: {names}. " if names else ""


def governing_facts(request: CheckRequest, answer: Mapping[str, Any]) -> Html:
    """The governing point in numbers."""
    point, ratio = answer["governing"], answer["biaxiality_ratio"]
    peaks = {line.name: line.basis for line in request.lines}[point["line"]] == "peak-stress"
    shown = None if not peaks else "no opening stress" if ratio is None else number(ratio)
    return facts(
        {
            "weld line": point["line"],
            "position": f"{place_text(point)}, station {point['index']}",
            "largest range": f"{number(answer['equivalent_stress_mpa'])} MPa",
            "allowable range": _with_unit(answer["allowable_stress_mpa"], "MPa"),
            "biaxiality ratio": shown,
            "design curve": answer["curve"],
            "life": f"{number(answer['life_cycles'])} cycles" if answer["life_cycles"] else "infinite",
            "repeats to limit": _with_unit(answer["life_repeats"], f"({number(target_of(request).repeats)} asked)"),
            "damage": f"{number(answer['damage'])}, limit {number(answer['damage_limit'])}",
            "utilisation": f"{number(answer['utilisation'])} in stress",
            "factor on loads": _with_unit(answer["factor_to_limit"], "(just passes)"),
        }
    )


def _with_unit(value: float | None, unit: str) -> str | None:
    return None if value is None else f"{number(value)} {unit}"


def inputs(request: CheckRequest) -> list[Html]:
    """What was given: joint, target, loading, lines."""
    target, material = request.target, request.material
    peaks = any(line.basis == "peak-stress" for line in request.lines)
    survival = target.survival_probability
    joint = facts(
        {
            "material": material.name,
            "Poisson's ratio": material.poisson_ratio,
            "control radius": f"{number(material_of(request).control_radius_mm)} mm" if peaks else None,
            "condition": request.condition,
            "survival": "as the curves state it" if survival is None else f"{100.0 * survival:.5g} %",
            "damage limit": _limit(target),
            "repeats": number(target.repeats),
            "load factor": target.load_factor,
            "resistance factor": target.resistance_factor,
            **_curves(request),
        }
    )
    return [joint, tag("h3", "Loading"), *_loading(request), tag("h3", "Weld lines"), _lines(request)]


def _curves(request: CheckRequest) -> dict[str, Any]:
    curves = request.curves
    if isinstance(curves, BiaxialityCurves):
        return {
            "opening curve": _curve_name(curves.opening_curve),
            "shear curve": _curve_name(curves.shear_curve),
            "biaxiality bounds": f"{number(curves.lower)} and {number(curves.upper)}",
        }
    shear = curves.shear_curve
    return {
        "curve": _curve_name(curves.curve),
        "shear curve": None if shear is None else _curve_name(shear),
        "interaction": None if shear is None else curves.interaction or "that of the document",
    }


def _curve_name(given: CurveRef) -> str:
    return given if isinstance(given, str) else f"{given.name} (own; {given.origin or 'origin not stated'})"


def _loading(request: CheckRequest) -> list[Html]:
    loading, units = request.loading, _units(request)
    if isinstance(loading, HistoryLoadingInput):
        rows = [
            {"case": name, "samples": len(v), "low": min(v), "high": max(v)} for name, v in loading.channels.items()
        ]
        heads = {"case": "channel", "samples": "samples", "low": "least factor", "high": "largest factor"}
        counting = f"residue {loading.residue}, cycles {loading.cycles}"
        text = f"Histories, repeats {number(loading.repeats)}, {counting}."
        return [tag("p", text), table(heads, rows), units]
    blocks: Sequence[BlockInput | ConstantLoadingInput]
    blocks = loading.blocks if isinstance(loading, BlocksLoadingInput) else [loading]
    cases = list(dict.fromkeys(name for block in blocks for name in block.factors))
    rows = [
        {"block": index + 1, "cycles": block.cycles, **{c: _state(block.factors.get(c)) for c in cases}}
        for index, block in enumerate(blocks[:MOST_BLOCKS])
    ]
    heads = {"block": "block", "cycles": "cycles in a pass", **{name: f"{name} (factors)" for name in cases}}
    rest = len(blocks) - MOST_BLOCKS
    more = tag("p", f"{rest} more blocks are not listed.", class_="small") if rest > 0 else join_markup([])
    return [table(heads, rows), more, units]


def _state(state: Any) -> str | None:
    return None if state is None else f"{number(state.minimum)} to {number(state.maximum)}"


def _units(request: CheckRequest) -> Html:
    loads = {f"{number(line.unit_load.value)} {line.unit_load.unit}" for line in request.lines if line.unit_load}
    unit = f" Unit load: {', '.join(sorted(loads))}." if loads else ""
    return tag("p", f"Factors multiply the stresses of the load cases.{unit}", class_="small")


def _lines(request: CheckRequest) -> Html:
    groups: dict[tuple[Any, ...], list[str]] = {}
    for line in request.lines:
        groups.setdefault(tuple(_settings(line).items()), []).append(line.name)
    rows = [{"lines": ", ".join(names), **dict(key)} for key, names in groups.items()]
    heads = {"lines": "lines", "basis": "stress", "notch": "notch", "mesh": "mesh", "stations": "stations"}
    return table({**heads, "ends": "ends not judged", "average": "mean over", "cases": "load cases"}, rows)


def _settings(line: LineInput) -> dict[str, Any]:
    notch, mesh = line.notch, line.mesh
    size = f", {number(notch.notch_size_mm)} mm" if notch and notch.notch_size_mm else ""
    return {
        "basis": line.basis,
        "notch": f"{notch.kind}, {number(notch.opening_angle_deg)}°{size}" if notch else None,
        "mesh": f"{mesh.element}, {number(mesh.element_size_mm)} mm" if mesh else None,
        "stations": len(line.position_mm),
        "ends": _left_out(line),
        "average": f"{line.average_over} node" + ("s" if line.average_over > 1 else ""),
        "cases": ", ".join(line.cases),
    }


def _left_out(line: LineInput) -> str | None:
    if not line.exclude_ends_mm:
        return None
    reason = line.exclude_ends_reason or "no reason given"
    return f"{number(line.exclude_ends_mm)} mm ({reason})"


def method(request: CheckRequest) -> Html:
    """How the numbers came about, in the order of the calculation."""
    bases = dict.fromkeys(line.basis for line in request.lines)
    steps = [f"Stresses: {', '.join(BASES[basis] for basis in bases)}, superposed with the load factors."]
    if "peak-stress" in bases:
        steps.append(_peak_step(request))
    steps += [_cycle_step(request), _curve_step(request), _verdict_step(request)]
    return tag("ol", *[tag("li", step) for step in steps])


def _peak_step(request: CheckRequest) -> str:
    how = {"exact": "integrated exactly", "published-fit": "by the published fits"}[request.coefficients]
    return (
        "Ranges of the signed opening, sliding and tearing peaks are weighted and combined into one "
        f"equivalent peak stress range (energy coefficients {how}). The biaxiality ratio compares the "
        "squared shear parts with the squared opening part."
    )


def _cycle_step(request: CheckRequest) -> str:
    if isinstance(request.loading, HistoryLoadingInput):
        return "Channels are superposed at every station before cycles are counted."
    return "A cycle runs between two load states: every case at its maximum, and every case at its minimum."


def _curve_step(request: CheckRequest) -> str:
    relieved = request.condition == "stress-relieved"
    ranges = "by the load ratio of each mode" if relieved else "in full, as-welded"
    if isinstance(request.curves, BiaxialityCurves):
        rule = "the opening curve below the lower bound of biaxiality, the shear curve above the upper one, "
        return f"Ranges count {ranges}. Each cycle is set on {rule}and the lower life of both in between."
    return f"Ranges count {ranges}. Each cycle is set on the fixed curve."


def _limit(target: TargetInput) -> str:
    if target.damage_limit is not None:
        return number(target.damage_limit)
    divided = target.design_fatigue_factor
    rule = target.damage_limit_rule or "as the curves' documents state it"
    return rule if divided is None else f"{rule}, design fatigue factor {number(divided)}"


def _verdict_step(request: CheckRequest) -> str:
    given = request.target.damage_limit
    told = "" if given is None else f" {number(given)}"
    return (
        "Damage is the linear sum over all repeats. Utilisation is the inverse of the factor on all loads at "
        f"which it just reaches the damage limit{told}; up to 1 passes. "
        "A line fails by a judged station within all validity limits; it is undecided when a validity limit "
        "is left at its governing station, or when a station that is not judged is over the limit and no "
        "reason is given. The check fails when any line fails, else it is undecided when any line is."
    )

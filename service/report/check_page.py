"""The report of a weld check."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from ..base.text import by_gravity, number
from ..topics.check.models import BlocksLoadingInput, CheckRequest
from . import check_words, style
from .curve_plot import CurvePoint, band_text, curve_figure, equal_damage_range
from .exceedance_plot import exceedance_figure
from .governing import GoverningCycles, base_curve, governing_cycles
from .growth_page import growth_facts, growth_history
from .line_plots import line_figures
from .markup import Html, join_markup, table, tag
from .page import Head, Section, page

MOST_BLOCKS = 40
LINE_COLUMNS = {
    "name": "line",
    "verdict": "verdict",
    "governing_utilisation": "utili\u00adsation",
    "position_mm": "at [mm]",
    "equivalent_stress_mpa": "range [MPa]",
    "allowable_stress_mpa": "allowable [MPa]",
    "biaxiality_ratio": "bi\u00adaxiality",
    "life_cycles": "life [cycles]",
    "damage": "damage",
    "largest_unjudged_utilisation": "not judged",
    "curve": "curve",
}
FIGURES = ("biaxiality_ratio", "life_cycles")


def check_page(request: CheckRequest, content: bytes) -> str:
    """The whole page of a check from its request and the bytes of its answer."""
    envelope = json.loads(content)
    answer = envelope["answer"]
    cycles = _cycles(request, answer)
    point = [check_words.governing_facts(request, answer), _curve(request, answer, cycles)]
    several = [Section("Where the damage comes from", _damage(request, cycles))] if cycles.count.size > 1 else []
    sections = [
        Section("Governing point", point),
        *several,
        Section("Weld lines", [_lines(answer), *_along(request, answer)]),
        *([_growth(answer["growth"])] if answer["growth"] else []),
        Section("Inputs", check_words.inputs(request)),
        Section("Method", [check_words.method(request)]),
    ]
    head = Head(
        kind="fatigue check of weld lines",
        title=request.title,
        verdict=answer["verdict"],
        reason=check_words.reason(answer),
    )
    return page(head, sections, envelope)


def _growth(answer: Mapping[str, Any]) -> Section:
    passes = answer["life_repeats"]
    lasting = "It stands still." if passes is None else f"It lasts {number(passes)} passes of the loading."
    asked = f"{number(answer['repeats_asked'])} are asked"
    enough = f"{asked}." if answer["reaches_target"] else f"{asked}, so the check fails."
    words = (
        f"A crack at line {answer['line']} under the loading of the check. {lasting} {enough} "
        "Its life stands beside the life of the curve and must not be added to it."
    )
    shown = [tag("p", words), growth_facts(answer), *growth_history(answer["history"])]
    return Section("Growth of a crack", shown)


def _cycles(request: CheckRequest, answer: Mapping[str, Any]) -> GoverningCycles:
    point = answer["governing"]
    index = [line.name for line in request.lines].index(point["line"])
    return governing_cycles(request, index, point["index"], answer["curve"])


def _curve(request: CheckRequest, answer: Mapping[str, Any], cycles: GoverningCycles) -> Html:
    base = base_curve(request, answer["curve"])
    applied = float(cycles.count.sum())
    constant = equal_damage_range(cycles.curve, applied, answer["damage"])
    point = None
    if constant is not None:
        point = CurvePoint(cycles=applied, range_mpa=constant, largest_mpa=answer["equivalent_stress_mpa"])
    words = [f"Curve {answer['curve']} at the governing point.", band_text(base)]
    words.append(
        "No cycle does damage, so no point is drawn."
        if point is None
        else f"Diamond: the constant range of {number(point.range_mpa)} MPa does in {number(applied)} cycles "
        "the damage of the whole loading."
    )
    limit = answer["damage_limit"]
    return curve_figure(cycles.curve, base, point, limit, width_mm=style.FULL_MM, caption=" ".join(words))


def _damage(request: CheckRequest, cycles: GoverningCycles) -> list[Html]:
    words = (
        "Equivalent ranges at the governing point over all repeats. Left: how many cycles reach a range. "
        "Right: which ranges do the damage."
    )
    picture = exceedance_figure(
        cycles.range_mpa, cycles.count, cycles.damage, cut_off_mpa=cycles.curve.cut_off_mpa, caption=words
    )
    if picture is None:
        return [tag("p", "No stress range at the governing point.")]
    if isinstance(request.loading, BlocksLoadingInput):
        return [picture, _blocks(cycles, len(request.loading.blocks))]
    return [picture]


def _blocks(cycles: GoverningCycles, given: int) -> Html:
    # cycles between the load states of different blocks follow after the blocks
    total = float(cycles.damage.sum())
    order = np.argsort(-cycles.damage, kind="stable")
    order = order[(order < given) | (cycles.range_mpa[order] > 0.0)]  # every block, and what cycles between them
    rows = [
        {
            "block": str(int(at) + 1) if at < given else "between",
            "range": float(cycles.range_mpa[at]),
            "ratio": float(cycles.ratio[at]) if np.isfinite(cycles.ratio[at]) else "no opening",
            "count": float(cycles.count[at]),
            "damage": float(cycles.damage[at]),
            "share": round(100.0 * float(cycles.damage[at]) / total, 2) if total > 0.0 else 0.0,
        }
        for at in order[:MOST_BLOCKS]
    ]
    heads = {"block": "block", "range": "range [MPa]", "ratio": "biaxiality", "count": "cycles"}
    rest = order.size - MOST_BLOCKS
    caption = "Blocks, and cycles between them, by damage" + (
        f"; {rest} with less damage are not listed" if rest > 0 else ""
    )
    return table({**heads, "damage": "damage", "share": "share [%]"}, rows, caption=caption)


def _lines(answer: Mapping[str, Any]) -> Html:
    rows = []
    for line in by_gravity(answer["lines"]):
        at = line["governing_index"]
        row = {key: line[key][at] if isinstance(line[key], list) else line[key] for key in LINE_COLUMNS}
        row["curve"] = tag("span", line["curve"], class_="curve")
        row["life_cycles"] = number(row["life_cycles"], 3)
        row["biaxiality_ratio"] = _ratio(row["biaxiality_ratio"])
        row["verdict"] = tag("strong", line["verdict"]) if line["verdict"] != "pass" else "pass"
        rows.append(row)
    words = (
        "Governing station of every line: failing, undecided, passing, the most used first; "
        "not judged is the largest utilisation of stations left out"
    )
    return table(LINE_COLUMNS, rows, caption=words, figures=FIGURES)


def _ratio(value: float | None) -> str:
    return "no opening" if value is None else number(value, 2)


def _along(request: CheckRequest, answer: Mapping[str, Any]) -> list[Html]:
    text = (
        "Largest equivalent range along each line. The dashed line is the allowable range of its governing "
        "station (diamond); other stations may have another one. Hollow points in hatched ends are not "
        "judged."
    )
    if any(line.basis == "peak-stress" for line in request.lines):
        text += " Below: biaxiality ratio, with the bounds of the curve rule dotted where it is used."
    return [
        join_markup([tag("h3", "Along the lines"), tag("p", text, class_="small")]),
        line_figures(request, answer),
    ]

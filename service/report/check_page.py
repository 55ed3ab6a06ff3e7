"""The report of a weld check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from typing import Any

import numpy as np
from markupsafe import Markup

from fatcore.figures import against, as_given, coordinate
from fatcore.stress.weld_lines.solid.part import PartSurface

from ..base.text import by_gravity, end_words, place_text, point_text
from ..comparison.changes import Comparison
from ..topics.check.judging import Described
from ..topics.check.lines import LineInput
from ..topics.check.locations import line_course
from ..topics.check.models import BlocksLoadingInput, CheckRequest, HistoryLoadingInput
from ..topics.check.settings import OWN, material_of, needs_radius, target_of
from .governing import GoverningCycles, base_curve, governing_cycles
from .growth_page import crack_history
from .inputs import list_inputs
from .levels import MOST_BLOCKS as MOST_BLOCKS_APART
from .levels import line_levels
from .page import page
from .pictures.curve import applied_point, curve_figure
from .pictures.exceedance import exceedance_figures
from .pictures.lines import MOST_PICTURES, MOST_STATIONS, drawn_stations, line_figures, shown_lines
from .pictures.palette import Picture
from .pictures.part import part_figure
from .pictures.placed import placed_check

MOST_BLOCKS = 40
MOST_LETTERS = 150  # of names of lines in one cell
NAMED = {"rule", "lower", "upper", "opening curve", "shear curve", "curve", "interaction"}  # by the template itself


def check_page(
    request: CheckRequest,
    envelope: Mapping[str, Any],
    *,
    part: PartSurface | None = None,
    changes: Comparison | None = None,
    stopped: Sequence[str] = (),
) -> str:
    """The whole page of a check from its request and its answer in the envelope, with the part where it is known.

    changes : since an older answer, where it is compared with one
    stopped : why a gate stops the check, where one does
    """
    answer = envelope["answer"]
    point, growth = answer["governing"], answer["growth"]
    index = [line.name for line in request.lines].index(point["line"])
    cycles = governing_cycles(request, index, point["index"], answer["curve"])
    return page(
        "check.html",
        envelope,
        request=request,
        changes=changes,
        stopped=stopped,
        governing=request.lines[index],
        place=place_text(point),
        in_space=_in_space(request, answer, part),
        repeats=target_of(request).repeats,
        used=by_gravity(answer["lines"]),
        lines=[_line_row(line) for line in by_gravity(answer["lines"])],
        places=[_place_row(line) for line in by_gravity(answer["lines"])],
        pictures=_along_lines(request, answer),
        most_pictures=MOST_PICTURES,
        most_levels=MOST_BLOCKS_APART,
        most_stations=MOST_STATIONS,
        thinned=any(len(line["position_mm"]) > MOST_STATIONS for line in answer["lines"]),
        growth_end=growth and end_words(growth),
        history=growth and crack_history(growth),
        **_governing_cycles(request, index, answer, cycles),
        **_inputs(request),
    )


def _along_lines(request: CheckRequest, answer: Mapping[str, Any]) -> list[Picture]:
    shown, names = shown_lines(answer), [line.name for line in request.lines]
    levels = line_levels(request, {names.index(line["name"]): drawn_stations(line) for line in shown})
    return line_figures(request, shown, {names[index]: each for index, each in levels.items()})


def _in_space(request: CheckRequest, answer: Mapping[str, Any], part: PartSurface | None) -> Picture | None:
    """The lines in space, None where none has coordinates."""
    placed = placed_check(request, answer)
    return part_figure(placed.lines, part, mark=placed.mark, remarks=placed.remarks) if placed.lines else None


def _governing_cycles(
    request: CheckRequest, index: int, answer: Mapping[str, Any], cycles: GoverningCycles
) -> dict[str, Any]:
    """The point on the curve, and where the damage comes from."""
    base = base_curve(request, index, answer["curve"])
    count = float(cycles.count.sum())
    applied = applied_point(cycles.curve, count, answer["damage"], answer["equivalent_stress_mpa"])
    several = cycles.count.size > 1
    return {
        "curve": base,
        "applied": applied,
        "on_curve": curve_figure(cycles.curve, base, applied, answer["damage_limit"]),
        "several_cycles": several,
        "exceedances": several
        and exceedance_figures(cycles.range_mpa, cycles.count, cycles.damage, cut_off_mpa=cycles.curve.cut_off_mpa),
        "blocks": isinstance(request.loading, BlocksLoadingInput) and _blocks(cycles, request.loading.blocks),
    }


def _blocks(cycles: GoverningCycles, blocks: Sequence[Described]) -> dict[str, Any]:
    given = len(blocks)
    # cycles between the load states of different blocks follow after the blocks
    total = float(cycles.damage.sum())
    order = np.argsort(-cycles.damage, kind="stable")
    order = order[(order < given) | (cycles.range_mpa[order] > 0.0)]  # every block, and what cycles between them
    rows = [
        {
            "block": f"{int(at) + 1} {blocks[int(at)].name or ''}".rstrip() if at < given else "between",
            "range": float(cycles.range_mpa[at]),
            "ratio": float(cycles.ratio[at]) if np.isfinite(cycles.ratio[at]) else "no opening",
            "count": float(cycles.count[at]),
            "damage": float(cycles.damage[at]),
            "share": 100.0 * float(cycles.damage[at]) / total if total > 0.0 else 0.0,
        }
        for at in order[:MOST_BLOCKS]
    ]
    return {"rows": rows, "rest": order.size - MOST_BLOCKS}


_VERDICT, _CURVE = Markup("<strong>{}</strong>"), Markup('<span class="curve">{}</span>')


def _line_row(line: Mapping[str, Any]) -> dict[str, Any]:
    """What the table of lines shows of a line: its governing station."""
    at = line["governing_index"]
    here = {key: value[at] if isinstance(value, list) else value for key, value in line.items()}
    unjudged, ratio, life = (here[key] for key in ("largest_unjudged_utilisation", "biaxiality_ratio", "life_cycles"))
    return {
        "name": here["name"],
        "verdict": here["verdict"] if here["verdict"] == "pass" else _VERDICT.format(here["verdict"]),
        "used": against(here["governing_utilisation"], 1.0),
        "at": coordinate(here["position_mm"]),
        "range": here["equivalent_stress_mpa"],
        "allowable": here["allowable_stress_mpa"],
        "ratio": "no opening" if ratio is None else ratio,
        "life": "infinite" if life is None else life,
        "damage": against(here["damage"], here["damage_limit"]),
        "unjudged": None if unjudged is None else against(unjudged, 1.0),
        "curve": _CURVE.format(here["curve"]),
    }


def _place_row(line: Mapping[str, Any]) -> dict[str, Any]:
    # as texts: a number of a node or a station is not to be rounded
    point = line["governing"]
    node, place = point["node_id"], point["coordinates_mm"]
    return {
        "line": point["line"],
        "index": str(point["index"]),
        "position": coordinate(point["position_mm"]),
        "node": None if node is None else str(node),
        "place": None if place is None else point_text(place),
    }


def _inputs(request: CheckRequest) -> dict[str, Any]:
    """What was given, where the page does not show the request as it is."""
    loading, loads = request.loading, [line.unit_load for line in request.lines if line.unit_load]
    given: dict[str, Any] = {
        "control_radius_mm": material_of(request).control_radius_mm if needs_radius(request) else None,
        "unit_loads": sorted({f"{as_given(load.value)} {load.unit}" for load in loads}),
        "line_groups": list(_line_groups(request.lines)),
        "own": [name for name in OWN if any(getattr(line, name) is not None for line in request.lines)],
        "courses": [{"line": line.name, "course": _course_text(line)} for line in request.lines],
        "further_of_curves": [pair for pair in list_inputs(request.curves) if pair[0] not in NAMED],
        "growth_inputs": request.growth and list_inputs(request.growth),
        "most_blocks": MOST_BLOCKS,
        "load_cases": [{"case": case, "description": words} for case, words in request.load_cases.items()],
    }
    if isinstance(loading, HistoryLoadingInput):
        channels = loading.channels.items()
        return given | {
            "channels": [{"case": name, "samples": len(v), "low": min(v), "high": max(v)} for name, v in channels],
            "stretches": [each.model_dump() for each in loading.stretches[:MOST_BLOCKS]],
        }
    blocks = loading.blocks if isinstance(loading, BlocksLoadingInput) else [loading]
    told = any(block.name or block.description for block in blocks)
    return given | {"cases": list(dict.fromkeys(name for block in blocks for name in block.factors)), "told": told}


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
            words[name] = "; ".join(f"{label} {value}" for label, value in list_inputs(part))
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

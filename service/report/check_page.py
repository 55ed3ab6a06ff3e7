"""The report of a weld check."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

import numpy as np
from markupsafe import Markup

from fatcore.figures import against, as_given, beside_allowed, coordinate, figure, lowered
from fatcore.stress.weld_lines.solid.part import PartSurface

from ..base.text import by_gravity, end_words, place_text, point_text
from ..comparison.changes import Comparison
from ..topics.check.models import BlocksLoadingInput, CheckRequest
from ..topics.check.settings import target_of
from ..topics.described import Described
from .check_inputs import MOST_BLOCKS, check_inputs
from .governing import GoverningCycles, base_curve, governing_cycles, tabled_curves
from .growth_page import crack_history
from .levels import MOST_BLOCKS as MOST_BLOCKS_APART
from .levels import MOST_COUNTED, line_levels
from .page import page
from .pictures.curve import applied_point, curve_figure
from .pictures.exceedance import exceedance_figures
from .pictures.lines import MOST_PICTURES, MOST_STATIONS, drawn_stations, line_figures, shown_lines
from .pictures.palette import Picture
from .pictures.part import part_figure
from .pictures.placed import placed_check
from .tables import curve_term


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
    linked = tabled_curves(request)
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
        lines=[_line_row(line, linked) for line in by_gravity(answer["lines"])],
        places=[_place_row(line) for line in by_gravity(answer["lines"])],
        pictures=_along_lines(request, answer),
        most_pictures=MOST_PICTURES,
        most_levels=MOST_BLOCKS_APART,
        most_counted=MOST_COUNTED,
        most_stations=MOST_STATIONS,
        thinned=any(len(line["position_mm"]) > MOST_STATIONS for line in answer["lines"]),
        growth_end=growth and end_words(growth),
        history=growth and crack_history(growth),
        **_governing_cycles(request, index, answer, cycles),
        **check_inputs(request),
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
        "allowed": beside_allowed(answer["equivalent_stress_mpa"], answer["allowable_stress_mpa"]),
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
            "share": _share(float(cycles.damage[at]), total),
        }
        for at in order[:MOST_BLOCKS]
    ]
    return {"rows": rows, "rest": order.size - MOST_BLOCKS}


def _share(damage: float, total: float) -> str:
    """Of the whole damage [%], small ones to a hundredth."""
    share = 100.0 * damage / total if total > 0.0 else 0.0
    return figure(share) if share >= _LEAST_SHARE_PCT or share == 0.0 else f"< {as_given(_LEAST_SHARE_PCT)}"


_LEAST_SHARE_PCT = 0.01
_VERDICT, _CURVE = Markup("<strong>{}</strong>"), Markup('<span class="curve">{}</span>')


def _line_row(line: Mapping[str, Any], linked: Collection[str]) -> dict[str, Any]:
    """What the table of lines shows of a line: its governing station.

    linked : curves that have a page
    """
    at = line["governing_index"]
    here = {key: value[at] if isinstance(value, list) else value for key, value in line.items()}
    unjudged, ratio, life = (here[key] for key in ("largest_unjudged_utilisation", "biaxiality_ratio", "life_cycles"))
    stress, allowed = beside_allowed(here["equivalent_stress_mpa"], here["allowable_stress_mpa"])
    return {
        "name": here["name"],
        "verdict": here["verdict"] if here["verdict"] == "pass" else _VERDICT.format(here["verdict"]),
        "used": against(here["governing_utilisation"], 1.0),
        "at": coordinate(here["position_mm"]),
        "range": stress,
        "allowable": None if here["allowable_stress_mpa"] is None else allowed,
        "ratio": "no opening" if ratio is None else ratio,
        "life": "infinite" if life is None else lowered(life),
        "damage": against(here["damage"], here["damage_limit"]),
        "unjudged": None if unjudged is None else against(unjudged, 1.0),
        "curve": _CURVE.format(curve_term(here["curve"], linked)),
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

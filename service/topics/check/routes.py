"""POST /v1/check: weld lines from a finite-element model under a loading, to one verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fatcore.check.line import WeldLine
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.several import check_lines_apart
from fatcore.errors import InputError, at
from fatcore.figures import as_given
from fatcore.outcome import evidence

from ...base import progress
from ...base.common import Reply, post, reply
from ..costs import check_cost
from ..one_repeat import service_life
from . import growth as check_growth
from . import remarks
from .locations import locate_line, place_columns
from .models import CheckAnswer, CheckRequest, one_repeat_of
from .settings import settings_of, target_of
from .words import descriptions_of, guard_loaded_cases

MAX_WORK = 2_000_000_000  # stations times samples, over all lines

_STATION_COLUMNS = (
    "position_mm",
    "equivalent_stress_mpa",
    "biaxiality_ratio",
    "damage",
    "life_cycles",
    "utilisation",
    "judged",
)


_GOVERNS = ("governs_line", "governs_check")


def _station_table(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    """Every station of every line as one table, for text/csv; verdict and line_utilisation are those of the line.

    governs_line, governs_check : whether the station is the governing one of its line, and the governing point
    """
    of_line = ("verdict", "line_utilisation", "curve", "damage_limit")
    columns = ("line", "index", *_STATION_COLUMNS, *of_line, "check_verdict", *_GOVERNS)
    table: dict[str, list[Any]] = {name: [] for name in columns}
    point = answer["governing"]
    for line in answer["lines"]:
        size = len(line["position_mm"])
        table["line"] += [line["name"]] * size
        table["index"] += range(size)
        for name in _STATION_COLUMNS:
            table[name] += line[name]
        for name in ("verdict", "curve", "damage_limit"):
            table[name] += [line[name]] * size
        table["line_utilisation"] += [line["governing_utilisation"]] * size
        table["check_verdict"] += [answer["verdict"]] * size
        table["governs_line"] += [index == line["governing_index"] for index in range(size)]
        table["governs_check"] += [line["name"] == point["line"] and index == point["index"] for index in range(size)]
    return table | _service_life(answer["service_life"], len(table["line"])) | place_columns(answer["lines"])


def _service_life(life: Mapping[str, Any] | None, size: int) -> dict[str, list[Any]]:
    """The life of the governing point in the unit of one repeat, as columns."""
    return {} if life is None else {"service_life": [life["value"]] * size, "service_life_unit": [life["unit"]] * size}


@post(
    "check",
    CheckRequest,
    CheckAnswer,
    revision=7,
    summary="The whole weld check",
    cost=check_cost,
    csv=_station_table,
)
def check(request: CheckRequest) -> Reply:
    """Peak stresses of weld lines to equivalent stress, governing point, curve, damage, life and verdict."""
    lines, loading = lines_and_loading(request)
    words = descriptions_of(request)
    target = target_of(request)
    settings = settings_of(request)
    outcome = check_lines_apart(
        lines,
        loading,
        settings,
        target,
        coefficients=request.coefficients,
        progress=progress.listener(sum(len(line.position_mm) for line in lines)),
    )
    growth, outcome = check_growth.grow_crack(request, lines, loading, target, settings, outcome)
    placed = tuple(map(locate_line, outcome.lines))
    return reply(
        CheckAnswer,
        replace(outcome, **evidence(outcome, remarks.of_inputs(request))),
        lines=placed,
        governing=placed[outcome.governing_line].governing,
        repeats_asked=target.repeats,
        service_life=service_life(one_repeat_of(request.loading), outcome.life_repeats, target.repeats),
        growth=growth,
        descriptions=words,
    )


def lines_and_loading(request: CheckRequest) -> tuple[list[WeldLine], Loading]:
    """The lines and the loading of the core; InputError with the path of what they refuse."""
    lines = []
    for position, line in enumerate(request.lines):
        with at("lines", position):
            lines.append(line.to_core())
    guard_loaded_cases(request)
    with at("loading"):
        loading: Loading = request.loading.to_core()
    _guard_work(lines, loading)
    return lines, loading


def _steps(loading: Loading) -> int:
    if isinstance(loading, HistoryLoading):
        return len(next(iter(loading.channels.values())))
    return len(loading.blocks)


def _guard_work(lines: list[WeldLine], loading: Loading) -> None:
    stations = sum(len(line.position_mm) for line in lines)
    steps = _steps(loading)
    if stations * steps > MAX_WORK:
        text = (
            f"stations times samples may reach {as_given(MAX_WORK)}, here {as_given(stations * steps)}; "
            "split the request"
        )
        raise InputError(text, "loading")

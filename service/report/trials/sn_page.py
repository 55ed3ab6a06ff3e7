"""The report of a line through fatigue tests."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fatcore.figures import as_given, lowered
from fatcore.trials.sn.series import TrialSeries

from ...base.text import end_words
from ...comparison.changes import Comparison
from ...topics.curves.models import curve_from
from ...topics.trials.series import SeriesInput, series_of
from ...topics.trials.sn import SnRequest
from ...topics.trials.text import characteristic_rows, slope_text
from ..growth_page import crack_history
from ..inputs import InputGroup, InputRow, list_inputs, stated_rows
from ..load_inputs import growth_inputs
from ..page import page
from ..pictures.trials import sn_figure
from ..tables import named_curve_term

MOST_ROWS = 200
_DIFFERENCES = {"variance": "scatter", "slope_difference": "slope", "level": "level", "one_line": "one line for both"}
_PARTS = ("series", "compare_with", "growth", "curve")


def sn_page(request: SnRequest, envelope: Mapping[str, Any], *, changes: Comparison | None = None) -> str:
    """The whole page of a series from its request and its answer in the envelope."""
    answer = envelope["answer"]
    series = [series_of(each).series for each in (request.series, request.compare_with) if each is not None]
    growth = answer["growth"]
    curve = None if request.curve is None else curve_from(request.curve)
    found = answer["comparison"]
    return page(
        "sn.html",
        envelope,
        request=request,
        changes=changes,
        groups_of_inputs=_groups(request),
        curve=curve,
        slope=slope_text(answer),
        picture=sn_figure(answer, series, curve),
        tests=_tests(series[0], answer["position"]),
        others=_tests(series[1], None) if len(series) > 1 else [],
        rest_of_others=max(len(series[1].failed) - MOST_ROWS, 0) if len(series) > 1 else 0,
        design=next(line for line in answer["characteristic"] if line["rule"] == answer["rule"]),
        growth=growth,
        end=growth and end_words(growth),
        history=growth and crack_history(growth),
        rest=max(answer["tests"] - MOST_ROWS, 0),
        characteristic=characteristic_rows(answer),
        differences=found and [_row(words, found[key]) for key, words in _DIFFERENCES.items() if found[key]],
    )


def _groups(request: SnRequest) -> list[InputGroup]:
    """Inputs by part: what is asked, each series, the model of the specimen, the growth of its crack."""
    given = [each for each in (request.series, request.compare_with) if each is not None]
    asked = list_inputs(request, _PARTS)
    if request.curve is not None:
        beside = request.curve
        name = named_curve_term(beside) if isinstance(beside, str) else beside.name
        asked.append(InputRow(name="curve beside which the tests are put", value=name, default=False))
    groups = [InputGroup(title="What is asked", rows=asked), *map(_of_series, given)]
    for each in given:
        if each.specimen_model is not None:
            title = f"Model of the specimen of {each.name}"
            groups.append(InputGroup(title=title, rows=list_inputs(each.specimen_model.check)))
    if request.growth is not None:
        of_crack: list[InputGroup] = growth_inputs(request.growth)["groups_of_inputs"][:-1]
        groups += [
            InputGroup(title=f"Crack of the specimen: {each.title.lower()}", rows=each.rows) for each in of_crack
        ]
    return [*groups, InputGroup(title="Stated, not judged", rows=stated_rows(request))]


def _of_series(given: SeriesInput) -> InputGroup:
    return InputGroup(title=f"Tests: {given.name}", rows=list_inputs(given, ("name", "specimen_model", "run_out")))


def _tests(series: TrialSeries, position: Mapping[str, Any] | None) -> list[dict[str, Any]]:
    rows = [
        {
            "test": place + 1,
            "range_mpa": float(stress),
            "life_cycles": as_given(float(life)),
            "end": "failed" if failed else "run-out",
        }
        for place, (stress, life, failed) in enumerate(
            zip(series.range_mpa, series.life_cycles, series.failed, strict=True)
        )
    ]
    if position is not None:
        for place, row in enumerate(rows):
            above = position["deviations_above_mean"][place]
            row |= {"life_factor": lowered(position["life_factor"][place]), "above": above}
    return rows[:MOST_ROWS]


def _row(words: str, test: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "what": words,
        "statistic": test["test_statistic"],
        "chance": test["chance"],
        "differ": "differs" if test["differ"] else "no difference shown",
    }

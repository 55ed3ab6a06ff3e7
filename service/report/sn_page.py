"""The report of a line through fatigue tests."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fatcore.trials.sn.series import TrialSeries

from ..base.text import end_words
from ..comparison.changes import Comparison
from ..topics.curves.models import curve_from
from ..topics.trials.series import series_of
from ..topics.trials.sn import SnRequest
from .growth_page import crack_history
from .inputs import list_inputs
from .page import page
from .pictures.trials import sn_figure

MOST_ROWS = 200
_DIFFERENCES = {"variance": "scatter", "slope_difference": "slope", "level": "level", "one_line": "one line for both"}


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
        inputs=list_inputs(request),
        picture=sn_figure(answer, series, curve),
        tests=_tests(series[0], answer["position"]),
        growth=growth,
        end=growth and end_words(growth),
        history=growth and crack_history(growth["history"]),
        rest=max(answer["tests"] - MOST_ROWS, 0),
        differences=found and [_row(words, found[key]) for key, words in _DIFFERENCES.items() if found[key]],
    )


def _tests(series: TrialSeries, position: Mapping[str, Any] | None) -> list[dict[str, Any]]:
    stopped = ~series.failed
    rows = [
        {"test": place + 1, "range_mpa": stress, "life_cycles": life, "end": "run-out" if out else "failed"}
        for place, (stress, life, out) in enumerate(zip(series.range_mpa, series.life_cycles, stopped, strict=True))
    ]
    if position is not None:
        for place, row in enumerate(rows):
            above = position["deviations_above_mean"][place]
            row |= {"life_factor": position["life_factor"][place], "above": above}
    return rows[:MOST_ROWS]


def _row(words: str, test: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "what": words,
        "statistic": test["test_statistic"],
        "chance": test["chance"],
        "differ": "differs" if test["differ"] else "no more than chance",
    }

"""The report of growth rates of cracked specimens."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fatcore.figures import as_given

from ...comparison.changes import Comparison
from ...topics.trials.growth import GrowthRateRequest
from ..input_words import field_words
from ..inputs import InputGroup, list_inputs, stated_rows
from ..page import page
from ..pictures.trials import rates_figure


def growth_rate_page(
    request: GrowthRateRequest, envelope: Mapping[str, Any], *, changes: Comparison | None = None
) -> str:
    """The whole page of growth tests from their request and their answer in the envelope."""
    answer = envelope["answer"]
    laws = [{"name": each["name"], **each["law"]} for each in answer["specimens"] if each["law"] is not None]
    pooled = answer["pooled"]
    if pooled is not None:
        laws.append({"name": "all together", **pooled["law"]})
    return page(
        "growth_rate.html",
        envelope,
        request=request,
        changes=changes,
        groups_of_inputs=[
            InputGroup(title="What is asked", rows=list_inputs(request, ("tests",))),
            InputGroup(title="Stated, not judged", rows=stated_rows(request)),
        ],
        specimens=[_specimen(test) for test in request.tests],
        picture=rates_figure(answer),
        laws=laws,
    )


def _parameter(name: str, value: float | str) -> str:
    words, unit = field_words("parameters", name)
    return f"{words} {value if isinstance(value, str) else as_given(value)} {unit}".rstrip()


def _specimen(test: Any) -> dict[str, Any]:
    """One specimen as a row: what it is, its cycle, its readings."""
    given = test.specimen
    words = [_parameter(name, value) for name, value in given.parameters.items()]
    loads = "" if given.load_factor is None else ", loads shed"
    return {
        "name": test.name,
        "family": given.family,
        "parameters": ", ".join(words),
        "load_ratio": as_given(given.load_ratio),
        "yield": None if given.yield_strength_mpa is None else as_given(given.yield_strength_mpa),
        "readings": f"{len(test.size_mm)}, {as_given(test.size_mm[0])} to {as_given(test.size_mm[-1])} mm{loads}",
    }

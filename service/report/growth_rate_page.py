"""The report of growth rates of cracked specimens."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..comparison.changes import Comparison
from .inputs import list_inputs
from .page import page
from .pictures.trials import rates_figure


def growth_rate_page(request: Any, envelope: Mapping[str, Any], *, changes: Comparison | None = None) -> str:
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
        inputs=list_inputs(request),
        picture=rates_figure(answer),
        laws=laws,
    )

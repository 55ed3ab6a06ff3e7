"""The report of a crack's growth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..base.forms.history import heads_of, history_rows
from ..base.text import end_words
from ..comparison.changes import Comparison
from .load_inputs import growth_inputs
from .page import page
from .pictures.growth import growth_figures

ROWS = 14
COLUMNS = {
    "elapsed_cycles": "cycles",
    "cycles_left": "cycles left",
    "depth_mm": "depth [mm]",
    "half_length_mm": "half length [mm]",
    "delta_k_deepest_mpa_sqrt_mm": "ΔK deepest [MPa√mm]",
    "delta_k_surface_mpa_sqrt_mm": "ΔK surface [MPa√mm]",
    "rate_deepest_mm_per_cycle": "rate deepest [mm/cycle]",
    "load_share": "load share",
}


def growth_page(request: Any, envelope: Mapping[str, Any], *, changes: Comparison | None = None) -> str:
    """The whole page of a crack's growth from its request and its answer in the envelope."""
    answer = envelope["answer"]
    return page(
        "growth.html",
        envelope,
        request=request,
        changes=changes,
        **growth_inputs(request),
        end=end_words(answer),
        history=crack_history(answer),
    )


def crack_history(answer: Mapping[str, Any]) -> dict[str, Any] | None:
    """Pictures and table of the growth; None when the crack never grew."""
    history = answer["history"]
    points = len(history["elapsed_cycles"])
    if points < 2:
        return None
    rows = history_rows(answer, ROWS)
    return {
        "pictures": growth_figures(answer),
        "shared": history["stiffness_ratio"] is not None,
        "heads": heads_of(rows, COLUMNS),
        "rows": rows,
        "points": points,
    }

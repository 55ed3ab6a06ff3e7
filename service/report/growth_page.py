"""The report of a crack's growth."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from ..base.text import END_WORDS, final_size, number
from . import inputs
from .growth_plots import growth_figure
from .markup import Html, facts, table, tag
from .page import Head, Section, page

ROWS = 14
METHOD = (
    "The stress intensity of the body is taken at the deepest point, and at the surface where the crack has "
    "one, for the range between the load factors.",
    "The growth law turns ranges of stress intensity into growth per cycle; below the threshold nothing grows.",
    "Growth is integrated over the crack size, in steps refined until the life is settled, up to the first end.",
)
SHARED = (
    "The cracked member grows softer; the stiffness beside it takes over load and moment, which is solved "
    "anew at every size. The load share is what the member still carries, against its share without a crack."
)


def growth_page(request: Any, content: bytes) -> str:
    """The whole page of a crack's growth from its request and the bytes of its answer."""
    envelope = json.loads(content)
    answer = envelope["answer"]
    steps = [*METHOD, *([SHARED] if request.sharing else [])]
    sections = [
        Section("Result", [growth_facts(answer)]),
        *([Section("Growth", grown)] if (grown := growth_history(answer["history"])) else []),
        Section("Inputs", [inputs.list_inputs(request)]),
        Section("Method", [tag("ol", *[tag("li", step) for step in steps])]),
    ]
    head = Head(
        kind="growth of a crack",
        title=f"Crack growth: {request.crack.kind} crack",
        verdict="answer",
        word=_word(answer),
        reason=_reason(answer),
    )
    return page(head, sections, envelope)


def _word(answer: Mapping[str, Any]) -> str:
    life = answer["life_cycles"]
    return "the crack stands still" if life is None else f"life {number(life)} cycles"


def _end(answer: Mapping[str, Any]) -> str:
    reason = str(answer["end_reason"])
    return END_WORDS.get(reason, reason.replace("-", " "))


def _reason(answer: Mapping[str, Any]) -> str:
    if answer["life_cycles"] is None:
        return "Every range stays below the threshold, at the start or where the crack comes to rest."
    ((name, size),) = final_size(answer).items()
    text = f"Growth ends at a {name.removeprefix('final ')} of {size}: {_end(answer)}."
    if answer["life_extension_factor"] is not None:
        text += f" Load sharing makes the life {number(answer['life_extension_factor'])} times as long."
    return f"{text} This is no verdict: compare the life with what is asked, with the factors of your code."


def growth_facts(answer: Mapping[str, Any]) -> Html:
    """Life, sizes and end of the growth in numbers."""
    history = answer["history"]
    alone = answer["constant_load_life_cycles"]
    error = answer["averaging_error"]
    return facts(
        {
            "life": "infinite" if answer["life_cycles"] is None else f"{number(answer['life_cycles'])} cycles",
            "life in blocks": answer["life_blocks"],
            "depth": _span(history["depth_mm"]),
            "half length": _span(history["half_length_mm"]),
            "end": _end(answer),
            "life without sharing": None if alone is None else f"{number(alone)} cycles",
            "life_extension_factor": answer["life_extension_factor"],
            "error of block mean": None if error is None else f"about {number(100.0 * error, 2)} %",
        }
    )


def _span(sizes: Sequence[float] | None) -> str | None:
    return None if sizes is None else f"{number(sizes[0])} to {number(sizes[-1])} mm"


COLUMNS = {
    "elapsed_cycles": "cycles",
    "depth_mm": "depth [mm]",
    "half_length_mm": "half length [mm]",
    "delta_k_deepest_mpa_sqrt_mm": "ΔK deepest [MPa√mm]",
    "delta_k_surface_mpa_sqrt_mm": "ΔK surface [MPa√mm]",
    "rate_deepest_mm_per_cycle": "rate deepest [mm/cycle]",
    "load_share": "load share",
}


def growth_history(history: Mapping[str, Any]) -> list[Html]:
    """Picture and table of the growth; nothing when the crack never grew."""
    if len(history["elapsed_cycles"]) < 2:
        return []
    return [growth_figure(history), _history(history)]


def _history(history: Mapping[str, Any]) -> Html:
    columns = {key: text for key, text in COLUMNS.items() if history[key] is not None}
    last = len(history["elapsed_cycles"]) - 1
    chosen = sorted({round(step * last / (ROWS - 1)) for step in range(ROWS)})
    rows = [{key: history[key][at] for key in columns} for at in chosen]
    rows = [{**row, "elapsed_cycles": float(round(row["elapsed_cycles"]))} for row in rows]
    return table(columns, rows, caption=f"{len(rows)} of {last + 1} points of the history")

"""Counted cycles and damage sums as text for a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from fatcore.figures import as_given, beside_asked, beside_limit

from ...base.forms.lives import service_text
from ...base.text import closing_text, description_facts, facts_text, number, table_text
from ...topics.spectrum.damage import resistance_of
from ...topics.spectrum.limit_words import limit_origin
from ...topics.spectrum.models import CyclesRequest, DamageRequest

CLASS_COLUMNS = {"above": "above MPa", "up to": "up to MPa", "cycles": "cycles", "at least": "this or more"}


def count_text(request: CyclesRequest, envelope: Mapping[str, Any]) -> str:
    """Which counting was done, what it left open, and the cycles in every class, empty ones too."""
    answer = envelope["answer"]
    facts = {
        "counting": _counting(request),
        "left open": _left_open(request, answer),
        "samples": as_given(len(request.history_mpa)),
        "cycles": as_given(answer["total_count"]),
        "largest range": f"{number(answer['largest_range_mpa'])} MPa",
        "classes": _classes(request, answer["classes"]),
    }
    shown = table_text(_class_rows(answer["classes"]), CLASS_COLUMNS)
    return facts_text(facts) + "\n\n" + shown + "\n" + closing_text(envelope)


def _counting(request: CyclesRequest) -> str:
    threshold = request.hysteresis_threshold_mpa
    left_out = f", reversals up to {as_given(threshold)} MPa left out before" if threshold else ""
    return f"{request.rule}{left_out}"


def _left_open(request: CyclesRequest, answer: Mapping[str, Any]) -> str:
    """What becomes of the ranges that close no cycle."""
    count = answer["open_range_count"]
    if request.rule == "simple-range":
        return "nothing is closed: every range between two turning points counts as half a cycle"
    if request.rule == "rainflow" and request.residue == "closed":
        return "nothing: the record is taken to repeat (residue closed)"
    if count == 0:
        return "nothing"
    if request.rule != "four-point":
        happens_once = ": the record happens once (residue half)" if request.rule == "rainflow" else ""
        return f"{_ranges(count)} counted as half a cycle each{happens_once}"
    residue = answer["residue_mpa"]
    reach = f"{number(min(residue))} to {number(max(residue))} MPa"
    return f"{_ranges(count)} NOT counted, from {reach} (--rule rainflow counts them)"


def _ranges(count: int) -> str:
    return f"{as_given(count)} range{'' if count == 1 else 's'}"


def _classes(request: CyclesRequest, table: Mapping[str, Any]) -> str:
    edges: Sequence[float] = table["range_edges_mpa"]
    width = "as given" if request.range_edges_mpa is not None else f"of {as_given(edges[1])} MPa"
    return f"{len(edges) - 1} {width}; a class holds its upper edge"


def _class_rows(table: Mapping[str, Any]) -> list[dict[str, str]]:
    edges = [as_given(edge) for edge in table["range_edges_mpa"]]
    counts = zip(table["count"], table["cumulative_count"], strict=True)
    return [
        {"above": low, "up to": high, "cycles": as_given(count), "at least": as_given(more)}
        for low, high, (count, more) in zip(edges, edges[1:], counts, strict=False)
    ]


def damage_text(request: DamageRequest, envelope: Mapping[str, Any]) -> str:
    """Verdict, damage sum, its limit with where that comes from, the life, and how far the stress reaches."""
    answer = envelope["answer"]
    at = f"{as_given(answer['reference_cycles'])} cycles"
    damage, limit = beside_limit(answer["damage"], answer["damage_limit"])
    facts = {
        **description_facts(answer["descriptions"]),
        "verdict": answer["verdict"].upper(),
        "damage": f"{damage} in {_repeats(request.repeats)}",
        "damage limit": f"{limit}, {limit_origin(request)}",
        "life": f"{_repeats(answer['life_repeats'], request.repeats)} to the limit",
        **({} if answer["service_life"] is None else {"life in service": service_text(answer["service_life"])}),
        "reach": f"{_reach(request)}, largest range {number(answer['largest_range_mpa'])} MPa",
        "equivalent range": f"{number(answer['equivalent_range_mpa'])} MPa in {at}",
        "cycles": f"{as_given(answer['total_count'])}, {as_given(answer['idle_count'])} of them without damage",
        "curve": resistance_of(request).curve.id,
    }
    return facts_text(facts) + "\n" + closing_text(envelope)


def _repeats(count: float | None, asked: float | None = None) -> str:
    text = as_given(count) if asked is None else beside_asked(count, asked)[0]
    return f"{text} repeat{'' if count == 1.0 else 's'}"


def _reach(request: DamageRequest) -> str:
    """From which to which stress, where stresses are given and not ranges."""
    if request.history_mpa is not None:
        return f"{_span(request.history_mpa)} in {as_given(len(request.history_mpa))} samples"
    if request.modes_mpa is not None:
        return "; ".join(f"{name} {_span(values)}" for name, values in request.modes_mpa.items())
    blocks = len(request.range_mpa or ())
    return f"{blocks} block{'' if blocks == 1 else 's'}"


def _span(values: Sequence[float]) -> str:
    return f"{number(float(np.min(values)))} to {number(float(np.max(values)))} MPa"

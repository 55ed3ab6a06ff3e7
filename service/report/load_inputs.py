"""Inputs of a damage sum and of a growing crack in words: loading with the names of its blocks, and the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fatcore.figures import as_given

from ..base.document import Titled
from ..topics.curves.models import UserDefinedCurve
from ..topics.described import Descriptions
from ..topics.spectrum.models import DamageRequest
from .inputs import InputGroup, InputRow, group_inputs, list_inputs, stated_rows

MOST_BLOCKS = 40
_GROWTH = {
    "crack": "Crack",
    "stress": "Stress without the crack, for load factor 1",
    "law": "Growth law",
    "loading": "Loading",
    "end": "End of growth",
    "sharing": "Load sharing",
}
_RESISTANCE = (
    "curve",
    "environment",
    "survival_probability",
    "sample_size",
    "corrections",
    "below_knee",
    "damage_limit",
    "damage_limit_rule",
    "design_fatigue_factor",
    "yield_strength_mpa",
)
# of the loading: what each form of it does not use
_COUNTED = ("residue", "hysteresis_threshold_mpa", "mean_stress", "definition", "weights")
_UNUSED = {"range_mpa": _COUNTED, "history_mpa": ("definition", "weights"), "modes_mpa": ("mean_stress",)}
_OPEN = {  # what stands for a field that is left open
    "damage_limit": ("permissible damage sum", "as the document of the curve states it, else a choice of this program"),
    "survival_probability": ("survival probability", "as the curve states it"),
    "environment": ("environment of the curve", "that of the curve"),
}


def damage_inputs(request: DamageRequest) -> dict[str, Any]:
    """Groups of inputs of a damage sum, and its blocks as a table; what its loading does not use is left out."""
    form = next(name for name in _UNUSED if getattr(request, name) is not None)
    fields = type(request).model_fields
    loading = list_inputs(request, (*_RESISTANCE, *_UNUSED[form], "range_mpa", "count"))
    left_open = [
        InputRow(name=words, value=value, default=True)
        for name, (words, value) in _OPEN.items()
        if getattr(request, name) is None and not (name == "damage_limit" and request.damage_limit_rule)
    ]
    own = isinstance(request.curve, UserDefinedCurve)
    rest = [name for name in fields if name not in _RESISTANCE]
    titles = {"curve": "Design curve of your own"} if own else {}
    groups = [
        InputGroup(title="Loading", rows=[*_words_rows(request.descriptions), *loading]),
        *group_inputs(request, titles, "Resistance and what is asked", leave_out=rest),
    ]
    groups[-1].rows.extend(left_open)
    blocks = None if request.range_mpa is None else _damage_blocks(request)
    return {"groups_of_inputs": [*groups, _stated(request)], "input_blocks": blocks}


def growth_inputs(request: Any) -> dict[str, Any]:
    """Groups of inputs of a growing crack, and its blocks as a table."""
    blocks = request.loading.kind == "blocks"
    groups = group_inputs(request, _GROWTH, "Condition", leave_out=("descriptions",))
    if blocks:
        listed = {"largest load factor", "smallest load factor", "cycles"}
        loading = next(group for group in groups if group.title == _GROWTH["loading"])
        loading.rows[:] = [row for row in loading.rows if row.name not in listed]
    words = _words_rows(request.descriptions)
    groups = [*([InputGroup(title="Loading and material", rows=words)] if words else []), *groups]
    return {
        "groups_of_inputs": [*groups, _stated(request)],
        "input_blocks": _growth_blocks(request) if blocks else None,
    }


def _stated(request: Titled) -> InputGroup:
    return InputGroup(title="Stated, not judged", rows=stated_rows(request))


def _words_rows(words: Descriptions | None) -> list[InputRow]:
    """The name and description of the loading, and what the material is."""
    if words is None:
        return []
    load = None if words.load is None else ": ".join(filter(None, (words.load.name, words.load.description)))
    given = (("loading", load), ("material", words.material))
    return [InputRow(name=name, value=value, default=False) for name, value in given if value]


def _damage_blocks(request: DamageRequest) -> dict[str, Any]:
    assert request.range_mpa is not None
    assert request.count is not None
    columns = {"range": request.range_mpa, "cycles": request.count}
    return _table(columns, {"range": "range [MPa]", "cycles": "cycles in a repeat"}, request.descriptions)


def _growth_blocks(request: Any) -> dict[str, Any]:
    loading = request.loading
    columns = {"minimum": loading.minimum, "maximum": loading.maximum, "cycles": loading.cycles}
    heads = {"minimum": "smallest load factor", "maximum": "largest load factor", "cycles": "cycles in a repeat"}
    return _table(columns, heads, request.descriptions)


def _table(columns: Mapping[str, Sequence[float]], heads: dict[str, str], words: Descriptions | None) -> dict[str, Any]:
    """Rows of blocks in their order, with their names where they have any."""
    size = len(next(iter(columns.values())))
    told = words.blocks if words is not None else []
    rows = [
        {
            "block": str(at + 1),
            **({"name": ": ".join(filter(None, (told[at].name, told[at].description))) or None} if told else {}),
            **{name: as_given(column[at]) for name, column in columns.items()},
        }
        for at in range(min(size, MOST_BLOCKS))
    ]
    named = {"name": "name"} if told else {}
    return {"rows": rows, "heads": {"block": "block", **named, **heads}, "rest": max(size - MOST_BLOCKS, 0)}

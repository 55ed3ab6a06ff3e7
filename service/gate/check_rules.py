"""What of a check is a rule: everything but the loads, the stresses and the geometry of its lines.

A field that is not named here as data of the design is a rule, so that a new field is never left out.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fatcore.check.line import Material
from fatcore.figures import as_given

from ..base.common import Strict
from ..base.rules.words import whole_words
from ..comparison.tolerance import same
from ..topics.check.judging import CheckMaterial
from ..topics.check.lines import LineInput
from ..topics.check.models import (
    BlocksLoadingInput,
    CheckRequest,
    ConstantLoadingInput,
    GrowthPart,
    HistoryLoadingInput,
    one_repeat_of,
)
from ..topics.check.settings import OWN, line_material, material_of, needs_radius, own_settings
from .baseline import Rules, digest_of_json

LINE_DATA = {"name", "position_mm", "cases", "tangent", "bisector", "coordinates_mm", "node_id", "mesh_doubts"}
GEOMETRY = ("tangent", "bisector", "coordinates_mm")  # by these the service judges spacing and directions
LOADING_DATA = {"factors", "blocks", "channels"}
WORDS = {"name", "description"}  # for a reader
OF_READER = {"stretches", "one_repeat"}  # of a loading: no number of the check depends on it
TOLD: Any = {
    "title": True,
    "document": True,
    "load_cases": True,
    "material": {"description"},
    "loading": {**dict.fromkeys((*WORDS, *OF_READER), True), "blocks": {"__all__": WORDS}},
}
LONGEST_TEXT = 120
_APART = {"title", "document"}  # stored by themselves
_MANY = {"loading.blocks", "loading.stretches"}  # as many as blocks or files


def digest_of(request: CheckRequest) -> str:
    """Digest of what a request gives, words left out; without defaults, which may change with a version."""
    given = request.model_dump(mode="json", exclude=TOLD, exclude_unset=True)
    return digest_of_json(given)


def reader_words(request: CheckRequest) -> dict[str, str]:
    """What a request says for a reader only, by its place: no number depends on it, and no digest holds it."""
    given = request.model_dump(mode="json", include=TOLD, exclude=_APART, exclude_none=True)
    one = one_repeat_of(request.loading)
    given["loading"]["one_repeat"] = None if one is None else f"{as_given(one.value)} {one.unit}"
    return dict(_words(given))


def _words(given: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, str]]:
    for name, value in given.items():
        where = f"{path}{name}"
        if isinstance(value, Mapping) and where not in _MANY:
            yield from _words(value, f"{where}.")
        elif any(value) if isinstance(value, list) else value is not None:
            yield where, _short(value if isinstance(value, str) else json.dumps(value, sort_keys=True))


def _short(text: str) -> str:
    """The text, or its beginning with a digest of the whole of it."""
    if len(text) <= LONGEST_TEXT:
        return text
    return f"{text[: LONGEST_TEXT // 2]}... ({digest_of_json(text)[7:15]})"


def changed_words(before: Mapping[str, str] | None, now: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """Words for a reader that changed, with what they were and are; none of a state that does not hold them."""
    if before is None:
        return
    for name in sorted({*before, *now}):
        old, new = before.get(name, "none"), now.get(name, "none")
        if old != new:
            yield name, old, new


def check_rules(request: CheckRequest, envelope: Mapping[str, Any]) -> Rules:
    """Rules that hold for every line of a check, as they were used: what was left open is filled in.

    envelope : the answer to the request
    """
    rules: Rules = request.model_dump(mode="json", exclude={"title", "load_cases", "lines", "loading", "growth"})
    rules["material"] = _material(request.material, material_of(request) if needs_radius(request) else None)
    limits = zip(request.lines, envelope["answer"].get("lines", []), strict=False)
    limit = next((answer["damage_limit"] for line, answer in limits if line.curves is None), None)
    if limit is not None:  # of lines with curves of their own it stands with these lines
        rules["target"] = {**request.target.model_dump(mode="json"), "damage_limit": limit}
    rules["loading"] = _loading(request.loading)
    rules["growth"] = None if request.growth is None else _growth(request.growth)
    rules["tables"] = dict(envelope["record"]["tables"])
    policy = envelope["record"].get("policy")  # answers of older services have none
    return rules if policy is None else {**rules, "policy": whole_words(policy)}


def _loading(loading: ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput) -> Rules:
    """How the loading counts: which cases take part, how long a pass is; the factors are the load itself."""
    rules: Rules = loading.model_dump(mode="json", exclude={*LOADING_DATA, *WORDS, *OF_READER})
    if isinstance(loading, HistoryLoadingInput):
        channels = loading.channels
        return {**rules, "cases": _listed(channels), "samples": len(next(iter(channels.values())))}
    if isinstance(loading, ConstantLoadingInput):
        return {**rules, "cases": _listed(loading.factors)}
    cases = {name for block in loading.blocks for name in block.factors}
    total = sum(block.cycles for block in loading.blocks)
    return {
        **rules,
        "cases": _listed(cases),
        "cycles": float(f"{total:.12g}"),
    }  # a split block sums to the same


def _listed(names: Any) -> list[Any]:
    return sorted(names)


def _growth(growth: GrowthPart) -> Rules:
    rules: Rules = growth.model_dump(mode="json", exclude={"path"})
    return {**rules, "cases": _listed(growth.path.cases), "path_end_mm": growth.path.distance_mm[-1]}


def _material(given: CheckMaterial, used: Material | None) -> Rules:
    """What was given, with the control radius that was used."""
    radius = None if used is None else used.control_radius_mm
    return {**given.model_dump(mode="json", exclude={"description"}), "control_radius_mm": radius}


def line_rules(line: LineInput, answer: Mapping[str, Any]) -> Rules:
    """Rules of one line; of its stresses and its geometry only which columns are given.

    answer : what the check says of the line
    """
    left_to_check = set(OWN) - set(own_settings(line))
    rules: Rules = line.model_dump(mode="json", exclude=LINE_DATA | left_to_check)
    if line.material is not None:
        rules["material"] = _material(line.material, line_material(line))
    if line.curves is not None:
        rules["damage_limit"] = answer.get("damage_limit")
    given: list[Any] = [name for name in GEOMETRY if getattr(line, name) is not None]
    cases: Rules = {name: ", ".join(_columns(case)) for name, case in line.cases.items()}
    return {**rules, "cases": cases, "geometry": given}


def _columns(case: Strict) -> Iterator[str]:
    for name in type(case).model_fields:
        value = getattr(case, name)
        if value is not None:
            yield " ".join([name, *(_columns(value) if isinstance(value, Strict) else ())])


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One rule with its old and its new value; path : its names from the top, like target.damage_limit."""

    path: str
    before: Any
    now: Any

    @property
    def texts(self) -> tuple[str, str]:
        """Old and new value for a reader."""
        return _shown(self.before), _shown(self.now)


def changed_rules(before: Any, now: Any, path: str = "") -> Iterator[RuleChange]:
    """Every rule that changed."""
    if isinstance(before, dict) and isinstance(now, dict):
        for name in sorted({*before, *now}):
            where = f"{path}.{name}" if path else name
            if path == "tables" and not (name in before and name in now):
                continue  # another curve or element is a change of its own
            yield from changed_rules(before.get(name), now.get(name), where)
    elif not _same(before, now):
        yield RuleChange(path, before, now)


def rule_changes(before: Any, now: Any, path: str = "") -> Iterator[str]:
    """The same in words.

    >>> list(rule_changes({"target": {"damage_limit": 0.5}}, {"target": {"damage_limit": 5.0}}))
    ['rules changed: target.damage_limit 0.5 -> 5.0']
    """
    for rule in changed_rules(before, now, path):
        yield f"rules changed: {rule.path} {' -> '.join(rule.texts)}"


def _same(before: Any, now: Any) -> bool:
    """Numbers by their size, whatever made them; lists by their entries."""
    if isinstance(before, list) and isinstance(now, list) and len(before) == len(now):
        return all(_same(*pair) for pair in zip(before, now, strict=True))
    numbers = all(isinstance(value, int | float) and not isinstance(value, bool) for value in (before, now))
    return same(now, before) if numbers else bool(before == now)


def _shown(value: Any) -> str:
    if value is None:
        return "none"
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 3] + "..."

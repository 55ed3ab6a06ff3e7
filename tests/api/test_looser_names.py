"""What judges more leniently: every name is one of a request, and what ends a life counts where it is taken away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from service.comparison.inputs import input_changes
from service.comparison.looser import LOOSER, judges_looser
from service.topics.registry import load


def names_of(schema: Mapping[str, Any], parts: Mapping[str, Any], path: str, within: tuple[str, ...] = ()) -> set[str]:
    """Dotted names of all fields, without places in lists."""
    if "$ref" in schema:
        part = schema["$ref"].rpartition("/")[2]
        return set() if part in within else names_of(parts[part], parts, path, (*within, part))
    found = set()
    for form in (*(schema.get("anyOf", ())), *(schema.get("oneOf", ())), *filter(None, [schema.get("items")])):
        found |= names_of(form, parts, path, within)
    for name, field in schema.get("properties", {}).items():
        place = f"{path}.{name}".lstrip(".")
        found |= {place} | names_of(field, parts, place, within)
    return found


def test_every_name_is_one_of_a_request() -> None:
    known: set[str] = set()
    for calculation in load().values():
        schema = calculation.request.model_json_schema()
        known |= names_of(schema, schema.get("$defs", {}), "")
    assert not set(LOOSER) - known


@pytest.mark.parametrize(
    ("name", "before", "now"),
    [
        ("end.toughness_mpa_sqrt_mm", 500.0, 3000.0),
        ("end.toughness_mpa_sqrt_mm", 500.0, None),
        ("growth.end.toughness_mpa_sqrt_mm", 30.0, 3000.0),
        ("end.yield_strength_mpa", 270.0, 355.0),
        ("end.strength.ultimate_strength_mpa", 400.0, None),
        ("growth.end.depth_mm", 3.0, None),
        ("crack.toe_footprint_mm", 24.0, None),
        ("crack.toe_footprint_mm", 24.0, 12.0),
        ("law.stages.exponent", 3.0, 2.8),
        ("loading.retardation.exponent", 1.0, 2.0),
        ("loading.retardation.yield_strength_mpa", 355.0, 200.0),
        ("sharing.members.axial_stiffness_n_per_mm", 1e6, 2e6),
    ],
)
def test_what_lengthens_a_life_is_marked_and_its_reverse_is_not(name: str, before: float, now: float | None) -> None:
    assert judges_looser(name, before, now)
    assert not judges_looser(name, now, before)


def test_numbers_that_were_written_in_other_units_have_not_changed() -> None:
    before = {"stress": {"membrane_mpa": 60.00000000000001}, "range_mpa": [10.000000000000002, 12.0]}
    now = {"stress": {"membrane_mpa": 60.0}, "range_mpa": [10.0, 12.0]}
    assert input_changes(before, now) == []
    assert len(input_changes(before, {**now, "range_mpa": [10.0, 12.000000000001]})) == 1

"""Properties of a gate: nothing of a request escapes it, and what is stricter never passes more."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.gate.answers import answer_check
from service.gate.baseline import StoredCheck
from service.gate.check_rules import check_rules, digest_of, line_rules
from service.gate.gate import calculate_here
from service.gate.result import Answered, CaseResult, Limits
from service.gate.rules import compare_line
from service.topics.check.models import CheckRequest
from service.topics.check.settings import OWN
from tests.api.test_gate import request
from tests.api.test_unsafe_gate import GROWTH

# what a design may change without a word of the rules: loads, stresses, places, names and words
DATA = {
    "title",
    "lines.name",
    "lines.position_mm",
    "lines.tangent",
    "lines.bisector",
    "lines.coordinates_mm",
    "lines.node_id",
    "lines.mesh_doubts",
    "lines.cases",
    "loading.factors",
    "loading.channels",
    "loading.blocks",
    "growth.path",
    # words for a reader
    "load_cases",
    "material.description",
    "loading.name",
    "loading.description",
    "loading.stretches",
    "loading.one_repeat",
}


def leaves(value: Any, path: str = "") -> Iterator[str]:
    """Paths of everything in a value, data of the design as a whole."""
    if path in DATA or not isinstance(value, dict):
        yield path
    else:
        for name, part in value.items():
            yield from leaves(part, f"{path}.{name}" if path else name)


CONSTANT = {"kind": "constant", "factors": {"vertical": {"maximum": 9.0, "minimum": 0.0}}, "cycles": 1e6}
BLOCKS = {"kind": "blocks", "blocks": [{"factors": CONSTANT["factors"], "cycles": 1e6}]}
HISTORY = {"kind": "history", "channels": {"vertical": [0.0, 9.0, 0.0]}, "repeats": 1000.0}
FIXED = {"rule": "fixed", "curve": "peak-stress-opening"}
OWN_ONES = {
    "lines": [{**request()["lines"][0], "curves": FIXED, "condition": "stress-relieved", "material": {}}],
}


@pytest.mark.parametrize("loading", [CONSTANT, BLOCKS, HISTORY], ids=lambda loading: loading["kind"])
@pytest.mark.parametrize(
    "more", [{}, {"curves": FIXED}, {"growth": GROWTH}, OWN_ONES], ids=["pair", "fixed", "crack", "own"]
)
def test_every_field_of_a_request_is_data_or_a_rule(loading: dict[str, Any], more: dict[str, Any]) -> None:
    """Also one that is added later, until it is named as data in the code and here."""
    checked_request = CheckRequest.model_validate({**request(), "loading": loading, **more})
    whole = checked_request.model_dump(mode="json")
    whole["lines"] = {name: part for name, part in whole["lines"][0].items() if part is not None or name not in OWN}
    kept = check_rules(checked_request, {"answer": {}, "record": {"tables": {}}})
    kept["lines"] = line_rules(checked_request.lines[0], {})
    missing = set(leaves(whole)) - set(leaves(kept))
    assert missing <= {*DATA, "lines.material.description"}
    assert "lines.mesh.element_size_mm" in set(leaves(whole)) & set(leaves(kept))


def data_of(scales: list[float], load: float) -> dict[str, Any]:
    data = request(load, names=tuple(f"line {place}" for place in range(len(scales))))
    first = request(names=("x",))["lines"][0]
    data["lines"] = [{**copy.deepcopy(first), "name": f"line {place}"} for place in range(len(scales))]
    for line, scale in zip(data["lines"], scales, strict=True):
        line["cases"]["vertical"]["peaks_mpa"]["opening"] = [scale * value for value in (4.0, 6.0, 5.0)]
    return {**data, "target": {"damage_limit": 1.0}}


def answer_of(data: dict[str, Any]) -> Answered:
    return answer_check("k", CheckRequest.model_validate(data), calculate_here(data))


def stored(answer: Answered) -> StoredCheck:
    lines = {line.name: line.state for line in answer.lines}
    return StoredCheck(
        title=answer.title,
        verdict=answer.verdict,
        crack_life_repeats=None,
        load_reach=answer.load_reach,
        load_digest=answer.load_digest,
        load_figures=answer.load_figures,
        rules=answer.rules,
        lines=lines,
    )


def failing(result: CaseResult) -> set[str | None]:
    return {line for line, _ in result.every_fault}


FEW = settings(max_examples=25)

scales = st.lists(st.floats(0.1, 2.0), min_size=1, max_size=3)
loads = st.floats(0.2, 2.0)


def pairs(low: float, high: float) -> st.SearchStrategy[tuple[float, float]]:
    """Two bounds, the stricter first."""
    two = st.tuples(st.floats(low, high), st.floats(low, high))
    return two.map(lambda bounds: (min(bounds), max(bounds)))


@FEW
@given(scales, loads, st.floats(1.0, 1.5))
def test_larger_load_never_passes_what_failed(scales: list[float], load: float, more: float) -> None:
    before = stored(answer_of(data_of(scales, 0.5)))
    smaller, larger = (
        failing(compare_line(answer_of(data_of(scales, factor)), before, Limits(growth_pct=5.0)))
        for factor in (load, load * more)
    )
    assert smaller <= larger


@FEW
@given(scales, loads, pairs(0.05, 1.0), pairs(0.0, 50.0), pairs(0.0, 1.0))
def test_stricter_limits_never_pass_more(
    scales: list[float],
    load: float,
    limit: tuple[float, float],
    growth: tuple[float, float],
    floor: tuple[float, float],
) -> None:
    before, answer = stored(answer_of(data_of(scales, 0.6))), answer_of(data_of(scales, load))
    strict, loose = (Limits(utilisation=limit[at], growth_pct=growth[at], growth_floor=floor[at]) for at in (0, 1))
    assert failing(compare_line(answer, before, loose)) <= failing(compare_line(answer, before, strict))


@FEW
@given(scales, loads)
def test_unit_case_turned_round_with_its_factors_is_the_same_design(scales: list[float], load: float) -> None:
    data = data_of(scales, load)
    turned = copy.deepcopy(data)
    state = turned["loading"]["factors"]["vertical"]
    turned["loading"]["factors"]["vertical"] = {"maximum": -state["minimum"], "minimum": -state["maximum"]}
    for line in turned["lines"]:
        peaks = line["cases"]["vertical"]["peaks_mpa"]
        peaks["opening"] = [-value for value in peaks["opening"]]
    assert same(data, turned)


@FEW
@given(scales, loads)
def test_line_taken_from_its_other_end_is_the_same_design(scales: list[float], load: float) -> None:
    data = data_of(scales, load)
    reversed_lines = copy.deepcopy(data)
    for line in reversed_lines["lines"]:
        line["position_mm"] = [20.0 - value for value in reversed(line["position_mm"])]
        line["cases"]["vertical"]["peaks_mpa"]["opening"].reverse()
    assert same(data, reversed_lines)


@FEW
@given(scales, loads, st.floats(0.1, 0.9))
def test_block_split_in_two_is_the_same_design(scales: list[float], load: float, share: float) -> None:
    data = data_of(scales, load)
    factors, cycles = data["loading"]["factors"], 2_000_000.0
    whole = {**data, "loading": {"kind": "blocks", "blocks": [{"factors": factors, "cycles": cycles}]}}
    parts = [share * cycles, cycles - share * cycles]
    blocks = [{"factors": factors, "cycles": part} for part in parts]
    assert same(whole, {**data, "loading": {"kind": "blocks", "blocks": blocks}})


def same(data: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether a gate that knows the one finds nothing changed in the other."""
    answer, before = answer_of(other), answer_of(data)
    assert digest_of(CheckRequest.model_validate(data)) != digest_of(CheckRequest.model_validate(other))
    result = compare_line(answer, stored(before), Limits(growth_floor=0.0))
    kinds = {fault.kind for _, fault in result.every_fault}
    notes = [note for line in result.lines for note in line.notes if not note.startswith("the stored state ")]
    return kinds <= {"limit", "undecided"} and not notes

"""An older answer from its file: an answer, a request with its answer, or a request that is calculated now."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from ..base.common import Calculation
from ..base.envelope import Evaluation, evaluate, validated
from ..base.forms.other_units import answer_in_core_units
from ..base.problems import Problem
from ..units.kinds import meanings
from .compare import Answer, require_same_kind
from .envelope import Lenient, read_as, read_envelope

ENVELOPE = {"answer", "findings", "record"}
EXAMPLE = {"calculation", "request"}
BASELINE = "baseline"  # member of a body beside the request


class OlderPlace(Lenient):
    """A governing station."""

    index: Annotated[int, Field(ge=0)]
    position_mm: float
    coordinates_mm: Annotated[list[float], Field(min_length=3, max_length=3)] | None
    node_id: int | None


class OlderLine(Lenient):
    """A weld line at its governing station."""

    name: str
    verdict: Literal["pass", "fail", "undecided"]
    governing_utilisation: Annotated[float, Field(ge=0.0)]
    governing_index: Annotated[int, Field(ge=0)]
    governing: OlderPlace
    curve: str
    life_cycles: list[float | None]

    @model_validator(mode="after")
    def _has_its_station(self) -> OlderLine:
        if self.governing_index >= len(self.life_cycles):
            raise ValueError(f"there is no station {self.governing_index}")
        return self


class OlderLines(Lenient):
    """The weld lines of an answer."""

    lines: list[OlderLine]


def answer_of(name: str, found: Evaluation) -> Answer:
    """An answer that was calculated now."""
    return Answer(name=name, request=found.request, answer=found.answer.model_dump(mode="json"), **_beside(found))


def _beside(found: Evaluation) -> dict[str, Any]:
    return {key: found.beside[key] for key in ("findings", "record")}


def older_answer(name: str, data: Any, calculation: Calculation) -> Answer:
    """The older answer in the data of a file or a body.

    name   : what it is called in the comparison
    Raises : Problem where it is of another calculation, or nothing of all that; its pointers begin with /baseline
    """
    if not isinstance(data, dict):
        raise Problem(422, "an older answer is a JSON object", [("/baseline", "no object")])
    if data.get("kind") == "toeline baseline":
        raise Problem(
            422, "a baseline of a gate is read by the command line, from its file", [("/baseline", "no answer")]
        )
    try:
        if set(data) >= ENVELOPE:
            return _from_envelope(name, data, None, calculation)
        if set(data) >= EXAMPLE:
            require_same_kind(str(data["calculation"]), calculation.name)
            if "response" not in data:
                return answer_of(name, evaluate(calculation, data["request"]))
            request = _request(data["request"], calculation)
            return _from_envelope(name, data["response"], request, calculation)
        return answer_of(f"{name}, calculated now", evaluate(calculation, data))
    except Problem as problem:
        places = [
            (where if where.startswith("/baseline") else f"/baseline{where}", text) for where, text in problem.errors
        ]
        raise Problem(problem.status, f"the older answer: {problem.detail}", places, kind=problem.kind) from problem


def _request(data: Any, calculation: Calculation) -> Any:
    with _inside("/request"):
        return validated(calculation, data)


@contextmanager
def _inside(part: str) -> Iterator[None]:
    """Pointers of a problem lead into this part."""
    try:
        yield
    except Problem as problem:
        places = [(part + where, text) for where, text in problem.errors]
        raise Problem(problem.status, problem.detail, places, kind=problem.kind, title=problem.title) from problem


def _from_envelope(name: str, data: Any, request: Any, calculation: Calculation) -> Answer:
    within = "" if request is None else "/response"
    read = read_envelope(data, within)
    require_same_kind(read.record.calculation, calculation.name)
    with _inside(f"{within}/answer"):
        answer = dict(answer_in_core_units(calculation.answer, read.answer))
    for key in _in_other_units(answer, calculation.answer.model_fields):
        text = f"it is in other units ({key}), and this version has no such number: give its request"
        raise Problem(422, text, [(f"{within}/answer/{key}", "in another unit")])
    if "lines" in calculation.answer.model_fields:
        lines = read_as(OlderLines, answer, f"{within}/answer").lines
        answer["lines"] = [line.model_dump() for line in lines]
    findings = [finding.model_dump() for finding in read.findings]
    return Answer(name=name, request=request, answer=answer, findings=findings, record=read.record.model_dump())


def _in_other_units(data: Any, known: Collection[str] = ()) -> Iterator[str]:
    """Names of numbers that an answer gives in other units than those here."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if key not in known and meanings(str(key)):
                yield str(key)
            elif key != "descriptions":
                yield from _in_other_units(value)
    elif isinstance(data, list) and data and isinstance(data[0], Mapping):
        yield from _in_other_units(data[0])

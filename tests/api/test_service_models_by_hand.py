"""What every model and route of the service shares: bounds of numbers, strictness, the register, titles of problems."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from pydantic import Field, TypeAdapter, ValidationError

from fatcore import __version__, quantities, tables
from fatcore.bounds import NonNegative, Number, Positive, Probability
from fatcore.errors import InputError
from fatcore.outcome import Outcome
from service.base import common, example_files
from service.base.common import MAX_POINTS, Reply, Strict, get, post, reply
from service.base.derive import MAX_ROWS, Derived, answer_of, call, request_of
from service.base.envelope import CAUTION, canonical, evaluate
from service.base.problems import TITLES, Problem
from service.topics.registry import find, load


@pytest.mark.parametrize(
    ("kind", "inside", "outside"),
    [
        (Number, (-1e30, 0.0, 1e30), (-1.005e30, 1.005e30)),
        (Positive, (1e-30, 0.005, 1e30), (0.0, 0.995e-30, -1e-30, 1.005e30)),
        (NonNegative, (0.0, 0.005, 1e30), (-1e-300, 1.005e30)),
        (Probability, (1e-300, 0.005, 1.0 - 2.0**-53), (0.0, 1.0, 1.005)),
    ],
)
def test_numbers_of_a_request_have_both_bounds(
    kind: Any, inside: tuple[float, ...], outside: tuple[float, ...]
) -> None:
    checked: TypeAdapter[float] = TypeAdapter(kind)
    for value in inside:
        assert checked.validate_python(value) == value
    for value in outside:
        with pytest.raises(ValidationError):
            checked.validate_python(value)


def test_columns_and_rows_have_a_million_entries_at_the_most() -> None:
    assert (MAX_POINTS, MAX_ROWS) == (1_000_000, 1_000_000)


class Sized(Strict):
    """A model of these tests."""

    thickness_mm: float = 1.0


@pytest.mark.parametrize(
    "data", [{"thickness_mm": "1"}, {"thickness_mm": True}, {"thickness_mm": float("nan")}, {"x": 1}, []]
)
def test_nothing_is_converted_or_passed_over(data: Any) -> None:
    with pytest.raises(ValidationError):
        Sized.model_validate(data)


def test_a_model_does_not_change_and_says_what_its_quantities_are() -> None:
    model = Sized(thickness_mm=2.0)
    with pytest.raises(ValidationError):
        model.thickness_mm = 3.0  # type: ignore[misc]
    schema = Sized.model_json_schema()
    assert schema["properties"]["thickness_mm"]["description"] == quantities.quantity("thickness_mm").described()
    assert schema["properties"]["thickness_mm"]["default"] == 1.0
    assert schema["additionalProperties"] is False


class Described(Strict):
    """A model with words of its own."""

    thickness_mm: float = Field(default=1.0, description="of the wall")
    unheard_of: dict[str, float] = Field(default={})


def test_own_words_stay_and_a_default_that_is_an_object_is_not_described() -> None:
    parts = Described.model_json_schema()["properties"]
    assert parts["thickness_mm"]["description"] == "of the wall"
    assert "default" not in parts["unheard_of"]
    assert "description" not in parts["unheard_of"]


def test_titles_are_those_of_their_statuses() -> None:
    """RFC 9110, section 15, and RFC 6585 for 429: what each status says, in words of our own."""
    assert TITLES == {
        400: "Request cannot be read",
        403: "Key not meant for this",
        401: "Key missing or unknown",
        404: "Not found",
        405: "Method not allowed",
        406: "No such form of the answer",
        408: "Request took too long",
        413: "Request too large",
        415: "Media type not supported",
        422: "Input refused",
        429: "Too many requests",
        500: "Internal error",
        503: "Busy",
    }


def test_a_route_is_registered_under_its_method_with_its_own_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(common, "_register", {})

    @post("a/b", Sized, Sized, revision=3, summary="s")
    def one(asked: Sized) -> Reply:
        """Does
        one thing."""
        return Reply(answer=asked)

    @get("a/b", Sized, Sized, revision=1, summary="t")
    def other(asked: Sized) -> Reply:
        return Reply(answer=asked)

    found = common.calculations()
    assert list(found) == [("POST", "a/b"), ("GET", "a/b")]
    first, second = found.values()
    assert (first.description, second.description) == ("Does one thing.", "")
    assert (first.revision, first.summary, first.method, first.path, first.topic) == (3, "s", "POST", "/v1/a/b", "a")
    assert first.run is one
    assert second.run is other
    assert (first.csv, dict(first.bodies)) == (None, {})
    with pytest.raises(RuntimeError, match="GET a/b is registered twice"):
        get("a/b", Sized, Sized, revision=1, summary="t")(other)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inner(Outcome):
    """A part of an outcome."""

    size_mm: float
    secret: float = 9.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outer(Outcome):
    """An outcome with parts."""

    inner: Inner
    several: tuple[Inner, ...]
    life_cycles: Any


class InnerAnswer(Strict):
    """Its answer, of fewer fields."""

    size_mm: float


class OuterAnswer(Strict):
    """Its answer."""

    inner: InnerAnswer
    several: list[InnerAnswer]
    life_cycles: list[float | None]
    word: str = "none"


def test_a_reply_takes_values_before_the_fields_of_the_outcome_and_its_parts() -> None:
    part = Inner(size_mm=2.0)
    outcome = Outer(
        inner=part,
        several=(part, Inner(size_mm=3.0)),
        life_cycles=np.array([1.0, np.inf]),
        sources=("s",),
        tables=("t",),
    )
    found = reply(OuterAnswer, outcome)
    assert found.answer.model_dump() == {
        "inner": {"size_mm": 2.0},
        "several": [{"size_mm": 2.0}, {"size_mm": 3.0}],
        "life_cycles": [1.0, None],
        "word": "none",
    }
    assert (found.findings, found.sources, found.tables) == ((), ("s",), ("t",))
    given = reply(OuterAnswer, outcome, life_cycles=np.array([5.0]), word="given").answer.model_dump()
    assert (given["life_cycles"], given["word"]) == ([5.0], "given")


def placed(size_mm: float, offset_mm: float = 0.5, factor: float = 2.0) -> tuple[float, float, float]:
    """A function of the core."""
    if size_mm > 10.0:
        raise InputError("too large", "size_mm")
    return size_mm, offset_mm, factor


@request_of(placed, omit=("factor",))
class PlacedRequest(Derived):
    """Its arguments but one."""

    more: float = 7.0


def test_a_call_takes_what_the_function_knows_and_values_instead_of_fields() -> None:
    request = PlacedRequest.model_validate({"size_mm": 1.0})
    assert call(placed, request) == (1.0, 0.5, 2.0)
    assert call(placed, request, offset_mm=3.0, factor=4.0) == (1.0, 3.0, 4.0)
    assert request.to_core() == (1.0, 0.5, 2.0)
    assert set(PlacedRequest.model_fields) == {"size_mm", "offset_mm", "more"}
    assert PlacedRequest.model_fields["size_mm"].is_required()
    assert (PlacedRequest.__name__, PlacedRequest.__module__) == ("PlacedRequest", __name__)
    assert PlacedRequest.__doc__ == "Its arguments but one."
    with pytest.raises(AttributeError):
        _ = request.nothing_such


def named(word: str) -> str:
    """A function of the core that takes a word."""
    return word


@request_of(named)
class NamedRequest(Derived):
    """Its argument."""


def test_a_word_has_a_hundred_letters_at_the_most_and_may_be_empty() -> None:
    for word in ("", "x" * 100):
        assert NamedRequest.model_validate({"word": word}).to_core() == word
    with pytest.raises(ValidationError):
        NamedRequest.model_validate({"word": "x" * 101})


@answer_of(Inner, omit=("secret",))
class InnerShown(Strict):
    """An answer without the evidence of its outcome."""


def test_an_answer_has_every_field_and_none_of_the_evidence() -> None:
    assert set(InnerShown.model_fields) == {"size_mm"}
    assert InnerShown.model_fields["size_mm"].is_required()


def test_texts_are_read_as_numbers_only_where_they_come_from_an_address() -> None:
    life = find("curves/{curve}/life", "GET")
    assert life is not None
    data = {"curve": "peak-stress-opening", "stress_range_mpa": "90"}
    assert evaluate(life, data, strings=True).envelope()["answer"]["life_cycles"] > 1e6
    with pytest.raises(Problem) as caught:
        evaluate(life, data)
    assert [where for where, _ in caught.value.errors] == ["/stress_range_mpa"]


def test_the_record_of_an_answer_says_what_it_rests_on() -> None:
    life = find("curves/life")
    assert life is not None
    data = {"curve": "peak-stress-opening", "stress_range_mpa": [90.0]}
    envelope = evaluate(life, data).envelope()
    record = envelope["record"]
    assert (record["calculation"], record["revision"], record["version"]) == ("curves/life", life.revision, __version__)
    assert record["tables"]
    for name, print_ in record["tables"].items():
        assert print_ == tables.fingerprint(name.replace("_", "/", 1))
    assert record["sources"][0]["key"]
    assert envelope["caution"] == CAUTION
    again = evaluate(life, {**data, "stress_range_mpa": [90]}).envelope()["record"]["input_digest"]
    assert again == record["input_digest"] != evaluate(life, {**data, "stress_range_mpa": [91.0]}).envelope()["record"]


def test_examples_lie_in_the_clone_or_the_installation_or_nowhere(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    assert (example_files.example_folder() / "check").is_dir()
    monkeypatch.setattr(example_files, "files", lambda _: tmp_path / "a" / "b" / "c")
    monkeypatch.setattr("sysconfig.get_path", lambda _: str(tmp_path / "data"))
    with pytest.raises(Problem, match="the examples are not installed here") as caught:
        example_files.example_folder()
    assert caught.value.status == 404
    installed = tmp_path / "data" / "share" / "toeline" / "openapi_examples"
    installed.mkdir(parents=True)
    assert example_files.example_folder() == installed
    beside = tmp_path / "a" / "openapi_examples"
    beside.mkdir(parents=True)
    assert example_files.example_folder() == beside


def test_a_calculation_is_found_by_its_name_and_method() -> None:
    assert find("check") is load()["POST", "check"]
    assert find("check", "GET") is None
    assert find("sources", "GET") is load()["GET", "sources"]
    assert find("sources") is None


class Nested(Strict):
    b: dict[str, list[float]]
    a: list[dict[str, float]]
    c: float = 0.1


def test_a_digest_is_of_the_request_with_its_defaults_and_its_names_in_order() -> None:
    """Whatever the order in which they were sent, at any depth; numbers as short as they are exact."""
    one = Nested(b={"y": [1e16, 1e-7], "x": [100000.0]}, a=[{"q": 1.0, "p": -0.0}])
    other = Nested(a=[{"p": -0.0, "q": 1.0}], b={"x": [100000.0], "y": [1e16, 1e-7]}, c=0.1)
    assert canonical(one) == canonical(other)
    assert canonical(one) == b'{"a":[{"p":-0.0,"q":1.0}],"b":{"x":[100000.0],"y":[1e+16,1e-7]},"c":0.1}'
    assert canonical(Nested(b={}, a=[])) == b'{"a":[],"b":{},"c":0.1}'

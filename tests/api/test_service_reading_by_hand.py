"""How requests are read and refused: JSON, queries, unknown keys, pointers, extreme numbers."""

from __future__ import annotations

import hashlib
import json
import struct
from typing import Annotated, Any, Literal

import httpx
import numpy as np
import pytest
from annotated_types import Len
from pydantic import BaseModel, Field, TypeAdapter, ValidationError

from fatcore.errors import InputError, NotConvergedError, NotCoveredError, UnknownError
from service.base import parsing
from service.base.common import Strict
from service.base.extremes import overflow_problem
from service.base.parsing import query_data, request_in, require_bounded, strict_json
from service.base.problems import MAX_ERRORS, Problem, from_core, from_validation, pointer, problem_response
from service.base.refused.unknown_keys import MAX_NAMES, unknown_key_message
from service.base.samples import Samples
from service.base.unused import refuse_unused


def refused(problem: Problem) -> tuple[int, tuple[tuple[str, str], ...]]:
    return problem.status, problem.errors


def reading(body: bytes) -> Problem:
    with pytest.raises(Problem) as caught:
        strict_json(body)
    return caught.value


def test_a_byte_order_mark_is_no_part_of_a_body() -> None:
    assert strict_json(b'\xef\xbb\xbf{"a":[1,2.5,null]}') == {"a": [1, 2.5, None]}


def test_every_repeated_key_has_its_pointer() -> None:
    problem = reading(b'{"a":[1,{"x":1,"y":2,"y":3,"x":4}],"b":{"c":{"d":1,"d":2}},"e":{"x":1,"y":1}}')
    said = "this key occurs more than once in one object"
    assert refused(problem) == (422, (("/a/1/y", said), ("/b/c/d", said)))
    assert refused(reading(b'{"a":{"b":1,"b":2},"a":3,"c":1}')) == (422, (("/a", said),))


def test_a_body_that_is_no_json_says_where() -> None:
    problem = reading(b'{"a":\xff}')
    assert (problem.detail, refused(problem)) == (
        "the body is not UTF-8 text (byte 5): save it as UTF-8",
        (400, (("", "not UTF-8 text (byte 5)"),)),
    )
    problem = reading(b'{"a":}')
    message = "line 1, column 6: a value is missing before '}'"
    assert (problem.detail, refused(problem)) == (f"the body is not JSON: {message}", (400, (("", message),)))
    assert refused(reading(b"9" * 5000)) == (400, (("", "a number has too many digits"),))
    assert refused(reading(b"[" * 100_000)) == (400, (("", "nested too deeply"),))


@pytest.mark.parametrize(
    ("body", "more"),
    [(b"[1,2,3,4]", b"[1,2,3,4,5]"), (b"[{},[]]", b"[{},[{}]]"), (b"{[{", b"{[{{"), (b"[[[", b"[[[[")],
)
def test_a_body_may_hold_as_much_as_its_limit(body: bytes, more: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parsing, "MAX_VALUES", 3)  # commas
    monkeypatch.setattr(parsing, "MAX_GROUPS", 3)
    require_bounded(body)
    with pytest.raises(Problem) as caught:
        require_bounded(more)
    assert refused(caught.value) == (413, (("", "too many values"),))


def test_the_limits_of_a_body_are_those_of_the_guide() -> None:
    assert (parsing.MAX_VALUES, parsing.MAX_GROUPS) == (12_000_000, 2_500_000)
    assert parsing.MAX_BODY_BYTES == 2**26


def test_a_query_parameter_is_given_once() -> None:
    assert query_data([("a", "1"), ("b", "1")]) == {"a": "1", "b": "1"}
    with pytest.raises(Problem) as caught:
        query_data([("a", "1"), ("b/c", "1"), ("b/c", "1")])
    assert refused(caught.value) == (422, (("/b~1c", "given twice"),))


def test_a_file_holds_a_request_or_an_example_of_the_same_calculation() -> None:
    assert request_in(b'{"calculation":"check"}', "check") == {"calculation": "check"}
    assert request_in(b"[1]", "check") == [1]
    for more in ({}, {"title": "t"}):
        example = json.dumps({"calculation": "check", "request": {"a": 1}, **more}).encode()
        assert request_in(example, "check") == {"a": 1}
    with pytest.raises(Problem, match="an example of check, not of stress/peak") as caught:
        request_in(example, "stress/peak")
    assert caught.value.status == 422


class Inner(Strict):
    kind: Literal["inner"]
    size_mm: float


class Other(Strict):
    kind: Literal["other"]
    width_mm: float


class Outer(Strict):
    title: str = ""
    parts: list[Inner | Other] = Field(default_factory=list)
    by_name: dict[str, Inner] = Field(default_factory=dict)


def key_message(*location: str | int) -> str:
    return unknown_key_message(Outer, location, listed=True)


def test_an_unknown_key_is_answered_by_the_nearest_and_all_names_of_its_place() -> None:
    assert key_message("titel") == "unknown key, did you mean 'title'? Allowed: by_name, parts, title"
    assert key_message("qqq") == "unknown key. Allowed: by_name, parts, title"
    assert key_message("parts", 0, "inner", "size") == "unknown key, did you mean 'size_mm'? Allowed: kind, size_mm"
    assert key_message("parts", 0, "Other", "zzz") == "unknown key. Allowed: kind, width_mm"
    assert key_message("parts", 3, "zzz") == "unknown key. Allowed: kind, size_mm, width_mm"
    assert key_message("by_name", "weld", "zzz") == "unknown key. Allowed: kind, size_mm"


def wide(count: int) -> type[Strict]:
    fields = {f"f{index:02}": 0.0 for index in range(count)}
    return type("Wide", (Strict,), {"__module__": __name__, "__annotations__": dict.fromkeys(fields, float), **fields})


def test_forty_names_are_listed_and_more_are_hinted_at() -> None:
    listed = ", ".join(f"f{index:02}" for index in range(40))
    assert unknown_key_message(wide(40), ("zzz",), listed=True) == f"unknown key. Allowed: {listed}"
    assert unknown_key_message(wide(41), ("zzz",), listed=True) == f"unknown key. Allowed: {listed} ..."
    assert MAX_NAMES == 40


def test_a_field_that_nothing_uses_may_only_have_its_default() -> None:
    refuse_unused(Outer(), "title", because="x")
    with pytest.raises(InputError, match="is not used: no line has one") as caught:
        refuse_unused(Outer(title="a"), "title", because="no line has one")
    assert caught.value.path == ("title",)


def located(data: Any, model: type[BaseModel] = Outer) -> Problem:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(data)
    return from_validation(caught.value, data, model)


def test_errors_point_into_what_was_sent_without_the_names_of_branches() -> None:
    problem = located({"titel": 1, "parts": [{"kind": "inner", "size_mm": "x"}]})
    assert problem.status == 422
    places = [where for where, _ in problem.errors]
    assert (places[0], places[-1]) == ("/parts/0/size_mm", "/titel")
    assert "/parts/0/kind" in places  # of the branch that is called other
    assert all("Inner" not in where and "Other" not in where for where in places)


def test_a_missing_key_and_an_index_have_their_pointers() -> None:
    assert [where for where, _ in located({"by_name": {"a/b": {"kind": "inner"}}}).errors] == ["/by_name/a~1b/size_mm"]
    assert [where for where, _ in located({"by_name": {"a": 5}}).errors] == ["/by_name/a"]
    assert [where for where, _ in located(7).errors] == [""]


class Pair(BaseModel):
    pair: tuple[float, float]


def test_a_missing_entry_of_a_column_is_named_by_its_index() -> None:
    assert [where for where, _ in located({"pair": [1.0]}, Pair).errors] == ["/pair/1"]


class Numbers(Strict):
    x: list[float]


@pytest.mark.parametrize(("wrong", "shown"), [(19, 19), (20, 20), (21, 20)])
def test_twenty_errors_are_shown_and_all_are_counted(wrong: int, shown: int) -> None:
    problem = located({"x": ["a"] * wrong}, Numbers)
    assert [where for where, _ in problem.errors] == [f"/x/{index}" for index in range(shown)]
    assert problem.detail == f"{wrong} inputs are refused"
    assert MAX_ERRORS == 20


class Choices(Strict):
    column: Annotated[list[float], Len(2)] | float = 1.0
    named: dict[str, list[float] | str] = Field(default_factory=dict)
    inner: Inner | str = ""


@pytest.mark.parametrize(
    ("data", "where"),
    [
        ({"column": []}, "/column"),
        ({"column": {}}, "/column"),
        ({"column": [1.0, "x"]}, "/column/1"),
        ({"named": {"a": {}}}, "/named/a"),
        ({"named": {"a": ["x"]}}, "/named/a/0"),
        ({"named": {"str": {}}}, "/named/str"),
        ({"inner": {"kind": "inner"}}, "/inner/size_mm"),
        ({"inner": []}, "/inner"),
    ],
)
def test_what_fits_no_branch_is_wrong_where_it_stands(data: Any, where: str) -> None:
    parent = where.rpartition("/")[0] or where  # the branch that does not go so deep
    assert {found for found, _ in located(data, Choices).errors} in ({where}, {where, parent})


def test_a_load_ratio_that_is_no_number_is_refused_at_its_place(client: httpx.Client) -> None:
    problem = client.post("/v1/stress/peak", json={"load_ratio": {"colour": 1}}).json()
    places = [error["pointer"] for error in problem["errors"]]
    assert "/load_ratio" in places  # as a number
    assert "/load_ratio/colour" in places  # as ratios by mode
    assert "/load_ratio/float" not in places


def test_a_key_may_be_called_like_a_branch() -> None:
    data = {"by_name": {"inner": {"kind": "inner", "size_mm": "x"}}}
    assert [where for where, _ in located(data).errors] == ["/by_name/inner/size_mm"]


@pytest.mark.parametrize(
    ("error", "where", "message", "kind"),
    [
        (InputError("m", "a", 0), "/a/0", "m", "about:blank"),
        (UnknownError("curve", "b", ["x"], "a", 0), "/a/0", "unknown curve 'b'; known: x", "urn:toeline:unknown"),
        (NotCoveredError("m", "a"), "/a", "m", "urn:toeline:not-covered"),
        (NotConvergedError("m"), "", "m", "urn:toeline:not-converged"),
    ],
)
def test_errors_of_the_core_are_refusals_of_their_kind(error: Any, where: str, message: str, kind: str) -> None:
    problem = from_core(error)
    assert (refused(problem), problem.detail, problem.kind) == ((422, ((where, message),)), message, kind)


def test_a_problem_is_one_object_and_one_line() -> None:
    problem = Problem(422, "d", [("/a", "one"), ("", "two"), ("/c", "three"), ("/d", "four")], headers={"X-A": "b"})
    assert problem.line() == "/a: one; request: two; /c: three"
    assert Problem(418, "d").line() == "d"
    assert Problem(418, "d").body() == {
        "type": "about:blank",
        "title": "Error",
        "status": 418,
        "detail": "d",
        "errors": [],
    }
    answer = problem_response(problem)
    assert (answer.status_code, answer.headers["x-a"]) == (422, "b")
    assert answer.headers["content-type"] == "application/problem+json"
    assert json.loads(bytes(answer.body)) == problem.body()
    assert problem.body()["errors"][1] == {"pointer": "", "message": "two"}
    assert (problem.body()["title"], Problem(422, "d", title="t").body()["title"]) == ("Input refused", "t")


def test_a_pointer_escapes_in_the_order_of_its_standard() -> None:
    """RFC 6901, section 4: "~" first, or "~1" would be escaped twice."""
    assert pointer(["a/b", "m~n", "~1", 0]) == "/a~1b/m~0n/~01/0"


def test_the_most_extreme_number_is_blamed_for_an_overflow_from_twelve_powers_of_ten_on() -> None:
    error = OverflowError("x")
    for harmless in ({"a": 9.9e11, "b": [True, None, "x", 0.0]}, {"a": 1.1e-12}, {}, {"a": float("inf")}):
        assert overflow_problem(error, harmless) is error
    for data, where in (
        ({"a": 1e12}, "/a"),
        ({"a": [1.0, -1e-12]}, "/a/1"),
        ({"a": 1e13, "b": {"c/d": 1e-20}}, "/b/c~1d"),
        ({"a": 1e25, "b": 1e20}, "/a"),
    ):
        problem = overflow_problem(error, data)
        message = "this number leads beyond the range of floating-point numbers"
        assert isinstance(problem, Problem)
        assert refused(problem) == (422, ((where, message),))


def test_a_history_has_two_samples_at_the_least_in_every_form() -> None:
    samples: TypeAdapter[Any] = TypeAdapter(Samples)
    two = np.array([1.0, 2.0])
    assert samples.validate_python(two) is two
    assert samples.validate_python([1.0, 2.0]) == [1.0, 2.0]
    assert samples.dump_python([1.0, 2.0]) == [1.0, 2.0]
    digest = hashlib.sha256(struct.pack("=2d", 1.0, 2.0)).hexdigest()
    assert samples.dump_python(two) == {"samples": 2, "sha256": digest}
    for short in ([1.0], np.array([1.0])):
        with pytest.raises(ValidationError):
            samples.validate_python(short)

"""Forms of an answer, each against what was written down by hand."""

from __future__ import annotations

import asyncio
import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from starlette.requests import Request

from service.base.common import Calculation, Reply, Strict
from service.base.envelope import Evaluation, evaluate
from service.base.problems import Problem
from service.http import tasks
from service.http.admission import Admission
from service.http.answering import _only, kind_of, media_type_wanted, problem_reply, respond, response_of
from service.http.forms import MAX_CODES, Cell, cell_text, csv_text, findings_header
from service.http.metrics import Metrics
from service.http.settings import Settings
from service.topics.registry import find


class Asked(Strict):
    """Request of a calculation of these tests."""

    x: float = 1.0


class Answered(Strict):
    """Answer of a calculation of these tests."""

    column: list[float]
    text: str = "=1+1"


def calculation(name: str = "test/form", method: Any = "POST", **more: Any) -> Calculation:
    def run(asked: Asked) -> Reply:
        return Reply(answer=Answered(column=[asked.x, 2.0]))

    return Calculation(
        name=name, method=method, request=Asked, answer=Answered, run=run, revision=1, summary="s", **more
    )


def refusal(function: Any, *given: Any, **more: Any) -> tuple[int, str, tuple[tuple[str, str], ...]]:
    with pytest.raises(Problem) as caught:
        function(*given, **more)
    return caught.value.status, caught.value.detail, caught.value.errors


def request(method: str = "POST", query: str = "", **headers: str) -> Request:
    pairs = [(name.replace("_", "-").encode(), text.encode()) for name, text in headers.items()]
    found = {"type": "http", "method": method, "path": "/v1/test/form", "headers": pairs, "path_params": {}}
    return Request({**found, "query_string": query.encode()}, staying)


async def staying() -> Any:
    """What a caller sends who stays: nothing."""
    await asyncio.sleep(60.0)


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("", "application/json"),
        ("  ", "application/json"),
        ("*/*", "application/json"),
        ("text/*", "text/csv"),
        ("TEXT/CSV", "text/csv"),
        ("application/*", "application/json"),
        ("text/html", "text/html"),
        ("image/png, text/html;q=0.5, text/csv;q=0.9", "text/csv"),
        ("text/csv;q=0.9, text/html; q=0.91", "text/html"),
        ("text/csv, text/html", "text/csv"),
        ("text/csv;q=1.0, text/html", "text/csv"),  # RFC 9110, section 12.4.2: 1 where none is given
        ("text/html, text/csv;q=1.0", "text/html"),
        ("text/csv;level=1;q=0.2, application/json;q=0.3", "application/json"),
        ("text/csv;q=0, */*;q=0.1", "application/json"),
        ("text/csv;q=x, text/html;q=0.001", "text/html"),
    ],
)
def test_the_form_of_the_highest_quality_is_answered_the_first_of_equals(accept: str, kind: str) -> None:
    assert media_type_wanted(accept, calculation("check")) == kind


@pytest.mark.parametrize("accept", ["image/png", "text/csv;q=0", "text/html", "application/jsonx"])
def test_a_form_that_a_calculation_has_not_is_a_406(accept: str) -> None:
    said = "this calculation answers application/json, text/csv; ask for one of them in Accept"
    assert refusal(media_type_wanted, accept, calculation()) == (406, said, ())


def test_a_body_has_a_kind_and_no_coding() -> None:
    assert kind_of(request(content_type=" Text/CSV ; charset=utf-8")) == "text/csv"
    assert kind_of(request()) == ""
    for coding in ("identity", "", " Identity "):
        assert kind_of(request(content_type="a/b", content_encoding=coding)) == "a/b"
    said = "send the body as it is, without Content-Encoding gzip"
    assert refusal(kind_of, request(content_encoding="GZIP")) == (415, said, ())


def test_a_cell_that_gets_is_answered_by_a_line_and_everyone_else_by_the_problem() -> None:
    problem = Problem(422, "d", [("/x", "wrong")])
    for method in ("GET", "HEAD"):
        cell = problem_reply(request(method, "only=a"), problem)
        assert (cell.status_code, cell.body, cell.headers["content-type"]) == (
            200,
            b"#ERR: /x: wrong",
            "text/plain; charset=utf-8",
        )
    for method, query in (("POST", "only=a"), ("GET", "a=only"), ("GET", "")):
        assert problem_reply(request(method, query), problem).status_code == 422


def test_what_only_asks_for_is_taken_out_of_the_query() -> None:
    query = {"only": "answer.x", "accept_outside": "1", "y": "2"}
    assert _only(query) == Cell("answer.x", accept_outside=True)
    assert query == {"y": "2"}
    assert _only({"only": "a"}) == Cell("a", accept_outside=False)
    assert _only({"accept_outside": "1"}) is None  # is left to the calculation, which knows no such word
    for word in ("true", "0", ""):
        said = (422, "accept_outside can be 1 only", (("/accept_outside", "1, or left out"),))
        assert refusal(_only, {"only": "a", "accept_outside": word}) == said


def sent(asked: Request, body: bytes = b"{}", one: Calculation | None = None) -> tuple[int, str, str]:
    """Status, kind and content of an answer."""
    try:
        admission = Admission(Settings(worker_processes=False), Metrics())
        found = one or calculation()
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(tasks, "find", lambda name, method: found)
            answer = response_of(asyncio.run(respond(found, admission, admission.access.caller(""), asked, body)))
    except Problem as problem:
        return problem.status, ", ".join(where for where, _ in problem.errors), problem.detail
    return answer.status_code, answer.headers["content-type"], bytes(answer.body).decode()


JSON = {"content_type": "application/json"}


def test_the_forms_of_one_answer() -> None:
    _, kind, text = sent(request(**JSON), b'{"x":5}')
    assert (kind, json.loads(text)["answer"]["column"]) == ("application/json", [5.0, 2.0])
    table = "column,text\r\n1.0,'=1+1\r\n2.0,\r\n"
    assert sent(request(**JSON, accept="text/csv")) == (200, "text/csv; charset=utf-8", table)
    cell = (200, "text/plain; charset=utf-8", "2.0")
    assert sent(request(query="only=answer.column.1&key=secret", **JSON, accept="image/png")) == cell
    assert sent(request("GET", "x=7&only=answer.column.0"), one=calculation(method="GET"))[2] == "7.0"


def test_other_queries_and_kinds_of_body_are_refused() -> None:
    unknown = "this calculation takes no query parameters"
    assert sent(request(query="colour=red&b=1", **JSON)) == (422, "/colour", unknown)
    said = "send Content-Type application/json, text/csv, not text/plain"
    table = calculation(bodies={"text/csv": lambda body, query: {"x": float(query["x"])}})
    assert sent(request(content_type="text/plain"), one=table) == (415, "", said)
    assert sent(request(), one=table)[2] == said.replace("text/plain", "none")
    assert sent(request(content_type="application/any+json"))[0] == 200
    assert sent(request(query="x=3&only=answer.column.0", content_type="text/csv"), b"", table)[2] == "3.0"


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_a_text_that_a_spreadsheet_takes_for_a_formula_is_made_inert(sign: str) -> None:
    answer = {f"{sign}head": [f"{sign}1", f" {sign}1", 1.0]}
    text = csv_text(calculation(), {"answer": answer})
    assert text.count(f"'{sign}") == 2
    assert (f"' {sign}" in text) == (sign in "=+-@")  # behind a blank too


def test_columns_of_unlike_length_and_parts() -> None:
    answer = {"n": 3, "part": {"a": [1, 2], "deep": {"b": 4}}, "rows": [{"c": 5}, {"c": 6, "d": 7}], "empty": []}
    assert csv_text(calculation(), {"answer": answer}).splitlines() == [
        "n,part.a,part.deep.b,rows.c,rows.d,empty",
        "3,1,4,5,,",
        ",2,,6,7,",
    ]
    own = calculation(csv=lambda answer: {"own": answer["n"]})
    assert csv_text(own, {"answer": {"n": [1, 2]}}) == "own\r\n1\r\n2\r\n"
    said = (422, "this answer has no columns; ask for application/json", ())
    assert refusal(csv_text, calculation(), {"answer": {"lists": [[1], [2]]}}) == said


def finding(severity: str, code: str) -> dict[str, str]:
    return {"severity": severity, "code": code}


def test_a_header_names_each_finding_once_and_twenty_at_the_most() -> None:
    many = [finding("note", f"n{index}") for index in range(21)]
    listed = ", ".join(f"note:n{index}" for index in range(20))
    assert findings_header(many[:20]) == listed
    assert findings_header([*many[:20], many[0]]) == listed
    assert findings_header(many) == listed + ", ..."
    assert findings_header([]) == "none"
    assert MAX_CODES == 20


OUTSIDE = [finding("note", "a"), finding("outside", "b"), finding("outside", "c"), finding("outside", "b")]


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("answer.life_cycles", "infinite"),
        ("answer.depth", "none"),
        ("answer.done", "TRUE"),
        ("answer.open", "FALSE"),
        ("answer.rows.1.x", "7"),
        ("answer.rows.001.x", "7"),
        ("record.revision", "3"),
    ],
)
def test_a_cell_is_one_value_in_plain_words(path: str, text: str) -> None:
    answer = {"life_cycles": None, "depth": None, "done": True, "open": False, "rows": [{"x": 6}, {"x": 7}]}
    envelope = {"answer": answer, "findings": [], "record": {"revision": 3}}
    assert cell_text(envelope, path) == text
    left = {**envelope, "findings": OUTSIDE}
    assert cell_text(left, path, accept_outside=True) == text
    assert cell_text(left, path) == ("#OUTSIDE: b, c" if path.startswith("answer.") else text)


@pytest.mark.parametrize(
    ("path", "step"),
    [
        ("answer.none", "none"),
        ("answer.rows.2", "2"),
        ("answer.rows.-1", "-1"),
        ("answer.rows.x", "x"),
        ("answer.rows.0000000001", "0000000001"),
        ("answer.x.0", "0"),
        ("", ""),
    ],
)
def test_a_path_that_leads_nowhere_names_its_step(path: str, step: str) -> None:
    envelope = {"answer": {"rows": [1, 2], "x": "text"}, "findings": []}
    assert refusal(cell_text, envelope, path) == (
        422,
        f"the answer has no {path!r}",
        (("/only", f"nothing named {step!r}"),),
    )
    assert refusal(cell_text, envelope, "answer.rows") == (
        422,
        "'answer.rows' is not one value",
        (("/only", "name one value of the answer"),),
    )


def test_codes_of_a_cell_end_after_twenty() -> None:
    many = [finding("outside", f"o{index}") for index in range(21)]
    text = cell_text({"answer": {"x": 1.0}, "findings": many}, "answer.x")
    assert text == "#OUTSIDE: " + ", ".join(f"o{index}" for index in range(20))


def test_the_bytes_of_an_answer_are_utf8_without_nan_and_equal_to_its_data() -> None:
    found = evaluate(calculation(), {"x": 1.5})
    assert json.loads(found.content()) == found.envelope()
    shown = Evaluation(found.request, found.answer, {"findings": [], "caution": "Prüfung ≥ 1"})
    assert shown.content().endswith('"caution":"Prüfung ≥ 1"}'.encode())
    for name in ("value", "low", "high"):
        told = {"value": None, "low": None, "high": 1.0, name: math.nan}
        with pytest.raises(ValueError, match="not finite"):
            Evaluation(found.request, found.answer, {"findings": [told]}).content()


@pytest.mark.parametrize("run", [lambda x: np.exp(np.float64(x)), lambda x: x * 1e200, lambda x: 1.0 / (x - x)])
def test_numbers_beyond_the_range_are_refused_where_the_request_has_an_extreme_one(run: Any) -> None:
    one = replace(calculation(), run=lambda asked: Reply(answer=Answered(column=[run(asked.x)])))
    status, _, (error,) = refusal(evaluate, one, {"x": 1e200})
    assert (status, error[0]) == (422, "/x")


def test_an_error_of_the_calculation_itself_is_not_laid_on_the_request() -> None:
    def wrong(_: Asked) -> Reply:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        evaluate(replace(calculation(), run=wrong), {"x": 1.0})


def test_an_unknown_word_in_the_path_is_a_404_and_in_the_query_a_422() -> None:
    one = find("curves/{curve}/life", "GET")
    assert one is not None
    asked = request("GET", "stress_range_mpa=90")
    asked.scope["path_params"] = {"curve": "none-such"}
    assert sent(asked, one=one)[:2] == (404, "/curve")
    other = find("curves/life")
    assert other is not None
    assert sent(request(**JSON), b'{"curve":"none-such","stress_range_mpa":[90.0]}', other)[:2] == (422, "/curve")

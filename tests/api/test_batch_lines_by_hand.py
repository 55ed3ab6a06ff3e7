"""Items and lines of a batch, each against what was written down by hand."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest

from fatcore import __version__
from service.base.problems import Problem
from service.http import batch
from service.http.batch import Item, _cell, _checked_id, answer_line, id_of, line_item, lines_in
from service.http.forms import Cell


def refusal(function: Any, *given: Any) -> tuple[int, str, tuple[tuple[str, str], ...]]:
    with pytest.raises(Problem) as caught:
        function(*given)
    return caught.value.status, caught.value.detail, caught.value.errors


@pytest.mark.parametrize("value", ["a", "x" * 200, 0, -5, 10**199])
def test_texts_of_two_hundred_characters_and_whole_numbers_are_ids(value: str | int) -> None:
    assert _checked_id({"id": value}) == value
    assert id_of(Item({"id": value})) == value


@pytest.mark.parametrize("value", ["x" * 201, 10**200, True, 1.0, None, [], "\ud800", "a\udfff"])
def test_anything_else_is_no_id(value: Any) -> None:
    said = (("/id", "give a text of at most 200 characters or a whole number"),)
    assert refusal(_checked_id, {"id": value}) == (422, "the item has no usable id", said)
    assert id_of(Item({"id": value})) is None
    assert refusal(_checked_id, [1])[::2] == (422, (("", "no object"),))


@pytest.mark.parametrize(
    ("more", "cell"),
    [
        ({}, None),
        ({"only": "a"}, Cell("a", accept_outside=False)),
        ({"only": "a", "accept_outside": True}, Cell("a", accept_outside=True)),
        ({"only": "a", "accept_outside": False}, Cell("a", accept_outside=False)),
    ],
)
def test_an_item_asks_for_all_or_one_value(more: dict[str, Any], cell: Cell | None) -> None:
    assert _cell(more) == cell


def lines(*items: Any) -> list[dict[str, Any]]:
    used_ids: set[str | int] = set()
    return [json.loads(answer_line(Item(item), used_ids).content) for item in items]


def test_lines_of_a_batch_have_their_id_status_and_pointers() -> None:
    item = {"id": 1, "calculation": "sources", "input": {}}
    good, taken, less, more, name, both, late = lines(
        item,
        item,
        {"id": 2, "input": {}},
        {**item, "id": 3, "a/b": 1},
        {**item, "id": 4, "calculation": ["x"]},
        {"id": 5, "b": 1, "c": 2},
        {"id": 5},
    )
    assert (good["id"], good["status"], set(good)) == (
        1,
        200,
        {"id", "status", "item_digest", "version", "policy", "envelope", "line_digest"},
    )
    assert (taken["id"], taken["status"]) == (1, 422)
    assert taken["problem"]["errors"] == [{"pointer": "/id", "message": "taken"}]
    assert [e["pointer"] for e in less["problem"]["errors"]] == ["/calculation"]
    assert more["problem"]["errors"] == [{"pointer": "/a~1b", "message": "unknown key"}]
    assert (name["status"], name["problem"]["errors"][0]["pointer"]) == (404, "/calculation")
    assert [(e["pointer"], e["message"]) for e in both["problem"]["errors"]] == [
        ("/calculation", "missing"),
        ("/input", "missing"),
        ("/b", "unknown key"),
        ("/c", "unknown key"),
    ]
    assert late["problem"]["errors"][0]["message"] == "taken"  # an item that was refused has taken its id too


def test_an_item_of_one_value_names_the_findings_beside_it() -> None:
    item = {"id": "ä", "calculation": "sources", "input": {}, "only": "record.revision"}
    line = answer_line(Item(item), set())
    text = '{"calculation":"sources","id":"ä","input":{},"only":"record.revision"}'
    digest = "sha256:" + hashlib.sha256(text.encode()).hexdigest()
    made = f'"item_digest":"{digest}","version":"{__version__}","policy":null'
    content = f'{{"id":"ä","status":200,{made},"value":"1","findings":"none"'
    sealed = hashlib.sha256(f"{content}}}".encode()).hexdigest()
    assert line.content == f'{content},"line_digest":"sha256:{sealed}"}}\n'.encode()
    refused = answer_line(Item(problem=Problem(400, "d")), set()).content
    assert refused.startswith(b'{"id":null,"status":400,"item_digest":"sha256:')


def test_a_body_of_items_is_an_array_or_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "MAX_ITEMS", 2)
    assert lines_in("application/json", b'[1,"\\ud800\xc3\xa4"]') == [b"1", b'"\\ud800\\u00e4"']
    found = [line_item(line) for line in lines_in(batch.NDJSON, b"\n1\r\n{\n \n")]
    assert found[0] == Item(1)
    assert found[1].problem is not None
    assert found[1].problem.status == 400
    for kind, body, status, detail, errors in (
        ("application/json", b"[1,2,3]", 422, "a batch may hold 2 items, not 3", (("", "too many items"),)),
        (batch.NDJSON, b"1\n2\n3", 422, "a batch may hold 2 items, not 3", (("", "too many items"),)),
        ("application/json", b"[]", 422, "the batch holds no item", (("", "empty"),)),
        ("application/json", b"{}", 422, "a batch is an array of items", (("", "no array"),)),
        ("", b"[]", 415, "send Content-Type application/json or application/x-ndjson, not none", ()),
    ):
        assert refusal(lines_in, kind, body) == (status, detail, errors)


def test_an_item_that_asks_wrongly_for_one_value_has_its_pointer() -> None:
    without = (422, "accept_outside goes with only", (("/accept_outside", "without only"),))
    assert refusal(_cell, {"accept_outside": True}) == without
    no_truth = (422, "accept_outside is true or false", (("/accept_outside", "true or false"),))
    assert refusal(_cell, {"only": "a", "accept_outside": 1}) == no_truth
    assert refusal(_cell, {"only": 3}) == (422, "only is a dotted path of the answer", (("/only", "no text"),))


def test_a_look_up_takes_texts_or_numbers_and_not_both() -> None:
    inputs = [
        {"curve": "peak-stress-opening", "stress_range_mpa": "90"},
        {"curve": "peak-stress-opening", "stress_range_mpa": 90.0},
        {"curve": "peak-stress-opening", "stress_range_mpa": "90", "sample_size": 5},
    ]
    found = lines(*({"id": n, "calculation": "curves/{curve}/life", "input": one} for n, one in enumerate(inputs)))
    assert [line["status"] for line in found] == [200, 200, 422]
    (error,) = found[2]["problem"]["errors"]
    assert error["pointer"] == "/stress_range_mpa"


def test_texts_are_no_numbers_in_the_input_of_a_post_nor_a_list_an_input() -> None:
    post = {"id": 1, "calculation": "cracks/mixed-mode", "input": {"poisson_ratio": "0.3"}}
    look_up = {"id": 2, "calculation": "sources", "input": []}
    first, second = lines(post, look_up)
    said = {error["pointer"]: error["message"] for error in first["problem"]["errors"]}
    assert "number" in said["/poisson_ratio"]
    assert (second["status"], [error["pointer"] for error in second["problem"]["errors"]]) == (422, [""])

"""Batches over HTTP: order, isolation of problems, bounds, streaming."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from service.base.common import Calculation
from service.base.envelope import calculated
from service.base.problems import Problem
from service.http import batch
from service.http.batch import MAX_ITEMS, NDJSON, Item, answer_line, id_of, line_item
from service.http.openapi import description
from service.http.settings import Settings
from service.pool.lanes import _too_long
from tests.api.conftest import Server

CURVE = "peak-stress-opening"


def item(place: Any, range_mpa: Any = 90.0, curve: str = CURVE) -> dict[str, Any]:
    content = {"curve": curve, "stress_range_mpa": [range_mpa]}
    return {"id": place, "calculation": "curves/life", "input": content}


def ask(client: httpx.Client, items: Any) -> list[dict[str, Any]]:
    answer = client.post("/v1/batch", json=items)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == NDJSON
    assert answer.content.endswith(b"\n")
    return [json.loads(line) for line in answer.content.splitlines()]


def test_every_item_is_answered_as_alone(client: httpx.Client) -> None:
    items = [item("a"), item(2, 120.0)]
    lines = ask(client, items)
    keys = ["id", "status", "item_digest", "version", "policy", "envelope", "line_digest"]
    assert [list(line) for line in lines] == [keys] * 2
    assert [line["id"] for line in lines] == ["a", 2]
    for line, sent in zip(lines, items, strict=True):
        alone = client.post("/v1/curves/life", json=sent["input"]).json()
        assert line["envelope"] == alone


def test_look_up_takes_numbers_or_texts(client: httpx.Client) -> None:
    asked = {"curve": CURVE, "stress_range_mpa": 90.0}
    texts = {"curve": CURVE, "stress_range_mpa": "90.0"}
    name = "curves/{curve}/life"
    lines = ask(client, [{"id": n, "calculation": name, "input": data} for n, data in enumerate((asked, texts))])
    alone = client.get(f"/v1/curves/{CURVE}/life", params={"stress_range_mpa": "90.0"}).json()
    assert [line["envelope"] for line in lines] == [alone, alone]


@pytest.mark.parametrize(
    ("wrong", "status", "pointer"),
    [
        (item("bad", -1.0), 422, "/stress_range_mpa/0"),
        (item("bad", "90"), 422, "/stress_range_mpa/0"),
        (item("bad", curve="none-such"), 422, "/curve"),
        ({"id": "bad", "calculation": "curves/none", "input": {}}, 404, "/calculation"),
        ({"id": "bad", "calculation": 7, "input": {}}, 404, "/calculation"),
        ({"id": "bad", "calculation": "curves/life"}, 422, "/input"),
        ({"id": "bad", "calculation": "curves/life", "input": {}, "more/": 1}, 422, "/more~1"),
        ({"id": "bad", "calculation": "curves/{curve}", "input": []}, 422, ""),
        (item("first"), 422, "/id"),
        ({"calculation": "curves/life", "input": {}}, 422, "/id"),
        (item(True), 422, "/id"),
        (item("x" * 201), 422, "/id"),
        (item(1.5), 422, "/id"),
        ("no object", 422, ""),
    ],
)
def test_problem_of_one_item_does_not_spoil_the_others(
    client: httpx.Client, wrong: Any, status: int, pointer: str
) -> None:
    first, bad, last = ask(client, [item("first"), wrong, item("last")])
    assert (first["status"], last["status"]) == (200, 200)
    assert bad["status"] == bad["problem"]["status"] == status
    assert bad["id"] in {"bad", "first", None}
    assert pointer in [entry["pointer"] for entry in bad["problem"]["errors"]]


def test_lines_as_body(client: httpx.Client) -> None:
    body = "\n".join([json.dumps(item("a")), "", '{"id": "b", "id": "c"}', "{", json.dumps(item("d"))])
    answer = client.post("/v1/batch", content=body, headers={"Content-Type": NDJSON})
    lines = [json.loads(line) for line in answer.content.splitlines()]
    assert [(line["id"], line["status"]) for line in lines] == [
        ("a", 200),
        (None, 422),
        (None, 400),
        ("d", 200),
    ]


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("application/json", b"{}", 422),
        ("application/json", b"[]", 422),
        ("application/json", b"[", 400),
        ("application/json", b'[{"id":1,"id":2}]', 422),
        ("application/json", b"[" + b"1," * MAX_ITEMS + b"1]", 422),
        (NDJSON, b"\n\n", 422),
        (NDJSON, b"1\n" * (MAX_ITEMS + 1), 422),
        ("text/plain", b"[]", 415),
        ("", b"[]", 415),
    ],
)
def test_body_as_a_whole_is_refused(client: httpx.Client, kind: str, body: bytes, status: int) -> None:
    answer = client.post("/v1/batch", content=body, headers={"Content-Type": kind})
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"]


def test_body_has_a_bound() -> None:
    with Server(Settings(max_body_bytes=1000)) as url:
        answer = httpx.post(f"{url}/v1/batch", json=[item(n) for n in range(50)])
    assert answer.status_code == 413


def test_key_is_asked() -> None:
    with Server(Settings(api_keys=("secret",))) as url:
        assert httpx.post(f"{url}/v1/batch", json=[item(1)]).status_code == 401
        known = httpx.post(f"{url}/v1/batch", json=[item(1)], headers={"X-API-Key": "secret"})
    assert known.status_code == 200


class Held:
    """Stands in for the calculation of items named 'held': they wait until they are let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.go = threading.Event()
        self.true = calculated
        monkeypatch.setattr(batch, "calculated", self)

    def __call__(self, calculation: Calculation, request: Any) -> Any:
        if request.curve == "held":
            assert self.go.wait(20.0)
            request = request.model_copy(update={"curve": CURVE})
        if request.curve == "broken":
            raise RuntimeError("unforeseen")
        return self.true(calculation, request)


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[Held]:
    stand_in = Held(monkeypatch)
    yield stand_in
    stand_in.go.set()


def test_lines_come_as_they_are_done(client: httpx.Client, held: Held) -> None:
    sent = [item("quick"), item("slow", curve="held")]
    with client.stream("POST", "/v1/batch", json=sent) as answer:
        lines = answer.iter_lines()
        assert json.loads(next(lines))["id"] == "quick"  # while the second one is still held
        held.go.set()
        assert json.loads(next(lines))["id"] == "slow"
        assert list(lines) == []


def test_running_batch_takes_its_place(held: Held) -> None:
    with (
        Server(Settings(max_running=1, max_wait_s=0, retry_after_s=7)) as url,
        httpx.Client(base_url=url) as one,
    ):
        with one.stream("POST", "/v1/batch", json=[item("slow", curve="held")]) as running:
            busy = httpx.post(f"{url}/v1/batch", json=[item(1)])
            assert (busy.status_code, busy.headers["retry-after"]) == (503, "7")
            held.go.set()
            running.read()
        deadline = time.monotonic() + 10.0
        while httpx.post(f"{url}/v1/batch", json=[item(1)]).status_code == 503:
            assert time.monotonic() < deadline, "the batch never gave its place back"
        pytest.importorskip("prometheus_client")
        counted = httpx.get(f"{url}/metrics").text
    assert 'toeline_requests_total{calculation="batch",status="200"} 2' in counted


def test_caller_that_leaves_gives_its_place_back(held: Held) -> None:
    sent = [item(n) for n in range(3)] + [item("slow", curve="held")] + [item(n) for n in range(3, 900)]
    with Server(Settings(max_running=1, max_wait_s=0)) as url, httpx.Client(base_url=url) as one:
        with one.stream("POST", "/v1/batch", json=sent) as running:
            next(running.iter_lines())
        held.go.set()
        deadline = time.monotonic() + 10.0
        while (later := httpx.post(f"{url}/v1/batch", json=[item(1)])).status_code == 503:
            assert time.monotonic() < deadline, "the batch never gave its place back"
        assert later.status_code == 200


def test_half_a_character_spoils_only_its_item(client: httpx.Client) -> None:
    half = "\ud800"
    wrong = [item(half), {**item(2), "calculation": half}, item(3, curve=half), {**item(4), half: 1}]
    content = json.dumps([*wrong, item(5)])
    answer = client.post("/v1/batch", content=content, headers={"content-type": "application/json"})
    lines = [json.loads(line) for line in answer.content.splitlines()]
    assert [line["id"] for line in lines] == [None, 2, 3, 4, 5]
    assert [line["status"] for line in lines] == [422, 404, 422, 422, 200]


def test_unforeseen_error_is_the_problem_of_its_item(client: httpx.Client, held: Held) -> None:
    broken, fine = ask(client, [item("x", curve="broken"), item("y")])
    assert (broken["status"], broken["problem"]["title"]) == (500, "Internal error")
    assert "unforeseen" not in json.dumps(broken).replace("met an error", "")
    assert fine["status"] == 200


def test_an_unforeseen_error_here_is_the_problem_of_its_item_too(held: Held) -> None:
    assert answer_line(Item(item("x", curve="broken")), set()).status == 500


def test_items_that_no_time_is_left_for_are_told_so() -> None:
    with Server(Settings(max_batch_s=0)) as url:
        lines = [json.loads(line) for line in httpx.post(f"{url}/v1/batch", json=[item("a"), 3]).text.splitlines()]
    assert [(line["id"], line["status"]) for line in lines] == [("a", 503), (None, 503)]
    assert lines[0]["problem"]["type"] == "urn:toeline:deadline"
    assert "send the rest again" in lines[0]["problem"]["detail"]


@pytest.mark.parametrize("query", ["only=answer.life_cycles.0", "shard=1/2", "nix", "accept_outside=1"])
def test_a_query_of_a_batch_is_refused(client: httpx.Client, query: str) -> None:
    answer = client.post(f"/v1/batch?{query}", json=[item("a")])
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["pointer"] == f"/{query.partition('=')[0]}"


@pytest.mark.parametrize("accept", ["text/csv", "text/html", "image/png", "application/json", f"{NDJSON};q=0"])
def test_a_batch_answers_in_no_other_form(client: httpx.Client, accept: str) -> None:
    answer = client.post("/v1/batch", json=[item("a")], headers={"Accept": accept})
    assert answer.status_code == 406
    assert answer.json()["detail"] == f"a batch answers {NDJSON}; ask for that in Accept"


@pytest.mark.parametrize("accept", ["", "*/*", "application/*", f"text/csv, {NDJSON};q=0.1"])
def test_a_batch_answers_lines_to_who_takes_them(client: httpx.Client, accept: str) -> None:
    answer = client.post("/v1/batch", json=[item("a")], headers={"Accept": accept})
    assert (answer.status_code, answer.headers["content-type"]) == (200, NDJSON)


def test_an_item_that_was_ended_is_told_so_in_few_digits() -> None:
    problem = _too_long(0.029653350997250527)
    assert problem.detail.startswith("the calculation was ended after 0.0297 s, which is what it had here")
    assert "item of a batch" not in problem.detail


def test_id_of_an_item() -> None:
    assert id_of(Item({"id": "a"})) == "a"
    assert id_of(Item({"id": None})) is None
    assert id_of(line_item(b"{")) is None


def test_line_of_an_item_is_one_line_of_utf8() -> None:
    line = answer_line(Item(item("Läufer\n1", curve="ü\n")), set()).content
    assert line.count(b"\n") == 1
    assert json.loads(line)["id"] == "Läufer\n1"


def test_problem_of_a_line_keeps_its_status() -> None:
    answer = answer_line(Item(problem=Problem(400, "cut")), set())
    assert answer.status == 400
    found = json.loads(answer.content)
    assert (found["id"], found["status"], found["problem"]) == (None, 400, Problem(400, "cut").body())


def test_described_in_the_api_pages() -> None:
    operation = description()["paths"]["/v1/batch"]["post"]
    array = operation["requestBody"]["content"]["application/json"]["schema"]
    assert array["maxItems"] == MAX_ITEMS
    assert set(array["items"]["required"]) == {"id", "calculation", "input"}
    assert {"200", "413", "415", "422", "503"} <= set(operation["responses"])

"""Batches of the clients, with a network of our own: parts, order, ids, lines."""

from __future__ import annotations

import asyncio
import json
import math
import threading
from typing import Any

import httpx
import pytest

from service.client.batch import (
    BatchItem,
    BatchResult,
    batch_call,
    batch_items,
    batch_results,
    chunks,
    counter,
    first_of_ids,
    in_order,
)
from service.client.client import AsyncClient, Client
from service.client.errors import AnswerError
from tests.api.test_client_by_hand import Part


def test_twenty_items_go_in_a_request_and_four_requests_at_a_time() -> None:
    sizes: list[int] = []

    def handler(request: httpx.Request) -> httpx.Response:
        ids = [item["id"] for item in json.loads(request.content)]
        sizes.append(len(ids))
        return httpx.Response(200, text="".join(json.dumps({"id": i, "status": 200}) + "\n" for i in ids))

    async def awaited(count: int) -> int:
        running, most, asked = 0, 0, 0

        async def slow(request: httpx.Request) -> httpx.Response:
            nonlocal running, most, asked
            running, asked = running + 1, asked + 1
            most = max(most, running)
            await asyncio.sleep(0.001)
            running -= 1
            return handler(request)

        async with AsyncClient("http://service", transport=httpx.MockTransport(slow)) as client:
            assert len(await client.batch(items(count))) == count
        return most

    with Client("http://service", transport=httpx.MockTransport(handler)) as client:
        assert [result.id for result in client.batch(items(41))] == list(range(41))
    assert sorted(sizes) == [1, 20, 20]
    assert asyncio.run(awaited(120)) == 4
    assert sizes[3:] == [20] * 6


def test_a_blocking_client_has_four_requests_under_way() -> None:
    together, lock, running, most = threading.Barrier(4), threading.Lock(), 0, 0

    def handler(request: httpx.Request) -> httpx.Response:
        nonlocal running, most
        with lock:
            running += 1
            most = max(most, running)
        together.wait(20.0)  # nothing is answered before four have come
        with lock:
            running -= 1
        (item,) = json.loads(request.content)
        return httpx.Response(200, text=json.dumps({"id": item["id"], "status": 200}))

    with Client("http://service", transport=httpx.MockTransport(handler)) as client:
        assert len(client.batch(items(24), chunk=1)) == 24
    assert most == 4


def items(count: int) -> list[BatchItem]:
    return [BatchItem(id=number, calculation="check", input={}) for number in range(count)]


def test_items_are_parted_in_order_and_the_last_part_is_shorter() -> None:
    assert [[item.id for item in part] for part in chunks(items(5), 2)] == [[0, 1], [2, 3], [4]]
    assert [len(part) for part in chunks(items(2), 1)] == [1, 1]
    assert chunks([], 1) == []
    with pytest.raises(ValueError, match="at least one item"):
        chunks(items(1), 0)


def test_items_may_be_mappings_of_their_fields_and_nothing_else() -> None:
    plain: dict[str, Any] = {"id": 1, "calculation": "check", "input": {}}
    full = {**plain, "only": "answer.x", "accept_outside": True}
    assert batch_items([plain, full, items(1)[0]]) == [BatchItem(**plain), BatchItem(**full), items(1)[0]]
    for wrong in ({"id": 1}, {**plain, "x": 1}, [1], {}):
        with pytest.raises(ValueError, match=r"^item 1 is no mapping of id, calculation and input"):
            batch_items([plain, wrong])  # type: ignore[list-item]


def test_the_first_item_of_an_id_is_asked_and_the_others_are_refused() -> None:
    first, other, again, third = (
        BatchItem(id=n, calculation=word, input={}) for n, word in ((1, "a"), (2, "b"), (1, "c"), (3, "d"))
    )
    listed = [first, other, again, third]
    asked = first_of_ids(listed)
    assert sorted(asked, key=lambda item: str(item.id)) == [first, other, third]
    results = [BatchResult(id=item.id, status=200, envelope={}, problem=None) for item in asked]
    found = in_order(listed, results)
    assert [(result.id, result.status) for result in found] == [(1, 200), (2, 200), (1, 422), (3, 200)]
    problem = found[2].problem
    assert problem is not None
    assert (problem.status, problem.errors, problem.title) == (422, (("/id", "taken"),), "Input refused")
    assert problem.detail == "the id 1 is taken by an item before"
    assert found[2].envelope is None


def test_finished_items_are_counted_up_to_all() -> None:
    told: list[tuple[int, int]] = []
    finished = counter([items(3), items(2)], lambda *now: told.append(now))
    finished(2)
    finished(3)
    assert told == [(2, 5), (5, 5)]
    counter([items(3)], None)(1)


def test_the_body_of_a_batch_has_what_its_items_ask_for() -> None:
    call = batch_call(
        [
            BatchItem(id=1, calculation="a", input=Part(size_mm=2.0)),
            BatchItem(id="x", calculation="b", input={}, only="c"),
        ]
    )
    assert call.content == (
        b'[{"id":1,"calculation":"a","input":{"size_mm":2.0}},{"id":"x","calculation":"b","input":{},"only":"c"}]'
    )
    assert (call.method, call.path) == ("POST", "/v1/batch")
    assert call.headers == {"Content-Type": "application/json", "Accept": "application/x-ndjson"}
    asked = batch_call([BatchItem(id=1, calculation="b", input={}, only="c", accept_outside=True)])
    assert json.loads(asked.content or b"")[0]["accept_outside"] is True
    with pytest.raises(ValueError, match=r"^item 'x': /input/a/1 is NaN"):
        batch_call([BatchItem(id="x", calculation="b", input={"a": [1.0, math.inf]})])


def test_lines_of_an_answer_are_results_in_the_order_of_the_items() -> None:
    problem = {"status": 422, "detail": "d", "errors": [{"pointer": "/x", "message": "m"}]}
    content = (
        b'{"id":0,"status":200,"envelope":{"a":1}}\n'
        + json.dumps({"id": 1, "status": 422, "problem": problem}).encode()
    )
    good, bad = batch_results(items(2), content)
    assert (good.status, good.envelope, good.problem, good.value) == (200, {"a": 1}, None, None)
    assert (bad.status, bad.envelope) == (422, None)
    assert bad.problem is not None
    assert bad.problem.errors == (("/x", "m"),)
    (value,) = batch_results(items(1), b'{"id":0,"status":200,"value":"7"}')
    assert value.value == "7"
    with pytest.raises(AnswerError, match="the 1 lines of the batch answer are not those of the 2 items"):
        batch_results(items(2), b'{"id":0,"status":200}')

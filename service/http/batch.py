"""POST /v1/batch: many calculations in one request, one line of answer for each, in their order."""

from __future__ import annotations

import asyncio
import json
import logging
import math
import re
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass
from typing import Any, NamedTuple, cast

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from ..base import problems
from ..base.common import Calculation
from ..base.envelope import calculated, validated
from ..base.parsing import require_bounded, strict_json
from ..base.problems import Problem, unforeseen
from ..pool.lanes import Caller, while_connected
from ..pool.worker import UnforeseenError
from ..topics.registry import find
from .admission import Admission
from .answering import kind_of
from .forms import Cell, cell_text, findings_header
from .tasks import cost_of, guard_cost

MAX_ITEMS = 1_000
NDJSON = "application/x-ndjson"
HALF_CHARACTER = re.compile("[\ud800-\udfff]")  # half a pair: no UTF-8 text can hold it
FIELDS = {"id", "calculation", "input"}
CELL_FIELDS = {"only", "accept_outside"}

log = logging.getLogger("toeline")


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a batch as it was sent: its value, or the problem of the line that held none."""

    value: Any = None
    problem: Problem | None = None


class AnswerLine(NamedTuple):
    """The answer of one item: its status, and its line with the newline."""

    status: int
    content: bytes


def answer_line(item: Item, used_ids: set[str | int]) -> AnswerLine:
    """The line of an item, with its newline: id, status, and the envelope or the problem, also an unforeseen one.

    used_ids : ids of the items before; the id of this one is added
    """
    try:
        return _line_of(item, used_ids, math.inf)
    except Exception:
        item_id = id_of(item)
        log.exception("unforeseen error in item %r of a batch", item_id)
        return problem_line(item_id, unforeseen())


def _line_of(item: Item, used_ids: set[str | int], limit_s: float) -> AnswerLine:
    item_id: str | int | None = None
    try:
        if item.problem is not None:
            raise item.problem
        item_id = _checked_id(item.value)
        if item_id in used_ids:
            raise Problem(422, f"the id {item_id!r} is taken by an item before", [("/id", "taken")])
        used_ids.add(item_id)
        return _line(item_id, 200, **_calculate(item.value, limit_s))
    except Problem as problem:
        return problem_line(item_id, problem)


def answer_alone(line: bytes, used_ids: set[str | int], limit_s: float) -> tuple[str | int | None, AnswerLine]:
    """Id and answer of one line of a batch; for a worker process.

    limit_s : what is estimated to take longer is refused [s]
    """
    item = line_item(line)
    return id_of(item), _line_of(item, used_ids, limit_s)


def problem_line(item_id: str | int | None, problem: Problem) -> AnswerLine:
    """The line of an item that is answered by a problem."""
    return _line(item_id, problem.status, problem=json.dumps(problem.body()).encode())


def _line(item_id: str | int | None, status: int, **parts: bytes) -> AnswerLine:
    head = json.dumps({"id": item_id, "status": status}, ensure_ascii=False, separators=(",", ":"))[:-1].encode()
    return AnswerLine(
        status, head + b"".join(b',"%s":%s' % (key.encode(), part) for key, part in parts.items()) + b"}\n"
    )


def id_of(item: Item) -> str | int | None:
    """The id of an item, None where it has no usable one."""
    try:
        return _checked_id(item.value)
    except Problem:
        return None


def _checked_id(value: Any) -> str | int:
    if not isinstance(value, dict):
        raise Problem(422, "an item is an object with id, calculation and input", [("", "no object")])
    item_id = value.get("id")
    usable = isinstance(item_id, str | int) and not isinstance(item_id, bool)
    if not usable or len(str(item_id)) > 200 or HALF_CHARACTER.search(str(item_id)):
        message = "give a text of at most 200 characters or a whole number"
        raise Problem(422, "the item has no usable id", [("/id", message)])
    return cast("str | int", item_id)


def _calculate(value: dict[str, Any], limit_s: float) -> dict[str, bytes]:
    """What the line of an item holds besides its id and status, by its keys."""
    wrong = [(f"/{key}", "missing") for key in sorted(FIELDS - set(value))]
    wrong += [(problems.pointer([key]), "unknown key") for key in value if key not in FIELDS | CELL_FIELDS]
    if wrong:
        raise Problem(422, "an item has id, calculation and input, perhaps only, nothing else", wrong)
    cell = _cell(value)
    calculation, data = _found(value["calculation"]), value["input"]
    # the input of a GET may be taken from a URL, where every value is a text, or have numbers as in JSON
    texts = calculation.method == "GET" and isinstance(data, dict)
    strings = texts and all(isinstance(entry, str) for entry in data.values())
    request = validated(calculation, data, strings=strings)
    guard_cost(cost_of(calculation, request), limit_s)
    found = calculated(calculation, request)
    if cell is None:
        return {"envelope": found.content()}
    envelope = found.answered()
    text = cell_text(envelope, cell.path, accept_outside=cell.accept_outside)
    return {"value": json.dumps(text).encode(), "findings": json.dumps(findings_header(envelope["findings"])).encode()}


def _cell(value: dict[str, Any]) -> Cell | None:
    """The one value that an item asks for, None where it asks for the whole answer."""
    accepts = value.get("accept_outside", False)
    if "only" not in value and "accept_outside" in value:
        raise Problem(422, "accept_outside goes with only", [("/accept_outside", "without only")])
    if not isinstance(accepts, bool):
        raise Problem(422, "accept_outside is true or false", [("/accept_outside", "true or false")])
    if not isinstance(value.get("only", ""), str):
        raise Problem(422, "only is a dotted path of the answer", [("/only", "no text")])
    return Cell(value["only"], accepts) if "only" in value else None


def _found(name: Any) -> Calculation:
    known = isinstance(name, str) and (find(name, "POST") or find(name, "GET"))
    if not known:
        raise Problem(404, f"there is no calculation {name!r}", [("/calculation", "unknown")])
    return known


def lines_in(kind: str, body: bytes) -> list[bytes]:
    """The items of a body, each as JSON in one line: a JSON array, or one JSON object a line (application/x-ndjson).

    Raises : Problem when the body as a whole cannot be read or holds none or too many
    """
    require_bounded(body)
    if kind == NDJSON:
        lines = [line for line in body.split(b"\n") if line.strip()]
    elif kind == "application/json":
        data = strict_json(body)
        if not isinstance(data, list):
            raise Problem(422, "a batch is an array of items", [("", "no array")])
        lines = [json.dumps(value).encode() for value in data[: MAX_ITEMS + 1]]
        lines += [b""] * (len(data) - len(lines))
    else:
        raise Problem(415, f"send Content-Type application/json or {NDJSON}, not {kind or 'none'}")
    if not lines:
        raise Problem(422, "the batch holds no item", [("", "empty")])
    if len(lines) > MAX_ITEMS:
        raise Problem(422, f"a batch may hold {MAX_ITEMS} items, not {len(lines)}", [("", "too many items")])
    return lines


def line_item(line: bytes) -> Item:
    """The item in one line; a line that cannot be read is an item with a problem."""
    try:
        return Item(strict_json(line))
    except Problem as problem:
        return Item(problem=problem)


def endpoint(admission: Admission) -> Callable[[Request], Awaitable[Response]]:
    """The endpoint of /v1/batch; every item takes a place of its own while it is computed, none while it is sent."""

    async def batch(request: Request) -> Response:
        with admission.metrics.counted("batch"):
            caller = admission.check(request)
            kind = kind_of(request)
            body = await admission.body(request)
            limit_s = admission.settings.max_item_s
            lines = admission.lanes.heavy(caller, limit_s, lines_in, kind, body)
            asked = await while_connected(request.receive, lines)
            return StreamingResponse(_streamed(asked, admission, caller), media_type=NDJSON)

    return batch


async def _streamed(asked: list[bytes], admission: Admission, caller: Caller) -> AsyncIterator[bytes]:
    used_ids: set[str | int] = set()
    ends = asyncio.get_running_loop().time() + admission.settings.max_batch_s
    for line in asked:
        left_s = ends - asyncio.get_running_loop().time()
        item_id, answer = await _answered(line, used_ids, left_s, admission, caller)
        used_ids |= {item_id} - {None}  # type: ignore[arg-type]
        yield answer.content


async def _answered(
    line: bytes, used_ids: set[str | int], left_s: float, admission: Admission, caller: Caller
) -> tuple[str | int | None, AnswerLine]:
    """Id and answer of an item; one that was ended, or that no time is left for, is answered by a problem."""
    limit_s = min(admission.settings.max_item_s, left_s)
    try:
        if left_s <= 0.0:
            text = f"the batch has taken the {admission.settings.max_batch_s} s that it may; send the rest again"
            raise Problem(503, text, kind="urn:toeline:deadline")
        with admission.metrics.timed("batch"):
            return await admission.lanes.heavy(caller, limit_s, answer_alone, line, used_ids, limit_s)
    except Problem as error:
        problem = error
    except UnforeseenError:
        log.exception("unforeseen error in an item of a batch")
        problem = unforeseen()
    item_id = await run_in_threadpool(lambda: id_of(line_item(line)))
    return item_id, problem_line(item_id, problem)


ITEM_SCHEMA = {
    "type": "object",
    "required": ["id", "calculation", "input"],
    "additionalProperties": False,
    "properties": {
        "id": {
            "anyOf": [{"type": "string", "maxLength": 200}, {"type": "integer"}],
            "description": "repeated in the answer of the item",
        },
        "calculation": {"type": "string", "description": "name of the URL without /v1/, like stress/peak"},
        "input": {"type": "object", "description": "what the calculation takes alone, path parameters too"},
        "only": {"type": "string", "description": "dotted path of one value, like answer.utilisation"},
        "accept_outside": {"type": "boolean", "description": "with only: also where a validity limit is left"},
    },
}


def operation(problem_responses: dict[str, Any]) -> dict[str, Any]:
    """The operation of /v1/batch for the OpenAPI description."""
    array = {"type": "array", "minItems": 1, "maxItems": MAX_ITEMS, "items": ITEM_SCHEMA}
    text = (
        "Every item is answered by one line {id, status, envelope} or {id, status, problem}, one with `only` by "
        "{id, status, value, findings}: the value as text and the codes of all findings; in the order of "
        "the items, as each is done. A problem of one item does not touch the others; its pointers point "
        "into its input, or into the item itself where that is not {id, calculation, input}."
    )
    lines = {"type": "string", "description": "a JSON object a line"}
    done = {"description": "One line an item", "content": {NDJSON: {"schema": lines}}}
    return {
        "tags": ["meta"],
        "summary": "Many calculations in one request",
        "description": text,
        "operationId": "post_batch",
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": array}, NDJSON: {"schema": lines}},
        },
        "responses": {"200": done, **problem_responses},
    }

"""POST /v1/batch: many calculations in one request, one line of answer for each, in their order."""

from __future__ import annotations

import asyncio
import hashlib
import json
import logging
import math
import re
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any, NamedTuple, cast

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.types import Receive, Scope, Send

from fatcore import __version__

from ..access.audit import Call
from ..access.recording import call_of
from ..access.scopes import BATCH, require_allowed
from ..access.teams import KnownCaller
from ..base import problems
from ..base.common import Calculation
from ..base.envelope import calculated, canonical_json, validated
from ..base.forms.sealed import sealed_line
from ..base.parsing import require_bounded, strict_json
from ..base.problems import Problem, unforeseen
from ..base.rules.active import active_policy
from ..pool.lanes import while_connected
from ..pool.worker import UnforeseenError
from ..topics.registry import find
from .admission import Admission
from .answering import guard_form, kind_of
from .forms import Cell, cell_text, findings_header
from .tasks import cost_of, guard_cost

MAX_ITEMS = 1_000
NDJSON = "application/x-ndjson"
HALF_CHARACTER = re.compile("[\ud800-\udfff]")  # half a pair: no UTF-8 text can hold it
FIELDS = {"id", "calculation", "input"}
CELL_FIELDS = {"only", "accept_outside"}
Scopes = frozenset[str] | None

log = logging.getLogger("toeline")


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a batch as it was sent: its value, or the problem of the line that held none, with the line."""

    value: Any = None
    problem: Problem | None = None
    line: bytes = b""

    @property
    def digest(self) -> str:
        """Digest of what was sent, whatever the order of its keys."""
        return "sha256:" + hashlib.sha256(self.line if self.problem is not None else _bytes_of(self.value)).hexdigest()


def _bytes_of(value: Any) -> bytes:
    try:
        return canonical_json(value)
    except RecursionError:  # it is refused, whatever it is
        return b"nested too deeply"
    except ValueError:  # half a character
        return json.dumps(value, sort_keys=True).encode()


class AnswerLine(NamedTuple):
    """The answer of one item: its status, its line with the newline, and what the audit log says of it."""

    status: int
    content: bytes
    calculation: str | None = None
    digest: str | None = None


def answer_line(item: Item, used_ids: set[str | int]) -> AnswerLine:
    """The line of an item, with its newline: id, status, digest of the item, version, envelope or problem, its digest.

    used_ids : ids of the items before; the id of this one is added
    """
    try:
        return _line_of(item, used_ids, math.inf, None)
    except Exception:
        log.exception("unforeseen error in item %r of a batch", id_of(item))
        return problem_line(item, unforeseen())


def _line_of(item: Item, used_ids: set[str | int], limit_s: float, scopes: Scopes) -> AnswerLine:
    try:
        if item.problem is not None:
            raise item.problem
        item_id = _checked_id(item.value)
        if item_id in used_ids:
            raise Problem(422, f"the id {item_id!r} is taken by an item before", [("/id", "taken")])
        used_ids.add(item_id)
        parts, digest = _calculate(item.value, limit_s, scopes)
        return _line(item, item_id, 200, **parts)._replace(calculation=name_of(item), digest=digest)
    except Problem as problem:
        return problem_line(item, problem)._replace(calculation=name_of(item))


def answer_alone(
    line: bytes, used_ids: set[str | int], limit_s: float, scopes: Scopes
) -> tuple[str | int | None, AnswerLine]:
    """Id and answer of one line of a batch; for a worker process.

    limit_s : what is estimated to take longer is refused [s]
    scopes  : what the key of the batch may be used for
    """
    item = line_item(line)
    return id_of(item), _line_of(item, used_ids, limit_s, scopes)


def problem_line(item: Item, problem: Problem) -> AnswerLine:
    """The line of an item that is answered by a problem."""
    return _line(item, id_of(item), problem.status, problem=json.dumps(problem.body()).encode())


def _line(item: Item, item_id: str | int | None, status: int, **parts: bytes) -> AnswerLine:
    policy = active_policy()
    made_by = {"version": __version__, "policy": None if policy is None else policy.digest}
    known = {"id": item_id, "status": status, "item_digest": item.digest, **made_by}
    head = json.dumps(known, ensure_ascii=False, separators=(",", ":"))[:-1].encode()
    content = head + b"".join(b',"%s":%s' % (key.encode(), part) for key, part in parts.items()) + b"}"
    return AnswerLine(status, sealed_line(content))


def id_of(item: Item) -> str | int | None:
    """The id of an item, None where it has no usable one."""
    try:
        return _checked_id(item.value)
    except Problem:
        return None


def name_of(item: Item) -> str | None:
    """The calculation of an item, None where it names none."""
    try:
        return _found(item.value["calculation"]).name
    except (Problem, KeyError, TypeError, IndexError):
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


def _calculate(value: dict[str, Any], limit_s: float, scopes: Scopes) -> tuple[dict[str, bytes], str]:
    """What the line of an item holds besides its id and status, by its keys, and the digest of the request."""
    wrong = [(f"/{key}", "missing") for key in sorted(FIELDS - set(value))]
    wrong += [(problems.pointer([key]), "unknown key") for key in value if key not in FIELDS | CELL_FIELDS]
    if wrong:
        raise Problem(422, "an item has id, calculation and input, perhaps only, nothing else", wrong)
    cell = _cell(value)
    calculation, data = _found(value["calculation"]), value["input"]
    require_allowed(scopes, calculation.name)
    # the input of a GET may be taken from a URL, where every value is a text, or have numbers as in JSON
    texts = calculation.method == "GET" and isinstance(data, dict)
    strings = texts and all(isinstance(entry, str) for entry in data.values())
    request = validated(calculation, data, strings=strings)
    guard_cost(cost_of(calculation, request), limit_s)
    found = calculated(calculation, request)
    digest = found.beside["record"]["input_digest"]
    if cell is None:
        return {"envelope": found.content()}, digest
    envelope = found.answered()
    text = cell_text(envelope, cell.path, accept_outside=cell.accept_outside)
    findings = findings_header(envelope["findings"])
    return {"value": json.dumps(text).encode(), "findings": json.dumps(findings).encode()}, digest


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
        return Item(problem=problem, line=line.strip())


def endpoint(admission: Admission) -> Callable[[Request], Awaitable[Response]]:
    """The endpoint of /v1/batch; every item takes a worker of its own while it is computed, none while it is sent."""

    async def batch(request: Request) -> Response:
        with admission.metrics.counted("batch"), ExitStack() as place:
            caller = admission.check(request, BATCH)
            kind = kind_of(request)
            guard_form(request, NDJSON)
            body = await admission.body(request)
            place.enter_context(caller.account.place())
            limit_s = admission.settings.max_item_s
            lines = admission.lanes.heavy(caller, limit_s, lines_in, kind, body)
            asked = await while_connected(request.receive, lines)
            caller.account.charge(len(asked) - 1)
            return _Lines(_streamed(asked, admission, caller, call_of(request.scope)), place.pop_all())

    return batch


class _Lines(StreamingResponse):
    """The lines of a batch; gives the place of the team back however it ends."""

    def __init__(self, lines: AsyncIterator[bytes], place: ExitStack) -> None:
        super().__init__(lines, media_type=NDJSON)
        self._place = place

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self._place:
            await super().__call__(scope, receive, send)


async def _streamed(asked: list[bytes], admission: Admission, caller: KnownCaller, call: Call) -> AsyncIterator[bytes]:
    used_ids: set[str | int] = set()
    ends = asyncio.get_running_loop().time() + admission.settings.max_batch_s
    for line in asked:
        mine = Call(request_id=call.request_id, team=call.team)
        left_s = ends - asyncio.get_running_loop().time()
        item_id, answer = await _answered(line, used_ids, left_s, admission, caller)
        used_ids |= {item_id} - {None}  # type: ignore[arg-type]
        mine.calculation, mine.input_digest, mine.status = answer.calculation, answer.digest, answer.status
        admission.audit.write(mine)
        yield answer.content


async def _answered(
    line: bytes, used_ids: set[str | int], left_s: float, admission: Admission, caller: KnownCaller
) -> tuple[str | int | None, AnswerLine]:
    """Id and answer of an item; one that was ended, or that no time is left for, is answered by a problem."""
    limit_s = min(admission.settings.max_item_s, left_s)
    try:
        if left_s <= 0.0:
            text = f"the batch has taken the {admission.settings.max_batch_s} s that it may; send the rest again"
            raise Problem(503, text, kind="urn:toeline:deadline")
        with admission.metrics.timed("batch", caller.team):
            given = (line, used_ids, limit_s, caller.scopes)
            return await admission.lanes.heavy(caller, limit_s, answer_alone, *given)
    except Problem as error:
        problem = error
    except UnforeseenError:
        log.exception("unforeseen error in an item of a batch")
        problem = unforeseen()
    item = await run_in_threadpool(line_item, line)
    return id_of(item), problem_line(item, problem)._replace(calculation=name_of(item))

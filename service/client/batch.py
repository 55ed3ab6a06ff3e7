"""Batches of the clients, free of input and output: items to requests, lines of the answer to results."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .errors import AnswerError, ProblemError, problem_of
from .retrying import Call
from .routes import JSON, plain_json

Progress = Callable[[int, int], object]
_KEYS = {"id", "calculation", "input"}
_MORE_KEYS = {"only", "accept_outside"}


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchItem:
    """One calculation of a batch; the id comes back with its result.

    only           : dotted path of the one value that is wanted, None for the whole answer
    accept_outside : that value also where a validity limit is left
    """

    id: str | int
    calculation: str
    input: Any
    only: str | None = None
    accept_outside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchResult:
    """Result of one item: the envelope as plain data, or the problem; the one value where `only` asks for it."""

    id: str | int
    status: int
    envelope: dict[str, Any] | None
    problem: ProblemError | None
    value: str | None = None


def batch_items(items: Iterable[BatchItem | Mapping[str, Any]]) -> list[BatchItem]:
    """Items that are given as such, or as mappings of their fields.

    Raises : ValueError for a mapping with other keys, naming the item
    """
    return [item if isinstance(item, BatchItem) else _item_of(number, item) for number, item in enumerate(items)]


def _item_of(number: int, item: Mapping[str, Any]) -> BatchItem:
    if not isinstance(item, Mapping) or not _KEYS <= set(item) <= _KEYS | _MORE_KEYS:
        raise ValueError(f"item {number} is no mapping of id, calculation and input, perhaps only, nothing else")
    return BatchItem(**item)


def first_of_ids(items: Sequence[BatchItem]) -> list[BatchItem]:
    """The items whose id no item before has: the others are refused, however the items are parted."""
    return list({item.id: item for item in reversed(items)}.values())[::-1]


def in_order(items: Sequence[BatchItem], results: Iterable[BatchResult]) -> list[BatchResult]:
    """The results of `first_of_ids` as those of all items, with the problem of each id that was taken."""
    found = {result.id: result for result in results}
    return [found.pop(item.id) if item.id in found else _taken(item.id) for item in items]


def _taken(item_id: str | int) -> BatchResult:
    text = f"the id {item_id!r} is taken by an item before"
    problem = ProblemError(422, text, [("/id", "taken")], title="Input refused")
    return BatchResult(id=item_id, status=422, envelope=None, problem=problem)


def chunks(items: Sequence[BatchItem], size: int) -> list[list[BatchItem]]:
    """The items in parts of this size, the last one shorter.

    Raises : ValueError when the size is not positive
    """
    if size < 1:
        raise ValueError("a request needs at least one item")
    listed = list(items)
    return [listed[start : start + size] for start in range(0, len(listed), size)]


def counter(parts: Sequence[Sequence[BatchItem]], progress: Progress | None) -> Callable[[int], None]:
    """A function that adds finished items and reports to the listener; threads may share it."""
    total, done = sum(len(part) for part in parts), 0
    lock = threading.Lock()

    def finished(number: int) -> None:
        nonlocal done
        with lock:
            done += number
            if progress is not None:
                progress(done, total)

    return finished


def batch_call(items: Sequence[BatchItem]) -> Call:
    """The request of one part of a batch."""
    entries = [plain_json(_entry(item), f"item {item.id!r}: ") for item in items]
    headers = {"Content-Type": JSON, "Accept": "application/x-ndjson"}
    return Call(method="POST", path="/v1/batch", content=b"[%s]" % b",".join(entries), headers=headers)


def _entry(item: BatchItem) -> dict[str, Any]:
    entry = {"id": item.id, "calculation": item.calculation, "input": item.input}
    if item.only is not None:
        entry["only"] = item.only
    return entry | ({"accept_outside": True} if item.accept_outside else {})


def batch_results(items: Sequence[BatchItem], content: bytes) -> list[BatchResult]:
    """The results in the lines of an answer.

    Raises : AnswerError when the lines are not those of the items
    """
    try:
        results = [_result(json.loads(line)) for line in content.splitlines()]
    except (ValueError, KeyError, TypeError) as error:
        raise AnswerError(f"a line of the batch answer cannot be read: {error}") from error
    if [result.id for result in results] != [item.id for item in items]:
        raise AnswerError(f"the {len(results)} lines of the batch answer are not those of the {len(items)} items")
    return results


def _result(line: dict[str, Any]) -> BatchResult:
    problem = problem_of(line["problem"]) if "problem" in line else None
    return BatchResult(
        id=line["id"], status=line["status"], envelope=line.get("envelope"), problem=problem, value=line.get("value")
    )

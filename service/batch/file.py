"""A batch from file to file: one line of answer for each line of input, safe against a stop at any moment."""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from fatcore import __version__

from ..base.problems import Problem
from ..base.rules.active import active_policy, run_apart
from ..client.errors import AnswerError
from ..client.retrying import Call
from ..files.places import beside, target_of
from ..files.writing import appending, move
from ..http.batch import NDJSON, AnswerLine, answer_line, id_of, line_item
from ..jobs.in_order import Each

if TYPE_CHECKING:
    from ..client.client import Client


Answers = Callable[[Sequence[bytes], set[Any]], Iterator[AnswerLine]]
LINES_A_REQUEST, BYTES_A_REQUEST = 20, 8 * 1024 * 1024


class MadeBy(NamedTuple):
    """What answers a batch: its version, and the digest of the policy that it obeys."""

    version: str
    policy: str | None


def made_here() -> MadeBy:
    """What answers in this process."""
    policy = active_policy()
    return MadeBy(__version__, None if policy is None else policy.digest)


@dataclass(slots=True)
class Count:
    """How the items ended; those of an earlier run are among them and counted once more as resumed."""

    resumed: int = 0
    answered: int = 0
    problems: int = 0

    def add(self, status: int) -> None:
        """Counts one answer by its status."""
        self.answered += status == 200
        self.problems += status != 200


def whole_lines(path: Path) -> list[dict[str, Any]]:
    """The whole lines of an output file; a last one that was cut short is removed from the file.

    Raises : Problem when a line is no line of a batch answer
    """
    content = path.read_bytes() if path.exists() else b""
    size = content.rfind(b"\n") + 1
    read = [read_line(path, number, line) for number, line in enumerate(content[:size].splitlines(), start=1)]
    if size < len(content):
        os.truncate(path, size)
    return read


def settled(path: Path, done: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines before the first item that may be answered another time; the others are removed from the file.

    Too many requests (429), a deadline and an error of the service (5xx) belong to the moment, not to the item.
    """
    kept = next((number for number, each in enumerate(done) if each["status"] == 429 or each["status"] >= 500), None)
    if kept is None:
        return done
    os.truncate(path, sum(map(len, path.read_bytes().splitlines(keepends=True)[:kept])))
    return done[:kept]


def read_line(path: Path, number: int, line: bytes) -> dict[str, Any]:
    """What a line of an output says besides its answer; Problem where it is none."""
    try:
        entry = json.loads(line)
    except ValueError:
        entry = None
    if not isinstance(entry, dict) or not {"id", "status"} <= set(entry):
        raise Problem(422, f"{path}, line {number}: no line of a batch answer; give another output file")
    return {name: entry.get(name) for name in ("id", "status", "item_digest", *MadeBy._fields)}


def answered_before(source: Sequence[bytes], target: Path, made_by: MadeBy | None = None) -> list[dict[str, Any]]:
    """The whole lines of the target, which answer the first ones of the source, as far as they are settled.

    made_by : what is to answer the others, None for what answers here
    Raises  : Problem when they answer another source, or something else made them
    """
    done, made_by = whole_lines(target), made_by or made_here()
    if len(done) > len(source):
        raise _of_another(target, len(source) + 1, "answers of another input: it is longer than this one")
    for number, (line, entry) in enumerate(zip(source, done, strict=False), start=1):
        item = line_item(line)
        if (id_of(item), item.digest) != (entry["id"], entry["item_digest"]):
            raise _of_another(target, number, f"answers of another input: here is {_named(entry)} as it was then")
        for name, now in made_by._asdict().items():
            if entry[name] != now:
                raise _of_another(target, number, f"answers of {name} {entry[name] or 'none'}, not of {now or 'none'}")
    return settled(target, done)


def _named(entry: Mapping[str, Any]) -> str:
    return "an item" if entry["id"] is None else f"item {entry['id']!r}"


def _of_another(target: Path, number: int, what: str) -> Problem:
    return Problem(422, f"{target} holds {what} (line {number}); give another output file, or --anew to start over")


def resume(
    source: Sequence[bytes],
    target: Path,
    answers: Answers,
    finished: Callable[[int], None] = lambda _: None,
    made_by: MadeBy | None = None,
) -> Count:
    """Answers every line of the source that the target does not answer yet.

    target : file of the answers; continued after its last whole line when it exists
    finished : is called with the number of items that were finished
    made_by  : what answers, None for what does here
    Raises   : Problem when the target holds the answers of another source, or something else made them
    """
    done = answered_before(source, target, made_by)
    ids = {entry["id"] for entry in done} - {None}
    count = Count(resumed=len(done))
    for entry in done:
        count.add(entry["status"])
    finished(len(done))
    with appending(target) as append:
        for line in answers(source[len(done) :], ids):
            append(line.content)  # before the next one begins: a crash costs the running item at the most
            count.add(line.status)
            finished(1)
    return count


def start_over(
    source: Sequence[bytes],
    target: Path,
    answers: Answers,
    finished: Callable[[int], None] = lambda _: None,
    made_by: MadeBy | None = None,
) -> Count:
    """Answers every line of the source anew; what the target holds stays whole until the last one is there.

    Stopped, it is continued by the next call with this source.
    """
    part = beside(target_of(target), "anew")
    try:
        answered_before(source, part, made_by)
    except Problem:
        part.unlink()
    count = resume(source, part, answers, finished, made_by)
    move(part, target_of(target))
    return count


def local_answers(source: Sequence[bytes], used_ids: set[Any], each: Each = map) -> Iterator[AnswerLine]:
    """The lines of answer, computed here."""
    for line, (item_id, answer) in zip(source, each(_answer_alone, source), strict=True):
        yield answer if item_id not in used_ids else answer_line(line_item(line), used_ids)
        used_ids |= {item_id} - {None}


def _answer_alone(line: bytes) -> tuple[str | int | None, AnswerLine]:
    """Id and answer of a line as if it were the only one."""
    item = line_item(line)
    # in a context of its own, so that a calculation does not draw its bar into that of the batch
    return id_of(item), run_apart(answer_line, item, set())


def answers_of_server(client: Client, each: Each = map) -> Answers:
    """A function that has the lines answered by a service, some in each request."""

    def answers(source: Sequence[bytes], used_ids: set[Any]) -> Iterator[AnswerLine]:
        asked: deque[list[tuple[bytes, bool]]] = deque()

        def requests() -> Iterator[list[bytes]]:
            for part in parts(source):
                # the service knows the ids of one request only: those taken in an earlier one are refused here
                asked.append([(line, id_of(line_item(line)) in used_ids) for line in part])
                used_ids.update({id_of(line_item(line)) for line in part} - {None})
                yield [line for line, known in asked[-1] if not known]

        for answered in each(partial(_ask, client), requests()):
            for line, known in asked.popleft():
                yield answer_line(line_item(line), used_ids) if known else next(answered)

    return answers


def parts(source: Sequence[bytes]) -> Iterator[list[bytes]]:
    """The lines in parts for one request each: not too many, and not too large together."""
    part: list[bytes] = []
    size = 0
    for line in source:
        if part and (len(part) == LINES_A_REQUEST or size + len(line) > BYTES_A_REQUEST):
            yield part
            part, size = [], 0
        part.append(line)
        size += len(line) + 1
    if part:
        yield part


def _ask(client: Client, part: Sequence[bytes]) -> Iterator[AnswerLine]:
    if not part:
        return iter(())
    headers = {"Content-Type": NDJSON, "Accept": NDJSON}
    call = Call(method="POST", path="/v1/batch", content=b"\n".join(part), headers=headers)
    lines = client.send(call).content.splitlines(keepends=True)
    if len(lines) != len(part):
        raise AnswerError(f"the batch answer has {len(lines)} lines for {len(part)} items")
    return (AnswerLine(json.loads(line)["status"], line) for line in lines)

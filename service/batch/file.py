"""A batch from file to file: one line of answer for each line of input, safe against a stop at any moment."""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from fatcore import __version__

from ..base.parsing import strict_json
from ..base.problems import Problem
from ..base.rules.active import active_policy, run_apart
from ..client.errors import AnswerError
from ..client.retrying import Call
from ..files.places import beside, is_stream, target_of
from ..files.writing import appending, move
from ..http.batch import NDJSON, AnswerLine, answer_line, id_of, line_item
from ..jobs.in_order import Each
from .lines import OutputLine, line_as_written

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
    """How the items ended; those of an earlier run are among them and counted once more as resumed.

    bare : lines of before without a digest of their own, so that nobody knows whether they were edited
    """

    resumed: int = 0
    answered: int = 0
    problems: int = 0
    bare: int = 0

    def add(self, status: int, *, bare: bool = False) -> None:
        """Counts one answer by its status."""
        self.answered += status == 200
        self.problems += status != 200
        self.bare += bare


def items_in(content: bytes, name: str) -> list[bytes]:
    """The items of a file, each as JSON in one line: one a line, or all of a JSON array, as the service takes them.

    Raises : Problem where there is none
    """
    lines = [line for line in content.split(b"\n") if line.strip()]
    if content.lstrip().startswith(b"["):
        with suppress(Problem):  # lines that are no items, which are answered one by one
            found = strict_json(content, name)
            lines = [json.dumps(value).encode() for value in found]
    if not lines:
        raise Problem(422, f"{name} holds no calculation")
    return lines


def answered_before(source: Sequence[bytes], target: Path, made_by: MadeBy | None = None) -> list[OutputLine]:
    """The whole lines of the target, which answer the first ones of the source, as far as they are settled.

    What follows them, also a last line that was cut short, is removed from the file. A pipe or a device holds none.
    made_by : what is to answer the others, None for what answers here
    Raises  : Problem when they answer another source, or something else made them; the target stays as it is
    """
    if is_stream(target):
        return []
    content, made_by = target.read_bytes() if target.exists() else b"", made_by or made_here()
    *lines, cut = content.split(b"\n")
    done = [line_as_written(target, number, line + b"\n") for number, line in enumerate(lines, start=1)]
    if len(done) + bool(cut) > len(source):
        raise _of_another(target, len(source) + 1, "answers of another input: it is longer than this one")
    for number, (line, entry) in enumerate(zip(source, done, strict=False), start=1):
        said, item = entry.said, line_item(line)
        if (id_of(item), item.digest) != (said["id"], said.get("item_digest")):
            raise _of_another(target, number, f"answers of another input: here is {_named(said)} as it was then")
        for name, now in made_by._asdict().items():
            if said.get(name) != now:
                then = said.get(name) or "none"
                raise _of_another(target, number, f"answers of {name} {then}, not of {now or 'none'}")
    if cut and not _begins(cut, source[len(done)]):
        raise Problem(422, f"{target}, line {len(done) + 1}: no line of a batch answer; give another output file")
    kept = settled(done)
    size = sum(len(line) + 1 for line in lines[: len(kept)])
    if size < len(content):
        os.truncate(target, size)
    return kept


def _begins(cut: bytes, line: bytes) -> bool:
    """Whether a text can be the beginning of the answer of an item."""
    head = b'{"id":%s,"status":' % json.dumps(id_of(line_item(line)), ensure_ascii=False).encode()
    return cut.startswith(head) or head.startswith(cut)


def settled(done: list[OutputLine]) -> list[OutputLine]:
    """The lines before the first item that may be answered another time.

    Too many requests (429), a deadline and an error of the service (5xx) belong to the moment, not to the item.
    """
    return list(takewhile(lambda each: not of_the_moment(each.said["status"]), done))


def of_the_moment(status: int) -> bool:
    """Whether an item that was answered so may be answered otherwise another time."""
    return status == 429 or status >= 500


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
    ids = {entry.said["id"] for entry in done} - {None}
    count = Count(resumed=len(done))
    for entry in done:
        count.add(entry.said["status"], bare=entry.fits is None)
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
    if is_stream(target):
        return resume(source, target, answers, finished, made_by)
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

"""One line of a batch answer as it is read from a file, which anybody may have edited."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, JsonValue, model_validator

from fatcore.figures import counted

from ..base.forms.sealed import digest_of_line
from ..base.parsing import strict_json
from ..base.problems import Problem
from ..comparison.envelope import Lenient, OlderEnvelope, guard_plain, read_as
from ..files.places import is_stream

ORDER_MARK = b"\xef\xbb\xbf"
ANSWERS = ("envelope", "value", "problem")


class WrittenLine(Lenient):
    """What a line says; the digests, the version and the policy came one after the other."""

    id: str | int | None
    status: Annotated[int, Field(ge=100, le=599)]
    item_digest: str | None = None
    version: str | None = None
    policy: str | None = None
    envelope: OlderEnvelope | None = None
    value: str | None = None
    findings: str | None = None
    line_digest: str | None = None
    problem: dict[str, JsonValue] | None = None

    @model_validator(mode="after")
    def _answers_once(self) -> WrittenLine:
        found = [name for name in ANSWERS if getattr(self, name) is not None]
        if len(found) != 1:
            raise ValueError(
                f"an item is answered by one of {', '.join(ANSWERS)}, not by {' and '.join(found) or 'none'}"
            )
        if (self.status == 200) == (self.problem is not None):
            raise ValueError(f"status {self.status} does not go with {found[0]}")
        record = None if self.envelope is None else self.envelope.record
        if record is not None and self.version not in (None, record.version):
            raise ValueError(f"the line is of version {self.version}, its record of {record.version}")
        policy = None if record is None or record.policy is None else record.policy.digest
        if record is not None and "policy" in self.model_fields_set and self.policy != policy:
            raise ValueError(f"the line is of policy {self.policy or 'none'}, its record of {policy or 'none'}")
        return self


@dataclass(frozen=True, slots=True)
class OutputLine:
    """A line of an output, of the right shape.

    said  : what it says, everything in it
    fits  : whether it is as its own digest has it, None where it has none
    plain : whether its bytes are those that a batch writes: no mark before it, no line end of another system
    """

    said: dict[str, Any]
    fits: bool | None
    plain: bool


def lines_of(path: Path) -> Iterator[tuple[int, bytes]]:
    """The lines of an output with their numbers.

    Raises : Problem for a pipe or a device, which is not read twice, and for a last line that was cut short
    """
    if is_stream(path):
        raise Problem(422, f"{path} is a pipe or a device; give a file")
    with path.open("rb") as stream:
        yield from numbered(path, stream)


def numbered(path: Path, lines: Iterable[bytes]) -> Iterator[tuple[int, bytes]]:
    """The lines of an output that is being read, with their numbers; Problem for a last one that was cut short."""
    for number, line in enumerate(lines, start=1):
        if not line.endswith(b"\n"):
            raise Problem(422, f"{path} ends within line {number}: its run was stopped; the same command goes on")
        yield number, line


def read_line(path: Path, number: int, line: bytes) -> OutputLine:
    """A line of an output; Problem where a batch writes no such line."""
    content = line.removeprefix(ORDER_MARK).rstrip(b"\r\n")
    try:
        said = strict_json(content, "it")
        guard_plain(said)
        read_as(WrittenLine, said)
    except Problem as problem:
        why = "; ".join(f"{where} {text}" for where, text in problem.errors if where) or problem.detail
        raise Problem(422, f"{path}, line {number}: no line of a batch answer: {why}") from problem
    digest = said.get("line_digest")
    fits = None if digest is None else digest == digest_of_line(content)
    return OutputLine(said, fits, line == content + b"\n")


def bare_words(count: int) -> str:
    """What is said of lines without a digest of their own.

    >>> bare_words(1)
    '1 line has no digest of its own: whether it was edited is not known'
    """
    if count == 1:
        return "1 line has no digest of its own: whether it was edited is not known"
    return f"{counted(count, 'line')} have no digest of their own: whether they were edited is not known"


def line_as_written(path: Path, number: int, line: bytes) -> OutputLine:
    """A line whose bytes go on into another output; Problem where they are not those that were written."""
    read = read_line(path, number, line)
    if not read.plain:
        text = "another program has changed its line ends or put a mark before it"
    elif read.fits is False:
        text = "it does not fit its digest, so it was edited"
    else:
        return read
    raise Problem(422, f"{path}, line {number}: {text}; calculate the items again")

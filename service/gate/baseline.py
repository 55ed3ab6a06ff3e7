"""The stored state of checks that a gate compares with: numbers by file and line, and their rules."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, JsonValue, StringConstraints, ValidationError

from fatcore import __version__, require
from fatcore.bounds import NonNegative, Number
from fatcore.errors import InputError

from ..base.common import Strict
from ..base.parsing import strict_json
from ..base.problems import Problem, from_validation
from ..lines.directions import Coordinates, KeptDirections
from .alike.pattern import Pattern

KIND, SCHEMA = "toeline baseline", 8
READABLE = (6, 7, SCHEMA)  # what came with 7 and 8 may be missing

Rules = dict[str, JsonValue]
Life = Annotated[float, Field(ge=0.0)]  # of hardly any load it has more than thirty digits
UTILISATIONS = ("utilisation", "unjudged_utilisation")
AGAIN = "remove the file and store the state again with --write-baseline (what was accepted stays in its history)"


class StoredLine(Strict):
    """One weld line as it was.

    stations, length_mm : how many, and from the first to the last one
    request_digest : of the check request as it was given, title left out
    pattern        : a figure of the stresses at every station, in their order
    ends_mm        : coordinates of the first station, of the middle and of the last one, where they are given
    calculation    : its revision and the version of toeline
    rules          : what the number rests on besides loads, stresses and geometry
    unjudged_utilisation : the largest of its stations that are not judged, null when all are
    reference_*    : the lowest of each that was stored since the first store or since the last one with a reason
    highest_utilisation : the highest since then
    directions     : of the line at some of its stations, none where no tensors are read
    life_cycles    : at the governing station, null when infinite
    findings       : severity and code of those of the line; null in a state of format 6, which has no life either
    """

    utilisation: NonNegative
    unjudged_utilisation: NonNegative | None
    reference_utilisation: NonNegative
    reference_unjudged_utilisation: NonNegative | None
    highest_utilisation: NonNegative
    verdict: Literal["pass", "fail", "undecided"]
    curve: str
    index: Annotated[int, Field(ge=0)]
    position_mm: Number
    stations: Annotated[int, Field(ge=1)]
    length_mm: NonNegative
    request_digest: str
    pattern: Pattern
    ends_mm: list[Coordinates]
    calculation: str
    rules: Rules
    directions: KeptDirections
    life_cycles: Life | None = None
    findings: list[str] | None = None

    def reference(self, name: str) -> float | None:
        """The utilisation that growth counts from, so that small steps add up; None where none was stored.

        name : utilisation or unjudged_utilisation
        """
        values = (getattr(self, name), getattr(self, f"reference_{name}"))
        return None if None in values else min(values)

    @property
    def highest(self) -> float:
        """The utilisation that a fall counts from, so that small steps add up."""
        return max(self.utilisation, self.highest_utilisation)

    def stored_after(self, before: StoredLine) -> StoredLine:
        """This state as it replaces another one without a reason: what growth counts from never rises."""
        kept: dict[str, float | None] = {"highest_utilisation": max(self.highest, before.highest)}
        for name in UTILISATIONS:
            now, reference = self.reference(name), before.reference(name)
            kept[f"reference_{name}"] = None if now is None or reference is None else min(now, reference)
        return self.model_copy(update=kept)


class StoredCheck(Strict):
    """One check file as it was; its rules are those that hold for every line.

    verdict            : of the check as a whole
    crack_life_repeats : passes that the crack of a growth part lasts, null when infinite or absent
    load_reach         : smallest and largest factor of each load case; load_digest : of all loads
    load_figures       : the loads of each case in a few numbers, to tell whether two checks have the same
    findings           : severity and code of those of no line; null in a state of format 6
    words              : what is said for a reader only, by its place; null in a state of format 6 or 7
    """

    title: str
    verdict: Literal["pass", "fail", "undecided"]
    crack_life_repeats: Life | None
    load_reach: dict[str, str]
    load_digest: str
    load_figures: list[Number]
    rules: Rules
    lines: dict[str, StoredLine]
    findings: list[str] | None = None
    words: dict[str, str] | None = None


class Accepted(Strict):
    """What was accepted by name, and why; line is null for the whole check.

    last : the check with the lines that were accepted as vanished, as they were; null where none was
    """

    check: str
    line: str | None
    changes: list[str] = Field(min_length=1)
    because: Annotated[str, StringConstraints(min_length=1, max_length=require.LONGEST_REASON)]
    last: StoredCheck | None = None


class BaselineFile(Strict):
    """The file as it is written."""

    kind: Literal["toeline baseline"]
    format: Literal[6, 7, 8]
    version: str
    digest: str
    checks: dict[str, StoredCheck]
    accepted: list[Accepted]


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline:
    """Checks by key; a key is the path of the file as seen from the folder of the baseline."""

    folder: Path
    checks: Mapping[str, StoredCheck] = field(default_factory=dict)
    accepted: tuple[Accepted, ...] = ()

    @property
    def gone(self) -> dict[str, StoredCheck]:
        """Lines that were accepted as vanished by their check, as they were last."""
        gone: dict[str, StoredCheck] = {}
        for entry in self.accepted:
            if entry.last is not None:
                before = gone[entry.check].lines if entry.check in gone else {}
                gone[entry.check] = entry.last.model_copy(update={"lines": {**before, **entry.last.lines}})
        return gone


def key_of(path: Path, folder: Path) -> str:
    """Path of a check file as seen from a folder, with forward slashes, the same on every machine.

    Bytes of a name that are no text are written as escapes; a file on another drive goes by its whole path.
    """
    try:
        seen = Path(os.path.relpath(path.absolute(), folder.absolute()))
    except ValueError:  # there is no relative path from one drive to another
        seen = path.absolute()
    return os.fsencode(seen.as_posix()).decode("utf-8", "backslashreplace")


def read(path: Path) -> Baseline:
    """The baseline in a file.

    Raises : Problem when it is no baseline or one of another format, OSError when it cannot be read
    """
    data = strict_json(path.read_bytes(), str(path))
    if isinstance(data, dict) and data.get("kind") == KIND and data.get("format", 1) not in READABLE:
        text = f"{path} has format {data.get('format', 1)}; this version reads {READABLE[0]} to {SCHEMA}"
        raise Problem(422, f"{text}, which hold more of the checks: {AGAIN}")
    if not isinstance(data, dict) or data.get("kind") != KIND:
        raise Problem(422, f"{path} is no baseline of a gate: --write-baseline makes one")
    try:
        stored = BaselineFile.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data, BaselineFile)
        raise Problem(422, f"{path} is no baseline of a gate", problem.errors) from error
    if data != seal(data):
        raise Problem(422, f"{path} does not fit its digest, so it was edited or merged by hand: {AGAIN}")
    return Baseline(folder=path.parent, checks=stored.checks, accepted=tuple(stored.accepted))


def reason(text: str) -> str:
    """A reason as it is kept: one line of printable text; Problem when it is empty or far too long."""
    try:
        return require.reason("because", text)
    except InputError as error:
        raise Problem(422, f"--because: {error}") from None


def digest_of_json(value: Any) -> str:
    """Digest of a value as JSON, whatever the order of its keys."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return "sha256:" + hashlib.sha256(text.encode()).hexdigest()


def seal(content: Mapping[str, Any]) -> dict[str, Any]:
    """The content of a baseline with the digest of everything else in it: shows an edit, keeps nobody out."""
    rest = {name: value for name, value in content.items() if name != "digest"}
    return {**rest, "digest": digest_of_json(rest)}


def text_of(baseline: Baseline) -> str:
    """The text of a baseline file: sorted, one value a line, so that its changes read well in a review."""
    content: dict[str, Any] = {
        "kind": KIND,
        "format": SCHEMA,
        "version": __version__,
        "checks": {key: check.model_dump() for key, check in baseline.checks.items()},
        "accepted": [entry.model_dump() for entry in baseline.accepted],
    }
    return json.dumps(seal(content), indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n"

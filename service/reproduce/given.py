"""What an answer of before and its input are read from: pairs of files, batches, files that hold both, baselines."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

from ..base.parsing import strict_json
from ..base.problems import Problem
from ..batch.file import items_in
from ..batch.lines import OutputLine, numbered, read_line
from ..comparison.envelope import guard_plain, read_envelope
from ..comparison.older import ENVELOPE, EXAMPLE

BASELINE = "toeline baseline"
NEEDED = (
    "an answer holds the digest of its input only: give REQUEST and ANSWER, input and output of a batch, a file "
    "{calculation, request, response}, or a baseline of a gate"
)


@dataclass(frozen=True, slots=True)
class Asked:
    """Items as a batch has them, and the lines that answered them; fewer where a batch was stopped."""

    items: Sequence[bytes]
    answers: Sequence[OutputLine]


def asked_in(paths: Sequence[Path]) -> Asked | None:
    """The items and answers in one file or two, in either order; None for a baseline of a gate.

    Raises : Problem where the files are nothing of all that, or of different items
    """
    contents = [path.read_bytes() for path in paths]
    kinds = [_kind(content) for content in contents]
    if kinds == ["baseline"]:
        return None
    if kinds == ["example"]:
        data = _read(contents[0], paths[0])
        return _pair(paths[0].name, data["calculation"], data["request"], data["response"])
    if sorted(kinds) == ["items", "lines"]:
        at = kinds.index("lines")
        return _batch(items_in(contents[1 - at], str(paths[1 - at])), paths[at], contents[at])
    if sorted(kinds) in (["answer", "request"], ["answer", "example"]):
        at = kinds.index("answer")
        answer, request = _read(contents[at], paths[at]), _read(contents[1 - at], paths[1 - at])
        calculation = read_envelope(answer).record.calculation
        if set(request) >= EXAMPLE:
            if request["calculation"] != calculation:
                raise Problem(422, f"the answer is of {calculation}, the request of {request['calculation']}")
            request = request["request"]
        return _pair(paths[at].name, calculation, request, answer)
    raise Problem(422, NEEDED)


def _kind(content: bytes) -> str:
    lines = content.split(b"\n", 1)
    try:
        data = json.loads(content)
    except (ValueError, RecursionError):
        try:
            data = json.loads(lines[0])
        except (ValueError, RecursionError):
            return "items"  # of a batch whose first line cannot be read
        return "lines" if isinstance(data, dict) and {"id", "status"} <= set(data) else "items"
    return _kind_of(data)


def _kind_of(data: Any) -> str:
    if not isinstance(data, dict):
        return "items" if isinstance(data, list) else "other"
    for kind, keys in (("lines", {"id", "status"}), ("items", {"id", "calculation", "input"}), ("answer", ENVELOPE)):
        if keys <= set(data):
            return kind
    if data.get("kind") == BASELINE:
        return "baseline"
    return "example" if set(data) >= {*EXAMPLE, "response"} else "request"


def _read(content: bytes, path: Path) -> Any:
    """The data of a file; Problem where it is no JSON, or has numbers and levels that no request and answer has."""
    data = strict_json(content, str(path))
    guard_plain(data)
    return data


def _pair(name: str, calculation: Any, request: Any, answer: Any) -> Asked:
    if not isinstance(answer, dict) or not set(answer) >= ENVELOPE:
        raise Problem(422, f"{name}: {NEEDED}")
    record = read_envelope(answer).record
    made_by = {"version": record.version, "policy": None if record.policy is None else record.policy.digest}
    item = json.dumps({"id": name, "calculation": calculation, "input": request}).encode()
    line = {"id": name, "status": 200, **made_by, "envelope": answer}
    return Asked([item], [OutputLine(line, fits=True, plain=True)])


def _batch(items: Sequence[bytes], path: Path, content: bytes) -> Asked:
    answers = [read_line(path, number, line) for number, line in numbered(path, BytesIO(content))]
    if len(answers) > len(items):
        raise Problem(422, f"{path} has {len(answers)} lines for {len(items)} items")
    return Asked(items, answers)

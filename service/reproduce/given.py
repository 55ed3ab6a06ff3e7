"""What an answer of before and its input are read from: pairs of files, batches, files that hold both, baselines."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..base.parsing import strict_json
from ..base.problems import Problem
from ..comparison.older import ENVELOPE, EXAMPLE
from .outputs import line_of_answer

BASELINE = "toeline baseline"
NEEDED = (
    "an answer holds the digest of its input only: give REQUEST and ANSWER, input and output of a batch, a file "
    "{calculation, request, response}, or a baseline of a gate"
)


@dataclass(frozen=True, slots=True)
class Asked:
    """Items as a batch has them, and the lines that answered them; fewer where a batch was stopped."""

    items: Sequence[bytes]
    answers: Sequence[Mapping[str, Any]]


def asked_in(paths: Sequence[Path]) -> Asked | None:
    """The items and answers in one file or two, in either order; None for a baseline of a gate.

    Raises : Problem where the files are nothing of all that, or of different items
    """
    contents = [path.read_bytes() for path in paths]
    kinds = [_kind(content) for content in contents]
    if kinds == ["baseline"]:
        return None
    if kinds == ["example"]:
        data = strict_json(contents[0], str(paths[0]))
        return _pair(paths[0].name, data["calculation"], data["request"], data["response"])
    if sorted(kinds) == ["items", "lines"]:
        at = kinds.index("lines")
        return _batch(contents[1 - at], paths[at], contents[at])
    if sorted(kinds) in (["answer", "request"], ["answer", "example"]):
        at = kinds.index("answer")
        answer = strict_json(contents[at], str(paths[at]))
        request = strict_json(contents[1 - at], str(paths[1 - at]))
        calculation = answer["record"]["calculation"]
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
        return "other"
    for kind, keys in (("lines", {"id", "status"}), ("items", {"id", "calculation", "input"}), ("answer", ENVELOPE)):
        if keys <= set(data):
            return kind
    if data.get("kind") == BASELINE:
        return "baseline"
    return "example" if set(data) >= {*EXAMPLE, "response"} else "request"


def _pair(name: str, calculation: Any, request: Any, answer: Any) -> Asked:
    if not isinstance(answer, dict) or not set(answer) >= ENVELOPE or not isinstance(answer["record"], dict):
        raise Problem(422, f"{name}: {NEEDED}")
    record = answer["record"]
    policy = record.get("policy") or {}
    made_by = {"version": record.get("version"), "policy": policy.get("digest")}
    item = json.dumps({"id": name, "calculation": calculation, "input": request}).encode()
    return Asked([item], [{"id": name, "status": 200, **made_by, "envelope": answer}])


def _batch(source: bytes, path: Path, content: bytes) -> Asked:
    items = [line for line in source.split(b"\n") if line.strip()]
    answers = [*_answers(path, content)]
    if len(answers) > len(items):
        raise Problem(422, f"{path} has {len(answers)} lines for {len(items)} items")
    return Asked(items, answers)


def _answers(path: Path, content: bytes) -> Iterator[dict[str, Any]]:
    for number, line in enumerate(content.splitlines(keepends=True), start=1):
        yield line_of_answer(path, number, line)

"""Parts of a baseline: what one machine of several stores, and all of them put together."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from fatcore import __version__

from ..base.common import Strict
from ..base.parsing import strict_json
from ..base.problems import Problem, from_validation
from ..jobs.shard import Shard, guard_policies
from .baseline import SCHEMA, Accepted, Baseline, StoredCheck, digest_of_json, seal

KIND = "toeline baseline part"


class Asked(Strict):
    """What the run was asked that a part is of, by digests: every part of it has the same.

    listed  : names of all its checks, those of other parts among them
    files   : what is in them, and in what is put into them
    options : limits, and the reason
    """

    listed: str
    files: str
    options: str


OTHERWISE = {
    "listed": "of another list of checks",
    "files": "of files that changed meanwhile, or with other fitted answers",
    "options": "with another limit, growth or reason",
}


def asked_of(checks: Mapping[str, Path], fitted: Sequence[Path], options: Mapping[str, Any]) -> Asked:
    """What a run is asked.

    checks : all of them by their keys, whatever part is done; fitted: files that are put into them
    """
    contents = {key: _content_digest(path) for key, path in checks.items()}
    return Asked(
        listed=digest_of_json(sorted(checks)),
        files=digest_of_json([contents, [_content_digest(path) for path in fitted]]),
        options=digest_of_json(dict(options)),
    )


def _content_digest(path: Path) -> str | None:
    """Digest of a file, None where it cannot be read, which is said where it is run."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None


class BaselinePart(Strict):
    """The file of a part as it is written.

    before   : digest of the baseline that it was made beside
    asked    : of the whole run
    policies : digests of the rules of a company that the answers of this part obey, null without any
    checks   : the stored state of the checks of this part
    accepted : what was added to what was accepted before
    """

    kind: Literal["toeline baseline part"]
    format: int
    version: str
    number: Annotated[int, Field(ge=1)]
    count: Annotated[int, Field(ge=1)]
    before: str
    digest: str
    asked: Asked
    policies: list[str | None]
    checks: dict[str, StoredCheck]
    accepted: list[Accepted]


def part_text(shard: Shard, before: Baseline, written: Baseline, policies: Iterable[str | None], asked: Asked) -> str:
    """The text of a part: what of a baseline one of several runs has written.

    before, written : the baseline before the run, and as it would be after it
    policies        : digests of those that its answers obey
    """
    content: dict[str, Any] = {
        "kind": KIND,
        "format": SCHEMA,
        "version": __version__,
        "number": shard.number,
        "count": shard.count,
        "before": _digest(before),
        "asked": asked.model_dump(),
        "policies": sorted(set(policies), key=str),
        "checks": {key: check.model_dump() for key, check in written.checks.items() if shard.holds(key)},
        "accepted": [entry.model_dump() for entry in written.accepted[len(before.accepted) :]],
    }
    return json.dumps(seal(content), indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n"


def _digest(baseline: Baseline) -> str:
    checks = {key: check.model_dump() for key, check in baseline.checks.items()}
    return digest_of_json({"checks": checks, "accepted": [entry.model_dump() for entry in baseline.accepted]})


def merged_parts(paths: Sequence[Path], stored: Baseline) -> Baseline:
    """The baseline as one run over all checks would have written it.

    stored : the baseline that the parts were made beside
    Raises : Problem where a part is missing, there twice, of another baseline, version, policy or run, or was edited
    """
    parts = [_read(path) for path in paths]
    numbers = sorted(part.number for part in parts)
    if {part.count for part in parts} != {len(parts)} or numbers != list(range(1, len(parts) + 1)):
        found = ", ".join(f"{part.number}/{part.count}" for part in parts)
        raise Problem(422, f"--merge takes every part of one run once, not {found}")
    for path, part in zip(paths, parts, strict=True):
        if part.before != _digest(stored):
            raise Problem(422, f"{path} was made beside another baseline than the one that is there")
        _guard_asked(paths[0], parts[0].asked, path, part.asked)
    guard_policies({policy for part in parts for policy in part.policies})
    added = [entry for part in parts for entry in part.accepted]
    added.sort(key=lambda entry: PurePosixPath(entry.check))
    checks = {key: check for part in parts for key, check in part.checks.items()}
    return replace(stored, checks=checks, accepted=(*stored.accepted, *added))


def _guard_asked(one: Path, first: Asked, other: Path, asked: Asked) -> None:
    """Refuses a part of another run, which would not be what one run stores."""
    for name, words in OTHERWISE.items():
        if getattr(first, name) != getattr(asked, name):
            raise Problem(422, f"{other} was made {words} than {one}: make the parts by one run")


def _read(path: Path) -> BaselinePart:
    data = strict_json(path.read_bytes(), str(path))
    if not isinstance(data, dict) or data.get("kind") != KIND:
        raise Problem(422, f"{path} is no part of a baseline: --shard K/N --write-baseline --part FILE makes one")
    try:
        part = BaselinePart.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data, BaselinePart)
        raise Problem(422, f"{path} is no part of a baseline", problem.errors) from error
    if data != seal(data):
        raise Problem(422, f"{path} does not fit its digest, so it was edited: store the part again")
    if (part.version, part.format) != (__version__, SCHEMA):
        raise Problem(422, f"{path} is of toeline {part.version}, this is {__version__}")
    strange = [key for key in part.checks if not Shard(part.number, part.count).holds(key)]
    if strange or part.number > part.count:
        raise Problem(422, f"{path} holds checks of another part: {', '.join(strange)}")
    return part

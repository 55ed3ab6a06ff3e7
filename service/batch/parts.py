"""A batch in parts for several machines, and their outputs put together as one run would have written them."""

from __future__ import annotations

import json
from collections import defaultdict, deque
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from ..base.problems import Problem
from ..files.writing import replace_by
from ..http.batch import AnswerLine, id_of, line_item
from ..jobs.shard import Shard, guard_policies
from .file import Count, MadeBy, read_line


def part_of(source: Sequence[bytes], shard: Shard) -> list[bytes]:
    """The lines of a part: all of one id are in the same one."""
    return [line for line in source if shard.holds(_name(line))]


def _name(line: bytes) -> str:
    item = line_item(line)
    item_id = id_of(item)
    return item.digest if item_id is None else json.dumps(item_id)


def merge_outputs(source: Sequence[bytes], paths: Sequence[Path], target: Path) -> Count:
    """Writes the answers of every line of the source, from the outputs of its parts; counts how they ended.

    Raises : Problem where a part lacks an answer or has one of something else, or different versions or policies
             made them
    """
    count = Count()

    def counted(line: AnswerLine) -> bytes:
        count.add(line.status)
        return line.content

    replace_by(target, map(counted, _merged(source, paths)))
    return count


def _merged(source: Sequence[bytes], paths: Sequence[Path]) -> Iterator[AnswerLine]:
    places: defaultdict[Any, deque[tuple[Path, int]]] = defaultdict(deque)
    made_by: set[MadeBy] = set()
    for path in paths:
        start = 0
        with path.open("rb") as stream:
            for number, line in enumerate(stream, start=1):
                entry = read_line(path, number, line)
                places[entry["item_digest"]].append((path, start))
                made_by.add(MadeBy(entry["version"], entry["policy"]))
                start += len(line)
    if len(made_by) > 1:
        raise Problem(422, "the parts were answered by different versions or policies")
    guard_policies({each.policy for each in made_by})
    yield from _in_order(source, places)
    left = [path for found in places.values() for path, _ in found]
    if left:
        raise Problem(422, f"{left[0]} holds answers of another input")


def _in_order(source: Sequence[bytes], places: dict[Any, deque[tuple[Path, int]]]) -> Iterator[AnswerLine]:
    for number, line in enumerate(source, start=1):
        item = line_item(line)
        if not places.get(item.digest):
            raise Problem(422, f"no part answers item {number} ({id_of(item)!r}) as it is here")
        path, start = places[item.digest].popleft()
        with path.open("rb") as stream:
            stream.seek(start)
            content = stream.readline()
        yield AnswerLine(json.loads(content)["status"], content)

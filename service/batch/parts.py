"""A batch in parts for several machines, and their outputs put together as one run would have written them."""

from __future__ import annotations

import json
from collections import defaultdict, deque
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from fatcore import __version__

from ..base.problems import Problem
from ..files.writing import replace_by
from ..http.batch import id_of, line_item
from ..jobs.shard import Shard, guard_policies
from .file import Count, MadeBy, of_the_moment
from .lines import line_as_written, lines_of


def part_of(source: Sequence[bytes], shard: Shard) -> list[bytes]:
    """The lines of a part: all of one id are in the same one."""
    return [line for line in source if shard.holds(_name(line))]


def _name(line: bytes) -> str:
    item = line_item(line)
    item_id = id_of(item)
    return item.digest if item_id is None else json.dumps(item_id)


def merge_outputs(source: Sequence[bytes], paths: Sequence[Path], target: Path) -> Count:
    """Writes the answers of every line of the source, from the outputs of its parts; counts how they ended.

    Raises : Problem where a part lacks an answer, has one of something else, of the moment, edited, or of another
             version, or different versions or policies made them
    """
    count = Count()
    places = _places(paths)
    chosen = [_of_item(number, line, places) for number, line in enumerate(source, start=1)]
    left = [found for each in places.values() for found in each]
    if left:
        raise Problem(422, f"{left[0].path} holds answers of another input")
    for each in chosen:
        count.add(each.status, bare=each.bare)
    replace_by(target, map(_content, chosen))
    return count


class _Place(NamedTuple):
    """Where the answer of an item is, and what is known of it."""

    path: Path
    start: int
    size: int
    number: int
    item_id: str | int | None
    status: int
    bare: bool


def _places(paths: Sequence[Path]) -> dict[Any, deque[_Place]]:
    """Every line of the parts, by the digest of its item."""
    places: defaultdict[Any, deque[_Place]] = defaultdict(deque)
    made_by: set[MadeBy] = set()
    for path in paths:
        start = 0
        for number, line in lines_of(path):
            read = line_as_written(path, number, line)
            said = read.said
            found = _Place(path, start, len(line), number, said["id"], said["status"], read.fits is None)
            places[said.get("item_digest")].append(found)
            made_by.add(MadeBy(said.get("version") or "none", said.get("policy")))
            start += len(line)
    _guard_made(made_by)
    return places


def _guard_made(made_by: set[MadeBy]) -> None:
    """Refuses answers that one run of here could not have given."""
    if len(made_by) > 1:
        raise Problem(422, "the parts were answered by different versions or policies")
    for each in made_by:
        if each.version != __version__:
            raise Problem(
                422, f"the parts are of toeline {each.version}, this is {__version__}: put them together there"
            )
    guard_policies({each.policy for each in made_by})


def _of_item(number: int, line: bytes, places: Mapping[Any, deque[_Place]]) -> _Place:
    """The answer of an item."""
    item = line_item(line)
    item_id = id_of(item)
    if not places.get(item.digest):
        raise Problem(422, f"no part answers item {number} ({item_id!r}) as it is here")
    found = places[item.digest].popleft()
    where = f"{found.path}, line {found.number}"
    if found.item_id != item_id:
        raise Problem(422, f"{where}: the id {found.item_id!r} is not that of the item, {item_id!r}")
    if of_the_moment(found.status):
        text = f"item {number} ({item_id!r}) is answered by {found.status}, which is of that moment"
        raise Problem(422, f"{where}: {text}: the command of the part asks again")
    return found


def _content(place: _Place) -> bytes:
    with place.path.open("rb") as stream:
        stream.seek(place.start)
        return stream.read(place.size)

"""Node sets of a deck (INP): rows, ranges and other sets as places of nodes, each once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from .keywords import wrong

Members = list[int | str | range]  # nodes, names of other sets, and rows of nodes
Nodes = NDArray[np.int64]
_MOST_MEMBERS = 50_000_000  # of all sets together


def placed(nodes: Iterable[int], place: Mapping[int, int], what: str) -> Nodes:
    """Places of nodes by their numbers; InputError for one that there is not."""
    try:
        return np.array([place[node] for node in nodes], dtype=np.int64)
    except KeyError as error:
        raise wrong(f"{what} names node {str(error.args[0])[:30]}, which the deck does not have") from error


def resolved(sets: Mapping[str, Members], names: Mapping[str, str], place: Mapping[int, int]) -> dict[str, Nodes]:
    """Places of the nodes of every set, those of the sets that it names among them, in their order.

    Raises : InputError for a member that is no node and no set, for a set that holds itself, and for more members
             than a mesh can need
    """
    done, begun, total = dict[str, Nodes](), set[str](), 0
    waiting = list(sets)[::-1]
    while waiting:
        name = waiting[-1]
        if name in done:
            waiting.pop()
            continue
        inner = _named(name, sets, names, done)
        if name in begun or begun.intersection(inner):  # once all that it names is done, or in a round
            _guard_round(name, inner, names)
            done[name] = _one(name, sets[name], names, place, done)
            total += len(done[name])
            begun.discard(name)
        else:
            begun.add(name)
            waiting += inner
        if total > _MOST_MEMBERS:
            raise wrong(f"its node sets have more than {_MOST_MEMBERS} members together")
    return {name: done[name] for name in sets}


def _named(name: str, sets: Mapping[str, Members], names: Mapping[str, str], done: Mapping[str, Nodes]) -> list[str]:
    """The sets among the members of a set that are still to be done."""
    inner = dict.fromkeys(member for member in sets[name] if isinstance(member, str))
    for member in inner:
        if member not in sets:
            raise wrong(f"set {names[name]!r} names {member!r}, which is no node and no other set")
    return [member for member in inner if member not in done]


def _guard_round(name: str, inner: Sequence[str], names: Mapping[str, str]) -> None:
    if inner:
        raise wrong(f"set {names[name]!r} names {names[inner[0]]!r}, which is no other set, or holds it in turn")


def _one(
    name: str, members: Members, names: Mapping[str, str], place: Mapping[int, int], done: Mapping[str, Nodes]
) -> Nodes:
    what, parts = f"set {names[name]!r}", [np.empty(0, dtype=np.int64)]
    plain = [member for member in members if isinstance(member, int)]
    if len(plain) == len(members):
        parts.append(placed(plain, place, what))
    for member in () if len(plain) == len(members) else members:
        if isinstance(member, range) and len(member) > len(place):
            raise wrong(f"{what} generates more nodes than the deck has")
        parts.append(done[member] if isinstance(member, str) else placed(_numbers(member), place, what))
    found = np.concatenate(parts)
    return found[np.sort(np.unique(found, return_index=True)[1])]


def _numbers(member: int | range) -> Iterable[int]:
    return (member,) if isinstance(member, int) else member

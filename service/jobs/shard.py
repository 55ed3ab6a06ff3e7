"""A part of many tasks for one machine of several: which tasks are in it follows from their names alone."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection
from dataclasses import dataclass

from ..base.problems import Problem
from ..base.rules.active import active_policy

MOST_SHARDS = 1000


@dataclass(frozen=True, slots=True)
class Shard:
    """One of so many parts, counted from one."""

    number: int
    count: int

    def holds(self, name: str) -> bool:
        """Whether the task of this name is in this part; every name is in one part alone.

        >>> [Shard(number, 3).holds("models/hanger.json") for number in (1, 2, 3)]
        [False, False, True]
        """
        digest = hashlib.sha256(name.encode("utf-8", "surrogatepass")).digest()
        return int.from_bytes(digest[:8], "big") % self.count == self.number - 1

    def __str__(self) -> str:
        return f"{self.number}/{self.count}"


def shard_of(text: str) -> Shard:
    """The part that a text like 2/5 names; Problem for anything else."""
    found = re.fullmatch(r"([0-9]{1,4})/([0-9]{1,4})", text)
    shard = Shard(*map(int, found.groups())) if found else Shard(0, 0)
    if not 1 <= shard.number <= shard.count <= MOST_SHARDS:
        raise Problem(400, f"--shard takes a part of so many, like 2/5, of {MOST_SHARDS} at the most, not {text!r}")
    return shard


def guard_policies(digests: Collection[str | None]) -> None:
    """Problem where the answers of parts obey different policies, or not the one that holds here.

    digests : of the policies that they obey, None without one
    """
    if len(digests) > 1:
        raise Problem(422, "the parts were answered by different versions or policies")
    policy = active_policy()
    if policy is not None and any(digest != policy.digest for digest in digests):
        told = ", ".join(digest or "none" for digest in digests)
        raise Problem(422, f"the parts obey the policy {told}, not {policy.label} ({policy.digest})")

"""The rules of a company in words: the one place where texts and comparisons name them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

HEAD = "rules of the company"


def policy_words(policy: Mapping[str, Any] | None) -> str:
    """A policy by its name, its version and the beginning of its digest.

    policy : as a record holds it, None without one
    """
    return "none" if policy is None else f"{policy['name']} {policy['version']} {policy['digest'][:23]}"


def whole_words(policy: Mapping[str, Any]) -> str:
    """A policy by all that tells it from another one, as a baseline stores it."""
    return f"{policy['name']} {policy['version']}, {policy['digest']}"


def policy_lines(policy: Mapping[str, Any] | None) -> Iterator[str]:
    """The line of a text that names a policy, none without one."""
    if policy is not None:
        yield f"{HEAD}: {policy_words(policy)}"

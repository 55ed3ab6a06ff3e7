"""Validity limits from the `limits` part of a data table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fatcore.findings import Limit


def limit(ranges: Mapping[str, Sequence[float]], name: str, source: str, where: str) -> Limit:
    """The limit `name = [low, high]`; `[low]` has no upper end.

    >>> limit({"alpha": [0.2]}, "alpha", "key", "sec. 1").high is None
    True
    """
    low, *rest = ranges[name]
    return Limit(name, low, rest[0] if rest else None, source, where)

"""Names that a reader takes for one another."""

from __future__ import annotations

from collections.abc import Iterable

from fatcore.alike import as_read


def looking_alike(names: Iterable[str]) -> list[list[str]]:
    """Groups of names that read the same, sorted.

    >>> looking_alike(["toe A", "toe B", "toe A "])
    [['toe A', 'toe A ']]
    """
    groups: dict[str, list[str]] = {}
    for name in sorted(set(names)):
        groups.setdefault(as_read(name), []).append(name)
    return [group for group in groups.values() if len(group) > 1]

"""Results that were asked for lately, within a bound of memory."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from typing import Generic, TypeVar

T = TypeVar("T")


class Kept(Generic[T]):
    """What was made last for a key; what has not been asked for longest goes first.

    most_bytes : that all keys and results may hold together; 0 keeps nothing

    >>> kept = Kept[str](most_bytes=10)
    >>> kept.put("a", "first", 6)
    >>> kept.put("b", "second", 6)
    >>> kept.get("a"), kept.get("b")
    (None, 'second')
    """

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes, self.held_bytes = most_bytes, 0
        self._items: OrderedDict[Hashable, tuple[T, int]] = OrderedDict()

    def get(self, key: Hashable) -> T | None:
        """The result for a key, None where there is none (any more)."""
        found = self._items.get(key)
        if found is None:
            return None
        self._items.move_to_end(key)
        return found[0]

    def put(self, key: Hashable, result: T, size: int) -> None:
        """Keeps a result; size: of key and result [bytes]."""
        if size > self.most_bytes:
            return
        _, replaced = self._items.pop(key, (None, 0))
        self._items[key] = (result, size)
        self.held_bytes += size - replaced
        while self.held_bytes > self.most_bytes:
            _, (_, freed) = self._items.popitem(last=False)
            self.held_bytes -= freed

"""A number for each of the methods that give the damage of random stress."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ByMethod:
    """One number for each method; None where it is not defined."""

    narrow_band: float | None
    wirsching_light: float | None
    dirlik: float | None
    tovo_benasciutti: float | None

    def defined(self) -> list[float]:
        """The numbers that there are."""
        return [value for value in astuple(self) if value is not None]

    def changed(self, change: Callable[[float], float]) -> ByMethod:
        """The same of every number that there is."""
        narrow, light, dirlik, tovo = (None if value is None else change(value) for value in astuple(self))
        return ByMethod(narrow_band=narrow, wirsching_light=light, dirlik=dirlik, tovo_benasciutti=tovo)

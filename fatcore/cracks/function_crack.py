# ruff: noqa: ARG002  (one interface for all bodies)
"""A crack whose stress intensity is any function of its size: a family by name, or a formula of one's own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from fatcore.cracks._given_intensity import GivenIntensity
from fatcore.cracks.intensity.families import family
from fatcore.cracks.loading import UnitIntensity
from fatcore.errors import InputError
from fatcore.findings import Finding
from fatcore.require import FloatArray, positive

__all__ = ["FunctionCrack", "family_crack"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FunctionCrack(GivenIntensity):
    """One-length crack with K for load factor 1 as a function of its size; the stress is in the function.

    size_mm, largest_mm : at the start, and where growth ends at the latest
    intensity           : K [MPa*sqrt(mm)] of an array of sizes [mm]
    remarks             : findings for an array of sizes
    """

    size_mm: float
    largest_mm: float
    intensity: Callable[[FloatArray], FloatArray]
    remarks: Callable[[FloatArray], tuple[Finding, ...]] = field(default=lambda _: ())
    sources: tuple[str, ...] = ()
    tables: tuple[str, ...] = ()

    end_reasons: ClassVar[tuple[str, str]] = ("largest-size", "largest-size")

    def __post_init__(self) -> None:
        positive("size_mm", self.size_mm)
        if positive("largest_mm", self.largest_mm) <= self.size_mm:
            raise InputError("the crack starts at or beyond its largest size", "largest_mm")

    def largest(self) -> tuple[float, float]:
        """The largest size."""
        return self.largest_mm, np.inf

    def unit(self, depth: FloatArray) -> UnitIntensity:
        """The opening mode, one point."""
        return UnitIntensity(np.asarray(self.intensity(depth))[None])

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """What the family says about the sizes."""
        return self.remarks(depth)


def family_crack(
    name: str, size_mm: float, largest_mm: float, parameters: Mapping[str, Any]
) -> FunctionCrack:
    """A crack of a family by name that grows in one size, all else kept (also the half length of an ellipse).

    name       : of the family; parameters : its arguments with the stresses or loads for load factor 1
    size_mm, largest_mm : first and largest size
    Raises     : UnknownError, InputError as the family does at both sizes
    """
    chosen = family(name)
    both = chosen.intensity([size_mm, largest_mm], **parameters)
    values = {k: v for k, v in chosen.checked(size_mm, parameters).items() if k != chosen.size}
    return FunctionCrack(
        size_mm=size_mm,
        largest_mm=largest_mm,
        intensity=lambda size: chosen.k(size, **values),
        remarks=lambda size: chosen.intensity(size, **parameters).findings,
        sources=both.sources,
        tables=both.tables,
    )

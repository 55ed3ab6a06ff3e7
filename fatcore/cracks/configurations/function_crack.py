# ruff: noqa: ARG002  (one interface for all configurations)
"""A crack whose stress intensity is any function of its size: a family by name, or a formula of one's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from fatcore.bounds import Positive, guard
from fatcore.cracks.configurations.configuration import SizeKind
from fatcore.cracks.configurations.given_intensity import GivenIntensity
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.cracks.intensity.families import family
from fatcore.cracks.intensity.family import Family
from fatcore.errors import FatcoreError, InputError
from fatcore.figures import figure
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray

BURIED = ("embedded", "embedded-infinite", "root-gap")  # families that no surface shows
SECOND_LENGTHS = ("half_length_mm", "surface_length_mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class FunctionCrack(GivenIntensity):
    """One-length crack with K for load factor 1 as a function of its size; the stress is in the function.

    crack_size_mm, largest_mm : at the start, and where growth ends at the latest
    intensity           : K [MPa√mm] of an array of sizes [mm]
    remarks             : findings for an array of sizes
    size_kind           : what an inspection may take the size for, see `History`
    end_sizes           : names under which an end of growth may give the size
    """

    crack_size_mm: Positive
    largest_mm: Positive
    intensity: Callable[[FloatArray], FloatArray]
    remarks: Callable[[FloatArray], tuple[Finding, ...]] = field(default=lambda _: ())
    sources: tuple[str, ...] = ()
    tables: tuple[str, ...] = ()
    size_kind: SizeKind = "unknown"
    end_sizes: tuple[str, ...] = ("depth_mm", "half_length_mm")

    end_reason: ClassVar[str] = "largest-size"
    load_path: ClassVar[tuple[str, ...]] = ("crack", "parameters")

    def __post_init__(self) -> None:
        guard(self)
        if self.largest_mm <= self.crack_size_mm:
            raise InputError("the crack starts at or beyond its largest size", "largest_mm")

    def largest(self) -> tuple[float, float]:
        """The largest size."""
        return self.largest_mm, np.inf

    def given_intensity(self, depth: FloatArray) -> UnitIntensity:
        """The opening mode, one point."""
        return UnitIntensity(np.asarray(self.intensity(depth))[None])

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """What the family says about the sizes."""
        return self.remarks(depth)


def family_crack(name: str, crack_size_mm: float, largest_mm: float, parameters: Mapping[str, Any]) -> FunctionCrack:
    """A crack of a family by name that grows in one size, all else kept (also the half length of an ellipse).

    name       : of the family; parameters : its arguments with the stresses or loads for load factor 1
    crack_size_mm, largest_mm : first and largest size; where the size of the family is an angle, half the
                 length of the crack along the arc at its radius
    Raises     : UnknownError, InputError as the family does at both sizes
    """
    chosen = family(name)
    with _map_error_path(chosen, parameters, "start_mm"):
        to_size = _size_of_length(chosen, parameters)
    for field_name, given_mm in (("start_mm", crack_size_mm), ("largest_mm", largest_mm)):
        with _map_error_path(chosen, parameters, field_name):
            at_end = chosen.intensity(to_size(np.array([given_mm])), **parameters)
    values = {k: v for k, v in chosen.checked(1.0, parameters).items() if k != chosen.size}
    return FunctionCrack(
        crack_size_mm=crack_size_mm,
        largest_mm=largest_mm,
        intensity=lambda length: chosen.k(to_size(length), **values),
        remarks=lambda length: (
            *chosen.intensity(to_size(length), **parameters).findings,
            *_of_family(chosen, to_size(length)),
        ),
        sources=at_end.sources,
        tables=at_end.tables,
        size_kind=_size_kind(chosen),
        end_sizes=("half_length_mm",) if chosen.arc_radius is not None else (chosen.size,),
    )


@contextmanager
def _map_error_path(chosen: Family, parameters: Mapping[str, Any], size_field: str) -> Iterator[None]:
    """Errors about the size of the family, or one of its arguments, point to the field that holds it."""
    try:
        yield
    except FatcoreError as error:
        of_size = error.path[:1] == (chosen.size,) and chosen.size not in parameters
        error.path = (size_field,) if of_size else ("parameters", *error.path)
        raise


def _size_kind(chosen: Family) -> SizeKind:
    if chosen.name in BURIED:
        return "buried"
    return "depth" if chosen.size == "depth_mm" else "half-length"


def _size_of_length(chosen: Family, parameters: Mapping[str, Any]) -> Callable[[FloatArray], FloatArray]:
    """From the length of a crack to the size of its family."""
    if chosen.arc_radius is None:
        return lambda length: length
    radius = float(chosen.checked(1.0, parameters)[chosen.arc_radius])
    return lambda length: np.rad2deg(length / radius)


def _of_family(chosen: Family, size: FloatArray) -> tuple[Finding, ...]:
    """What one size that grows leaves out."""
    found = []
    if chosen.arc_radius is not None:
        message = (
            "the crack grows by half its length along the arc at the mean radius: half angle"
            f" {figure(np.min(size))} to {figure(np.max(size))} deg"
        )
        found.append(note("arc-length", message, field="start_mm"))
    kept = [each.name for each in chosen.parameters if each.name in SECOND_LENGTHS]
    if kept:
        message = f"the crack grows by its {chosen.size} alone: {kept[0]} stays, a real crack grows in it too"
        found.append(caution("one-size-grows", message, field="parameters"))
    return tuple(found)

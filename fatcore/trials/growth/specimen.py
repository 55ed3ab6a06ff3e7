"""A cracked specimen in a growth test: its stress intensity at each size, and where the test is valid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, NamedTuple

import numpy as np
from annotated_types import Ge, Lt, doc

from fatcore.bounds import Positive, PositiveArray, guard
from fatcore.cracks.intensity.families import family
from fatcore.errors import FatcoreError, InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.require import FloatArray, other_length

# increments of size between readings over the width, up to crack size over width [astm-e647]
_INCREMENTS = {
    "specimen-compact": ((0.4, 0.04), (0.6, 0.02), (1.0, 0.01)),
    "specimen-middle": ((0.3, 0.03), (0.5, 0.02)),
}
_LEAST_INCREMENT_MM = 0.25
_LIGAMENT = 4.0 / np.pi
_MIDDLE = 1.25


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthSpecimen:
    """A crack of a family under one cycle.

    parameters       : of the family by name; its loads are those at the top of the cycle
    load_ratio       : minimum over maximum of the load
    load_factor      : on the loads at each reading, for a test that sheds them, (n,): the load that acts when the
                       cycles of the reading are reached; between two readings it is taken in between; None: constant
    yield_strength_mpa : for the rule of the remaining ligament
    """

    family: str
    parameters: Mapping[str, Any] = field(default_factory=dict)
    load_ratio: Annotated[float, Ge(-10.0), Lt(1.0), doc("minimum over maximum load of the cycle")]
    load_factor: Annotated[
        PositiveArray | None, doc("on the loads that act when the cycles of each reading are reached; null: constant")
    ] = None
    yield_strength_mpa: Positive | None = None

    def __post_init__(self) -> None:
        guard(self)
        family(self.family)

    def factor_at(self, reading: FloatArray, readings: int) -> FloatArray:
        """The factor on the loads at places among the readings, halfway between two as well."""
        if self.load_factor is None:
            return np.ones_like(reading)
        given = np.asarray(self.load_factor, dtype=np.float64)
        if given.shape != (readings,):
            raise InputError(other_length("load_factor", given.size, readings), "load_factor")
        return np.interp(reading, np.arange(readings), given)


def guard_sizes_within(specimen: GrowthSpecimen, size_mm: FloatArray) -> None:
    """InputError with the place of the first reading that is as long as the specimen or longer."""
    width = specimen.parameters.get("width_mm")
    if width is None or not specimen.family.startswith("specimen-"):
        return
    largest = 0.5 * float(width) if specimen.family == "specimen-middle" else float(width)
    if (size_mm >= largest).any():
        place = int(np.argmax(size_mm >= largest))
        text = f"a size of {as_given(size_mm[place])} mm reaches through the specimen, {as_given(largest)} mm"
        raise InputError(text, "size_mm", place)


class Intensities(NamedTuple):
    """At each size: range and maximum [MPa√mm], what the family says, its sources and tables."""

    delta_k_mpa_sqrt_mm: FloatArray
    k_max_mpa_sqrt_mm: FloatArray
    findings: tuple[Finding, ...]
    sources: tuple[str, ...]
    tables: tuple[str, ...]


def intensities_at(specimen: GrowthSpecimen, size_mm: FloatArray, factor: FloatArray) -> Intensities:
    """Range of stress intensity over a cycle: all of it from load ratio 0 on, below it the part above zero.

    Raises : InputError for parameters that the family has not, sizes that it does not hold, a closed crack
    Source : of the family, [astm-e647]
    """
    known = family(specimen.family)
    try:
        found = known.intensity(size_mm, **specimen.parameters)
    except FatcoreError as error:
        own = error.path[:1] == (known.size,)
        error.path = ("size_mm",) if own else ("specimen", "parameters", *error.path)
        raise
    top = np.asarray(found.k_mpa_sqrt_mm * factor)
    if (top <= 0.0).any():
        text = "the crack is closed at the top of the cycle: give loads that open it"
        raise InputError(text, "specimen", "parameters")
    span = top * (1.0 - max(specimen.load_ratio, 0.0))
    told = list(found.findings)
    if specimen.load_ratio < 0.0:
        text = (
            "load ratio below 0: the range is the part above zero load, as the standard has it;"
            " a law that is used with the whole range needs other constants"
        )
        told.append(caution("range-above-zero", text, field="load_ratio", source="astm-e647"))
    return Intensities(span, top, tuple(told), (*found.sources, "astm-e647"), found.tables)


def validity_findings(
    specimen: GrowthSpecimen, size_mm: FloatArray, rate_size_mm: FloatArray, k_max: FloatArray, factor: FloatArray
) -> list[Finding]:
    """What the standard asks of readings and of the ligament.

    k_max, factor : stress intensity at the top of the cycle and factor on the loads at each rate
    """
    width = specimen.parameters.get("width_mm")
    found = []
    if width is None or specimen.family not in _INCREMENTS:
        text = f"the standard has no rule of increments and ligament for {specimen.family}: judge them yourself"
        found.append(note("validity-not-checked", text, field="family", source="astm-e647"))
    else:
        found += _increments(specimen.family, size_mm, float(width))
    if float(np.diff(size_mm).min()) < 0.0:
        text = (
            f"{int((np.diff(size_mm) < 0.0).sum())} reading(s) are smaller than the one before:"
            " scatter of the measurement is in the rates"
        )
        found.append(caution("crack-shrinks", text, field="size_mm", source="astm-e647"))
    return [*found, *_ligament(specimen, rate_size_mm, k_max, factor)]


def _increments(name: str, size_mm: FloatArray, width_mm: float) -> list[Finding]:
    step, share = np.diff(size_mm), 0.5 * (size_mm[1:] + size_mm[:-1]) / width_mm
    bounds = _INCREMENTS[name]
    allowed = np.full(share.shape, bounds[-1][1])
    for limit, part in reversed(bounds):
        allowed[share < limit] = part
    wide = step > allowed * width_mm * (1.0 + 1e-9)
    found = []
    if wide.any():
        worst = int(np.argmax(np.where(wide, step / allowed, 0.0)))
        text = (
            f"{int(wide.sum())} step(s) between readings are larger than the standard allows, reading"
            f" {worst} to {worst + 1}: {figure(step[worst])} mm against {figure(allowed[worst] * width_mm)}"
            " mm"
        )
        found.append(outside("increment-too-large", text, field="size_mm", source="astm-e647"))
    small = step < _LEAST_INCREMENT_MM
    if small.any():
        text = (
            f"{int(small.sum())} step(s) between readings are below {as_given(_LEAST_INCREMENT_MM)} mm:"
            " they must be ten times the precision of the measurement"
        )
        found.append(caution("increment-small", text, field="size_mm", source="astm-e647"))
    return found


def _ligament(specimen: GrowthSpecimen, size_mm: FloatArray, k_max: FloatArray, factor: FloatArray) -> list[Finding]:
    width = specimen.parameters.get("width_mm")
    if specimen.yield_strength_mpa is None or width is None:
        text = "without yield strength and width nothing says whether the ligament stayed elastic"
        return [caution("ligament-not-checked", text, field="yield_strength_mpa", source="astm-e647")]
    if specimen.family == "specimen-middle":
        force, thickness = specimen.parameters["force_n"], specimen.parameters["thickness_mm"]
        needed = _MIDDLE * factor * float(force) / (float(thickness) * specimen.yield_strength_mpa)
        left = float(width) - 2.0 * size_mm
    else:
        needed = _LIGAMENT * np.square(k_max / specimen.yield_strength_mpa)
        left = float(width) - size_mm
    short = left < needed
    if not short.any():
        return []
    text = (
        f"at {int(short.sum())} rate(s) from size {figure(size_mm[short].min())} mm on the ligament"
        " is shorter than the standard asks for elastic behaviour"
    )
    return [outside("ligament-too-short", text, field="size_mm", source="astm-e647")]

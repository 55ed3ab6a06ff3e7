"""The quantities that may be given in other units, the endings of their names, and the factors between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from fatcore.quantities import SUFFIX_UNITS

EXTRA = "units need the extra: pip install 'toeline[units]'"


class UnitsMissingError(Exception):
    """The package that knows the units is not installed."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A quantity by the ending of its names here, and other endings with the unit that each means.

    core : unit here; others: ending without its underscore -> unit, in the words of the library
    """

    name: str
    ending: str
    core: str
    others: Mapping[str, str]


_LENGTH = {"in": "inch", "ft": "foot", "cm": "centimeter", "m": "meter", "um": "micrometer"}
_STRESS = {
    "ksi": "kip / inch**2",
    "psi": "pound_force / inch**2",
    "pa": "pascal",
    "kpa": "kilopascal",
    "gpa": "gigapascal",
}
KINDS = {
    each.name: each
    for each in (
        Kind("length", "_mm", "millimeter", _LENGTH),
        Kind("stress", "_mpa", "megapascal", _STRESS),
        Kind(
            "stress_intensity",
            "_mpa_sqrt_mm",
            "megapascal * millimeter**0.5",
            {"mpa_sqrt_m": "megapascal * meter**0.5", "ksi_sqrt_in": "kip / inch**2 * inch**0.5"},
        ),
        Kind(
            "growth_rate",
            "_mm_per_cycle",
            "millimeter",
            {"m_per_cycle": "meter", "in_per_cycle": "inch"},
        ),
        Kind(
            "stiffness",
            "_n_per_mm",
            "newton / millimeter",
            {"kn_per_mm": "kilonewton / millimeter", "n_per_m": "newton / meter", "lbf_per_in": "pound_force / inch",
             "kip_per_in": "kip / inch"},
        ),
        Kind(
            "moment",
            "_nmm",
            "newton * millimeter",
            {"nm": "newton * meter", "knm": "kilonewton * meter", "lbf_in": "pound_force * inch",
             "kip_in": "kip * inch"},
        ),
        Kind("compliance", "_mm_per_n", "millimeter / newton",
             {"mm_per_kn": "millimeter / kilonewton", "in_per_lbf": "inch / pound_force", "in_per_kip": "inch / kip"}),
        Kind("force", "_n", "newton", {"kn": "kilonewton", "lbf": "pound_force", "kip": "kip"}),
        Kind("stress_density", "_mpa2_per_hz", "megapascal**2 / hertz",
             {"ksi2_per_hz": "(kip / inch**2)**2 / hertz"}),
        Kind("temperature", "_celsius", "degC", {"fahrenheit": "degF", "kelvin": "kelvin"}),
        Kind("per_temperature", "_per_k", "1 / delta_degC", {"per_fahrenheit": "1 / delta_degF"}),
        Kind("angle", "_deg", "degree", {"rad": "radian"}),
        Kind("time", "_s", "second", {"min": "minute", "h": "hour"}),
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Unit:
    """Another unit of a kind: value here = offset + factor times the value in it.

    Decimal figures, so that 0.3 in is 7.62 mm in every digit, and the digest of a request is that of the same in mm.
    """

    kind: Kind
    ending: str
    offset: Decimal
    factor: Decimal

    def to_core(self, value: float) -> float:
        """The value in the unit of the calculation."""
        return float(self.offset + self.factor * Decimal(repr(value)))

    def from_core(self, value: float) -> float:
        """The value in this unit."""
        return float((Decimal(repr(value)) - self.offset) / self.factor)


def kind_of(name: str) -> Kind | None:
    """The quantity of a name by its ending; None for what has no other units here."""
    ending = next((ending for ending in SUFFIX_UNITS if name.endswith(ending)), None)
    return next((kind for kind in KINDS.values() if kind.ending == ending), None)


def meanings(name: str) -> list[tuple[str, Kind, str]]:
    """What a name with an ending of another unit may stand for: the name here, its kind, and the ending."""
    found = []
    for kind in KINDS.values():
        for ending in kind.others:
            core = name.removesuffix(f"_{ending}") + kind.ending
            if name.endswith(f"_{ending}") and kind_of(core) is kind:
                found.append((core, kind, ending))
    return found


@cache
def unit_of(kind: str, ending: str) -> Unit:
    """The unit of a kind by its ending; UnitsMissingError without the package that knows its factor."""
    found = KINDS[kind]
    origin, one = (_registry().Quantity(Decimal(n), found.others[ending]).to(found.core).magnitude for n in (0, 1))
    return Unit(found, ending, origin, one - origin)


@cache
def _registry() -> Any:
    try:
        from pint import UnitRegistry
    except ImportError as error:
        raise UnitsMissingError(EXTRA) from error
    return UnitRegistry(non_int_type=Decimal)

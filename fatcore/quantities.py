"""Glossary: every public name of the core and every JSON key, with its meaning and unit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fatcore import _resources
from fatcore.errors import UnknownError

# longest first: the first suffix that fits decides
SUFFIX_UNITS: dict[str, str] = {
    "_mm_per_cycle": "mm/cycle",
    "_log10_cycles": "-",
    "_mpa_sqrt_mm": "MPa√mm",
    "_mpa_mm_lambda": "MPa*mm^(1-lambda)",
    "_mpa2_per_hz": "MPa^2/Hz",
    "_mpa_per_mm": "MPa/mm",
    "_mm_per_n": "mm/N",
    "_n_per_mm": "N/mm",
    "_mm_per_m": "mm/m",
    "_nmm": "N*mm",
    "_per_s": "1/s",
    "_per_k": "1/K",
    "_mj_m3": "MJ/m³",
    "_mm2": "mm^2",
    "_mpa": "MPa",
    "_deg": "deg",
    "_cycles": "cycles",
    "_celsius": "deg C",
    "_hz": "Hz",
    "_pct": "%",
    "_mm": "mm",
    "_kn": "kN",
    "_n": "N",
    "_s": "s",
    "_v": "V",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One name of the glossary: what it means and its unit ('-' is dimensionless, '' is not a number)."""

    name: str
    meaning: str
    unit: str

    def described(self) -> str:
        """Meaning and unit in one line."""
        return f"{self.meaning} [{self.unit}]" if self.unit not in ("", "-") else self.meaning


def unit_of_name(name: str) -> str | None:
    """The unit that the ending of a name announces, None when it announces none.

    >>> unit_of_name("delta_k_mpa_sqrt_mm")
    'MPa√mm'
    """
    return next((unit for suffix, unit in SUFFIX_UNITS.items() if name.endswith(suffix)), None)


@cache
def all_quantities() -> dict[str, Quantity]:
    """The glossary by name, from data/quantities/<topic>.toml (name = ["meaning", "unit"])."""
    glossary: dict[str, Quantity] = {}
    for file in _resources.names("quantities"):
        for name, (meaning, unit) in _resources.read_toml(file).items():
            if name in glossary:
                raise RuntimeError(f"{file}: {name!r} is explained twice")
            glossary[name] = Quantity(name=name, meaning=meaning, unit=unit)
    return glossary


def quantity(name: str) -> Quantity:
    """The glossary entry of a name; UnknownError when there is none."""
    glossary = all_quantities()
    if name not in glossary:
        raise UnknownError("quantity", name, glossary)
    return glossary[name]

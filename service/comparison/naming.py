"""Names of inputs and answers in words, with their units."""

from __future__ import annotations

from fatcore.quantities import SUFFIX_UNITS


def named(name: str) -> tuple[str, str]:
    """A name in words, and its unit.

    >>> named("half_length_mm")
    ('half length', 'mm')
    """
    suffix = next((ending for ending in SUFFIX_UNITS if name.endswith(ending)), "")
    return name.removesuffix(suffix).replace("_", " "), SUFFIX_UNITS.get(suffix, "")

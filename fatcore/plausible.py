"""Figures that look like another unit: every calculation that takes one says so from here."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution

# pure aluminium bears about 50, the hardest steels 2000 MPa [own choice]
YIELD_MPA = (50.0, 2000.0)
_MODULUS_MPA = (4.0e4, 4.5e5)  # from magnesium to tungsten [common practice]
_LEAST_LENGTH_MM = 0.5  # of a wall or an attachment; thinner ones are not welded [own choice]
# a sixth of the least threshold of welded steel, 63: 1 MPa√m is 31.6 MPa√mm [own choice]
_LEAST_INTENSITY = 10.0
_LARGEST_TOUGHNESS = 1.0e5  # MPa√mm; the toughest steels have about 15,000 [own choice]


def length_doubts(length_mm: ArrayLike | None, name: str) -> tuple[Finding, ...]:
    """A caution where a wall, or an attachment on it, is as small as a number in metres [mm]."""
    least = float(np.min([] if length_mm is None else length_mm, initial=np.inf))
    if least >= _LEAST_LENGTH_MM:
        return ()
    text = f"a {name} of {as_given(least)} mm is less than that of any welded part, as if it stood in metres"
    return (caution("length-small", text, field=name),)


def intensity_doubts(k_mpa_sqrt_mm: ArrayLike, what: str, name: str) -> tuple[Finding, ...]:
    """A caution where the largest K is so small that it looks like another unit [MPa√mm].

    what : of the K, in words; name: of the input
    """
    largest = float(np.max(k_mpa_sqrt_mm, initial=0.0))
    if not 0.0 < largest < _LEAST_INTENSITY:
        return ()
    text = (
        f"the largest {what} is {figure(largest)} MPa√mm, as if it stood in another unit (1 MPa√m is"
        " 31.6 MPa√mm, 1 GPa is 1000 MPa)"
    )
    return (caution("intensity-small", text, field=name),)


def toughness_doubts(toughness_mpa_sqrt_mm: float | None, name: str = "toughness_mpa_sqrt_mm") -> tuple[Finding, ...]:
    """A caution where a toughness is beyond that of any metal; None says nothing [MPa√mm]."""
    if toughness_mpa_sqrt_mm is None or toughness_mpa_sqrt_mm <= _LARGEST_TOUGHNESS:
        return ()
    text = (
        f"a toughness of {as_given(toughness_mpa_sqrt_mm)} MPa√mm is beyond that of any metal (up to"
        f" {as_given(_LARGEST_TOUGHNESS)}): check the unit (1 MPa√m is 31.6 MPa√mm)"
    )
    return (caution("toughness-implausible", text, field=name),)


def yield_doubts(yield_strength_mpa: float | None) -> tuple[Finding, ...]:
    """A caution where a yield strength is not that of a metal that is welded; None says nothing [MPa]."""
    return _doubts("yield strength", "yield-strength-implausible", "yield_strength_mpa", yield_strength_mpa, YIELD_MPA)


def modulus_doubts(youngs_modulus_mpa: ArrayLike, name: str = "youngs_modulus_mpa") -> tuple[Finding, ...]:
    """A caution where a Young's modulus is not that of a metal [MPa]; name: of the input."""
    return _doubts("Young's modulus", "modulus-implausible", name, youngs_modulus_mpa, _MODULUS_MPA)


def _doubts(what: str, code: str, name: str, given: ArrayLike | None, span: tuple[float, float]) -> tuple[Finding, ...]:
    values = np.atleast_1d(np.asarray([] if given is None else given, dtype=np.float64))
    off = values[(values < span[0]) | (values > span[1])]
    if off.size == 0:
        return ()
    text = (
        f"a {what} of {as_given(off[0])} MPa is not that of a metal ({as_given(span[0])} to "
        f"{as_given(span[1])} MPa): check the unit"
    )
    return (caution(code, text, field=name),)

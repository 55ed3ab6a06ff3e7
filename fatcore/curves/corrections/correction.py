"""A correction: a factor on the strength of a curve that reports itself, and how several are put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, reduce
from typing import Annotated

import numpy as np
from annotated_types import Len
from numpy.typing import ArrayLike

from fatcore.bounds import PositiveColumn, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.segments import common_shape, not_negative
from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.findings import caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray

_LARGEST = 1e100  # products beyond it, or under its inverse, are no strengths


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Correction(Outcome):
    """A factor on every permissible range; knees keep their lives, so it may as well divide the ranges.

    name            : what it corrects for
    strength_factor : one number, or one for each cycle or point; above 1 is stronger
    bonus           : one of the rules that count less of a cycle for its mean stress
    range_mpa       : range of the cycles that the factor was found for, None where it does not matter [MPa]
    reason          : of a factor of the user's own, in the user's words; None for those of documents
    """

    name: str
    strength_factor: FloatArray
    bonus: bool = False
    range_mpa: FloatArray | None = None
    reason: str | None = None

    @classmethod
    def reported(
        cls,
        name: str,
        code: str,
        strength_factor: FloatArray,
        message: str,
        *,
        source: str,
        table: str,
        field: str,
        bonus: bool = False,
        doubtful: bool = False,
        range_mpa: FloatArray | None = None,
    ) -> Correction:
        """A correction of a document with one finding that states its factor or the span of its factors: a
        note, or a caution `<code>-doubtful` where it makes something stronger or `doubtful` says so."""
        text = f"{name}: strengths times {show_correction(strength_factor)}; {message}"
        if doubtful or (strength_factor > 1.0).any():
            finding = caution(f"{code}-doubtful", text, field=field, source=source)
        else:
            finding = note(code, text, field=field, source=source)
        return cls(
            name=name,
            strength_factor=strength_factor,
            bonus=bonus,
            range_mpa=range_mpa,
            **evidence(findings=[finding], sources=[source], tables=[table]),
        )

    def on_curve(self, curve: Curve) -> Curve:
        """The corrected curve; InputError when the factor differs from cycle to cycle (use `on_ranges`)."""
        if self.strength_factor.size != 1:
            raise InputError(f"the {self.name} correction is one for each range: it does not move a curve")
        try:
            return curve.scaled(float(self.strength_factor.reshape(-1)[0]))
        except InputError as error:
            raise InputError("this takes the curve beyond the range of numbers", "corrections") from error

    def on_ranges(self, range_mpa: ArrayLike) -> FloatArray:
        """The ranges with which the uncorrected curve gives the same life [MPa]."""
        ranges = not_negative("range_mpa", range_mpa)
        common_shape(range_mpa=ranges, strength_factor=self.strength_factor)
        return np.asarray(ranges / self.strength_factor)


def combine_corrections(*corrections: Correction) -> Correction:
    """The product of corrections, with the findings of all of them; without any, the factor is 1.

    Raises : InputError when the product vanishes or is not finite
    """
    return _product(corrections) if corrections else _none()


@cache
def _none() -> Correction:
    found = _product(())
    found.strength_factor.flags.writeable = False  # everybody gets this one
    return found


def _product(corrections: Sequence[Correction]) -> Correction:
    common_shape(**{f"correction {i}": each.strength_factor for i, each in enumerate(corrections, 1)})
    with np.errstate(over="ignore", under="ignore"):
        product = reduce(np.multiply, (c.strength_factor for c in corrections), np.array(1.0))
    if not ((product > 1.0 / _LARGEST) & (product < _LARGEST)).all():
        raise InputError("the product of the corrections is beyond the range of numbers", "corrections")
    return Correction(
        name=" and ".join(correction.name for correction in corrections) or "no",
        strength_factor=np.asarray(product),
        **evidence(*corrections),
    )


@guarded
def own_factor(
    name: Annotated[str, Len(1, 100)], strength_factor: PositiveColumn, *, reason: Annotated[str, Len(1, 300)]
) -> Correction:
    """A factor that the user brings for what no table here covers: temperature, environment, treatment.

    name            : what it corrects for
    strength_factor : on the permissible ranges; a factor on loads enters as its inverse
    reason          : where it comes from, in the user's words
    Raises          : InputError for a reason without words
    """
    factor = np.asarray(strength_factor, dtype=np.float64)
    if not reason.strip():
        raise InputError("a factor of your own needs its reason", "reason")
    message = f"{name}: strengths times {show_correction(factor)}, given by the user ({reason.strip()}); not checked"
    return Correction(
        name=name,
        strength_factor=factor,
        reason=reason,
        **evidence(
            findings=[caution("own-factor", message, field="strength_factor", source="own-factor")],
            sources=["own-factor"],
        ),
    )


def show_correction(factor: FloatArray) -> str:
    """One figure, or the span of several, for a message."""
    if factor.size == 0:
        return "nothing"
    low, high = float(factor.min()), float(factor.max())
    return figure(low) if low == high else f"{figure(low)} to {figure(high)}"

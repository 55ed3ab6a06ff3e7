"""One resistance for every calculation: a curve at its survival, its corrections, and all a user must know.

Whoever takes a curve from here gives the same notes and doubts about it, whatever is calculated with it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from fatcore.bounds import Positive, guarded
from fatcore.curves.corrections.correction import Correction, combine_corrections, show_correction
from fatcore.curves.corrections.survival import LEAST_SCATTER, MovedTo, SampleSize, at_survival
from fatcore.curves.corrections.together import guard_together, one_reason
from fatcore.curves.curve import Curve, LoadQuantity
from fatcore.curves.not_applied import not_applied
from fatcore.curves.relief import (
    LEAST_SURVIVAL,
    OWN_SURVIVAL,
    SURVIVAL,
    Choice,
    own_factor_findings,
)
from fatcore.curves.standards import catalogue
from fatcore.curves.standards.documents import all_documents
from fatcore.errors import InputError, NotCoveredError, at
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray

_DESIGN_SURVIVAL = 0.95  # the lowest of the design curves here [en-1993-1-9-2005]; below it is no design line
_MEAN_LINE = 0.5  # survival of a curve that states none, at worst
_LEAST_ENVIRONMENT = "air"  # curves for it move to a harsher environment, those for another one stay there
_ROUNDING = 1e-9  # relative
_SAME_RANGE = 0.005  # relative: what rounding of printed stresses may leave between range and extremes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveResistance(Outcome):
    """A curve ready for use.

    given      : as its source gives it; curve: at the survival probability asked for
    sample_size: tests behind a curve of the user's own that was moved
    corrections: as they were given; correction: their product, one factor or one for each cycle
    """

    given: Curve
    curve: Curve
    sample_size: int | None
    corrections: tuple[Correction, ...]
    correction: Correction

    @property
    def corrected(self) -> Curve:
        """The curve with its corrections besides the bonuses, which count less of each cycle instead."""
        return combine_corrections(*(each for each in self.corrections if not each.bonus)).on_curve(self.curve)

    @property
    def design(self) -> Curve:
        """The curve that a verdict is measured by: as it is used, but no milder than its source has it.

        Survival and scatter of a curve of the user's own are figures of the user: below the design survival it is
        moved there, with no less scatter than welds show; one that states none may be a mean line.
        """
        given = self.given
        weaker = min(self.curve, given, key=lambda each: each.log10_constants[0])
        share = weaker.survival_probability
        if given.table is not None or (share is not None and share >= _DESIGN_SURVIVAL):
            return weaker
        if share is None:
            given = replace(given, survival_probability=_MEAN_LINE)
        elif given.sd_log10_cycles is None:  # nothing to move it by: `OWN_SURVIVAL` leaves a pass undecided
            return weaker
        shown = replace(given, sd_log10_cycles=max(given.scatter(), LEAST_SCATTER))
        with at("curve"):
            return at_survival(shown, _DESIGN_SURVIVAL, sample_size=self.sample_size).curve

    @property
    def unrelieved(self) -> Curve:
        """`corrected` with nothing of the caller's choice that strengthens: the design curve, with factors of the
        user's own only where they weaken."""
        factor = math.prod(
            float(np.max(each.strength_factor if each.reason is None else np.minimum(each.strength_factor, 1.0)))
            for each in self.corrections
            if not each.bonus
        )
        return self.design.scaled(factor)

    @property
    def milder_choices(self) -> tuple[Choice, ...]:
        """What `unrelieved` leaves out, and the bonuses, which reduce ranges."""
        share = self.curve.survival_probability
        words = f"survival_probability {share}" if share is not None else "a curve that may be a mean line"
        moved = Choice("survival_probability", words)
        return (
            *([moved] if self._lowered else []),
            *(
                Choice("corrections", f"{each.name} {show_correction(each.strength_factor)}")
                for each in self.corrections
                if (each.bonus or each.reason is not None) and (each.strength_factor > 1.0).any()
            ),
        )

    @property
    def _lowered(self) -> bool:
        """Whether the survival of the curve is a milder one than that of the design curve."""
        return self.curve.log10_constants[0] > self.design.log10_constants[0] + _ROUNDING

    def counted_mpa(self, range_mpa: ArrayLike) -> FloatArray:
        """What counts of each range on `corrected` [MPa]: all of it but for the bonuses.

        Raises : InputError for a bonus that was found for cycles of another range
        """
        ranges = np.asarray(range_mpa, dtype=np.float64)
        self.guard_ranges(ranges)
        return combine_corrections(*(each for each in self.corrections if each.bonus)).on_ranges(ranges)

    def guard_ranges(self, range_mpa: FloatArray) -> None:
        """InputError when a correction was found for cycles of another range than these."""
        for index, correction in enumerate(self.corrections):
            if correction.range_mpa is None:
                continue
            full, given = np.broadcast_arrays(correction.range_mpa, range_mpa)
            off = np.abs(full - given) > _SAME_RANGE * given
            if off.any():
                text = (
                    f"the range is {as_given(given[off][0])} MPa, but maximum less minimum {as_given(full[off][0])} MPa"
                )
                raise InputError(text, "corrections", index)


@guarded
def make_resistance(
    curve: Curve,
    *,
    survival_probability: MovedTo = None,
    sample_size: SampleSize = None,
    corrections: Sequence[Correction] = (),
    range_count: int = 1,
    resistance_factor: Positive = 1.0,
    quantity: LoadQuantity | None = "stress range",
) -> CurveResistance:
    """A curve at a survival probability with corrections, and every finding that goes with it.

    corrections       : one factor each, or one for each of `range_count` ranges; each kind once, one bonus
                        for mean stress
    resistance_factor : that the caller divides strengths by besides; reported where the document asks for one
    quantity          : that the caller puts on the curve; None where the caller asks the curve for it
    Raises            : InputError for corrections given twice, a sample size without probability,
                        NotCoveredError for a curve of another quantity, for corrections of an energy
                        curve, and for a probability that a curve without one is to be moved to
    """
    if quantity is not None:
        curve.guard_quantity(quantity, "curve")
    if survival_probability is None and sample_size is not None:
        raise InputError("a sample size serves to move the survival probability only", "sample_size")
    guard_together(curve, corrections, range_count)
    if corrections or curve.table is None:
        return _made(curve, survival_probability, sample_size, tuple(corrections), resistance_factor)
    return _plain_line(curve, survival_probability, sample_size, resistance_factor)


@lru_cache(maxsize=256)
def _plain_line(
    curve: Curve, survival_probability: float | None, sample_size: int | None, resistance_factor: float
) -> CurveResistance:
    """Of a curve of the catalogue as it stands there: asked for again and again."""
    return _made(curve, survival_probability, sample_size, (), resistance_factor)


def _made(
    curve: Curve,
    survival_probability: float | None,
    sample_size: int | None,
    corrections: tuple[Correction, ...],
    resistance_factor: float,
) -> CurveResistance:
    moved = curve
    survival: Outcome = Outcome(findings=(_as_given(curve),))
    if survival_probability is not None:
        found = at_survival(curve, survival_probability, sample_size=sample_size)
        moved = found.curve
        survival = found if moved is not curve else survival
    product = combine_corrections(*corrections)
    return CurveResistance(
        given=curve,
        curve=moved,
        sample_size=sample_size,
        corrections=corrections,
        correction=product,
        **evidence(
            Outcome(findings=(*catalogue.remarks(curve), *_holds_for(curve))),
            survival,
            product,
            findings=[
                *_weak_survival(moved),
                *one_reason(corrections),
                *own_factor_findings(corrections),
                *mixed_findings(curve, product),
                *not_applied(curve, corrections, resistance_factor),
            ],
            sources=[curve.source],
            tables=[curve.table] if curve.table else [],
        ),
    )


def in_environment(curve: Curve, environment: str | None) -> Curve:
    """The same class in another environment; None leaves the curve.

    Raises : NotCoveredError for a curve of the user's own, and where the document has no such line,
             InputError for a curve that was found in another environment than air
    """
    if environment is None:
        return curve
    if curve.table is None:
        raise NotCoveredError("a curve of your own has no lines for other environments", "environment")
    here = catalogue.describe_curve(curve.id).environment
    if here not in (_LEAST_ENVIRONMENT, environment):
        text = f"{curve.id} holds for {here}, the environment asked for is {environment}: name the curve of that one"
        raise InputError(text, "environment")
    with at("environment"):
        there = catalogue.in_environment(curve.id, environment)
    return catalogue.find_curve(there, loading="constant" if curve.loading == "constant" else "variable")


def _as_given(curve: Curve) -> Finding:
    if curve.survival_probability is None:
        text = f"{curve.id} is taken as given and states no survival probability: it may be a mean line"
        return caution("survival-unknown", text, field="survival_probability", source=curve.source)
    definition = curve.survival_definition or "as its source states it"
    exact = "" if curve.tested is None else curve.tested.share_words(curve.survival_probability)
    text = f"{curve.id} is taken as given: survival {as_given(curve.survival_probability)} ({definition}){exact}"
    return note("survival-as-given", text, field="survival_probability", source=curve.source)


def _weak_survival(curve: Curve) -> list[Finding]:
    share = curve.survival_probability
    if share is None or share >= _DESIGN_SURVIVAL:
        return []
    what = "mean line" if abs(share - 0.5) < 1e-6 else "line"
    text = f"{what} of survival {as_given(share)}: of 100 joints about {figure(100.0 * (1.0 - share))} fail earlier"
    text += "; no design line"
    if share < LEAST_SURVIVAL:
        return [outside(SURVIVAL, f"{curve.id}: {text}", field="survival_probability")]
    if curve.table is None and curve.sd_log10_cycles is None:
        text += (
            f", and without its scatter, sd_log10_cycles, not measured by one of survival {as_given(_DESIGN_SURVIVAL)}"
        )
        return [outside(OWN_SURVIVAL, f"{curve.id}: {text}", field="survival_probability")]
    return [caution("survival-below-design", f"{curve.id}: {text}", field="survival_probability")]


def _holds_for(curve: Curve) -> list[Finding]:
    """For which stress, material and surroundings the figures were found; the caller cannot know it all."""
    if curve.table is None:
        return []
    where = catalogue.describe_curve(curve.id).environment
    stress = curve.stress_kind if curve.quantity != "stress range" else f"{curve.stress_kind} stress"
    ratio = catalogue.biaxiality_of(curve.id)
    stress += f" of {ratio}" if ratio else ""
    text = f"{curve.id} holds for {stress}, {curve.material}, {where}: the ranges must be of that kind"
    return [note("curve-holds-for", text, field="curve", source=curve.source)]


def mixed_findings(curve: Curve, correction: Correction) -> list[Finding]:
    """A caution for each document of a correction that is not the one of the curve."""
    others = [key for key in correction.sources if key in all_documents() and key != curve.source]
    text = f"a correction of {{}} is applied to {curve.id}, a curve of another source"
    return [caution("documents-mixed", text.format(key), source=key) for key in others]

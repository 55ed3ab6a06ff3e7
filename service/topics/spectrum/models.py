"""Request and answer models of the topic spectrum."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fatcore.bounds import NonNegative, Number, Positive
from fatcore.check.verdict import Verdict
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.counting.levels import PeakCount
from fatcore.spectrum.counting.matrix import FirstSlope
from fatcore.spectrum.damage import shapes
from fatcore.spectrum.damage.below_knee import BelowKnee
from fatcore.spectrum.damage.long_term import LongTerm, long_term_damage
from fatcore.spectrum.damage.mean_correction import MeanStressChoice
from fatcore.spectrum.multiaxial.definitions import DefinitionComparison
from fatcore.spectrum.multiaxial.modes import Definition
from fatcore.spectrum.random import methods
from fatcore.spectrum.random.damage import RandomDamage, random_damage
from fatcore.spectrum.random.density import Bandwidth

from ...base.common import MAX_POINTS, Strict
from ...base.derive import Derived, answer_of, request_of
from ...base.document import Titled
from ...base.samples import Samples
from ..curves.models import LoadingRequest
from ..curves.resistance import DamageLimitChoice, ResistanceChoice, YieldStrength
from ..described import Descriptions
from ..one_repeat import OneRepeat, ServiceLife

Edges = Annotated[list[Number], Field(min_length=2, max_length=1001)]
Points = Annotated[list[NonNegative], Field(min_length=2, max_length=100_000)]
Word = Annotated[str, StringConstraints(min_length=1, max_length=100)]


class CyclesRequest(Strict):
    """A history to be counted."""

    # by hand: one history for several counts, each of them a function of its own in the core
    history_mpa: Samples
    rule: Literal["rainflow", "four-point", "range-pair", "simple-range"] = "rainflow"
    residue: Residue = "closed"
    hysteresis_threshold_mpa: NonNegative = 0.0
    list_cycles: bool = Field(default=True, description="list every cycle; without, classes only")
    classes: Annotated[int, Field(ge=1, le=1000)] = Field(
        default=64, description="at most so many classes of range, each 1, 2 or 5 times a power of ten wide"
    )
    range_edges_mpa: Edges | None = Field(default=None, description="edges of the classes of range instead")
    mean_edges_mpa: Edges | None = Field(default=None, description="edges of mean: a range-mean matrix")
    slope: FirstSlope = Field(default=3.0, description="slope for the estimated error of the classes")
    levels_mpa: Edges | None = None
    list_peaks: bool = Field(default=False, description="list peaks above and valleys below the reference")
    reference_mpa: Number = Field(default=0.0, description="level above which upward crossings and peaks count [MPa]")
    unit_stated: bool = True


class ClassTable(Strict):
    """Counts by class of range; a class holds its upper edge, which is the range that stands for it."""

    range_edges_mpa: list[float]
    range_mpa: list[float]
    count: list[float]
    cumulative_count: list[float]
    classing_error: float
    mean_edges_mpa: list[float] | None
    matrix: list[list[float]] | None


@answer_of(PeakCount)
class PeakTable(Strict):
    """Peaks above the reference, valleys below it, ranges of largest peak with lowest valley and so on."""


class CyclesAnswer(Strict):
    """Counted cycles in the order in which they close."""

    total_count: float
    largest_range_mpa: float
    range_mpa: list[float]
    mean_mpa: list[float]
    count: list[float]
    start_index: list[int]
    end_index: list[int]
    closing_index: list[int]
    residue_mpa: list[float]
    open_range_count: int
    classes: ClassTable
    crossings: list[float] | None
    peaks: PeakTable | None


class DamageRequest(ResistanceChoice, DamageLimitChoice, Titled):
    """A spectrum and a curve. Give one of history_mpa, modes_mpa with weights, range_mpa with count."""

    # by hand: which functions of the core take the fields depends on which loading is given
    history_mpa: Samples | None = None
    modes_mpa: Annotated[dict[Word, Samples], Field(min_length=1, max_length=10)] | None = None
    weights: dict[Word, Number] | None = Field(default=None, description="factor of each mode in the equivalent stress")
    range_mpa: Annotated[list[Positive], Field(min_length=1, max_length=MAX_POINTS)] | None = Field(
        default=None, description="stress range of each block [MPa]"
    )
    count: Annotated[list[NonNegative], Field(min_length=1, max_length=MAX_POINTS)] | None = Field(
        default=None, description="cycles of each block"
    )
    loading: LoadingRequest = Field(
        default="variable", description="constant: the curve for one single range, refused for several"
    )
    residue: Residue = "closed"
    hysteresis_threshold_mpa: NonNegative = 0.0
    definition: Definition = "governing"
    below_knee: BelowKnee = "as-curve"
    mean_stress: MeanStressChoice = Field(
        default="none",
        description="correction of history_mpa cycle by cycle; none counts every range in full",
    )
    yield_strength_mpa: YieldStrength = None
    repeats: Positive = Field(default=1.0, description="repeats of the spectrum")
    one_repeat: OneRepeat | None = Field(default=None, description="what one repeat of the spectrum is in service")
    descriptions: Descriptions | None = Field(default=None, description="names and descriptions for a reader")
    reference_cycles: Positive | None = Field(
        default=None, description="cycles of the equivalent range; null takes those of the repeats"
    )
    range_edges_mpa: Edges | None = Field(default=None, description="edges for the share by class [MPa]")
    list_cycles: bool = Field(default=False, description="list every cycle with its share")
    unit_stated: bool = True


class ShareTable(Strict):
    """Share of each class of range in the damage."""

    range_edges_mpa: list[float]
    damage_share: list[float]


class CycleShares(Strict):
    """Every cycle or block with its share in the damage."""

    range_mpa: list[float]
    count: list[float]
    cycle_share: list[float]


@answer_of(DefinitionComparison, omit=("equivalent_range_mpa", "reference_cycles"))
class DefinitionTable(Strict):
    """Damage of one repeat by what counts as a cycle."""


class DamageAnswer(Strict):
    """Damage of all repeats; undecided where a validity limit is left, or where the choices of the count leave
    out what decides, else whether it keeps to the limit. A short life excuses no sum over the limit."""

    verdict: Verdict
    damage: float
    damage_of_pass: float
    damage_limit: float
    life_repeats: float | None
    service_life: ServiceLife | None
    equivalent_range_mpa: float
    reference_cycles: float
    largest_range_mpa: float
    total_count: float
    idle_count: float
    class_shares: ShareTable | None
    cycle_shares: CycleShares | None
    definitions: DefinitionTable | None
    descriptions: Descriptions | None


@request_of(random_damage, omit=("curve", "damage_limit"))
class RandomRequest(ResistanceChoice, DamageLimitChoice, Derived):
    """A one-sided spectral density of the stress, linear between its points."""

    frequency_hz: Points
    density_mpa2_per_hz: Points
    loading: Literal["variable"] = "variable"
    levels_mpa: Edges | None = Field(default=None, description="levels for expected crossings [MPa]")
    yield_strength_mpa: YieldStrength = None


@answer_of(Bandwidth)
class BandwidthAnswer(Strict):
    """Moments, rates and bandwidth."""


@answer_of(methods.ByMethod)
class ByMethod(Strict):
    """One number for each method; null where it is not defined."""


@answer_of(RandomDamage, omit=("duration_s",))
class RandomAnswer(Strict):
    """Damage of random stress; its largest range is the one expected in the duration.

    Undecided where the methods do not agree, a validity limit is left, or the choices of the caller decide."""

    verdict: Verdict


@request_of(long_term_damage, omit=("curve", "damage_limit"))
class LongTermRequest(ResistanceChoice, DamageLimitChoice, Derived):
    """Weibull distributed ranges, given by the one exceeded once in the reference cycles."""

    yield_strength_mpa: YieldStrength = None
    loading: Literal["variable"] = "variable"


@answer_of(LongTerm)
class LongTermAnswer(Strict):
    """Damage of the distribution, its range exceeded once in the cycles gone through, and the largest range
    it may have, exceeded once in the reference cycles.

    Undecided where a validity limit is left, or the choices of the caller decide."""

    verdict: Verdict


@request_of(shapes.step_spectrum)
class StepsRequest(Derived):
    """A standard cumulative spectrum."""


@answer_of(shapes.StepSpectrum)
class StepsAnswer(Strict):
    """The spectrum in eight steps, and its equivalent range over the largest one where a slope is given."""


@request_of(shapes.crane_class)
class CraneRequest(Derived):
    """Classes of a crane part."""


@answer_of(shapes.CraneClass)
class CraneAnswer(Strict):
    """Stress history parameter and class."""

"""Request and answer models of the topic spectrum."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fatcore.spectrum.damage.mean_correction import MeanStressChoice

from ...base.common import MAX_POINTS, NonNegative, Number, Positive, Strict
from ...base.samples import Samples
from ..curves.models import LoadingRequest
from ..curves.resistance import DamageLimitChoice, ResistanceChoice, YieldStrength

Edges = Annotated[list[Number], Field(min_length=2, max_length=1001)]
Word = Annotated[str, StringConstraints(min_length=1, max_length=100)]
ResidueChoice = Annotated[
    Literal["half", "closed"],
    Field(description="closed: it stands for a block that repeats, never less damage; half: it happens once"),
]
BelowKneeChoice = Annotated[
    Literal["as-curve", "original", "elementary", "reduced-slope"],
    Field(description="below the knee: the document's curve, no damage, first slope, or slope 2 m - 1"),
]
DefinitionChoice = Annotated[
    Literal["governing", "independent", "path"],
    Field(
        description="what counts as a cycle of several modes: the loops of the governing mode; every mode on "
        "its own, paired by rank and never below those loops; or the way between far points"
    ),
]
UnitStated = Annotated[
    bool, Field(description="false: the table names no unit, so that a note says it was taken as MPa")
]


class CyclesRequest(Strict):
    """A history to be counted."""

    history_mpa: Samples = Field(description="stress over time, equal or unequal steps [MPa]")
    rule: Literal["rainflow", "four-point", "range-pair", "simple-range"] = "rainflow"
    residue: ResidueChoice = "closed"
    hysteresis_threshold_mpa: NonNegative = Field(
        default=0.0, description="reversals smaller than this are left out [MPa]"
    )
    list_cycles: bool = Field(default=True, description="list every cycle; without, classes only")
    classes: Annotated[int, Field(ge=1, le=1000)] = Field(default=64, description="classes of range")
    range_edges_mpa: Edges | None = Field(default=None, description="edges of the classes of range instead")
    mean_edges_mpa: Edges | None = Field(default=None, description="edges of mean: a range-mean matrix")
    slope: Annotated[float, Field(ge=1.0, le=50.0)] = Field(
        default=3.0, description="slope for the estimated error of the classes"
    )
    levels_mpa: Edges | None = Field(default=None, description="levels whose crossings are counted [MPa]")
    list_peaks: bool = Field(default=False, description="list peaks above and valleys below the reference")
    reference_mpa: Number = Field(default=0.0, description="level above which upward crossings and peaks count [MPa]")
    unit_stated: UnitStated = True


class ClassTable(Strict):
    """Counts by class of range; a class holds its upper edge, which is the range that stands for it."""

    range_edges_mpa: list[float]
    range_mpa: list[float]
    count: list[float]
    cumulative_count: list[float]
    classing_error: float
    mean_edges_mpa: list[float] | None
    matrix: list[list[float]] | None


class PeakTable(Strict):
    """Peaks above the reference, valleys below it, ranges of largest peak with lowest valley and so on."""

    maxima_mpa: list[float]
    minima_mpa: list[float]
    range_mpa: list[float]


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
    classes: ClassTable
    crossings: list[float] | None
    peaks: PeakTable | None


class DamageRequest(ResistanceChoice, DamageLimitChoice):
    """A spectrum and a curve. Give one of history_mpa, modes_mpa with weights, range_mpa with count."""

    history_mpa: Samples | None = Field(default=None, description="stress over time [MPa]")
    modes_mpa: Annotated[dict[Word, Samples], Field(min_length=1, max_length=10)] | None = Field(
        default=None, description="stress of several modes over time, sampled together [MPa]"
    )
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
    residue: ResidueChoice = "closed"
    hysteresis_threshold_mpa: NonNegative = Field(
        default=0.0, description="reversals smaller than this are left out [MPa]"
    )
    definition: DefinitionChoice = "governing"
    below_knee: BelowKneeChoice = "as-curve"
    mean_stress: MeanStressChoice = Field(
        default="none",
        description="correction of history_mpa cycle by cycle; none counts every range in full",
    )
    yield_strength_mpa: YieldStrength = None
    repeats: Positive = Field(default=1.0, description="passes of the spectrum")
    reference_cycles: Positive | None = Field(
        default=None, description="cycles of the equivalent range; null takes those of the passes"
    )
    range_edges_mpa: Edges | None = Field(default=None, description="edges for the share by class [MPa]")
    list_cycles: bool = Field(default=False, description="list every cycle with its share")
    unit_stated: UnitStated = True


class ShareTable(Strict):
    """Share of each class of range in the damage."""

    range_edges_mpa: list[float]
    damage_share: list[float]


class CycleShares(Strict):
    """Every cycle or block with its share in the damage."""

    range_mpa: list[float]
    count: list[float]
    cycle_share: list[float]


class DefinitionTable(Strict):
    """Damage of one pass by what counts as a cycle."""

    damage: dict[str, float]
    largest_definition: str
    definitions_differ: bool
    proportionality: float


class DamageAnswer(Strict):
    """Damage of all passes; undecided where a validity limit is left, or where the choices of the count leave
    out what decides, else whether it keeps to the limit. A short life excuses no sum over the limit."""

    verdict: Literal["pass", "fail", "undecided"]
    damage: float
    damage_of_pass: float
    damage_limit: float
    life_repeats: float | None
    equivalent_range_mpa: float
    reference_cycles: float
    largest_range_mpa: float
    total_count: float
    idle_count: float
    class_shares: ShareTable | None
    cycle_shares: CycleShares | None
    definitions: DefinitionTable | None


class RandomRequest(ResistanceChoice, DamageLimitChoice):
    """A one-sided spectral density of the stress, linear between its points."""

    frequency_hz: Annotated[list[NonNegative], Field(min_length=2, max_length=100_000)]
    density_mpa2_per_hz: Annotated[list[NonNegative], Field(min_length=2, max_length=100_000)]
    duration_s: Positive
    loading: Literal["variable"] = "variable"
    levels_mpa: Edges | None = Field(default=None, description="levels for expected crossings [MPa]")
    yield_strength_mpa: YieldStrength = None


class BandwidthAnswer(Strict):
    """Moments, rates and bandwidth."""

    moments: list[float]
    rms_mpa: float
    crossing_rate_per_s: float
    peak_rate_per_s: float
    irregularity_first: float
    irregularity: float
    spectral_width: float


class ByMethod(Strict):
    """One number for each method; null where it is not defined."""

    narrow_band: float | None
    wirsching_light: float | None
    dirlik: float | None
    tovo_benasciutti: float | None


class RandomAnswer(Strict):
    """Damage of random stress; its largest range is the one expected in the duration."""

    bandwidth: BandwidthAnswer
    damage: ByMethod
    damage_limit: float
    damage_rate_per_s: ByMethod
    equivalent_range_mpa: ByMethod
    largest_range_mpa: float
    crossing_rates_per_s: list[float] | None


class LongTermRequest(ResistanceChoice, DamageLimitChoice):
    """Weibull distributed ranges, given by the one exceeded once in the reference cycles."""

    largest_range_mpa: Positive
    reference_cycles: Annotated[float, Field(gt=1.0, le=1e30)]
    shape_exponent: Annotated[float, Field(ge=0.1, le=10.0)] = Field(description="1: straight over log cycles")
    cycles: Positive | None = Field(default=None, description="cycles gone through; null: the reference cycles")
    yield_strength_mpa: YieldStrength = None
    loading: Literal["variable"] = "variable"


class LongTermAnswer(Strict):
    """Damage of the distribution, its range exceeded once in the cycles gone through, and the largest range
    it may have, exceeded once in the reference cycles."""

    damage: float
    cycles: float
    scale_mpa: float
    equivalent_range_mpa: float
    allowable_range_mpa: float
    damage_limit: float
    life_repeats: float | None
    range_exceeded_once_mpa: float


class StepsRequest(Strict):
    """A standard cumulative spectrum."""

    largest_range_mpa: Positive
    cycles: Annotated[float, Field(gt=1.0, le=1e30)]
    shape_exponent: Annotated[float, Field(ge=0.1, le=10.0)] = Field(description="1 straight, 2 normal")
    slope: Annotated[float, Field(ge=1.0, le=50.0)] | None = Field(
        default=None,
        description="of the curve, for steps of equal damage and the equivalent; null: upper edges",
    )


class StepsAnswer(Strict):
    """The spectrum in eight steps, and its equivalent range over the largest one where a slope is given."""

    range_mpa: list[float]
    count: list[float]
    cumulative_count: list[float]
    equivalent_ratio: float | None


class CraneRequest(Strict):
    """Classes of a crane part."""

    spectrum_class: Literal["Q0", "Q1", "Q2", "Q3", "Q4", "Q5"]
    cycles_class: Literal["U0", "U1", "U2", "U3", "U4", "U5", "U6", "U7", "U8", "U9"]


class CraneAnswer(Strict):
    """Stress history parameter and class."""

    spectrum_factor: float
    cycles: float
    history_parameter: float
    history_class: str

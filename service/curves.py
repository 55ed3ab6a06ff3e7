"""Design curves over HTTP: catalogue, life at a range, range at a life; one number or whole columns."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, StringConstraints

from fatcore.curves import catalogue, listing, lookup
from fatcore.curves.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.survival import at_survival
from fatcore.errors import InputError, NotCoveredError, at
from fatcore.outcome import Outcome, evidence
from service.common import MAX_POINTS, NonNegative, Positive, Probability, Reply, Strict, get, post, reply
from service.curve_models import (
    CorrectionRequest,
    CurveAnswer,
    CurveId,
    CurveRef,
    ListAnswer,
    LoadingRequest,
    OwnCurve,
    correction_from,
    curve_from,
)

__all__ = [
    "CurveRef",
    "OwnCurve",
    "curve_from",
    "curve_list",
    "curve_shape",
    "life_at",
    "lives",
    "strength_at",
    "strengths",
]

Word = Annotated[str, StringConstraints(max_length=100)]
Ranges = Annotated[list[NonNegative], Field(min_length=1, max_length=MAX_POINTS)]
Lives = Annotated[list[Positive], Field(min_length=1, max_length=MAX_POINTS)]
Loading = Annotated[
    LoadingRequest, Field(description="amplitude; the curve for a variable one is the safe side")
]
Survival = Annotated[
    Probability | None, Field(description="move the curve to this survival probability; null leaves it")
]
Sample = Annotated[
    Annotated[int, Field(ge=2, le=100_000)] | None,
    Field(description="tests behind a line of 75 % confidence, if known"),
]


class ListRequest(Strict):
    """Filters of the catalogue; each that is given must fit."""

    document: Word | None = Field(default=None, description="key of the document, like iiw-2016")
    stress_kind: Word | None = Field(default=None, description="normal, shear, hot-spot, peak-stress, ...")
    material: Word | None = Field(default=None, description="steel, aluminium, ...")
    environment: Word | None = Field(default=None, description="air, seawater-protected, free-corrosion")
    text: Word | None = Field(default=None, description="part of the id or title")


@get("curves", ListRequest, ListAnswer, revision=1, summary="Catalogue of design curves")
def curve_list(request: ListRequest) -> Reply:
    """Every design curve with its document, what it is for and its range at 2e6 cycles."""
    return reply(ListAnswer, listing.listed(**request.model_dump()))


class CurveRequest(Strict):
    """One curve of the catalogue."""

    curve: CurveId = Field(description="id as the catalogue lists it")
    loading: Loading = "variable"


@get("curves/{curve}", CurveRequest, CurveAnswer, revision=1, summary="One design curve")
def curve_shape(request: CurveRequest) -> Reply:
    """Branches, knees, cut-off, survival and the rules of use of one curve."""
    with at("curve"):
        found = catalogue.describe(request.curve, loading=request.loading)
    return reply(CurveAnswer, found, **_shape(found.curve))


class LifeQuery(CurveRequest):
    """A range on a curve of the catalogue: of stress, or of averaged energy density."""

    stress_range_mpa: NonNegative | None = Field(default=None, description="stress range [MPa]")
    energy_density_mj_m3: NonNegative | None = Field(default=None, description="range of energy density")
    survival_probability: Survival = None
    sample_size: Sample = None


class LifeOneAnswer(Strict):
    """Life at one range; null with below_cutoff true where it is endless."""

    curve: str
    life_cycles: float | None
    below_cutoff: bool
    damage_per_cycle: float
    survival_probability: float | None


@get("curves/{curve}/life", LifeQuery, LifeOneAnswer, revision=1, summary="Life at one range")
def life_at(request: LifeQuery) -> Reply:
    """Life of one range on a design curve, at its own or another survival probability."""
    curve, moved = _curve(request.curve, request)
    found = lookup.life(
        curve,
        stress_range_mpa=request.stress_range_mpa,
        energy_density_mj_m3=request.energy_density_mj_m3,
    )
    return _joined(LifeOneAnswer, moved, found, curve, "life_cycles", "below_cutoff", "damage_per_cycle")


class StrengthQuery(CurveRequest):
    """A life on a curve of the catalogue."""

    life_cycles: Positive = Field(description="cycles to be borne")
    survival_probability: Survival = None
    sample_size: Sample = None


class StrengthOneAnswer(Strict):
    """Range at one life: of stress or of energy density, the other is null."""

    curve: str
    stress_range_mpa: float | None
    energy_density_mj_m3: float | None
    on_cutoff: bool
    survival_probability: float | None


@get("curves/{curve}/strength", StrengthQuery, StrengthOneAnswer, revision=1, summary="Range at one life")
def strength_at(request: StrengthQuery) -> Reply:
    """Range that a design curve permits at one life; beyond the cut-off life it is the cut-off."""
    curve, moved = _curve(request.curve, request)
    found = lookup.strength(curve, request.life_cycles)
    names = ("stress_range_mpa", "energy_density_mj_m3", "on_cutoff")
    return _joined(StrengthOneAnswer, moved, found, curve, *names)


class Options(Strict):
    """What moves or corrects the curve of a column request."""

    curve: CurveRef = Field(description="id of the catalogue, or a curve of your own")
    loading: Loading = "variable"
    environment: Word | None = Field(default=None, description="same class in this environment")
    survival_probability: Survival = None
    sample_size: Sample = None
    corrections: list[CorrectionRequest] = Field(
        default=[], max_length=20, description="factors on the strength, applied together"
    )


class LifeRequest(Options):
    """Ranges as a column, of stress or of averaged energy density."""

    stress_range_mpa: Ranges | None = Field(default=None, description="stress ranges [MPa]")
    energy_density_mj_m3: Ranges | None = Field(default=None, description="ranges of energy density")
    yield_strength_mpa: Positive | None = Field(default=None, description="to check the limit of use [MPa]")


class LifeAnswer(Strict):
    """Lives as a column; null with below_cutoff true where endless."""

    curve: str
    life_cycles: list[float | None]
    below_cutoff: list[bool]
    damage_per_cycle: list[float]
    strength_factor: list[float]
    survival_probability: float | None


@post("curves/life", LifeRequest, LifeAnswer, revision=1, summary="Lives at many ranges")
def lives(request: LifeRequest) -> Reply:
    """Life of every range on a design curve or your own curve, with corrections that report themselves."""
    curve, moved = _curve(request.curve, request)
    found = lookup.life(
        curve,
        stress_range_mpa=request.stress_range_mpa,
        energy_density_mj_m3=request.energy_density_mj_m3,
        corrections=_corrections(request, curve),
        yield_strength_mpa=request.yield_strength_mpa,
    )
    names = ("life_cycles", "below_cutoff", "damage_per_cycle", "strength_factor")
    return _joined(LifeAnswer, moved, found, curve, *names)


class RangesRequest(Options):
    """Lives as a column."""

    life_cycles: Lives = Field(description="cycles to be borne")


class StrengthAnswer(Strict):
    """Ranges as a column: of stress or of energy density, the other is null."""

    curve: str
    stress_range_mpa: list[float] | None
    energy_density_mj_m3: list[float] | None
    on_cutoff: list[bool]
    strength_factor: list[float]
    survival_probability: float | None


@post("curves/strength", RangesRequest, StrengthAnswer, revision=1, summary="Ranges at many lives")
def strengths(request: RangesRequest) -> Reply:
    """Range that a design curve or a curve of your own permits at every life, with corrections."""
    curve, moved = _curve(request.curve, request)
    found = lookup.strength(curve, request.life_cycles, corrections=_corrections(request, curve))
    names = ("stress_range_mpa", "energy_density_mj_m3", "on_cutoff", "strength_factor")
    return _joined(StrengthAnswer, moved, found, curve, *names)


def _curve(spec: str | OwnCurve, request: LifeQuery | StrengthQuery | Options) -> tuple[Curve, Outcome]:
    with at("curve"):
        curve = curve_from(spec, loading=request.loading)
    environment = getattr(request, "environment", None)
    if environment is not None:
        curve = catalogue.find(_elsewhere(curve, environment), loading=request.loading)
    if request.survival_probability is None:
        if request.sample_size is not None:
            raise InputError("a sample size serves to move the survival probability only", "sample_size")
        return curve, Outcome()
    moved = at_survival(curve, request.survival_probability, sample_size=request.sample_size)
    return moved.curve, moved


def _elsewhere(curve: Curve, environment: str) -> str:
    if curve.table is None:
        raise NotCoveredError("a curve of your own has no lines for other environments", "environment")
    with at("environment"):
        return catalogue.in_environment(curve.id, environment)


def _corrections(request: Options, curve: Curve) -> list[Correction]:
    found = []
    for index, spec in enumerate(request.corrections):
        with at("corrections", index):
            found.append(correction_from(spec, curve))
    return found


def _joined(answer: type[Strict], moved: Outcome, found: Outcome, curve: Curve, *names: str) -> Reply:
    values = {name: getattr(found, name) for name in names}
    factor = values.get("strength_factor")
    if factor is not None:
        values["strength_factor"] = factor.reshape(-1)
    together = Outcome(**evidence(moved, found))
    return reply(answer, together, curve=curve.id, survival_probability=curve.survival_probability, **values)


def _shape(curve: Curve) -> dict[str, Any]:
    names = ("id", "title", "stress_kind", "material", "loading", "quantity", "log10_constants", "slopes")
    more = ("knees_mpa", "cut_off_mpa", "survival_probability", "survival_definition", "sd_log10_cycles")
    shape = {name: getattr(curve, name) for name in (*names, *more)}
    return {**shape, "knee_cycles": curve.knee_cycles(), "cut_off_cycles": curve.cut_off_cycles()}

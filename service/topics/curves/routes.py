"""Design curves over HTTP: catalogue, life at a range, range at a life; one number or whole columns."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, StringConstraints

from fatcore.curves import catalogue, listing, lookup
from fatcore.curves.curve import Curve
from fatcore.curves.resistance import CurveResistance, make_resistance
from fatcore.errors import at

from ...base.common import MAX_POINTS, NonNegative, Positive, Reply, Strict, get, post, reply
from .models import (
    CurveAnswer,
    CurveId,
    ListAnswer,
    LoadingRequest,
)
from .resistance import (
    Environment,
    ResistanceChoice,
    Sample,
    Survival,
    YieldStrength,
    curve_in,
    resisting_from,
)

Word = Annotated[str, StringConstraints(max_length=100)]
Ranges = Annotated[list[NonNegative], Field(min_length=1, max_length=MAX_POINTS)]
Lives = Annotated[list[Positive], Field(min_length=1, max_length=MAX_POINTS)]
Loading = Annotated[LoadingRequest, Field(description="amplitude; the curve for a variable one is the safe side")]


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
    return reply(ListAnswer, listing.list_curves(**request.model_dump()))


class CurveRequest(Strict):
    """One curve of the catalogue."""

    curve: CurveId = Field(description="id as the catalogue lists it")
    loading: Loading = "variable"


@get("curves/{curve}", CurveRequest, CurveAnswer, revision=1, summary="One design curve")
def curve_shape(request: CurveRequest) -> Reply:
    """Branches, knees, cut-off, survival and the rules of use of one curve."""
    with at("curve"):
        found = catalogue.describe_curve(request.curve, loading=request.loading)
    return reply(CurveAnswer, found, **_shape(found.curve))


class LifeQuery(CurveRequest):
    """A range on a curve of the catalogue: of stress, or of averaged energy density."""

    stress_range_mpa: NonNegative | None = Field(default=None, description="stress range [MPa]")
    energy_density_mj_m3: NonNegative | None = Field(default=None, description="range of energy density")
    environment: Environment = None
    survival_probability: Survival = None
    sample_size: Sample = None
    yield_strength_mpa: YieldStrength = None


class LifeOneAnswer(Strict):
    """Life at one range; null with below_cutoff true where it is infinite."""

    curve: str
    life_cycles: float | None
    below_cutoff: bool
    damage_per_cycle: float
    survival_probability: float | None


@get("curves/{curve}/life", LifeQuery, LifeOneAnswer, revision=2, summary="Life at one range")
def life_at(request: LifeQuery) -> Reply:
    """Life of one range on a design curve, at its own or another survival probability."""
    found = lookup.curve_life(
        _held(request),
        stress_range_mpa=request.stress_range_mpa,
        energy_density_mj_m3=request.energy_density_mj_m3,
        yield_strength_mpa=request.yield_strength_mpa,
    )
    return _answer(LifeOneAnswer, found)


class StrengthQuery(CurveRequest):
    """A life on a curve of the catalogue."""

    life_cycles: Positive = Field(description="cycles to be borne")
    environment: Environment = None
    survival_probability: Survival = None
    sample_size: Sample = None
    yield_strength_mpa: YieldStrength = None


class StrengthOneAnswer(Strict):
    """Range at one life: of stress or of energy density, the other is null."""

    curve: str
    stress_range_mpa: float | None
    energy_density_mj_m3: float | None
    on_cutoff: bool
    survival_probability: float | None


@get("curves/{curve}/strength", StrengthQuery, StrengthOneAnswer, revision=2, summary="Range at one life")
def strength_at(request: StrengthQuery) -> Reply:
    """Range that a design curve permits at one life; beyond the cut-off life it is the cut-off."""
    found = lookup.curve_strength(_held(request), request.life_cycles, yield_strength_mpa=request.yield_strength_mpa)
    return _answer(StrengthOneAnswer, found)


class Options(ResistanceChoice):
    """What moves or corrects the curve of a column request."""

    loading: Loading = "variable"


class LifeRequest(Options):
    """Ranges as a column, of stress or of averaged energy density."""

    stress_range_mpa: Ranges | None = Field(default=None, description="stress ranges [MPa]")
    energy_density_mj_m3: Ranges | None = Field(default=None, description="ranges of energy density")
    yield_strength_mpa: YieldStrength = None


class LifeAnswer(Strict):
    """Lives as a column; null with below_cutoff true where infinite."""

    curve: str
    life_cycles: list[float | None]
    below_cutoff: list[bool]
    damage_per_cycle: list[float]
    strength_factor: list[float]
    survival_probability: float | None


@post("curves/life", LifeRequest, LifeAnswer, revision=2, summary="Lives at many ranges")
def lives(request: LifeRequest) -> Reply:
    """Life of every range on a design curve or your own curve, with corrections that report themselves."""
    size = len(request.stress_range_mpa or request.energy_density_mj_m3 or ())
    found = lookup.curve_life(
        resisting_from(request, loading=request.loading, size=size, quantity=None),
        stress_range_mpa=request.stress_range_mpa,
        energy_density_mj_m3=request.energy_density_mj_m3,
        yield_strength_mpa=request.yield_strength_mpa,
    )
    return _answer(LifeAnswer, found)


class RangesRequest(Options):
    """Lives as a column."""

    life_cycles: Lives = Field(description="cycles to be borne")
    yield_strength_mpa: YieldStrength = None


class StrengthAnswer(Strict):
    """Ranges as a column: of stress or of energy density, the other is null."""

    curve: str
    stress_range_mpa: list[float] | None
    energy_density_mj_m3: list[float] | None
    on_cutoff: list[bool]
    strength_factor: list[float]
    survival_probability: float | None


@post("curves/strength", RangesRequest, StrengthAnswer, revision=2, summary="Ranges at many lives")
def strengths(request: RangesRequest) -> Reply:
    """Range that a design curve or a curve of your own permits at every life, with corrections."""
    size = len(request.life_cycles)
    held = resisting_from(request, loading=request.loading, size=size, quantity=None)
    found = lookup.curve_strength(held, request.life_cycles, yield_strength_mpa=request.yield_strength_mpa)
    return _answer(StrengthAnswer, found)


def _held(request: LifeQuery | StrengthQuery) -> CurveResistance:
    return make_resistance(
        curve_in(request.curve, request.environment, request.loading),
        survival_probability=request.survival_probability,
        sample_size=request.sample_size,
        quantity=None,
    )


def _answer(answer: type[Strict], found: lookup.LifeOutcome | lookup.StrengthOutcome) -> Reply:
    values: dict[str, Any] = {
        "curve": found.curve.id,
        "survival_probability": found.curve.survival_probability,
    }
    if "strength_factor" in answer.model_fields:
        values["strength_factor"] = found.strength_factor.reshape(-1)
    return reply(answer, found, **values)


def _shape(curve: Curve) -> dict[str, Any]:
    names = ("id", "title", "stress_kind", "material", "loading", "quantity", "log10_constants", "slopes")
    more = ("knees_mpa", "cut_off_mpa", "survival_probability", "survival_definition", "sd_log10_cycles")
    shape = {name: getattr(curve, name) for name in (*names, *more)}
    return {**shape, "knee_cycles": curve.knee_cycles(), "cut_off_cycles": curve.cut_off_cycles()}

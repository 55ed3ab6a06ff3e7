"""Design curves over HTTP: catalogue, life at a range, range at a life; one number or whole columns."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from fatcore.curves import lookup
from fatcore.curves.corrections.partial_factors import strength_divided
from fatcore.curves.curve import Curve
from fatcore.curves.resistance import CurveResistance, make_resistance
from fatcore.curves.standards import listing
from fatcore.errors import NotCoveredError, at

from ...base.common import Reply, Strict, get, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from .models import CurveAnswer, CurveId, ListAnswer, LoadingRequest
from .of_policy import curves_of_policy, described_curve
from .resistance import Moved, ResistanceChoice, curve_in, guard_use, resisting_from

_PUT_ON_A_CURVE = ("curve", "corrections")
Loading = Annotated[LoadingRequest, Field(description="amplitude; the curve for a variable one is the safe side")]


@request_of(listing.list_curves, omit=("further",))
class ListRequest(Derived):
    """Filters of the catalogue; each that is given must fit."""


@get("curves", ListRequest, ListAnswer, revision=1, summary="Catalogue of design curves")
def curve_list(request: ListRequest) -> Reply:
    """Every design curve with its document, what it is for and its range at 2e6 cycles; those of the policy last."""
    return reply(ListAnswer, call(listing.list_curves, request, further=curves_of_policy()))


class CurveRequest(Strict):
    """One curve of the catalogue."""

    curve: CurveId = Field(description="id as the catalogue lists it")
    loading: Loading = "variable"


@get("curves/{curve}", CurveRequest, CurveAnswer, revision=1, summary="One design curve")
def curve_shape(request: CurveRequest) -> Reply:
    """Branches, knees, cut-off, survival and the rules of use of one curve."""
    with at("curve"):
        found = described_curve(request.curve, request.loading)
    return reply(CurveAnswer, found, **_shape(found.curve))


@request_of(strength_divided)
class OneOnACurve(CurveRequest, Moved):
    """A curve of the catalogue, and what moves it."""


@request_of(lookup.curve_life, omit=_PUT_ON_A_CURVE, single=True)
class LifeQuery(OneOnACurve):
    """A range on a curve of the catalogue: of stress, or of averaged energy density."""


@answer_of(lookup.LifeOutcome, omit=("strength_factor",), single=True)
class LifeOneAnswer(Strict):
    """Life at one range; null with below_cutoff true where it is infinite."""

    curve: str


@get("curves/{curve}/life", LifeQuery, LifeOneAnswer, revision=2, summary="Life at one range")
def life_at(request: LifeQuery) -> Reply:
    """Life of one range on a design curve, at its own or another survival probability."""
    return _answer(LifeOneAnswer, call(lookup.curve_life, request, curve=_held(request)))


@request_of(lookup.curve_strength, omit=_PUT_ON_A_CURVE, single=True)
class StrengthQuery(OneOnACurve):
    """A life on a curve of the catalogue."""


@answer_of(lookup.StrengthOutcome, omit=("strength_factor",), single=True)
class StrengthOneAnswer(Strict):
    """Range at one life: of stress or of energy density, the other is null."""

    curve: str


@get("curves/{curve}/strength", StrengthQuery, StrengthOneAnswer, revision=2, summary="Range at one life")
def strength_at(request: StrengthQuery) -> Reply:
    """Range that a design curve permits at one life; beyond the cut-off life it is the cut-off."""
    return _answer(StrengthOneAnswer, call(lookup.curve_strength, request, curve=_held(request)))


class Options(ResistanceChoice):
    """What moves or corrects the curve of a column request."""

    loading: Loading = "variable"


@request_of(lookup.curve_life, omit=_PUT_ON_A_CURVE)
class LifeRequest(Options):
    """Ranges as a column, of stress or of averaged energy density."""


@answer_of(lookup.LifeOutcome)
class LifeAnswer(Strict):
    """Lives as a column; null with below_cutoff true where infinite."""

    curve: str


@post("curves/life", LifeRequest, LifeAnswer, revision=3, summary="Lives at many ranges")
def lives(request: LifeRequest) -> Reply:
    """Life of every range on a design curve or a user-defined one, with corrections that report themselves."""
    size = len(request.stress_range_mpa or request.energy_density_mj_m3 or ())
    held = resisting_from(request, loading=request.loading, size=size, quantity=None)
    return _answer(LifeAnswer, call(lookup.curve_life, request, curve=held, corrections=()))


@request_of(lookup.curve_strength, omit=_PUT_ON_A_CURVE)
class RangesRequest(Options):
    """Lives as a column."""


@answer_of(lookup.StrengthOutcome)
class StrengthAnswer(Strict):
    """Ranges as a column: of stress or of energy density, the other is null."""

    curve: str


@post("curves/strength", RangesRequest, StrengthAnswer, revision=3, summary="Ranges at many lives")
def strengths(request: RangesRequest) -> Reply:
    """Range that a design curve or a curve of your own permits at every life, with corrections."""
    held = resisting_from(request, loading=request.loading, size=len(request.life_cycles), quantity=None)
    return _answer(StrengthAnswer, call(lookup.curve_strength, request, curve=held, corrections=()))


def _held(request: OneOnACurve) -> CurveResistance:
    curve = curve_in(request.curve, request.environment, request.loading)
    divided = () if request.resistance_factor == 1.0 else (strength_divided(request.resistance_factor),)
    guard_use(request, curve, divided)
    if divided and curve.quantity != "stress range":
        raise NotCoveredError("the factor holds for stress ranges, not for energy densities", "resistance_factor")
    return call(make_resistance, request, curve=curve, corrections=divided, resistance_factor=1.0, quantity=None)


def _answer(answer: type[Strict], found: lookup.LifeOutcome | lookup.StrengthOutcome) -> Reply:
    values: dict[str, Any] = {"curve": found.curve.id}
    if "strength_factor" in answer.model_fields:
        values["strength_factor"] = found.strength_factor.reshape(-1)
    return reply(answer, found, **values)


def _shape(curve: Curve) -> dict[str, Any]:
    names = ("id", "title", "stress_kind", "material", "loading", "quantity", "log10_constants", "slopes")
    more = ("knees_mpa", "cut_off_mpa", "survival_probability", "survival_definition", "sd_log10_cycles")
    shape = {name: getattr(curve, name) for name in (*names, *more)}
    return {**shape, "knee_cycles": curve.knee_cycles(), "cut_off_cycles": curve.cut_off_cycles()}

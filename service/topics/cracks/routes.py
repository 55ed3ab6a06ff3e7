"""Crack growth over HTTP: life of a crack, direction under mixed loading, inspection interval."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.growth import inspection
from fatcore.cracks.growth import life as growth
from fatcore.cracks.growth.history import History
from fatcore.errors import InputError, at

from ...base.common import MAX_POINTS, Number, Positive, Probability, Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from .law import GrowthLoading, LawRequest
from .models import Crack, Word

MAX_CODES = 100

Criterion = Literal["largest", "tangential-stress", "tanaka", "energy", "richard"]
Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]
Unknowns = Annotated[list[Number | None], Field(min_length=1, max_length=MAX_POINTS)]
Rising = Annotated[list[Number], Field(min_length=2, max_length=MAX_POINTS)]


@request_of(growth.grow, omit=("tolerance",))
class GrowthRequest(Derived):
    """A crack, its stress, what shares its load, and where growth ends."""

    crack: Crack
    law: LawRequest
    loading: GrowthLoading


@answer_of(History)
class GrowthHistory(Strict):
    """Columns of one length over the life; null where a column has no meaning for the crack, or a crack runs
    and has no rate."""


@answer_of(growth.GrowthOutcome)
class GrowthAnswer(Strict):
    """Life of the crack; null with below_cutoff when it stands still."""


@post(
    "cracks/growth",
    GrowthRequest,
    GrowthAnswer,
    revision=4,
    summary="Life of a growing crack",
)
def grow(request: GrowthRequest) -> Reply:
    """Integrates the growth law over the crack size, depth and surface length apart, up to the first end.

    With `sharing` the cracked member sheds load and moment as it grows softer, and the answer says how much
    longer the life is than under constant load.
    """
    return reply(GrowthAnswer, call(growth.grow, request))


@request_of(mixed_mode.turn)
class TurningRequest(Derived):
    """Stress intensities of three modes, as columns of one length."""


@answer_of(mixed_mode.TurningOutcome)
class TurningAnswer(Strict):
    """Direction and driving force, one value per row."""


@post(
    "cracks/mixed-mode",
    TurningRequest,
    TurningAnswer,
    revision=2,
    summary="Direction of a crack, mixed modes",
)
def turn(request: TurningRequest) -> Reply:
    """Where a crack turns to under opening, sliding and tearing, and the intensity that drives it."""
    return reply(TurningAnswer, call(mixed_mode.turn, request))


@request_of(inspection.DetectionCurve, omit=("size", "name"))
class DetectionRequest(Derived):
    """Own detection curve 1 - 1 / (1 + (x / median)^exponent)."""


class HistoryRequest(Strict):
    """The history of a growth answer, unchanged; sizes, cycles, end and what is outside validity are used."""

    size_kind: Literal["depth", "half-length", "buried", "unknown"] = "unknown"
    end_reason: Word | None = None
    outside_codes: list[Word] = Field(default=[], max_length=MAX_CODES)
    elapsed_cycles: Column
    depth_mm: Column | None
    half_length_mm: Column | None = None
    aspect_ratio: Column | None = None
    delta_k_deepest_mpa_sqrt_mm: Column | None = None
    delta_k_surface_mpa_sqrt_mm: Column | None = None
    rate_deepest_mm_per_cycle: Unknowns | None = None
    rate_surface_mm_per_cycle: Unknowns | None = None
    load_share: Column | None = None
    end_moment_nmm: Column | None = None
    stiffness_ratio: Column | None = None


class InspectionRequest(Strict):
    """History of a crack up to its critical size, and how it may be found."""

    history: HistoryRequest | None = Field(
        default=None, description="history of a growth answer, in place of elapsed_cycles and crack_size_mm"
    )
    elapsed_cycles: Rising | None = None
    crack_size_mm: Annotated[list[Positive], Field(min_length=2, max_length=MAX_POINTS)] | None = None
    size_kind: Literal["depth", "length"] | None = Field(
        default=None,
        description="what the sizes are, length is the whole surface length; needed with a published curve or"
        " a history",
    )
    inspections: Annotated[int, Field(ge=1, le=100)] = 2
    detectable_mm: Positive | None = None
    detection_probability: Probability | None = Field(
        default=None, description="of the curve, at which a crack counts as detectable"
    )
    curve: Word | DetectionRequest | None = Field(
        default=None,
        description="name of a published detection curve, or an own one, in the size of crack_size_mm",
    )


@answer_of(inspection.InspectionOutcome)
class InspectionAnswer(Strict):
    """Interval and times of inspection."""


@post("cracks/inspection", InspectionRequest, InspectionAnswer, revision=2, summary="Inspection interval")
def inspect(request: InspectionRequest) -> Reply:
    """Interval that leaves a number of inspections to find the crack, and the chance that all miss it."""
    values = request.model_dump(exclude={"curve", "history"})
    if request.history is not None:
        values |= _columns(request.history, request)
    elif request.elapsed_cycles is None or request.crack_size_mm is None:
        raise InputError("give a history, or elapsed_cycles with crack_size_mm", "history")
    return reply(InspectionAnswer, inspection.plan_inspections(curve=_curve(request), **values))


def _columns(history: HistoryRequest, request: InspectionRequest) -> dict[str, Any]:
    """Cycles and sizes of a growth answer, in the kind of size that was asked for."""
    if request.elapsed_cycles is not None or request.crack_size_mm is not None:
        raise InputError("give a history or columns of your own, not both", "history")
    if request.size_kind is None:
        raise InputError("say which size of the history counts: depth or length", "size_kind")
    if len(history.elapsed_cycles) == 1:
        reason = history.end_reason or "no reason given"
        raise InputError(f"the crack does not grow: its history has one row ({reason})", "history")
    sizes = _sizes(history, request.size_kind, curve=request.curve is not None)
    known = history.size_kind != "unknown"
    return {
        "elapsed_cycles": history.elapsed_cycles,
        "crack_size_mm": sizes,
        "end_reason": history.end_reason,
        "outside_codes": history.outside_codes,
        "kind_known": known,
    }


def _sizes(history: HistoryRequest, wanted: str, *, curve: bool) -> list[float]:
    """Depths or whole surface lengths of a history; InputError for what its crack does not show."""
    kind = history.size_kind
    if kind == "buried" and curve:
        message = "no surface shows this crack: detection curves are of cracks that break one"
        raise InputError(message, "curve")
    if wanted == "depth":
        if kind == "half-length":
            raise InputError("this crack goes through the wall: it has a length, no depth", "size_kind")
        if history.depth_mm is None:
            raise InputError("the history has no depth", "history", "depth_mm")
        return history.depth_mm
    halves = history.half_length_mm
    if halves is None and kind == "half-length":
        halves = history.depth_mm
    if halves is None:
        raise InputError("the history has no length", "history", "half_length_mm")
    return [2.0 * half for half in halves]


def _curve(request: InspectionRequest) -> inspection.DetectionCurve | None:
    given = request.curve
    if given is None:
        return None
    if isinstance(given, str):
        return inspection.named_detection(given)
    with at("curve"):
        return call(inspection.DetectionCurve, given, size=request.size_kind or "depth")

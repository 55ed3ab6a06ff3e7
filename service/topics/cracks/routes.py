"""Crack growth over HTTP: life of a crack, direction under mixed loading, inspection interval."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.growth import inspection
from fatcore.cracks.growth import life as growth
from fatcore.errors import InputError, at

from ...base.common import MAX_POINTS, Number, Positive, Probability, Reply, Strict, post, reply
from .law import GrowthLoading, LawRequest, law_from, loading_from
from .models import (
    Crack,
    EndRequest,
    SharingRequest,
    StressRequest,
    Word,
    crack_from,
    end_from,
    sharing_from,
    stress_from,
)

MAX_CODES = 100

Criterion = Literal["largest", "tangential-stress", "tanaka", "energy", "richard"]
Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]
Unknowns = Annotated[list[Number | None], Field(min_length=1, max_length=MAX_POINTS)]
Rising = Annotated[list[Number], Field(min_length=2, max_length=MAX_POINTS)]


class GrowthRequest(Strict):
    """A crack, its stress, what shares its load, and where growth ends."""

    crack: Crack
    stress: StressRequest = StressRequest()
    law: LawRequest
    loading: GrowthLoading
    condition: Literal["as-welded", "stress-relieved"] = "as-welded"
    end: EndRequest = EndRequest()
    sharing: SharingRequest | None = None
    criterion: Criterion | None = Field(
        default=None, description="only for tables of several modes; null is the largest of all criteria"
    )


class GrowthHistory(Strict):
    """Columns of one length over the life; null where a column has no meaning for the crack, or a crack runs
    and has no rate."""

    size_kind: str
    end_reason: str
    outside_codes: list[str]
    elapsed_cycles: list[float]
    depth_mm: list[float] | None
    half_length_mm: list[float] | None
    aspect_ratio: list[float] | None
    delta_k_deepest_mpa_sqrt_mm: list[float]
    delta_k_surface_mpa_sqrt_mm: list[float] | None
    rate_deepest_mm_per_cycle: list[float | None]
    rate_surface_mm_per_cycle: list[float | None] | None
    load_share: list[float] | None
    end_moment_nmm: list[float] | None
    stiffness_ratio: list[float] | None


class GrowthAnswer(Strict):
    """Life of the crack; null with below_cutoff when it stands still."""

    life_cycles: float | None
    life_blocks: float | None
    below_cutoff: bool
    end_reason: str
    final_depth_mm: float | None
    final_half_length_mm: float | None
    constant_load_life_cycles: float | None
    life_extension_factor: float | None
    life_without_retardation_cycles: float | None
    life_without_compression_cycles: float | None
    averaging_error: float | None
    history: GrowthHistory


@post(
    "cracks/growth",
    GrowthRequest,
    GrowthAnswer,
    revision=3,
    summary="Life of a growing crack",
)
def grow(request: GrowthRequest) -> Reply:
    """Integrates the growth law over the crack size, depth and surface length apart, up to the first end.

    With `sharing` the cracked member sheds load and moment as it grows softer, and the answer says how much
    longer the life is than under constant load.
    """
    outcome = growth.grow(
        crack=crack_from(request.crack),
        stress=stress_from(request.stress),
        law=law_from(request.law),
        loading=loading_from(request.loading),
        end=end_from(request.end),
        sharing=sharing_from(request.sharing),
        condition=request.condition,
        criterion=request.criterion,
    )
    columns = {name: getattr(outcome.history, name) for name in GrowthHistory.model_fields}
    return reply(GrowthAnswer, outcome, history=columns)


class TurningRequest(Strict):
    """Stress intensities of three modes, as columns of one length."""

    opening_mpa_sqrt_mm: Column
    sliding_mpa_sqrt_mm: Column
    tearing_mpa_sqrt_mm: Column | None = None
    criterion: Criterion = "largest"
    poisson_ratio: Annotated[float, Field(ge=0.0, le=0.5)] | None = Field(
        default=None, description="of tanaka, energy and largest, no other criterion uses it; null is 0.3"
    )


class TurningAnswer(Strict):
    """Direction and driving force, one value per row."""

    kink_angle_deg: list[float]
    twist_angle_deg: list[float]
    effective_mpa_sqrt_mm: list[float]
    open: list[bool]


@post(
    "cracks/mixed-mode",
    TurningRequest,
    TurningAnswer,
    revision=2,
    summary="Direction of a crack, mixed modes",
)
def turn(request: TurningRequest) -> Reply:
    """Where a crack turns to under opening, sliding and tearing, and the intensity that drives it."""
    values = request.model_dump(exclude={"tearing_mpa_sqrt_mm"})
    tearing = request.tearing_mpa_sqrt_mm
    return reply(TurningAnswer, mixed_mode.turn(tearing_mpa_sqrt_mm=0.0 if tearing is None else tearing, **values))


class DetectionRequest(Strict):
    """Own detection curve 1 - 1 / (1 + (x / median)^exponent)."""

    median_mm: Positive
    exponent: Annotated[float, Field(gt=0.0, le=100.0)]


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


class InspectionAnswer(Strict):
    """Interval and times of inspection."""

    detectable_mm: float
    detectable_cycles: float
    critical_cycles: float
    interval_cycles: float
    inspection_cycles: list[float]
    inspection_size_mm: list[float]
    detection_probability: list[float] | None
    worst_missed_probability: float | None
    mean_missed_probability: float | None


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
        return inspection.DetectionCurve(size=request.size_kind or "depth", **given.model_dump())

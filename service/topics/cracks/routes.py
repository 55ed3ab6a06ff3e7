"""Crack growth over HTTP: life of a crack, direction under mixed loading, inspection interval."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fatcore.bounds import Number
from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.growth import detection, inspection
from fatcore.cracks.growth import life as growth
from fatcore.cracks.growth.history import History

from ...base.common import MAX_POINTS, Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from ...base.document import Titled
from ..costs import growth_cost
from ..described import Descriptions, guard_descriptions
from ..one_repeat import ServiceLife, service_life
from .law import GrowthLoading, LawRequest
from .models import Crack, Word

MAX_CODES = 100

Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]
Unknowns = Annotated[list[Number | None], Field(min_length=1, max_length=MAX_POINTS)]


@request_of(growth.grow, omit=("tolerance",))
class GrowthRequest(Derived, Titled):
    """A crack, its stress, what shares its load, and where growth ends."""

    descriptions: Descriptions | None = Field(default=None, description="names and descriptions for a reader")
    crack: Crack
    law: LawRequest
    loading: GrowthLoading


@answer_of(History)
class GrowthHistory(Strict):
    """Columns of one length over the life; null where a column has no meaning for the crack, or a crack runs
    and has no rate."""


@answer_of(growth.GrowthOutcome)
class GrowthAnswer(Strict):
    """Life of the crack; null with below_cutoff when it is arrested."""

    service_life: ServiceLife | None


class DescribedGrowthAnswer(GrowthAnswer):
    """Life of the crack; null with below_cutoff when it is arrested."""

    descriptions: Descriptions | None


@post(
    "cracks/growth",
    GrowthRequest,
    DescribedGrowthAnswer,
    revision=6,
    summary="Life of a growing crack",
    cost=growth_cost,
)
def grow(request: GrowthRequest) -> Reply:
    """Integrates the growth law over the crack size, depth and surface length apart, up to the first end.

    With `sharing` the cracked member sheds load and moment as it grows softer, and the answer says how much
    longer the life is than under constant load.
    """
    guard_descriptions(request.descriptions, len(request.loading.cycles) if request.loading.kind == "blocks" else None)
    grown = call(growth.grow, request)
    repeats = grown.life_blocks if request.loading.kind == "blocks" else grown.life_cycles
    return reply(
        DescribedGrowthAnswer,
        grown,
        service_life=service_life(request.loading.one_repeat, repeats),
        descriptions=request.descriptions,
    )


@request_of(mixed_mode.find_direction)
class MixedModeRequest(Derived):
    """Stress intensities of three modes, as columns of one length."""


@answer_of(mixed_mode.MixedModeOutcome)
class MixedModeAnswer(Strict):
    """Direction and driving force, one value per row."""


@post(
    "cracks/mixed-mode",
    MixedModeRequest,
    MixedModeAnswer,
    revision=2,
    summary="Direction of a crack, mixed modes",
)
def find_direction(request: MixedModeRequest) -> Reply:
    """Where a crack turns to under opening, sliding and tearing, and the intensity that drives it."""
    return reply(MixedModeAnswer, call(mixed_mode.find_direction, request))


@request_of(detection.DetectionCurve, omit=("size", "name"))
class DetectionRequest(Derived):
    """User-defined detection curve 1 - 1 / (1 + (x / median)^exponent)."""


@request_of(History)
class HistoryRequest(Derived):
    """The history of a growth answer, unchanged: its sizes and cycles, its end, and what speaks against it.

    Ranges, rates, shape and what sharing adds are not used and may be left out.
    """

    outside_codes: list[Word] = Field(max_length=MAX_CODES)
    delta_k_deepest_mpa_sqrt_mm: Column | None = None
    rate_deepest_mm_per_cycle: Unknowns | None = None
    rate_surface_mm_per_cycle: Unknowns | None = None


@request_of(inspection.plan_inspections)
class InspectionRequest(Derived):
    """History of a crack up to its critical size, and how it may be found."""

    curve: Word | DetectionRequest | None = Field(default=None, description=inspection.CURVE)


@answer_of(inspection.InspectionOutcome)
class InspectionAnswer(Strict):
    """Interval and times of inspection."""


@post("cracks/inspection", InspectionRequest, InspectionAnswer, revision=4, summary="Inspection interval")
def inspect(request: InspectionRequest) -> Reply:
    """Interval that leaves a number of inspections to find the crack, and the chance that all miss it."""
    return reply(InspectionAnswer, call(inspection.plan_inspections, request))

"""Growth laws and loading as requests, and their way to the core."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from pydantic import Discriminator, Field

from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, convert_coefficient
from fatcore.cracks.driving.law_sets import named_law, named_threshold
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.errors import InputError, at

from ...base.common import NonNegative, Number, Positive, Strict
from .models import Word

MAX_ENTRIES = 5_000
MAX_RETARDED = 200
NO_THRESHOLD = "none"

Entries = Annotated[list[Number], Field(min_length=1, max_length=MAX_ENTRIES)]
Counts = Annotated[list[Positive], Field(min_length=1, max_length=MAX_ENTRIES)]


class StageRequest(Strict):
    """One straight line of an own law."""

    coefficient: Positive
    exponent: Annotated[float, Field(gt=0.0, le=100.0)]


class EffectRequest(Strict):
    """How the load ratio enters an own law; each kind needs its own constants and takes no other."""

    kind: Literal["none", "walker", "forman", "elber", "schijve", "newman"] = "none"
    walker_exponent: Annotated[float, Field(ge=0.0, le=1.0)] | None = None
    toughness_mpa_sqrt_mm: Positive | None = Field(default=None, description="K_c of forman")
    constraint: Annotated[float, Field(ge=1.0, le=3.0)] | None = Field(
        default=None, description="of newman: 1 plane stress (most closure) to 3 plane strain"
    )
    stress_over_flow: Annotated[float, Field(ge=0.0, lt=1.0)] | None = Field(
        default=None, description="of newman: largest stress over flow strength"
    )


class LawRequest(Strict):
    """A published law by name, or own stages with their unit system; the threshold is in MPa*sqrt(mm)."""

    name: Word | None = Field(default=None, description="published law, like bs7910-2013/air-mean")
    stages: list[StageRequest] = Field(default=[], max_length=2)
    units: Literal["mm-MPa", "m-MPa"] | None = Field(default=None, description="unit system of own stages")
    threshold: Word | None = Field(
        default=None, description="published threshold, like iiw-2016/steel; none switches it off"
    )
    threshold_mpa_sqrt_mm: NonNegative | None = None
    threshold_form: Literal["cut", "power-difference", "shifted"] | None = Field(
        default=None, description="how a threshold enters the rate, needs a threshold; null is cut"
    )
    load_ratio_effect: EffectRequest = EffectRequest()


class ConstantLoading(Strict):
    """Equal cycles between two load factors."""

    kind: Literal["constant"]
    maximum: Number = 1.0
    minimum: Number = 0.0


class RetardationRequest(Strict):
    """Effect of overloads."""

    model: Literal["wheeler", "willenborg"]
    yield_strength_mpa: Positive
    exponent: NonNegative | None = Field(default=None, description="of wheeler, fitted to tests")
    zone_state: Literal["plane-stress", "plane-strain"] = "plane-stress"
    shut_off_ratio: Annotated[float, Field(gt=1.0, le=100.0)] | None = Field(
        default=None, description="of the generalised form of willenborg"
    )
    threshold_mpa_sqrt_mm: NonNegative | None = Field(default=None, description="of the generalised form")


class BlockLoading(Strict):
    """A block of cycles that repeats, in its order.

    Each entry is a run of cycles between two load factors; the cycles from one run to the next are added.
    """

    kind: Literal["blocks"]
    maximum: Entries
    minimum: Entries
    cycles: Counts
    retardation: RetardationRequest | None = None
    transitions: Literal["added", "in-entries"] = Field(
        default="added",
        description="cycles between entries: added once a pass, or held by entries that come from a count",
    )


GrowthLoading = Annotated[ConstantLoading | BlockLoading, Discriminator("kind")]


def law_from(request: LawRequest) -> GrowthLaw:
    """The growth law of the core; errors carry the path `law`."""
    with at("law"):
        if request.name is not None:
            return _published_law(request, request.name)
        if not request.stages or request.units is None:
            raise InputError("give the name of a published law, or stages with their units", "stages")
        units, threshold = request.units, _threshold(request)
        if request.threshold_form is not None and threshold.is_zero:
            raise InputError("a form of the threshold needs a threshold", "threshold_form")
        with at("load_ratio_effect"):
            effect = LoadRatioEffect(**request.load_ratio_effect.model_dump())
        return GrowthLaw(
            low=tuple(
                Stage(
                    coefficient=float(convert_coefficient(s.coefficient, s.exponent, units)),
                    exponent=s.exponent,
                )
                for s in request.stages
            ),
            threshold=threshold,
            threshold_form=request.threshold_form or "cut",
            effect=effect,
            sources=("paris-1963",),
        )


def _published_law(request: LawRequest, name: str) -> GrowthLaw:
    """A published law as it is, or without its threshold."""
    given = request.model_dump(exclude_defaults=True, exclude={"name", "threshold"})
    if given or request.threshold not in (None, NO_THRESHOLD):
        raise InputError("a published law takes no constants or forms of one's own", "name")
    law = named_law(name)
    return law if request.threshold is None else replace(law, threshold=Threshold())


def _threshold(request: LawRequest) -> Threshold:
    if request.threshold is not None:
        if request.threshold_mpa_sqrt_mm is not None:
            raise InputError("give a published threshold or a value, not both", "threshold")
        if request.threshold == NO_THRESHOLD:
            return Threshold()
        return named_threshold(request.threshold)
    return Threshold(intercept_mpa_sqrt_mm=request.threshold_mpa_sqrt_mm or 0.0)


def loading_from(request: ConstantLoading | BlockLoading) -> CrackLoading:
    """The loading of the core; errors carry the path `loading`."""
    with at("loading"):
        if isinstance(request, ConstantLoading):
            return constant_loading(request.maximum, request.minimum)
        model = request.retardation
        if model is not None and len(request.cycles) > MAX_RETARDED:
            raise InputError(f"retardation takes at most {MAX_RETARDED} entries in a block", "retardation")
        slowed = None if model is None else _retardation(model)
        columns = request.maximum, request.minimum, request.cycles
        return block_loading(*columns, slowed, request.transitions)


def _retardation(request: RetardationRequest) -> Retardation:
    """The retardation of the core; what its model needs or does not use is refused."""
    with at("retardation"):
        generalised = request.model == "willenborg" and request.shut_off_ratio is not None
        used = {"exponent": request.model == "wheeler", "threshold_mpa_sqrt_mm": generalised}
        for name, needed in used.items():
            if needed != (getattr(request, name) is not None):
                raise InputError(f"the model {'needs' if needed else 'does not use'} {name}", name)
        if request.model == "wheeler" and request.shut_off_ratio is not None:
            raise InputError("the model does not use shut_off_ratio", "shut_off_ratio")
        values = {name: value for name, value in request.model_dump().items() if value is not None}
        return Retardation(**values)

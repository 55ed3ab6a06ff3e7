"""Growth laws and loading as requests, and their way to the core."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from annotated_types import Ge, Le
from pydantic import Discriminator, Field

from fatcore.bounds import LARGEST, NonNegative
from fatcore.cracks.driving.law import SMALLEST_COEFFICIENT, GrowthLaw, Stage, Threshold, UnitSystem, user_defined_law
from fatcore.cracks.driving.law_sets import guard_own_law, named_law, named_threshold
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.tested import RatesTested
from fatcore.errors import InputError, UnknownError, at

from ...base.derive import Derived, call, request_of
from ...base.rules.active import active_policy
from ..one_repeat import OneRepeat
from .models import Word

MAX_ENTRIES = 5_000
MAX_RETARDED = 200
NO_THRESHOLD = "none"


@request_of(Stage)
class StageRequest(Derived):
    """One straight line of a user-defined law."""

    coefficient: Annotated[float, Ge(SMALLEST_COEFFICIENT), Le(LARGEST)]


@request_of(LoadRatioEffect)
class EffectRequest(Derived):
    """How the load ratio enters an own law; each kind needs its own constants and takes no other."""


@request_of(RatesTested)
class RatesTestedRequest(Derived):
    """The tests behind a fitted law, as its evaluation gives them; every use is compared with them."""


@request_of(user_defined_law)
class LawRequest(Derived):
    """A published law by name, or own stages with their unit system; the threshold is in MPa√mm."""

    name: Word | None = Field(default=None, description="published law, like bs7910-2013/air-mean")
    stages: list[StageRequest] = Field(default=[], max_length=2)
    units: UnitSystem | None = Field(default=None, description="unit system of own stages")
    threshold: Word | None = Field(
        default=None, description="published threshold, like iiw-2016/steel; none switches it off"
    )
    threshold_mpa_sqrt_mm: NonNegative | None = None

    def to_core(self) -> GrowthLaw:
        """A law that is published or of the policy, or one of the stages given."""
        if self.name is not None:
            return _published_law(self, self.name)
        if not self.stages or self.units is None:
            raise InputError("give the name of a published law, or stages with their units", "stages")
        if self.tested is not None:
            with at("tested"):
                guard_own_law(self.tested.name)
        return call(user_defined_law, self, threshold=_threshold(self))


@request_of(constant_loading)
class ConstantLoading(Derived):
    """Equal cycles between two load factors."""

    kind: Literal["constant"]
    one_repeat: OneRepeat | None = Field(default=None, description="what one cycle is in service")


@request_of(Retardation)
class RetardationRequest(Derived):
    """Effect of overloads."""


@request_of(block_loading, rows=MAX_ENTRIES)
class BlockLoading(Derived):
    """A block of cycles that repeats, in its order.

    Each entry is a run of cycles between two load factors; the cycles from one run to the next are added.
    """

    kind: Literal["blocks"]
    one_repeat: OneRepeat | None = Field(default=None, description="what one repeat of the block is in service")

    def to_core(self) -> CrackLoading:
        """The block, short enough for what it asks."""
        if self.retardation is not None and len(self.cycles) > MAX_RETARDED:
            raise InputError(f"retardation takes at most {MAX_RETARDED} entries in a block", "retardation")
        return call(block_loading, self)


LOADING = "cycles as load factors on the stress of the crack: equal ones, or a block that repeats"
GrowthLoading = Annotated[ConstantLoading | BlockLoading, Discriminator("kind"), Field(description=LOADING)]


def _published_law(request: LawRequest, name: str) -> GrowthLaw:
    """A published law as it is, or without its threshold."""
    given = request.model_dump(exclude_defaults=True, exclude={"name", "threshold"})
    if given or request.threshold not in (None, NO_THRESHOLD):
        raise InputError("a published law takes no constants or forms of one's own", "name")
    law = law_by_name(name)
    return law if request.threshold is None else replace(law, threshold=Threshold())


def law_by_name(name: str) -> GrowthLaw:
    """The law of the policy or the published one."""
    policy = active_policy()
    if policy is None:
        return named_law(name)
    if name in policy.laws:
        return policy.laws[name]
    try:
        return named_law(name)
    except UnknownError as error:
        raise UnknownError("growth law", name, (*error.known, *policy.laws), *error.path) from None


def _threshold(request: LawRequest) -> Threshold:
    if request.threshold is not None:
        if request.threshold_mpa_sqrt_mm is not None:
            raise InputError("give a published threshold or a value, not both", "threshold")
        if request.threshold == NO_THRESHOLD:
            return Threshold()
        return named_threshold(request.threshold)
    return Threshold(intercept_mpa_sqrt_mm=request.threshold_mpa_sqrt_mm or 0.0)

"""Request and answer models of the whole check."""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from fatcore.bounds import Name, NonNegative, Number, Positive
from fatcore.check.complete import CheckOutcome, LineOutcome
from fatcore.check.growth_part import StartedGrowth
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, LoadState
from fatcore.check.strength.resistance import Target
from fatcore.check.verdict import Verdict
from fatcore.cracks.driving.ranges import Condition
from fatcore.errors import InputError
from fatcore.spectrum.multiaxial.modes import Definition

from ...base.common import Strict
from ...base.derive import Derived, answer_of, call, request_of
from ...base.document import Titled
from ..cracks.law import LawRequest
from ..cracks.models import EndRequest, SharingRequest, SurfaceRequest
from ..cracks.routes import GrowthAnswer
from ..described import Described, Description, Label
from ..one_repeat import OneRepeat, ServiceLife, sampled_hours
from .judging import BiaxialityCurves, CheckMaterial, CurvesInput
from .lines import MAX_CASES, LineInput

_MAX_LINES = 1_000
_MAX_BLOCKS = 10_000
MAX_SAMPLES = 5_000_000
OneRepeatInput = Annotated[
    OneRepeat | None,
    Field(description="what one repeat of the loading is in service; null: the hours of a record with its rates"),
]


@request_of(LoadState)
class StateInput(Derived):
    """Factor of a load case at the two ends of a cycle."""


@request_of(Block, rows=MAX_CASES)
class BlockInput(Described, Derived):
    """One block of constant cycling."""


class ConstantLoadingInput(BlockInput):
    """Cycling between two load states: every case's maximum together, every case's minimum together."""

    kind: Literal["constant"]
    one_repeat: OneRepeatInput = None

    def to_core(self) -> BlockLoading:
        """The one block."""
        return BlockLoading(blocks=(call(Block, self),))


@request_of(BlockLoading, rows=_MAX_BLOCKS)
class BlocksLoadingInput(Derived):
    """Blocks of constant cycling, one repeat."""

    kind: Literal["blocks"]
    one_repeat: OneRepeatInput = None


class Stretch(Described):
    """A stretch of the record for a reader: its samples, gone through as often as it says, then the next."""

    samples: Annotated[int, Field(ge=1, le=MAX_SAMPLES)] = Field(description="samples of it, gone through once")
    repeats: Annotated[int, Field(ge=1, le=MAX_SAMPLES)] = Field(
        default=1, description="how often it is gone through before the next"
    )
    sample_rate_hz: Positive | None = None
    file: Label | None = None


@request_of(HistoryLoading, omit=("definition",))
class HistoryLoadingInput(Derived):
    """Channels sampled together; superposed on the stresses before anything is counted."""

    kind: Literal["history"]
    channels: dict[str, Annotated[list[Number], Field(min_length=2, max_length=MAX_SAMPLES)]] = Field(
        min_length=1, max_length=MAX_CASES
    )
    repeats: Positive = 1.0
    cycles: Definition = Field(default="governing", description="which cycles are counted where modes move apart")
    stretches: list[Stretch] = Field(default=[], max_length=1_000)
    one_repeat: OneRepeatInput = None

    def to_core(self) -> HistoryLoading:
        """The channels as arrays; InputError for stretches of another length than the record."""
        told, there = (
            sum(each.samples * each.repeats for each in self.stretches),
            len(next(iter(self.channels.values()))),
        )
        if self.stretches and told != there:
            raise InputError(f"the stretches have {told} samples, the channels {there}", "stretches")
        channels = {name: np.array(values) for name, values in self.channels.items()}
        return call(HistoryLoading, self, channels=channels, definition=self.cycles)


def one_repeat_of(loading: ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput) -> OneRepeat | None:
    """What one repeat of a loading is in service: as given, else the hours of a record whose rates are known."""
    if loading.one_repeat is not None or not isinstance(loading, HistoryLoadingInput):
        return loading.one_repeat
    rated = [(each, each.sample_rate_hz) for each in loading.stretches if each.sample_rate_hz is not None]
    if not rated or len(rated) < len(loading.stretches):
        return None
    return sampled_hours(sum(each.samples * each.repeats / rate for each, rate in rated))


LoadingInput = Annotated[ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput, Field(discriminator="kind")]


@request_of(Target)
class TargetInput(Derived):
    """What is to be reached; survival_probability null leaves the curves as their source gives them."""


class DepthPath(Strict):
    """Stress normal to the crack's plane from the toe through the plate, of every unit load case."""

    distance_mm: Annotated[list[NonNegative], Field(min_length=2, max_length=1_000)]
    cases: dict[str, Annotated[list[Number], Field(min_length=2, max_length=1_000)]] = Field(
        min_length=1, max_length=MAX_CASES
    )


class GrowthPart(Strict):
    """A crack that starts at the governing station of a line; its life stands beside that of the curve."""

    line: Name = Field(description="line to which the depth path belongs")
    path: DepthPath
    crack: SurfaceRequest
    law: LawRequest
    end: EndRequest = EndRequest()
    sharing: SharingRequest | None = None


class CheckRequest(Titled):
    """Weld lines with the stresses of unit load cases, a loading, a target, and the curves."""

    material: CheckMaterial = CheckMaterial()
    condition: Condition = "as-welded"
    coefficients: Literal["exact", "published-fit"] = "exact"
    lines: list[LineInput] = Field(min_length=1, max_length=_MAX_LINES)
    load_cases: dict[str, Description] = Field(default={}, max_length=MAX_CASES)
    loading: LoadingInput = Field(description="how often the load cases act together, and how large")
    target: TargetInput = TargetInput()
    curves: CurvesInput = BiaxialityCurves()
    growth: GrowthPart | None = None


class GoverningPoint(Strict):
    """Where a crack will start first: the station with the largest utilisation, and its place on the part."""

    line: str
    index: int
    position_mm: float
    coordinates_mm: list[float] | None
    node_id: int | None


@answer_of(LineOutcome)
class LineAnswer(Strict):
    """Results along one line; the single values are those of its governing station.

    Stations that are not judged have their numbers, and the largest of them stand by themselves.
    """

    governing: GoverningPoint


@answer_of(StartedGrowth, omit=("grown",))
class StartedGrowthAnswer(GrowthAnswer):
    """Growth of the crack; lives count single repeats of the loading.

    repeats_asked : repeats of the target times those of a history; a shorter life fails the check
    """

    line: str


@answer_of(CheckOutcome, omit=("governing_line",))
class LinesAnswer(Strict):
    """Verdict and governing point over all lines."""

    verdict: Verdict
    deciding_lines: list[str]
    governing: GoverningPoint


class CheckDescriptions(Strict):
    """Words of the request for a reader; blocks are those of the loading, or the stretches of a history."""

    material: str | None
    line_materials: dict[str, str]
    load_cases: dict[str, str]
    blocks: list[Described]


class CheckAnswer(LinesAnswer):
    """Verdict and governing point over all lines; growth stands beside it and is not added."""

    repeats_asked: float
    service_life: ServiceLife | None
    growth: StartedGrowthAnswer | None
    descriptions: CheckDescriptions | None

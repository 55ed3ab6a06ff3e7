"""When a crack begins, by its potential."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Gt, Le, doc

from fatcore.bounds import NonNegativeArray, PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.trials.length.reading import readings_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InitiationOutcome(Outcome):
    """When a crack began by its potential: the first reading from which all stay risen; null where none is."""

    reading_index: int | None
    cycles: float | None
    baseline_v: float


@guarded
def find_initiation(
    potential_v: PositiveArray,
    cycles: NonNegativeArray,
    *,
    rise: Annotated[float, Gt(0.0), Le(10.0), doc("relative rise over the baseline that tells a crack")],
    baseline_readings: Annotated[int, Ge(1), Le(1000), doc("first readings whose mean is the baseline")],
) -> InitiationOutcome:
    """The first reading from which the potential stays risen by a chosen share.

    Raises : InputError for cycles that do not rise, fewer readings than the baseline and one more
    Source : [own-calibration]
    """
    potential, count = np.asarray(potential_v, dtype=np.float64), np.asarray(cycles, dtype=np.float64)
    readings_of(potential_v=potential, cycles=count)
    if len(potential) <= baseline_readings:
        raise InputError("there are no readings after the baseline", "baseline_readings")
    falls = np.diff(count) <= 0.0
    if falls.any():
        raise InputError("cycles must rise from reading to reading", "cycles", int(np.argmax(falls)) + 1)
    baseline = float(potential[:baseline_readings].mean())
    risen = potential >= baseline * (1.0 + rise)
    stays = np.flip(np.logical_and.accumulate(np.flip(risen)))
    place = int(np.argmax(stays)) if stays.any() else None
    spread = float(np.ptp(potential[:baseline_readings])) / baseline
    found = []
    if spread > 0.5 * rise:
        text = (
            f"the baseline scatters by {figure(100.0 * spread)} %, more than half of the rise asked"
            " for: the moment is noise"
        )
        found.append(outside("baseline-scatters", text, field="rise"))
    if place is not None and place < baseline_readings:
        text = "the potential is risen within its own baseline: the crack began before the readings"
        found.append(outside("risen-in-baseline", text, field="baseline_readings"))
    if place is None:
        found.append(
            note("no-initiation", f"the potential does not stay risen by {as_given(100.0 * rise)} %", field="rise")
        )
    return InitiationOutcome(
        reading_index=place,
        cycles=None if place is None else float(count[place]),
        baseline_v=baseline,
        **evidence(findings=found, sources=["own-calibration"]),
    )

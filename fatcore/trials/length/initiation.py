"""When a crack begins, by its potential."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, doc
from numpy.typing import NDArray

from fatcore.bounds import SMALLEST, NonNegativeArray, PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.trials.length.reading import readings_of

_IN_A_ROW = 3  # risen readings that count as a crack whatever follows [own choice]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InitiationOutcome(Outcome):
    """When a crack began by its potential; null where it is not.

    reading_index, cycles : first reading from which all stay risen, or from which three in a row are, the earlier one
    """

    reading_index: int | None
    cycles: float | None
    baseline_v: float


@guarded
def find_initiation(
    potential_v: PositiveArray,
    cycles: NonNegativeArray,
    *,
    rise: Annotated[float, Ge(SMALLEST), Le(10.0), doc("relative rise over the baseline that tells a crack")],
    baseline_readings: Annotated[int, Ge(1), Le(1000), doc("first readings whose mean is the baseline")],
) -> InitiationOutcome:
    """The first reading from which the potential stays risen by a chosen share, to the end or for three in a row.

    The earlier one of both counts, so that a single low reading later on does not put the crack off.
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
    last = int(np.argmax(stays)) if stays.any() else None
    first = _risen_in_a_row(risen)
    place = min((each for each in (first, last) if each is not None), default=None)
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
    if first is not None and first != last and place == first:
        lower = int((~risen[first:]).sum())
        until = "the end is not reached risen" if last is None else f"all from {as_given(count[last])} cycles on are"
        text = (
            f"{_IN_A_ROW} readings in a row are risen from {as_given(count[first])} cycles on, {lower} later reading(s)"
            f" are not, and {until}: the earlier moment counts"
        )
        found.append(caution("rise-falls-back", text, field="reading_index"))
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


def _risen_in_a_row(risen: NDArray[np.bool_]) -> int | None:
    """Where the first run of risen readings of the length that counts begins; None without one."""
    if len(risen) < _IN_A_ROW:
        return None
    runs = np.lib.stride_tricks.sliding_window_view(risen, _IN_A_ROW).all(axis=1)
    return int(np.argmax(runs)) if runs.any() else None

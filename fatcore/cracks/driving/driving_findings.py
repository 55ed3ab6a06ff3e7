"""What an answer says about its driving force: range, load ratio, closure, modes, lasting stress."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import CrackLoading
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.mixed_mode import criterion_sources
from fatcore.cracks.driving.ranges import AS_WELDED_LOAD_RATIO, range_rule
from fatcore.cracks.driving.transitions import LEAST_WHOLE_CYCLES, transition_cycles
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside, outside_limits
from fatcore.plausible import intensity_doubts
from fatcore.require import FloatArray

NOTICED = 0.05  # growth of cycles that were left out over that of those counted [own choice]


def drive_findings(law: GrowthLaw, drive: Drive, units: Sequence[UnitIntensity]) -> list[Finding]:
    """Findings of a law (as given), a loading and a condition at the stress intensities of a life.

    Raises : InputError for a criterion that leaves out the mode that governs
    """
    ratios = np.concatenate([np.ravel(drive.ranges(unit).load_ratio) for unit in units])
    found = [range_rule(drive.condition), *_transitions(drive, units[0])]
    found += [*law_findings(law, drive.condition, ratios), *_closure(law, drive)]
    if drive.condition == "stress-relieved":
        found += _load_ratio(drive, ratios)
    found += _static(drive, units)
    first = drive.ranges(units[0].first()).delta_k_mpa_sqrt_mm
    found += intensity_doubts(first, "range of stress intensity at the first size", "loading")
    for unit in units:
        found += _modes(drive, unit)
    return found


def mode_sources(drive: Drive, units: Sequence[UnitIntensity]) -> tuple[str, ...]:
    """Publications of the criterion, where there are several modes."""
    mixed = any(unit.sliding is not None or unit.tearing is not None for unit in units)
    return criterion_sources(drive.criterion) if mixed else ()


def _transitions(drive: Drive, unit: UnitIntensity) -> list[Finding]:
    """Cycles between the entries of a block, added or not, and what they weigh at the first size."""
    loading = drive.loading
    given = loading.count.size - loading.added_entries
    high, low, count = (c[:given] for c in (loading.maximum, loading.minimum, loading.count))
    extra = transition_cycles(high, low)
    if extra.cycles.size == 0:
        return []
    spans = extra.maximum - extra.minimum
    largest = int(np.argmax(spans))
    entries = _growth(drive, unit, high, low, count)
    between = _growth(drive, unit, extra.maximum, extra.minimum, extra.cycles)
    reported = (
        f"the largest goes from {as_given(extra.minimum[largest])} to {as_given(extra.maximum[largest])}, a range of"
        f" {figure(spans[largest])} load factors; at the first size an effective range of {figure(between.largest)}"
        f" MPa√mm counts of them against {figure(entries.largest)} of the entries, and by the growth law"
        f" they grow the crack {_times(entries.advance_mm, between.advance_mm)} the entries"
    )
    if loading.added_entries:
        message = (
            f"{int(extra.cycles.sum())} cycles a repeat between the entries were counted besides them (on the"
            f" safe side): {reported}; entries that come from a count of cycles hold them already: give"
            " transitions in-entries"
        )
        return [caution("block-transitions", message, field="loading")]
    whole = (high == high.max()) & (low == low.min())
    message = f"cycles between the entries were taken to be among the entries: {reported}"
    held = float(count[whole].sum())
    if held >= LEAST_WHOLE_CYCLES:
        return [note("transitions-in-entries", message, field="loading")]
    message += (
        f"; entries that reach both extremes hold {figure(held)} cycles a repeat, a complete count holds at least"
        f" {as_given(LEAST_WHOLE_CYCLES)}"
    )
    if between.advance_mm > NOTICED * entries.advance_mm:
        return [outside("entries-without-largest-cycle", message, field="loading")]
    return [caution("block-transitions", message, field="loading")]


class _Growth(NamedTuple):
    """Largest effective range [MPa√mm] of some cycles, and how far they grow the crack in one pass."""

    largest: float
    advance_mm: float


def _growth(drive: Drive, unit: UnitIntensity, high: FloatArray, low: FloatArray, count: FloatArray) -> _Growth:
    """Of some cycles at the first of the sizes, at the point that they drive most, without retardation."""
    alone = replace(drive, loading=CrackLoading(maximum=high, minimum=low, count=count))
    first = unit.first()
    with np.errstate(all="ignore"):
        advance = alone.mean_rate(first) * alone.loading.cycles_per_block
    return _Growth(float(alone.ranges(first).delta_k_mpa_sqrt_mm.max()), float(np.max(advance)))


def _times(entries_mm: float, between_mm: float) -> str:
    if entries_mm > 0.0 and np.isfinite([entries_mm, between_mm]).all():
        return f"{figure(between_mm / entries_mm)} times as much as"
    return "instead of" if between_mm > 0.0 else "no more than"


def _closure(law: GrowthLaw, drive: Drive) -> list[Finding]:
    effect = law.effect
    if not effect.closure:
        return []
    if drive.condition == "as-welded":
        message = (
            f"as-welded: residual stress holds the crack open, so the opening function {effect.kind} was not"
            " used and the whole range counts"
        )
        return [caution("closure-without-bonus", message, field="load_ratio_effect")]
    if effect.kind != "elber":
        return []
    message = "the opening function was measured on aluminium 2024-T3; other alloys close differently"
    return [caution("closure-of-one-alloy", message, field="load_ratio_effect", source="elber-1971")]


def _load_ratio(drive: Drive, ratios: FloatArray) -> list[Finding]:
    """Load ratios that the source of the effect does not speak of, over the life."""
    limit = drive.law.effect.limit
    if limit is None:
        return []
    found = list(outside_limits((limit,), load_ratio=ratios))
    if found:
        kind = drive.law.effect.kind
        message = (
            f"outside the load ratios of its source the opening function {kind} takes off no more than at"
            " their end: below, the open share stays, up to all above zero load or what is open at that end;"
            " above, the opening level"
            if drive.law.effect.closure
            else f"below load ratio 0 the {kind} law takes the open part of the range at load ratio 0"
        )
        found.append(note("load-ratio-convention", message, field="load_ratio"))
    return found


def _static(drive: Drive, units: Sequence[UnitIntensity]) -> list[Finding]:
    if drive.condition != "as-welded" or not any(np.any(np.asarray(unit.static)) for unit in units):
        return []
    zones = " and in the plastic zones of retardation" if drive.loading.retardation else ""
    message = (
        "as-welded stands for tensile residual stress already: lasting tension changes no range, and the"
        f" load ratio only where it exceeds {as_given(AS_WELDED_LOAD_RATIO)}; it counts in the ends of growth by"
        f" strength{zones}; lasting compression is credited nowhere"
    )
    return [caution("static-stress-as-welded", message, field="static_membrane_mpa")]


def _modes(drive: Drive, unit: UnitIntensity) -> tuple[Finding, ...]:
    if unit.sliding is None and unit.tearing is None:
        return ()
    message = f"modes were combined by the criterion {drive.criterion}; shear counts in full in any condition"
    return (note("modes-combined", message, field="criterion"), *drive.tearing_findings(unit))

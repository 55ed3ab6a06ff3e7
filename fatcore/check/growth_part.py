"""Crack growth from the governing station: the loading of the check on one through-thickness shape."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le

from fatcore.bounds import Positive, guard
from fatcore.check.complete import CheckOutcome
from fatcore.check.findings.yardstick import REPEATING, RESIDUE, joined
from fatcore.check.line import Basis
from fatcore.check.loading import BlockLoading, HistoryLoading, Loading
from fatcore.check.path_location import path_location_findings
from fatcore.check.stations import SAME
from fatcore.check.strength.resistance import Target
from fatcore.check.strength.suitability import law_findings
from fatcore.check.verdict import Verdict, check_verdict, find_deciding_lines
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Sharing
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.load_blocks import CrackLoading, block_loading
from fatcore.cracks.driving.ranges import Condition
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.errors import InputError, at
from fatcore.figures import beside_asked, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.damage.left_out import choice_findings

MAX_ENTRIES = 20_000  # load entries of one pass that the integration may take
SHEAR_GOVERNS = 0.5
STILL = 1e-9  # of the largest stress: a smaller range is rounding
SHAPE_LIMIT = 0.05  # second over first singular value of the paths under load [own choice]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackStart:
    """Where and how a crack starts: depth path of the stress normal to its plane, crack configuration, law, ends.

    distance_mm      : depths from the toe, ascending from 0; path_mpa: stress of each unit load case there
    element_size_mm : element size of the line's model at the toe, None is unknown
    shear_share  : part of the two shear modes in the squared equivalent stress of the station, 0 is unknown
    opening_mpa  : stress of each unit load case that opens the station, empty is unknown; basis: its kind
    """

    distance_mm: FloatArray
    path_mpa: Mapping[str, FloatArray]
    crack: SurfaceCrack
    law: GrowthLaw
    end: EndCriteria
    sharing: Sharing | None = None
    element_size_mm: Positive | None = None
    shear_share: Annotated[float, Ge(0.0), Le(1.0)] = 0.0
    opening_mpa: Mapping[str, float] = field(default_factory=dict)
    basis: Basis = "peak-stress"

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StartedGrowth(Outcome):
    """Growth of the crack under the loading of the check.

    grown        : life and history; life_repeats: passes of the loading, None when the crack is arrested
    repeats_asked, reaches_target : passes of the target, and whether the crack lives as long
    shape_ratio  : second over first singular value of the depth paths under load: 0 when all have one shape
    """

    grown: GrowthOutcome
    life_repeats: float | None
    repeats_asked: float
    reaches_target: bool
    shape_ratio: float


def grow_from_station(
    start: CrackStart,
    loading: Loading,
    target: Target,
    condition: Condition,
    material: str = "structural-steel",
) -> StartedGrowth:
    """Grows the crack under the loading of the check, load cases superposed on the depth path.

    The depth paths of all load states are brought on their dominant shape; what that leaves out is in
    `shape_ratio`. Cycles keep their order (histories: by the moment they close).
    target   : its repeats are what the crack must live, its load factor acts on all loads
    material : name; a published law of another material is outside validity
    Raises   : InputError for a case without path, too many entries, a loading without range
    """
    states = target.load_factor * _states(loading)
    paths = _paths(start, loading)
    unit, factors, ratio = _dominant(states @ paths)
    entries = _entries(loading, factors)
    with at("path"):
        stress = Stress(
            distance_mm=tuple(start.distance_mm),
            stress_mpa=tuple(unit),
            element_size_mm=start.element_size_mm,
        )
    grown = grow(
        crack=start.crack,
        stress=stress,
        law=start.law,
        loading=entries,
        end=start.end,
        sharing=start.sharing,
        condition=condition,
    )
    repeats = None if grown.life_cycles is None else grown.life_cycles / entries.cycles_per_block
    reaches = repeats is None or repeats >= target.repeats * (1.0 - SAME)
    found = [
        *_findings(ratio, start.shear_share),
        *_of_place(start, loading, states, paths),
        *_of_rest(grown),
        *_factors_left_out(target),
        *law_findings(start.law, material),
        *(_by_residue(start, loading, target, condition, repeats) if reaches else ()),
        *([] if reaches else [_short(grown, repeats, target)]),
    ]
    return StartedGrowth(
        grown=grown.judged_by(found),
        life_repeats=repeats,
        repeats_asked=target.repeats,
        reaches_target=reaches,
        shape_ratio=ratio,
        **evidence(grown, findings=found),
    )


def count_repeats(outcome: CheckOutcome, started: StartedGrowth, line_name: str) -> CheckOutcome:
    """The outcome of the check with the crack of one of its lines in the verdict.

    A crack that ends before the repeats asked fails; one that lives as long by a number with an `outside`
    finding, or whose count was stopped before, leaves the check undecided.
    line_name : line to which the depth path belongs
    """
    verdicts = {line.name: line.verdict for line in outcome.lines}
    doubtful = any(finding.severity == "outside" for finding in started.findings)
    short = not started.reaches_target and not _stopped(started.grown)
    crack: Verdict = "fail" if short else "undecided" if doubtful else "pass"
    verdicts[line_name] = check_verdict([verdicts[line_name], crack])
    verdict = check_verdict(verdicts.values())
    factor = None if short else outcome.factor_to_limit  # no factor on the loads of the curve saves the crack
    deciding = find_deciding_lines(verdicts, verdict)
    return replace(outcome, verdict=verdict, deciding_lines=deciding, factor_to_limit=factor)


def _states(loading: Loading) -> FloatArray:
    """Load factors of the cases in every load state, (states, cases): two a block, or the samples."""
    if isinstance(loading, HistoryLoading):
        return np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()], axis=1)
    ends = np.stack(loading.states(), axis=1)
    return ends.reshape(-1, ends.shape[-1])


def _paths(start: CrackStart, loading: Loading) -> FloatArray:
    rows = []
    for name in loading.names():
        with at("path", "cases"):
            if name not in start.path_mpa:
                raise InputError(f"the depth path has no load case {name!r}, which is loaded", name)
            row = finite(name, start.path_mpa[name])
            if row.shape != np.shape(start.distance_mm):
                raise InputError(f"the path has {len(start.distance_mm)} depths, this case {row.size} stresses", name)
        rows.append(row)
    return np.stack(rows)


def _dominant(stress_mpa: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """Dominant shape of the paths (largest stress 1, tension at the surface), its factors, the rest."""
    left, size, right = np.linalg.svd(stress_mpa, full_matrices=False)
    if size[0] == 0.0:
        raise InputError("the loading causes no stress along the depth path", "path")
    scale = float(right[0, np.argmax(np.abs(right[0]))])
    scale = abs(scale) if right[0, 0] >= 0.0 else -abs(scale)
    ratio = float(size[1] / size[0]) if size.size > 1 else 0.0
    return right[0] / scale, left[:, 0] * size[0] * scale, ratio


def _entries(loading: Loading, factors: FloatArray) -> CrackLoading:
    still = STILL * float(np.abs(factors).max())  # ranges that only rounding of the dominant shape makes
    if isinstance(loading, BlockLoading):
        return _block_entries(loading, factors.reshape(-1, 2), still)
    if np.ptp(factors) <= still:
        raise InputError("the history has no range along the depth path: nothing grows the crack")
    cycles = rainflow(factors, loading.residue)
    if not 0 < cycles.count.size <= MAX_ENTRIES:
        text = f"growth takes histories of 1 to {MAX_ENTRIES} cycles, this one has {cycles.count.size}"
        raise InputError(text)
    return block_loading(cycles.maximum_mpa, cycles.minimum_mpa, cycles.count, transitions="in-entries")


def _block_entries(loading: BlockLoading, pairs: FloatArray, still: float) -> CrackLoading:
    high, low = pairs.max(axis=1), pairs.min(axis=1)
    low = np.where(high - low <= still, high, low)
    if not (high > low).any() and not (loading.joined and np.ptp(high) > still):
        raise InputError("no block has a range along the depth path: nothing grows the crack")
    counts = [block.cycles for block in loading.blocks]
    return block_loading(high, low, counts, transitions=loading.transitions)


def _of_place(start: CrackStart, loading: Loading, states: FloatArray, paths: FloatArray) -> list[Finding]:
    if not start.opening_mpa:
        return []
    opening = np.array([start.opening_mpa[name] for name in loading.names()])
    return path_location_findings(states @ paths[:, 0], states @ opening, start.basis)


def _of_rest(grown: GrowthOutcome) -> list[Finding]:
    """An infinite life hangs on the threshold or on closure alone: no verdict should pass over that."""
    if not grown.below_cutoff:
        return []
    size = f"{figure(grown.final_depth_mm)} mm"
    text = (
        f"growth counts as infinite, since the crack is arrested at a depth of {size}: by its threshold, or"
        " since no cycle opens it; both hang on the first size, the stress and the condition as given"
    )
    return [caution("target-reached-at-rest", text, field="reaches_target")]


def _by_residue(
    start: CrackStart, loading: Loading, target: Target, condition: Condition, life_repeats: float | None
) -> tuple[Finding, ...]:
    """Whether the crack lives as long as asked only because the cycles between passes are left out."""
    whole = joined(loading, target.repeats)
    if whole is None:
        return ()
    other = grow_from_station(start, whole, target, condition).life_repeats
    used, used_whole = (0.0 if life is None else target.repeats / life for life in (life_repeats, other))
    return choice_findings(used, used_whole, 1.0 + SAME, RESIDUE.words, REPEATING, field=RESIDUE.field)


def _stopped(grown: GrowthOutcome) -> bool:
    return grown.history.end_reason == "cycles"


def _short(grown: GrowthOutcome, repeats: float | None, target: Target) -> Finding:
    lives, asked = beside_asked(repeats, target.repeats)
    if _stopped(grown):
        text = (
            f"the count of cycles was stopped after {lives} repeats by end.cycles, {asked}"
            " are asked: what the crack does after that is not known"
        )
        return outside("count-stopped-before-target", text, field="life_repeats")
    text = f"the crack lives {lives} repeats, {asked} are asked: the check fails by it"
    return caution("crack-before-target", text, field="life_repeats")


def _factors_left_out(target: Target) -> list[Finding]:
    """What the target asks of the curves and nothing in growth answers to."""
    asked = {
        "survival probability": target.survival_probability is not None,
        "resistance factor": target.resistance_factor != 1.0,
        "design fatigue factor": target.design_fatigue_factor is not None,
    }
    names = [name for name, given in asked.items() if given]
    if not names:
        return []
    does = "does" if len(names) == 1 else "do"
    text = (
        f"{' and '.join(names)} of the target {does} not act on the growth of the crack: its life is that of the"
        " growth law as given"
    )
    return [caution("growth-without-factors", text, field="growth")]


def _findings(ratio: float, shear_share: float) -> list[Finding]:
    found = [
        note(
            "lives-not-added",
            "the life of the design curve already holds growth to its own end of life; the growth life"
            " counts from the first flaw to its end and stands beside it: the two are not added",
            field="growth",
        )
    ]
    if ratio > SHAPE_LIMIT:
        text = f"the depth paths of the load states differ in shape (singular values' ratio {figure(ratio)})"
        found.append(caution("paths-of-several-shapes", text, field="shape_ratio"))
    if shear_share > SHEAR_GOVERNS:
        text = f"shear governs the station ({figure(100.0 * shear_share)} % of the squared equivalent stress), and"
        text += " the path holds the normal stress only: the growth life says little about it"
        found.append(caution("shear-governs-growth", text, field="path"))
    return found

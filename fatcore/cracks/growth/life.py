"""Life of a growing crack: integration over its size, from the first flaw to an end, with or without load
sharing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from annotated_types import doc

from fatcore.bounds import guarded
from fatcore.cracks.configurations.configuration import CrackConfiguration, initial_compliance
from fatcore.cracks.configurations.plates import THROUGH
from fatcore.cracks.configurations.sharing import Sharing
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.driving_findings import drive_findings, mode_sources
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.load_blocks import CrackLoading
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.mixed_mode import Criterion
from fatcore.cracks.driving.ranges import Condition
from fatcore.cracks.growth._beside import credit_findings, written
from fatcore.cracks.growth._input_validation import guard_criterion, guard_cycling, guard_given
from fatcore.cracks.growth._life_findings import averaging_error, growth_findings
from fatcore.cracks.growth._phase import Phase, run_phase
from fatcore.cracks.growth._vanishing_drive import VANISHES
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.history import History, history_of, judged
from fatcore.errors import at
from fatcore.findings import Finding, caution
from fatcore.outcome import Outcome, evidence

CRITERION = "only for tables of several modes; null is the largest of all criteria"
NO_STRESS, NO_OTHER_END = Stress(), EndCriteria()  # nothing acts but a given stress intensity; the crack itself ends
TOLERANCE = 1e-7
BLOCK_TOLERANCE = 1e-5  # where entries of a block begin to grow the crack one by one, each with a jump
LONG_BLOCK_TOLERANCE, LONG_BLOCK = 1e-4, 200
HIDDEN_JUMPS_TOLERANCE = 1e-3  # where the places of the jumps are not known beforehand


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthOutcome(Outcome):
    """Life of a crack and how it got there.

    life_cycles     : cycles to the end; None when the crack is arrested (below_cutoff is True)
    life_blocks     : the same in blocks of the loading
    below_cutoff    : every range is below the threshold, at the start or where the crack comes to rest
    end_reason      : what ended growth
    final_depth_mm, final_half_length_mm : sizes at the end
    history         : columns over the life
    constant_load_life_cycles, life_extension_factor : with sharing: life to the same size when nothing takes
                                                       load from
                      the crack, and how many times longer the shared life is
    life_without_retardation_cycles : with retardation: life to the same ends when overloads slow nothing
    life_without_compression_cycles : with lasting stress that presses a stress-relieved crack together: life
                      without the compressive parts
    averaging_error : with several entries in a block: relative error of the life from taking the mean over a
                      block: one block, and one more for each e-fold of the growth rate; a bound without
                      retardation, an estimate with it
    """

    life_cycles: float | None
    life_blocks: float | None
    below_cutoff: bool
    end_reason: str
    final_depth_mm: float | None
    final_half_length_mm: float | None
    constant_load_life_cycles: float | None = None
    life_extension_factor: float | None = None
    life_without_retardation_cycles: float | None = None
    life_without_compression_cycles: float | None = None
    averaging_error: float | None = None
    history: History

    def judged_by(self, findings: Iterable[Finding]) -> GrowthOutcome:
        """The same, its history marked by what more puts it outside validity."""
        return replace(self, history=judged(self.history, (*self.findings, *findings)))


@guarded
def grow(
    *,
    crack: CrackConfiguration,
    stress: Stress = NO_STRESS,
    law: GrowthLaw,
    loading: CrackLoading,
    condition: Condition = "as-welded",
    end: EndCriteria = NO_OTHER_END,
    sharing: Sharing | None = None,
    criterion: Annotated[Criterion | None, doc(CRITERION)] = None,
    tolerance: float | None = None,
) -> GrowthOutcome:
    """Grows a crack to its end.

    crack     : configuration with its first crack; stress : for load factor 1 (not with a table of stress intensities)
    law       : growth law; loading : load factors, see `loading.constant` and `loading.blocks`
    end       : what ends growth besides the configuration itself
    sharing   : what takes load from the cracked member; a tabled crack overrides it
    condition : as-welded (whole range at high load ratio) or stress-relieved (open part of the range)
    criterion : only for tables with several modes; None takes the largest of all criteria
    tolerance : relative error of the life per step of the integration; None is 1e-7, for blocks of more than
                20 entries with a threshold or two stages and for retardation 1e-5, of more than 200 1e-4, for
                Willenborg with a threshold or two stages 1e-3
    Raises    : InputError for a crack, stress or end that do not fit together
    Source    : [paris-1963] and those of law, crack and sharing
    >>> from fatcore.cracks.configurations.straight import CentreCrack
    >>> from fatcore.cracks.driving import law, load_blocks
    >>> centre = CentreCrack(half_length_mm=1.0)
    >>> life = grow(crack=centre, stress=Stress(membrane_mpa=100.0), law=law.paris(5.21e-13, 3.0),
    ...             loading=load_blocks.constant_loading(), end=EndCriteria(half_length_mm=10.0)).life_cycles
    >>> round(life, 2)
    471388.44
    """
    used = None if crack.carries_stress else sharing
    with at("stress"):
        given = Stressed(crack, stress, used)
    guard_given(given, end)
    guard_cycling(given, loading)
    guard_criterion(crack, criterion)
    drive = Drive(law=law, loading=loading, condition=condition, criterion=criterion or "largest")
    tolerance = tolerance or _default_tolerance(drive)
    with at("end"):
        end.sizes_for(crack)

    def relive(other: Drive) -> list[Phase]:
        return _phases(crack, stress, other, end, used, _default_tolerance(other))

    phases = _phases(crack, stress, drive, end, used, tolerance)
    history = history_of(phases, strength_checked=not end.not_looked_for)
    reason, rests = phases[-1].reason, phases[-1].reason == "arrest"
    straight, straight_error = _grow_without_retardation(drive, relive)
    # a block longer than the life without retardation ends the crack before an overload may slow it
    errors = [None if rests else averaging_error(history, drive), straight_error]
    error = max((each for each in errors if each is not None), default=None)
    units = [phase.unit for phase in phases]
    found = [
        *drive_findings(law, drive, units),
        *growth_findings(phases, drive, end, used, error),
        *_override(crack, sharing),
    ]
    life = None if rests else phases[-1].cycles
    alone = None if used is None or rests else _alone(crack, stress, drive, phases, tolerance)
    found += credit_findings(drive, life, straight, relive)
    unpressed, reported = _grow_without_compression(given, drive, end, units, life, tolerance)
    found += reported
    return GrowthOutcome(
        life_cycles=life,
        life_blocks=None if life is None else life / loading.cycles_per_block,
        below_cutoff=rests,
        end_reason=reason,
        final_depth_mm=None if history.depth_mm is None else history.depth_mm[-1],
        final_half_length_mm=None if history.half_length_mm is None else history.half_length_mm[-1],
        history=judged(history, found),
        constant_load_life_cycles=alone,
        life_extension_factor=life / alone if life and alone else None,
        life_without_retardation_cycles=straight,
        life_without_compression_cycles=unpressed,
        averaging_error=error,
        **evidence(
            findings=found,
            sources=[*_sources(phases, drive, used), *mode_sources(drive, units)],
            tables=[t for phase in phases for t in phase.stressed.crack.tables] + [law.table or ""] * bool(law.table),
        ),
    )


def _phases(
    crack: CrackConfiguration, stress: Stress, drive: Drive, end: EndCriteria, sharing: Sharing | None, tolerance: float
) -> list[Phase]:
    """The crack as it starts and, when it may go on, as the through crack it becomes."""
    stressed = Stressed(crack, stress, sharing)
    with at("end"):
        end.checked_for(stressed)
    first = run_phase(stressed, drive, end, 0.0, tolerance)
    if not (end.grow_through and first.reason == THROUGH):
        return [first]
    through = crack.after_break_through(float(first.final().length[0]))
    if through is None:
        return [first]
    plain = replace(
        stress,
        membrane_mpa=stressed.parts[0],
        bending_mpa=stressed.parts[1],
        distance_mm=(),
        stress_mpa=(),
        element_size_mm=None,
    )
    stressed = Stressed(through, plain, sharing, _raise(first, Stressed(through, plain, sharing)))
    with at("end"):
        end.checked_for(stressed)
    return [first, run_phase(stressed, drive, end, first.cycles, tolerance)]


def _raise(first: Phase, through: Stressed) -> float:
    """Factor that keeps the through crack driven as hard as the surface points just before it."""
    depth, length, _, added = first.final()
    half = np.array([through.crack.start()[0]])
    own = np.zeros((0, 1))
    if through.sharing is not None:
        own = initial_compliance(through.crack, float(half[0]), float(half[0]))[:, None]
    with np.errstate(all="ignore"):
        before = float(np.abs(first.stressed.unit(depth, length, added).opening[1, 0]))
        after = float(np.abs(through.unit(half, half, own).opening).max())
    return max(1.0, before / after) if np.isfinite(before) and after > 0.0 else 1.0


def _default_tolerance(drive: Drive) -> float:
    if not drive.has_many_jumps:
        return TOLERANCE
    if drive.hides_jumps:
        return HIDDEN_JUMPS_TOLERANCE
    return LONG_BLOCK_TOLERANCE if drive.loading.count.size > LONG_BLOCK else BLOCK_TOLERANCE


def _alone(
    crack: CrackConfiguration, stress: Stress, drive: Drive, phases: list[Phase], tolerance: float
) -> float | None:
    """Life to the same final size without sharing."""
    last = phases[-1]
    deep = "depth_mm" in last.stressed.crack.end_sizes
    end = EndCriteria(
        depth_mm=float(last.final().depth[0]) if deep else None,
        half_length_mm=None if deep else float(last.final().length[0]),
        grow_through=len(phases) > 1,
    )
    alone = _phases(crack, stress, drive, end, None, tolerance)[-1]
    return None if alone.reason in ("arrest", VANISHES) else alone.cycles


def _grow_without_retardation(
    drive: Drive, relive: Callable[[Drive], list[Phase]]
) -> tuple[float | None, float | None]:
    """Life to the same ends without the effect of overloads, and the error of its block average; None at rest."""
    if drive.loading.retardation is None:
        return None, None
    plain = replace(drive, loading=replace(drive.loading, retardation=None))
    phases = relive(plain)
    rests = phases[-1].reason == "arrest"
    return (None, None) if rests else (phases[-1].cycles, averaging_error(history_of(phases), plain))


def _grow_without_compression(
    given: Stressed, drive: Drive, end: EndCriteria, units: list[UnitIntensity], life: float | None, tolerance: float
) -> tuple[float | None, list[Finding]]:
    """Life without the compressive parts of the lasting stress, where it takes off any range."""
    if drive.condition == "as-welded" or not any(np.any(np.asarray(unit.static) < 0.0) for unit in units):
        return None, []
    parts = given.stress.static_membrane_mpa, given.stress.static_bending_mpa
    left = [max(part, 0.0) for part in parts] if min(parts) < 0.0 else [0.0, 0.0]
    plain = replace(given.stress, static_membrane_mpa=left[0], static_bending_mpa=left[1])
    last = _phases(given.crack, plain, drive, end, given.sharing, tolerance)[-1]
    beside = None if last.reason == "arrest" else last.cycles
    message = (
        "stress-relieved: a lasting compression holds the crack closed over a part of the cycles, and has to"
        f" last as long as the crack grows: without it the life is {written(beside, life)}, with it "
        f"{written(life, beside)}"
    )
    return beside, [caution("compression-counted", message, field="life_without_compression_cycles")]


def _override(crack: CrackConfiguration, sharing: Sharing | None) -> list[Finding]:
    if sharing is None or not crack.carries_stress:
        return []
    message = "the given stress intensity overrides the sharing model, which was not used"
    return [caution("table-overrides-sharing", message, field="sharing", source="user-table")]


def _sources(phases: list[Phase], drive: Drive, sharing: Sharing | None) -> list[str]:
    keys = list(drive.law.sources) + [key for phase in phases for key in phase.stressed.crack.sources]
    if sharing is not None:
        keys += ["irwin-kies-1954", "shared-load-derivation"]
    if any(phase.stressed.stress.distance_mm for phase in phases):
        keys += ["weight-universal-1991", "weight-surface-1991"]
    model = drive.loading.retardation
    if model is not None:
        keys.append("wheeler-1972" if model.model == "wheeler" else "willenborg-1971")
    return keys

"""Life of a growing crack: integration over its size, from the first flaw to an end, with or without load
sharing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fatcore.cracks._drive_findings import drive_findings, mode_sources
from fatcore.cracks._growth_history import History, history_of, sharing_depths
from fatcore.cracks._growth_phase import Phase, run_phase
from fatcore.cracks.bodies import CentreCrack, EdgeCrack, SurfaceCrack
from fatcore.cracks.ends import End
from fatcore.cracks.function_crack import FunctionCrack
from fatcore.cracks.law import GrowthLaw
from fatcore.cracks.loading import Drive, Loading
from fatcore.cracks.ranges import Condition
from fatcore.cracks.sharing import Sharing, sharing_findings
from fatcore.cracks.stressing import Stress, Stressed
from fatcore.cracks.tabled_crack import TabledCrack
from fatcore.cracks.turning import Criterion
from fatcore.errors import at
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence

__all__ = ["BLOCK_TOLERANCE", "TOLERANCE", "Crack", "GrowthOutcome", "grow"]

TOLERANCE = 1e-7
BLOCK_TOLERANCE = 1e-5  # where entries of a block begin to grow the crack one by one, each with a jump
LONG_BLOCK_TOLERANCE, LONG_BLOCK = 1e-4, 200
COARSE = 0.05

Crack = SurfaceCrack | EdgeCrack | CentreCrack | TabledCrack | FunctionCrack


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthOutcome(Outcome):
    """Life of a crack and how it got there.

    life_cycles     : cycles to the end; None when the crack stands still (below_cutoff is True)
    life_blocks     : the same in blocks of the loading
    below_cutoff    : every range is below the threshold, at the start or where the crack comes to rest
    end_reason      : what ended growth
    final_depth_mm, final_half_length_mm : sizes at the end
    history         : columns over the life
    constant_load_life_cycles, lengthening : with sharing: life to the same size when nothing takes load from
                      the crack, and how many times longer the shared life is
    averaging_error : with several entries in a block: bound on the relative error of the life from taking the
                      mean over a block: one block, and one more for each e-fold of the growth rate
    """

    life_cycles: float | None
    life_blocks: float | None
    below_cutoff: bool
    end_reason: str
    final_depth_mm: float | None
    final_half_length_mm: float | None
    history: History
    constant_load_life_cycles: float | None = None
    lengthening: float | None = None
    averaging_error: float | None = None


def grow(
    *,
    crack: Crack,
    stress: Stress | None = None,
    law: GrowthLaw,
    loading: Loading,
    end: End | None = None,
    sharing: Sharing | None = None,
    condition: Condition = "as-welded",
    criterion: Criterion = "largest",
    tolerance: float | None = None,
) -> GrowthOutcome:
    """Grows a crack to its end.

    crack     : body with its first crack; stress : for load factor 1 (not with a table of stress intensities)
    law       : growth law; loading : load factors, see `loading.constant` and `loading.blocks`
    end       : what ends growth besides the body itself
    sharing   : what takes load from the cracked member; a tabled crack overrides it
    condition : as-welded (whole range at high load ratio) or stress-relieved (open part of the range)
    criterion : for tables with several modes; the default takes the largest of all criteria
    tolerance : relative error of the life per panel of the integration; None is 1e-7, for blocks of more than
                20 entries with a threshold or two stages and for retardation 1e-5, of more than 200 1e-4
    Raises    : InputError for a crack, stress or end that do not fit together
    Source    : [paris-1963] and those of law, body and sharing
    >>> from fatcore.cracks import loading, law
    >>> centre = CentreCrack(half_length_mm=1.0)
    >>> life = grow(crack=centre, stress=Stress(membrane_mpa=100.0), law=law.paris(5.21e-13, 3.0),
    ...             loading=loading.constant(), end=End(half_length_mm=10.0)).life_cycles
    >>> round(life, 2)
    471388.44
    """
    end, used = end or End(), None if crack.carries_stress else sharing
    drive = Drive(law=law, loading=loading, condition=condition, criterion=criterion)
    tolerance = tolerance or _default_tolerance(drive)
    phases = _phases(crack, stress or Stress(), drive, end, used, tolerance)
    history = history_of(phases)
    reason, rests = phases[-1].reason, phases[-1].reason == "arrest"
    error = None if rests else _averaging_error(history, drive)
    units = [phase.unit for phase in phases]
    found = [
        *drive_findings(law, drive, units),
        *_findings(phases, used),
        *_given_findings(crack, stress or Stress(), sharing),
    ]
    found += _block_findings(error)
    life = None if rests else phases[-1].cycles
    alone = None if used is None or rests else _alone(crack, stress or Stress(), drive, phases, tolerance)
    return GrowthOutcome(
        life_cycles=life,
        life_blocks=None if life is None else life / loading.cycles_per_block,
        below_cutoff=rests,
        end_reason=reason,
        final_depth_mm=history.depth_mm[-1],
        final_half_length_mm=None if history.half_length_mm is None else history.half_length_mm[-1],
        history=history,
        constant_load_life_cycles=alone,
        lengthening=life / alone if life and alone else None,
        averaging_error=error,
        **evidence(
            findings=found,
            sources=[*_sources(phases, drive, used), *mode_sources(drive, units)],
            tables=[t for phase in phases for t in phase.stressed.body.tables]
            + [law.table or ""] * bool(law.table),
        ),
    )


def _phases(
    crack: Crack, stress: Stress, drive: Drive, end: End, sharing: Sharing | None, tolerance: float
) -> list[Phase]:
    """The crack as it starts and, when it may go on, as the through crack it becomes."""
    stressed = Stressed(crack, stress, sharing)
    with at("end"):
        end.checked_for(stressed)
    first = run_phase(stressed, drive, end, 0.0, tolerance)
    if not (isinstance(crack, SurfaceCrack) and first.reason == "through-thickness" and end.go_on_through):
        return [first]
    through = crack.after_break_through(float(first.final().length[0]))
    plain = replace(
        stress, membrane_mpa=stressed.parts[0], bending_mpa=stressed.parts[1], dist_mm=(), stress_mpa=()
    )
    stressed = Stressed(through, plain, sharing)
    with at("end"):
        end.checked_for(stressed)
    return [first, run_phase(stressed, drive, end, first.cycles, tolerance)]


def _default_tolerance(drive: Drive) -> float:
    if not drive.has_many_jumps:
        return TOLERANCE
    return LONG_BLOCK_TOLERANCE if drive.loading.count.size > LONG_BLOCK else BLOCK_TOLERANCE


def _alone(crack: Crack, stress: Stress, drive: Drive, phases: list[Phase], tolerance: float) -> float | None:
    """Life to the same final size without sharing."""
    last = phases[-1]
    through = isinstance(last.stressed.body, CentreCrack)
    end = End(
        depth_mm=None if through else float(last.final().depth[0]),
        half_length_mm=float(last.final().length[0]) if through else None,
        go_on_through=len(phases) > 1,
    )
    alone = _phases(crack, stress, drive, end, None, tolerance)[-1]
    return None if alone.reason == "arrest" else alone.cycles


def _averaging_error(history: History, drive: Drive) -> float | None:
    if drive.loading.is_constant:
        return None
    deepest, surface = history.rate_deepest_mm_per_cycle, history.rate_surface_mm_per_cycle
    rates = deepest if surface is None else np.maximum(deepest, surface)
    growing = rates[np.isfinite(rates) & (rates > 0.0)]
    life = float(history.elapsed_cycles[-1])
    if not growing.size or life == 0.0:
        return None
    folds = float(np.log(growing.max() / growing.min()))
    return (1.0 + folds) * drive.loading.cycles_per_block / life


def _block_findings(error: float | None) -> list[Finding]:
    if error is None:
        return []
    message = "growth was averaged over the block in its order; averaging_error bounds the relative error"
    found = [note("block-average", message, field="averaging_error")]
    if error > COARSE:
        message = (
            f"a block is long for this life (the mean over it may be wrong by {100.0 * error:.0f} %): divide"
            " all counts of the block by one number and compare, or grow the crack entry by entry, each"
            " ended by its number of cycles"
        )
        found.append(caution("few-blocks", message, field="averaging_error"))
    return found


def _findings(phases: list[Phase], sharing: Sharing | None) -> list[Finding]:
    found: list[Finding] = []
    toe = isinstance(phases[0].stressed.body, SurfaceCrack) and phases[0].stressed.body.toe_footprint_mm
    if toe and phases[0].stressed.stress.dist_mm:
        message = (
            "the toe magnification multiplies the membrane and bending part of a stress path that may hold"
            " the peak of the toe already: give a path of the structural stress with it, or leave the"
            " footprint out"
        )
        found.append(caution("toe-counted-twice", message, field="toe_footprint_mm"))
    for phase in phases:
        body, (depth, length, _, _) = phase.stressed.body, phase.samples
        found += body.findings(depth, length)
        if sharing is not None:
            found += sharing_findings(sharing, body.section, sharing_depths(body, depth))
    if len(phases) > 1:
        message = (
            "the crack that has gone through is taken as straight with its surface length (27 % more area"
            " than the half ellipse, on the safe side); bending stress counts in full as membrane"
        )
        found.append(note("through-crack", message))
    if phases[-1].reason == "arrest":
        message = "every range is below the threshold: the crack stands still and the life is endless"
        found.append(note("below-threshold", message, field="life_cycles"))
    if any(phase.drive.law.threshold_ramp for phase in phases):
        message = (
            "one point of the crack front hovers at its threshold while the other grows: the jump of the rate"
            " there was replaced by a rise over 0.1 % of the threshold"
        )
        found.append(note("hovers-at-threshold", message, field="history"))
    if phases[-1].reason == "unstable":
        message = "the growth law lets the crack run here: taken as the end"
        found.append(note("crack-runs", message, field="end_reason"))
    if phases[-1].cycles == 0.0 and phases[-1].reason != "arrest":
        found.append(caution("ended-at-start", "the crack is at its end from the start", field="end_reason"))
    return found


def _given_findings(crack: Crack, stress: Stress, sharing: Sharing | None) -> list[Finding]:
    """What a crack that is given by its stress intensity leaves out."""
    if not crack.carries_stress:
        return []
    found = []
    if sharing is not None:
        message = "the given stress intensity overrides the sharing model, which was not used"
        found.append(caution("table-overrides-sharing", message, field="sharing", source="user-table"))
    if stress != Stress():
        message = "the given stress intensity holds its stress; the stress of the request was not used"
        found.append(caution("stress-left-out", message, field="stress"))
    return found


def _sources(phases: list[Phase], drive: Drive, sharing: Sharing | None) -> list[str]:
    keys = list(drive.law.sources) + [key for phase in phases for key in phase.stressed.body.sources]
    if sharing is not None:
        keys += ["irwin-kies-1954", "shared-load-derivation"]
    if any(phase.stressed.stress.dist_mm for phase in phases):
        keys += ["weight-universal-1991", "weight-surface-1991"]
    model = drive.loading.retardation
    if model is not None:
        keys.append("wheeler-1972" if model.model == "wheeler" else "willenborg-1971")
    return keys

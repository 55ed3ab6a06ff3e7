"""What a user must know about a computed life of a crack."""

from __future__ import annotations

import numpy as np

from fatcore.cracks.configurations.configuration import width_findings
from fatcore.cracks.configurations.plates import TOO_LONG
from fatcore.cracks.configurations.sharing import Sharing, sharing_findings
from fatcore.cracks.configurations.stress_field import (
    BY_STRENGTH,
    Stressed,
    lasting_stress,
    path_findings,
    residual_doubts,
)
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth._arrest_findings import force_findings, rest_findings
from fatcore.cracks.growth._phase import Phase
from fatcore.cracks.growth._tested_ranges import tested_range_findings
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.history import History
from fatcore.curves.limits.range_sizes import small_findings
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.plausible import toughness_doubts, yield_doubts

COARSE = 0.05
SHORT_CRACK_MM = 1.0  # below it thresholds of long cracks are not proven [common practice]
SMALL_FLAW_MM = 0.1  # below it a crack is no larger than the grains it starts in [common practice]
MEAN_STATISTICS = ("mean", "median")


def growth_findings(
    phases: list[Phase], drive: Drive, end: EndCriteria, sharing: Sharing | None, error: float | None
) -> list[Finding]:
    """All remarks on a life; error is that of the block average, None without one."""
    return [
        *_of_law(drive.law),
        *tested_range_findings(phases, drive),
        *_of_first_size(phases[0]),
        *_of_threshold(phases, drive),
        *_of_bodies(phases, sharing),
        *_of_path(phases),
        *_of_ends(phases, drive, end),
        *_of_blocks(drive, error),
        *_doubts(drive, end),
        *_sizes_of_input(phases[0].stressed, drive),
    ]


def averaging_error(history: History, drive: Drive) -> float | None:
    """Relative error of the mean over a block: a block, and one more for each e-fold of the rate."""
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


def _doubts(drive: Drive, end: EndCriteria) -> list[Finding]:
    """Strengths of the material that look like another unit, wherever they were given."""
    retardation = drive.loading.retardation
    found = [*yield_doubts(end.yield_strength_mpa), *toughness_doubts(end.toughness_mpa_sqrt_mm)]
    found += end.strength.doubts() if end.strength else ()
    return found if retardation is None else [*found, *yield_doubts(retardation.yield_strength_mpa)]


def _of_first_size(phase: Phase) -> list[Finding]:
    size = float(np.exp(phase.start.log_depth))
    if size >= SMALL_FLAW_MM * (1.0 - 1e-9):
        return []
    message = (
        f"the first crack of {as_given(size)} mm is below {as_given(SMALL_FLAW_MM)} mm: laws of long cracks do "
        "not hold for"
        " it, it may grow faster than they say"
    )
    return [caution("first-flaw-small", message, field="depth_mm")]


def _sizes_of_input(stressed: Stressed, drive: Drive) -> list[Finding]:
    """Stress and wall that look like another unit; a given stress intensity has neither."""
    crack, stress, loading = stressed.crack, stressed.stress, drive.loading
    if crack.carries_stress:
        return []
    largest = max(np.abs([*stress.stress_mpa, abs(stress.membrane_mpa) + abs(stress.bending_mpa)]))
    ranges = largest * (loading.maximum - loading.minimum)
    return [*small_findings(ranges, field="stress"), *crack.doubts()]


def _of_law(law: GrowthLaw) -> list[Finding]:
    if law.statistic not in MEAN_STATISTICS:
        return []
    message = (
        f"{law.name} is a {law.statistic} curve: every second crack grows faster; a design life takes an"
        " upper curve, or the scatter of the life"
    )
    return [caution("mean-growth-curve", message, field="law")]


def _of_threshold(phases: list[Phase], drive: Drive) -> list[Finding]:
    """Cracks and cycles that a threshold of long cracks leaves out."""
    if drive.law.threshold.is_zero:
        return []
    rests, still = phases[-1].reason == "arrest", _share_at_rest(phases[0], drive)
    found = []
    first = float(phases[0].samples.depth[0])
    if first < SHORT_CRACK_MM and (rests or still > 0.0):
        message = (
            f"a threshold of long cracks leaves cycles out at a first size of {as_given(first)} mm; cracks below 1 mm"
            " grow under smaller ranges: switch the threshold off (none) and compare"
        )
        found.append(caution("threshold-of-long-cracks", message, field="threshold"))
    if not drive.loading.is_constant and (rests or still > 0.0):
        message = (
            f"{figure(100.0 * still)} % of the cycles of the block are below the threshold at the first size;"
            " beside larger ones small cycles can do damage: switch the threshold off (none) and compare"
        )
        found.append(caution("small-cycles-left-out", message, field="threshold"))
    return found


def _share_at_rest(phase: Phase, drive: Drive) -> float:
    """Share of the cycles of a block that do not grow the first crack anywhere."""
    depth, length, _, added = (column[..., :1] for column in phase.samples)
    with np.errstate(all="ignore"):
        delta, ratio = drive.ranges(phase.stressed.unit(depth, length, added))
        rates = drive.law.rate_mm_per_cycle(delta, ratio)
    asleep = (rates <= 0.0).all(axis=(1, 2))
    return float(drive.loading.count[asleep].sum() / drive.loading.cycles_per_block)


def _of_bodies(phases: list[Phase], sharing: Sharing | None) -> list[Finding]:
    found: list[Finding] = []
    first = phases[0].stressed
    if first.stress.distance_mm and first.crack.without_toe() is not first.crack:
        message = (
            "the toe magnification multiplies the membrane and bending part of a stress path that may hold"
            " the peak of the toe already: give a path of the structural stress with it, or leave the"
            " footprint out"
        )
        found.append(caution("toe-counted-twice", message, field="toe_footprint_mm"))
    for phase in phases:
        crack, (depth, length, _, _) = phase.stressed.crack, phase.samples
        found += crack.findings(depth, length)
        if sharing is not None:
            found += sharing_findings(sharing, crack.section, crack.relative_depth(depth))
    if len(phases) > 1:
        found += _of_break_through(phases[1].stressed.raised)
    return found


def _of_break_through(raised: float) -> list[Finding]:
    message = (
        "the crack that has gone through is taken as straight with its surface length (27 % more area"
        " than the half ellipse, on the safe side); bending stress counts in full as membrane at the surface"
        " that it opens"
    )
    found = [note("through-crack", message)]
    if raised > 1.0:
        message = (
            "just before it went through, its surface points were driven harder (weld toe, shape, sharing)"
            f" than a straight crack of that length: the stress intensity after was raised by {figure(raised)}"
        )
        found.append(note("through-crack-raised", message, field="grow_through"))
    return found


def _of_path(phases: list[Phase]) -> list[Finding]:
    first = phases[0]
    stress, samples = first.stressed.stress, first.samples
    if not stress.distance_mm:
        return []
    found = list(path_findings(stress, first.stressed.crack.wall_mm, float(samples.depth[-1])))
    mesh = stress.element_size_mm
    if mesh is None:
        message = (
            "where a path comes from a finite-element model, its points nearer to the notch than one element"
            " depend on the mesh, and so does the life of a small crack: give element_size_mm"
        )
        return [*found, caution("path-mesh-unknown", message, field="element_size_mm")]
    if float(samples.depth[0]) >= mesh:
        message = "the first crack is deeper than one element: stress at the notch itself enters the path alone"
        return [*found, note("path-mesh", message, field="element_size_mm")]
    if phases[-1].reason == "arrest":
        spent = "the crack came to rest"
        spent += " inside" if float(samples.depth[-1]) < mesh else " beyond"
    else:
        total = max(phases[-1].cycles, 1e-300)
        below = float(np.interp(np.log(mesh), np.log(samples.depth), samples.cycles))
        spent = f"{figure(100.0 * min(below / total, 1.0))} % of the life was spent inside"
    message = (
        f"{spent} one element of the notch ({as_given(mesh)} mm), where the stress of the path depends on the mesh"
        " and is not taken on faith: compare with a finer mesh"
    )
    return [*found, caution("path-inside-element", message, field="element_size_mm")]


def _of_ends(phases: list[Phase], drive: Drive, end: EndCriteria) -> list[Finding]:
    last = phases[-1]
    found = [*_of_strength(end), *_of_residual(phases, drive, end), *rest_findings(last), *force_findings(phases)]
    if last.reason == TOO_LONG:
        message = (
            f"the crack ran along the surface to a half length of {figure(float(last.final().length[0]))} mm and"
            " hardly grew in depth: neither a half ellipse nor a plate without width is like that; the life"
            " counts up to there: give half_width_mm"
        )
        found.append(outside(TOO_LONG, message, field="half_width_mm"))
    if any(phase.drive.law.threshold_ramp for phase in phases):
        message = (
            "one point of the crack front oscillates at its threshold while the other grows: the jump of the rate"
            " there was replaced by a rise over 0.1 % of the threshold"
        )
        found.append(note("hovers-at-threshold", message, field="history"))
    if any(phase.coarse for phase in phases):
        message = (
            "entries of the block cross their thresholds more often than the integration can follow: it steps"
            " over them with a relative error of up to 1 % a step"
        )
        found.append(caution("coarse-integration", message, field="life_cycles"))
    if last.reason == "unstable":
        message = "the growth law lets the crack run here: taken as the end"
        found.append(note("crack-runs", message, field="end_reason"))
    if last.cycles == 0.0 and last.reason != "arrest":
        found.append(caution("ended-at-start", "the crack is at its end from the start", field="end_reason"))
    if end.grow_through and len(phases) == 1 and last.reason == "through-thickness":
        message = "the crack is as long as the plate is wide when it goes through: nothing is left to go on in"
        found.append(note("no-plate-left", message, field="grow_through"))
    if len(phases) > 1 and not last.steps and last.reason != "arrest":
        message = "the crack is at its end as it goes through"
        found.append(caution("ended-at-break-through", message, field="end_reason"))
    found += width_findings(*(phase.stressed.crack for phase in phases))
    return found


def _of_strength(end: EndCriteria) -> list[Finding]:
    """Fracture and collapse that no end looks for."""
    missing = end.not_looked_for
    if not missing:
        return []
    message = f"growth did not look for {' nor '.join(missing)}: the crack may end the joint sooner"
    return [caution("strength-not-checked", message, field="end")]


def _of_residual(phases: list[Phase], drive: Drive, end: EndCriteria) -> list[Finding]:
    """Which residual stress the ends by strength hold, and all else that depends on the largest K."""
    stressed, by_strength = phases[0].stressed, end.by_strength
    found = lasting_stress(stressed.stress) if by_strength else []
    if drive.condition != "as-welded":
        return found
    effects = [*[BY_STRENGTH] * by_strength, *drive.effects_of_largest_k()]
    static = np.concatenate([np.ravel(np.asarray(phase.unit.static)) for phase in phases])
    return [*found, *residual_doubts(effects, static, takes_stress=not stressed.crack.carries_stress)]


def _of_blocks(drive: Drive, error: float | None) -> list[Finding]:
    if error is None:
        return []
    bounds = "estimates" if drive.loading.retardation is not None else "bounds"
    message = f"growth was averaged over the block in its order; averaging_error {bounds} the relative error"
    found = [note("block-average", message, field="averaging_error")]
    if error > 1.0:
        message = (
            f"the block is too long for this life (the mean over it may be wrong by {figure(100.0 * error)} %):"
            " where in the block the crack ends, and whether one entry alone ends it, is not in the life;"
            " divide all counts of the block by one number, or grow the crack entry by entry, each ended by"
            " its number of cycles"
        )
        found.append(outside("block-longer-than-life", message, field="life_cycles"))
    elif error > COARSE:
        message = (
            f"a block is long for this life (the mean over it may be wrong by {figure(100.0 * error)} %): divide"
            " all counts of the block by one number and compare, or grow the crack entry by entry, each"
            " ended by its number of cycles"
        )
        found.append(caution("few-blocks", message, field="averaging_error"))
    return found

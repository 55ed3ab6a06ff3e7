"""What the answer of a check says of its lines besides their numbers: rule, mean stress, mesh, ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fatcore.check.findings.choices import of_rule
from fatcore.check.findings.line_ends import ends_findings
from fatcore.check.findings.sizes import of_sizes
from fatcore.check.findings.validity import find_used_stations, mode_finding
from fatcore.check.line import Basis, WeldLine, mesh_remarks
from fatcore.check.stations import SAME, SHARE_THAT_COUNTS, Governing, LineState
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, Strength
from fatcore.curves import biaxiality
from fatcore.curves.biaxiality import BOUND_DECIDES, NEAR_BOUND
from fatcore.curves.limits.beyond_tests import untested_findings
from fatcore.curves.limits.limits_of_use import (
    extreme_findings,
    fitted_curve_findings,
    limit_of_use_findings,
    short_life_findings,
    yield_findings,
)
from fatcore.curves.not_applied import missing_partial_factor
from fatcore.curves.relief import NO_PARTIAL_FACTOR
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, note, outside, outside_limits
from fatcore.outcome import Outcome
from fatcore.stress.interaction import interaction_form
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT
from fatcore.stress.peak.line_evaluation import dropped_findings

OTHERS_UNDECIDED = "other-lines-undecided"
_WORTH_A_WORD = 1.01  # times the governing utilisation [own choice]


def of_condition(lines: Sequence[WeldLine], condition: str) -> tuple[Finding, ...]:
    """What the mean stress does on each basis of the lines."""
    return tuple(_mean_stress(basis, condition) for basis in dict.fromkeys(line.basis for line in lines))


def _mean_stress(basis: Basis, condition: str) -> Finding:
    if basis != "peak-stress":
        text = f"ranges of {basis} stress count in full at any mean stress and in any condition"
        return note("mean-stress-not-used", text, field="condition")
    if condition == "as-welded":
        text = "as-welded: ranges count in full at any load ratio (residual stress)"
        return note("as-welded", text, field="condition", source=LOAD_RATIO_LIMIT.source)
    text = "load ratio of each mode counted by the coefficient for stress-relieved joints"
    return note("mean-stress", text, field="condition", source=LOAD_RATIO_LIMIT.source)


def of_undecided(names: Sequence[str]) -> tuple[Finding, ...]:
    """That lines besides the governing one are undecided: what is shown of them proves nothing."""
    if not names:
        return ()
    text = f"lines that do not govern are undecided, so that their numbers prove nothing: {', '.join(names)}"
    return (caution(OTHERS_UNDECIDED, text, field="verdict"),)


def of_line(
    line: WeldLine,
    state: LineState,
    strength: Strength,
    best: Governing,
    base: Outcome,
    resistance: Resistance,
    target: Target,
    whole_utilisation: float,
) -> tuple[Finding, ...]:
    """Findings of one line, each with its name.

    whole_utilisation : largest one without the choices of the caller that are milder than the document
    """
    found = [*line.remarks, *mesh_remarks(line), *_load_ratio(state)]
    found += [mode_finding(finding, state, best.index) for finding in base.findings]
    found += of_rule(resistance, line.basis, lowered=bool((state.lowered & state.judged).any()))
    if line.basis == "peak-stress":
        found += _dropped(line, state, strength, best.index)
    if isinstance(strength, PeakStrength):
        found += [*_rule(strength, best.cycles), *_near_bound(state, strength, best.utilisation)]
    elif isinstance(strength, InteractionStrength):
        found.append(_interaction(strength))
    found += _with_partial_factor(resistance, target, best.utilisation, whole_utilisation)
    shares = np.where(state.judged, state.short_share, 0.0)
    found += short_life_findings(float(shares.max()), float(state.short_life[state.judged].min()))
    largest = state.equivalent_mpa[state.judged].max()
    ranges = state.range_mpa[state.judged]
    found += _untested(state, strength, best.index)
    found += fitted_curve_findings(resistance.curve, ranges[:, 0], below=False)
    if resistance.shear_curve is not None:
        found += fitted_curve_findings(resistance.shear_curve, ranges[:, 1:].max(initial=0.0))
    if line.basis == "peak-stress":
        found += fitted_curve_findings(resistance.curve, largest)
        found += yield_findings(resistance.curve, largest, None)
    else:
        found += limit_of_use_findings(resistance.curve, largest, resistance.yield_strength_mpa)
        found += yield_findings(resistance.curve, state.range_mpa[state.judged], resistance.yield_strength_mpa)
        found += extreme_findings(resistance.curve, state.extreme_mpa[state.judged], resistance.yield_strength_mpa)
    found += of_sizes(state, strength)
    found += ends_findings(line, state, best.index)
    if best.utilisation == 0.0:
        text = "no stress range at any judged station, so nothing was judged"
        found.append(outside("nothing-cycles", text, field="cases"))
    return tuple(finding.of_line(line.name) for finding in found)


def _untested(state: LineState, strength: Strength, governing_index: int) -> list[Finding]:
    """What no test behind a fitted curve had, at the judged stations whose numbers may matter."""
    used = find_used_stations(state, governing_index)
    return untested_findings(
        strength.curves, float(state.below_share[used].max()), float(state.beyond_share[used].max()), "curve"
    )


def _dropped(line: WeldLine, state: LineState, strength: Strength, governing_index: int) -> list[Finding]:
    """What a mode without a weight carries at judged stations, and at those that are not judged.

    At those it makes the utilisation shown too small; a reason for leaving them out covers that.
    """
    seen, unseen = (
        dropped_findings(strength.weights, np.where(mask[:, np.newaxis], state.range_mpa, 0.0), governing_index)
        for mask in (state.judged, ~state.judged)
    )
    left = [
        replace(each, message=f"{each.message}; the station is not judged, and its utilisation is too small")
        for each in unseen
        if each.severity != "note"
    ]
    if line.exclude_ends_reason is not None:
        left = [_reasoned(finding) if finding.severity == "outside" else finding for finding in left]
    return [*seen, *left]


def _reasoned(finding: Finding) -> Finding:
    return replace(finding, code=f"{finding.field}-not-counted-with-reason", severity="caution")


def _near_bound(state: LineState, strength: PeakStrength, governing: float) -> list[Finding]:
    """Where the scatter of the element constants may bring a ratio to the severer curve, and that matters."""
    more = state.judged & (state.severer_utilisation > (1.0 + SAME) * state.utilisation)
    worst = int(np.argmax(np.where(more, state.severer_utilisation, 0.0)))
    largest = state.severer_utilisation[worst]
    if not more.any() or (largest <= 1.0 + SAME and largest <= _WORTH_A_WORD * governing):
        return []
    low, high = strength.ratio_band
    text = (
        f"the element constants are known to {figure(low)} to {figure(high)} times the biaxiality ratio, which may"
        f" cross the bounds {as_given(strength.lower)} and {as_given(strength.upper)}: by both curves station "
        f"{worst} has a"
        f" utilisation of {against(largest, 1.0)} in place of {against(state.utilisation[worst], 1.0)}"
    )
    if largest > 1.0 + SAME:
        return [outside(BOUND_DECIDES, text, field="biaxiality_ratio", source="biaxiality-rule")]
    return [caution(NEAR_BOUND, text, field="biaxiality_ratio", source="biaxiality-rule")]


def _rule(strength: PeakStrength, cycles: Judged) -> list[Finding]:
    """The parts of the two-curve rule that count at a station, and how its damage divides between the curves.

    Without damage the largest cycle tells the rule.
    """
    damage, choice = (values[0] for values in strength.parts(cycles))
    stress, ratio = cycles.equivalent_mpa[0], cycles.ratio[0]
    if not (stress > 0.0).any():
        return []
    share = damage if damage.any() else np.where(np.arange(stress.size) == stress.argmax(), 1.0, 0.0)
    share = share / share.sum()
    areas = np.where(ratio < strength.lower, 0, np.where(ratio > strength.upper, 2, 1))
    kept = np.bincount(areas, share, minlength=3)[areas] > SHARE_THAT_COUNTS
    found = biaxiality.rule_findings(
        stress[kept],
        ratio[kept],
        opening_curve=strength.opening_curve,
        shear_curve=strength.shear_curve,
        lower=strength.lower,
        upper=strength.upper,
    )
    return [*found, *_divide(strength, float(share[choice == 1].sum()))]


def _divide(strength: PeakStrength, sheared: float) -> list[Finding]:
    if not SHARE_THAT_COUNTS < sheared < 1.0 - SHARE_THAT_COUNTS:
        return []
    text = (
        f"cycles differ in biaxiality: {figure(100.0 * sheared)} % of the damage comes from"
        f" {strength.shear_curve.id}, the rest from {strength.opening_curve.id}; the curve named is the one"
        " with more than half, the ratio shown that of the largest cycle"
    )
    return [note("biaxiality-divided", text, field="curve", source="biaxiality-rule")]


def _with_partial_factor(resistance: Resistance, target: Target, utilisation: float, whole: float) -> list[Finding]:
    """The utilisation, which is a factor on ranges, under the partial factor that was not applied.

    `outside` where only the partial factor that is missing takes it over the limit.
    """
    given = zip(resistance.curves(), (resistance.corrections, resistance.shear_corrections), strict=False)
    asked = [missing_partial_factor(*each, target.resistance_factor) for each in given]
    factor = max((each for each in asked if each is not None), default=None)
    if factor is None:
        return []
    part = "" if target.resistance_factor == 1.0 else f", of which {as_given(target.resistance_factor)} was applied"
    largest = factor * max(target.resistance_factor, 1.0)
    text = (
        f"no partial factor of the document was applied: with its largest, {as_given(largest)}{part}, the "
        "utilisation is"
    )
    text += f" {against(factor * whole, 1.0)}"
    if factor * whole <= 1.0 or utilisation > 1.0:
        return [caution("utilisation-without-partial-factor", text, field="resistance_factor")]
    text += (
        "; name the document's concept and consequence as a correction of kind partial-factor, or one of your"
        " own called 'partial factor' with its reason, also where 1 is meant"
    )
    return [outside(NO_PARTIAL_FACTOR, text, field="resistance_factor")]


def _interaction(strength: InteractionStrength) -> Finding:
    summed = strength.rule == "damage-sum"
    text = (
        f"normal and shear stress combined by the {strength.rule} form;"
        " equivalent and allowable stress are those of the normal stress"
    )
    if not summed:
        text += ", damage and life those of the damage sum: the form decides by the utilisation alone"
    source = interaction_form("en-1993-1-9" if summed else "iiw-2016")["source"]
    return note("interaction", text, field="interaction", source=source)


def _load_ratio(state: LineState) -> tuple[Finding, ...]:
    ratios = state.load_ratio[state.outside_ratio & state.judged]
    if not ratios.size:
        return ()
    return outside_limits([LOAD_RATIO_LIMIT], load_ratio=np.nan_to_num(ratios, posinf=1e30, neginf=-1e30))

"""What the answer of a check says besides its numbers: rule, mean stress, mesh, ends, counting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fatcore.check.line import MODES, WeldLine
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.resistance import Resistance
from fatcore.check.stations import SHARE_THAT_COUNTS, Governing, LineState, outside_load_ratio
from fatcore.check.strength import InteractionStrength, PeakStrength, Strength
from fatcore.curves import biaxiality
from fatcore.curves.lookup import LIMITS as LIFE_LIMITS
from fatcore.findings import Finding, caution, note, outside_limits
from fatcore.outcome import Outcome
from fatcore.stress.interaction import interaction_form
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT

__all__ = ["of_line", "of_loading", "of_undecided", "touching"]


def of_loading(loading: Loading, lines: Sequence[WeldLine]) -> tuple[Finding, ...]:
    """How cycles were taken, and load cases that the loading leaves out."""
    unused = sorted({case for line in lines for case in line.cases} - set(loading.names()))
    found = []
    if unused:
        found.append(
            note("case-not-loaded", f"load cases without loading: {', '.join(unused)}", field="cases")
        )
    if isinstance(loading, HistoryLoading):
        text = f"channels superposed, then counted: residue {loading.residue}, cycles {loading.definition}"
        found.append(note("counting", text, field="loading", source="astm-e1049"))
    elif len(loading.blocks) > 1:
        text = (
            "cycles between the load states of different blocks are not counted; "
            "give a history where blocks alternate often or their levels differ much"
        )
        found.append(caution("block-transitions", text, field="blocks"))
    return tuple(found)


def of_undecided(names: Sequence[str]) -> tuple[Finding, ...]:
    """That lines besides the governing one are undecided: their numbers may be wrong, and so the verdict."""
    if not names:
        return ()
    text = f"lines that do not govern are undecided, so that their numbers prove nothing: {', '.join(names)}"
    return (caution("other-lines-undecided", text, field="verdict"),)


def of_line(
    line: WeldLine,
    state: LineState,
    strength: Strength,
    best: Governing,
    base: Outcome,
    resistance: Resistance,
    life_cycles: float,
) -> tuple[Finding, ...]:
    """Findings of one line, each with its name; life_cycles is that of the governing station."""
    found = [*line.remarks, *_mode_findings(base, state, best), *_relieved(strength, state)]
    if isinstance(strength, PeakStrength):
        found += biaxiality.rule_findings(
            state.equivalent_mpa[best.index],
            state.ratio[best.index],
            opening_curve=strength.opening_curve,
            shear_curve=strength.shear_curve,
            lower=strength.lower,
            upper=strength.upper,
        )
    elif isinstance(strength, InteractionStrength):
        form = "en-1993-1-9" if resistance.interaction == "damage-sum" else "iiw-2016"
        text = f"normal and shear stress combined by the {resistance.interaction} form"
        source = interaction_form(form)["source"]
        found.append(note("interaction", text, field="interaction", source=source))
    found += outside_limits(LIFE_LIMITS, life_cycles=life_cycles)
    if not state.judged.all():
        left = int(np.count_nonzero(~state.judged))
        text = f"{left} stations within {line.exclude_ends_mm:g} mm of the line ends are shown, not judged"
        found.append(note("ends-not-judged", text, field="exclude_ends_mm"))
    if best.utilisation == 0.0:
        found.append(caution("nothing-cycles", "no stress range at any judged station", field="cases"))
    return tuple(replace(finding, line=line.name) for finding in found)


def touching(found: Sequence[Finding], state: LineState, index: int) -> tuple[Finding, ...]:
    """The `outside` findings that touch one station: those of its load ratio only where it is left there."""
    beyond = bool(outside_load_ratio(state)[index])
    return tuple(f for f in found if f.severity == "outside" and (f.field != "load_ratio" or beyond))


def _mode_findings(base: Outcome, state: LineState, best: Governing) -> list[Finding]:
    """Findings of the weights; a mode that carries next to nothing does not make the point doubtful."""
    shares = dict(zip(MODES, state.shares[best.index], strict=False))
    found = []
    for finding in base.findings:
        share = shares.get(finding.field or "", 1.0)
        if finding.severity == "outside" and share <= SHARE_THAT_COUNTS:
            text = f"{finding.message} (this mode carries {100 * share:.2g} % at the governing station)"
            finding = replace(finding, severity="caution", message=text)
        found.append(finding)
    return found


def _relieved(strength: Strength, state: LineState) -> list[Finding]:
    if not getattr(strength, "relieved", False):
        return []
    beyond = outside_load_ratio(state) & state.judged
    text = "load ratio of each mode counted by the coefficient for stress-relieved joints"
    found = [note("mean-stress", text, field="condition", source=LOAD_RATIO_LIMIT.source)]
    outside = (
        LOAD_RATIO_LIMIT.finding(np.nan_to_num(state.load_ratio[beyond], posinf=1e30, neginf=-1e30))
        if beyond.any()
        else None
    )
    return [*found, outside] if outside else found

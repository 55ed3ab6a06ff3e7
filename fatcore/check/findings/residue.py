"""Whether the half cycles of a history decide over passes that follow each other."""

from __future__ import annotations

from dataclasses import replace

from fatcore.check.line import WeldLine
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.stations import Governing, assess
from fatcore.check.strength.resistance import Target
from fatcore.check.strength.strength import Strength
from fatcore.findings import Finding
from fatcore.spectrum.damage.left_out import choice_findings

REPEATING = "counted as a record that repeats"


def joined(loading: Loading, repeats: float) -> HistoryLoading | None:
    """The history counted with the cycles between its passes, where it is to be passed more than once and is
    counted without them; None for every other loading."""
    if not isinstance(loading, HistoryLoading) or loading.residue == "closed" or repeats <= 1.0:
        return None
    return replace(loading, residue="closed")


def residue_findings(
    line: WeldLine, loading: Loading, strength: Strength, best: Governing, target: Target, allowed: float
) -> tuple[Finding, ...]:
    """`outside` where a line keeps to its limit only because the cycles between passes are left out.

    best : governing station by the residue asked for; allowed: damage of one pass that is allowed
    """
    whole = joined(loading, target.repeats)
    if whole is None or best.utilisation > 1.0:
        return ()
    other = assess(line, whole, strength, allowed=allowed, load_factor=target.load_factor)[1]
    found = choice_findings(best.utilisation, other.utilisation, 1.0, "residue half", REPEATING, field="residue")
    return tuple(replace(finding, line=line.name) for finding in found)

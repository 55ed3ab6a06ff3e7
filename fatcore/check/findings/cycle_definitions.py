"""How much the definition of a cycle matters at the governing point of a history."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.strength.strength import Strength
from fatcore.curves.curve import Curve
from fatcore.findings import Finding, outside
from fatcore.outcome import Outcome, evidence
from fatcore.spectrum.multiaxial.definitions import DefinitionComparison, compare_definitions
from fatcore.spectrum.multiaxial.superposition import superposed


def compared_definitions(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    station: int,
    curve: Curve,
    *,
    share: float,
    load_factor: float = 1.0,
) -> Outcome:
    """Damage of one station by every definition of a cycle; empty where there is one definition only.

    Several channels can move the modes out of step; with one channel, or one component, cycles are cycles.
    share   : damage by the definition asked over the damage that is allowed
    Returns : findings; `outside` where another definition uses up what is allowed and the one asked does not
    """
    if not isinstance(loading, HistoryLoading) or len(loading.channels) < 2 or strength.weights.size < 3:
        return Outcome()
    unit = load_factor * case_matrix(line, loading.names())[station]
    channels = np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])
    history = superposed(unit, channels)
    compared = compare_definitions(history, strength.weights, curve, residue=loading.residue)
    found = [replace(finding, line=line.name) for finding in _deciding(compared, loading, share)]
    return Outcome(**evidence(compared, findings=found))


def _deciding(compared: DefinitionComparison, loading: HistoryLoading, share: float) -> list[Finding]:
    asked, most = compared.damage.get(loading.definition, 0.0), compared.largest_definition
    if asked <= 0.0 or share > 1.0 or share * compared.damage[most] / asked <= 1.0:
        return []
    text = (
        f"cycles by {most!r} do {compared.damage[most] / asked:.3g} times the damage of those by"
        f" {loading.definition!r} at the governing station, which is more than allowed: no verdict by either"
    )
    return [outside("cycle-definitions-decide", text, field="definition", source="toeline-mode-cycles")]

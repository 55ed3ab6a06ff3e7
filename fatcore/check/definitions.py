"""How much the definition of a cycle matters at the governing point of a history."""

from __future__ import annotations

import numpy as np

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.strength import Strength
from fatcore.curves.curve import Curve
from fatcore.outcome import Outcome
from fatcore.spectrum.compare import compare_definitions
from fatcore.spectrum.superposition import superposed

__all__ = ["compared_definitions"]


def compared_definitions(
    line: WeldLine, loading: Loading, strength: Strength, station: int, curve: Curve, load_factor: float = 1.0
) -> Outcome:
    """Damage of one station by every definition of a cycle; empty where there is one definition only.

    Several channels can move the modes out of step; with one channel, or one component, cycles are cycles.
    """
    if not isinstance(loading, HistoryLoading) or len(loading.channels) < 2 or strength.weights.size < 3:
        return Outcome()
    unit = load_factor * case_matrix(line, loading.names())[station]
    channels = np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])
    history = superposed(unit, channels)
    return compare_definitions(history, strength.weights, curve, residue=loading.residue)

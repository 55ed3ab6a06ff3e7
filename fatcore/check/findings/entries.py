"""Blocks that are given as a complete count of cycles, and are none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import BlockLoading, Loading, batches
from fatcore.check.stations import SAME, harm_of
from fatcore.check.strength.strength import Strength
from fatcore.cracks.driving.transitions import LEAST_WHOLE_CYCLES
from fatcore.figures import against, as_given
from fatcore.findings import Finding, outside
from fatcore.require import FloatArray

WHOLE = 0.95  # of the whole range that the largest entry of a count has, classes of ranges allowed for [own choice]


def entries_deciding(
    lines: Sequence[WeldLine],
    loading: Loading,
    strengths: Sequence[Strength],
    used_share: Mapping[int, FloatArray],
    judged: Mapping[int, NDArray[np.bool_]],
    *,
    allowed: float,
    load_factor: float = 1.0,
) -> dict[int, Finding]:
    """Lines that pass only since cycles between the blocks do not count, which a complete count would hold.

    A count of a history always holds half a cycle or more from its largest to its smallest stress.
    used_share : of the lines that pass, as for `deciding_definitions`
    judged     : stations of each line that count for its verdict
    allowed    : damage of one pass
    Returns    : an `outside` finding for each such line, of its worst station
    """
    if not isinstance(loading, BlockLoading) or loading.joined or len(loading.blocks) < 2:
        return {}
    found = {}
    for place, share in used_share.items():
        unit = load_factor * case_matrix(lines[place], loading.names())
        used = _used_with_transitions(unit, loading, strengths[place], allowed)
        used = np.where(judged[place] & ~_are_whole(unit, loading, strengths[place]), used, 0.0)
        station = int(np.argmax(used))
        if used[station] > 1.0 + SAME:
            text = (
                "the blocks are said to hold every cycle, but none, or less than "
                f"{as_given(LEAST_WHOLE_CYCLES)} of a cycle,"
                f" goes from the largest to the smallest stress of station {station}, as in a count; with the cycles"
                f" between them {against(used[station], 1.0)} of what is allowed is used, without "
                f"{against(share[station], 1.0)}"
            )
            found[place] = replace(
                outside("entries-without-largest-cycle", text, field="transitions"), line=lines[place].name
            )
    return found


def _used_with_transitions(unit: FloatArray, loading: BlockLoading, strength: Strength, allowed: float) -> FloatArray:
    """Of what is allowed, with the cycles between the blocks, at each station (n,)."""
    harm = harm_of(strength, allowed)
    whole = replace(loading, transitions="added")
    return np.concatenate([harm.of_all(batch) for batch in batches(unit, whole, strength.weights, harm)])


def _are_whole(unit: FloatArray, loading: BlockLoading, strength: Strength) -> NDArray[np.bool_]:
    """Stations at which blocks of enough cycles have nearly the whole range of the mode that moves most, (n,)."""
    upper, lower = (strength.weights * np.einsum("nmk,bk->nbm", unit, ends) for ends in loading.states())
    span = np.ptp(np.concatenate([upper, lower], axis=1), axis=1)
    mode = np.argmax(span, axis=1)
    rows = np.arange(len(unit))
    going = np.abs(upper - lower)[rows, :, mode] >= WHOLE * span[rows, mode][:, np.newaxis]
    return np.asarray(going @ np.array([block.cycles for block in loading.blocks]) >= LEAST_WHOLE_CYCLES)

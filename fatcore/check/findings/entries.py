"""Blocks that are given as a complete count of cycles, and are none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import BlockLoading, Loading, batches
from fatcore.check.stations import SAME, harm_of
from fatcore.check.strength.strength import Strength
from fatcore.findings import Finding, outside
from fatcore.require import FloatArray

WHOLE = 0.95  # of the whole range that the largest entry of a count has, classes of ranges allowed for [own choice]


def entries_deciding(
    lines: Sequence[WeldLine],
    loading: Loading,
    strengths: Sequence[Strength],
    used_share: Mapping[int, FloatArray],
    *,
    allowed: float,
    load_factor: float = 1.0,
) -> dict[int, Finding]:
    """Lines that pass only since cycles between the blocks do not count, which a complete count would hold.

    A count of a history always holds one cycle from its largest to its smallest stress.
    used_share : of the lines that pass, as for `deciding_definitions`; its most used station is looked at
    allowed    : damage of one pass
    Returns    : an `outside` finding for each such line
    """
    if not isinstance(loading, BlockLoading) or loading.joined or len(loading.blocks) < 2:
        return {}
    whole = replace(loading, transitions="added")
    found = {}
    for place, share in used_share.items():
        station = int(np.argmax(share))
        unit = load_factor * case_matrix(lines[place], loading.names())[station : station + 1]
        strength = strengths[place]
        harm = harm_of(strength, allowed)
        used = max(float(harm(batch)[0]) for batch in batches(unit, whole, strength.weights, harm))
        if used > 1.0 + SAME and not _is_whole(unit[0], loading, strength):
            text = (
                "the blocks are said to hold every cycle, but none goes from the largest to the smallest stress of"
                f" station {station}, as one of a count does; with the cycles between them {used:.4g} of what is"
                f" allowed is used, without {share[station]:.4g}"
            )
            found[place] = replace(
                outside("entries-without-largest-cycle", text, field="transitions"), line=lines[place].name
            )
    return found


def _is_whole(unit: FloatArray, loading: BlockLoading, strength: Strength) -> bool:
    """Whether one block has nearly the whole range of the mode that moves most."""
    upper, lower = (strength.weights * (ends @ unit.T) for ends in loading.states())
    span = np.ptp(np.concatenate([upper, lower]), axis=0)
    mode = int(np.argmax(span))
    return bool(np.abs(upper - lower)[:, mode].max() >= WHOLE * span[mode])

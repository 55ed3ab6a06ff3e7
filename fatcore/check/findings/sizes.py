"""Whether the ranges of a check are so small that they look like another unit: of lines, cases, components."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.stations import COMPONENTS, LineState
from fatcore.check.strength.strength import InteractionStrength, Strength
from fatcore.curves.limits.range_sizes import small_findings, too_small_findings
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray

ROUNDING = 1e-9  # of the larger component: a smaller one is rounding


def of_sizes(state: LineState, strength: Strength) -> tuple[Finding, ...]:
    """`outside` where the largest range of a line looks like another unit; a caution where that of the normal
    or the shear stress does, beside a larger one."""
    found = too_small_findings([state.equivalent_mpa.max(), state.range_mpa.max()])
    if found or not isinstance(strength, InteractionStrength):
        return found
    each = state.range_mpa.max(axis=0)
    return tuple(
        caution("component-small", f"{name} stress: {small.message}", field="cases")
        for name, size in zip(COMPONENTS, each, strict=True)
        if size > ROUNDING * each.max()
        for small in small_findings(size)
    )


def of_cases(lines: Sequence[WeldLine], loading: Loading, load_factor: float) -> tuple[Finding, ...]:
    """A caution for each load case whose own ranges look like another unit on every line."""
    names = loading.names()
    unit = np.max([np.abs(case_matrix(line, names)).max(axis=(0, 1)) for line in lines], axis=0)
    ranges = load_factor * unit * _spans(loading)
    return tuple(
        caution("load-case-small", f"load case {name} by itself: {small.message}", field="cases")
        for name, size in zip(names, ranges, strict=True)
        if ranges.max() > size
        for small in small_findings(size)
    )


def _spans(loading: Loading) -> FloatArray:
    """Largest less smallest factor of every load case."""
    if isinstance(loading, HistoryLoading):
        return np.array([np.ptp(values) for values in loading.channels.values()])
    return np.asarray(np.ptp(np.concatenate(loading.states()), axis=0))

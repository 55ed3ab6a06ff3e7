"""How much of a life a fitted law is used beyond the ranges that its tests had."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.driving.tested import RatesTested
from fatcore.cracks.growth._phase import Phase
from fatcore.findings import Finding
from fatcore.require import FloatArray

_ROUNDING = 1e-9


def tested_range_findings(phases: Sequence[Phase], drive: Drive) -> list[Finding]:
    """A finding where the crack grows under ranges that no test of a fitted law had."""
    tested = drive.law.tested
    if tested is None:
        return []
    shares, ends, spent = [], [], []
    for phase in phases:
        with np.errstate(all="ignore"):
            delta, ratio = drive.ranges(phase.unit)
            rate = np.nan_to_num(drive.law.rate_mm_per_cycle(delta, ratio), posinf=0.0)
        share = _share_outside(tested, delta, rate * drive.loading.count[:, None, None])
        shares.append(0.5 * (share[1:] + share[:-1]))
        spent.append(np.diff(phase.samples.cycles))
        ends.extend(delta[rate > 0.0].tolist())
    life = float(np.concatenate(spent).sum())
    if not ends:
        return []
    extrapolated = float(np.concatenate(shares) @ np.concatenate(spent)) / life if life > 0.0 else 0.0
    return tested.range_findings(extrapolated, min(ends), max(ends))


def _share_outside(tested: RatesTested, delta: FloatArray, advance: FloatArray) -> FloatArray:
    """Of the growth at each size, at the point of the front that grows most by it; (sizes,)."""
    low = tested.lowest_delta_k_mpa_sqrt_mm * (1.0 - _ROUNDING)
    high = tested.highest_delta_k_mpa_sqrt_mm * (1.0 + _ROUNDING)
    beyond = np.where((delta < low) | (delta > high), advance, 0.0).sum(axis=0)
    whole = advance.sum(axis=0)
    return np.asarray(np.divide(beyond, whole, out=np.zeros_like(whole), where=whole > 0.0).max(axis=0))

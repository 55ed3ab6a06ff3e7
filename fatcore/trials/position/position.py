"""Where tests lie beside a design curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.bounds import UnboundedColumn
from fatcore.curves.curve import Curve
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.trials.sn.series import TrialSeries
from fatcore.trials.sn.series_findings import series_findings
from fatcore.trials.sn.shares import curve_share_findings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PositionOutcome(Outcome):
    """Tests beside a design curve, one entry a test.

    design_life_cycles     : of the curve at the range of the test; inf where it has no damage there
    life_factor            : life of the test over it, 0 over an infinite one; range_factor: the same in range at
                             the life of the test
    deviations_above_mean  : standard deviations of the curve above its mean line; inf, which is not known, where the
                             curve states no survival probability or has no damage
    below                  : failures below the curve, and run-outs that stopped below it, which may fail there
    share_below            : of all tests; least_life_factor: of the failures
    """

    curve: str
    design_life_cycles: UnboundedColumn
    life_factor: FloatArray
    range_factor: FloatArray
    deviations_above_mean: UnboundedColumn
    below: NDArray[np.bool_]
    share_below: float
    least_life_factor: float


def position_of(series: TrialSeries, curve: Curve) -> PositionOutcome:
    """Life and range of each test over those of a curve.

    Raises : NotCoveredError for a curve of another quantity
    Source : the document of the curve
    """
    curve.guard_quantity("stress range")
    ranges, lives = np.asarray(series.range_mpa, np.float64), np.asarray(series.life_cycles, np.float64)
    design = curve.life_cycles(ranges)
    factor = np.divide(lives, design, out=np.zeros_like(lives), where=np.isfinite(design))
    on_curve = curve.range_mpa(lives)
    failed = series.failed
    below = (factor < 1.0) & (failed | np.isfinite(design))
    return PositionOutcome(
        curve=curve.id,
        design_life_cycles=design,
        life_factor=factor,
        range_factor=ranges / on_curve,
        deviations_above_mean=_above_mean(curve, factor),
        below=below,
        share_below=float(below.mean()),
        least_life_factor=float(factor[failed].min()),
        **evidence(
            findings=[
                *series_findings(series),
                *curve_share_findings(curve),
                *_findings(curve, below, failed, design),
            ],
            sources=[curve.source],
            tables=[curve.table] if curve.table else [],
        ),
    )


def _above_mean(curve: Curve, factor: FloatArray) -> FloatArray:
    if curve.survival_probability is None:
        return np.full(factor.shape, np.inf)
    logarithm = np.log10(factor, out=np.full(factor.shape, np.inf), where=factor > 0.0)
    return np.asarray(logarithm / curve.scatter() - curve.deviations(curve.survival_probability))


def _findings(curve: Curve, below: NDArray[np.bool_], failed: NDArray[np.bool_], design: FloatArray) -> list[Finding]:
    found = []
    infinite = failed & ~np.isfinite(design)
    if infinite.any():
        text = f"{int(infinite.sum())} test(s) failed at ranges below the cut-off of {curve.id}, where it has no damage"
        found.append(outside("failed-below-cut-off", text, field="range_mpa", source=curve.source))
    if below.any():
        text = (
            f"{int(below.sum())} of {below.size} test(s) lie below {curve.id}: it does not describe"
            " these specimens safely"
        )
        found.append(caution("tests-below-curve", text, field="life_cycles", source=curve.source))
    return found

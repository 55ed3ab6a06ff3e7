"""What an evaluated series leaves in doubt."""

from __future__ import annotations

import numpy as np

from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.require import FloatArray
from fatcore.trials.sn.characteristic import REFERENCE_CYCLES
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.given_slope import slope_contradiction
from fatcore.trials.sn.series import TrialSeries
from fatcore.trials.sn.series_findings import series_findings

_USUAL_SLOPES = (2.0, 8.0)  # of welds; outside, units or cycles are likely mixed [own choice]
_EXTRAPOLATED = 2.0  # times the longest failure: beyond, the line is not tested [own choice]
_LARGE_SCATTER, _SMALL_SCATTER = 0.5, 0.05  # of log10 life [common practice]
_DOUBTFUL, _CONTRADICTED = 0.05, 0.01  # probability of slopes as different by chance [own choice]
_LITTLE_FREEDOM = 4  # below it an exact factor more than doubles what a long series would need [own choice]


def line_findings(series: TrialSeries, fit: SnFit, linear: bool | None, range_mpa: FloatArray) -> list[Finding]:
    """Doubts of slope, scatter, straightness and reach.

    linear : of the test of a straight line; None where there is none; range_mpa: where bounds are asked for
    """
    found = [*series_findings(series), *_given_slope_findings(series, fit)]
    low, high = _USUAL_SLOPES
    if not low <= fit.slope <= high:
        text = (
            f"a slope of {against(fit.slope, high if fit.slope > high else low)} is outside {as_given(low)} to "
            f"{as_given(high)}, where welds "
            f"lie: units, ranges for amplitudes?"
        )
        found.append(caution("line-slope-unusual", text, field="slope"))
    return [*found, *_scatter_findings(fit), *_linear_findings(linear), *_reach_findings(series, range_mpa)]


def _given_slope_findings(series: TrialSeries, fit: SnFit) -> list[Finding]:
    """Whether the tests bear the slope that was given."""
    if not fit.fixed_slope:
        return []
    tested = slope_contradiction(series, fit)
    if tested is None:
        text = "the tests do not settle a slope of their own: nothing says whether they bear the given one"
        return [note("fixed-slope-not-tested", text, field="fixed_slope")]
    if tested.chance >= _DOUBTFUL:
        return []
    text = (
        f"the tests have a slope of {figure(tested.slope)}, the given one is {as_given(fit.slope)}; by chance they"
        f" differ as much with a probability of {figure(tested.chance)}: the line is wrong at the ends of the ranges"
        " tested, and the more so outside them"
    )
    if tested.chance < _CONTRADICTED:
        return [outside("fixed-slope-contradicted", text, field="fixed_slope", source="linear-models")]
    return [caution("fixed-slope-doubtful", text, field="fixed_slope", source="linear-models")]


def _scatter_findings(fit: SnFit) -> list[Finding]:
    found = []
    if not _SMALL_SCATTER <= fit.sd_log10_cycles <= _LARGE_SCATTER:
        text = (
            f"a scatter of log10 life of {figure(fit.sd_log10_cycles)} is outside {as_given(_SMALL_SCATTER)} to "
            f"{as_given(_LARGE_SCATTER)}:"
            " several kinds of specimen in one series, or too few tests"
        )
        found.append(caution("scatter-unusual", text, field="sd_log10_cycles"))
    if fit.degrees_of_freedom < _LITTLE_FREEDOM:
        text = (
            f"{fit.failures} failure(s) leave {fit.degrees_of_freedom} degree(s) of freedom for the"
            " scatter: the lower limits lie far below what more tests would give"
        )
        found.append(caution("few-failures", text, field="degrees_of_freedom"))
    return found


def _linear_findings(linear: bool | None) -> list[Finding]:
    if linear is None:
        text = "no test of a straight line: it needs four failures at three ranges that differ by more than 1 %"
        return [note("linearity-not-tested", text, field="linearity", source="astm-e739-10")]
    if linear:
        return []
    text = "the tests leave a straight line more than they scatter: a knee or two slopes in one series"
    return [caution("line-not-straight", text, field="linearity", source="astm-e739-10")]


def _reach_findings(series: TrialSeries, ranges: FloatArray) -> list[Finding]:
    found = []
    tested = np.asarray(series.range_mpa)[series.failed]
    if ranges.min() < tested.min() * (1.0 - 1e-9) or ranges.max() > tested.max() * (1.0 + 1e-9):
        text = (
            f"bounds are asked for outside {figure(tested.min())} to {figure(tested.max())} MPa, where specimens failed"
        )
        found.append(outside("bounds-extrapolated", text, field="range_mpa"))
    longest = float(np.asarray(series.life_cycles)[series.failed].max())
    if longest * _EXTRAPOLATED < REFERENCE_CYCLES:
        text = f"the range at 2e6 cycles is extrapolated from a longest failure of {as_given(longest)} cycles"
        found.append(caution("reference-life-extrapolated", text, field="range_at_two_million_mpa"))
    return found

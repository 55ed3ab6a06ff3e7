"""What a series of tests looks like before anything is calculated: where it comes from, repeats, units."""

from __future__ import annotations

import numpy as np

from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.trials.sn.series import TrialSeries, repeats_of

_FEWEST_CYCLES = 1000.0  # below it every life is of a kind that a line in log-log is not for [own choice]


def series_findings(series: TrialSeries) -> list[Finding]:
    """Doubts of the readings themselves, said by every evaluation."""
    found = []
    if series.origin:
        text = f"{series.name}: {series.origin}; an error of the ranges moves the line by as much"
        found.append(note("ranges-derived", text, field="range_mpa"))
    repeated = int((repeats_of(series) > 1).sum())
    if repeated:
        text = (
            f"{series.name}: {repeated} failures repeat range and life of another one exactly: entered twice? The"
            " scatter comes out too small"
        )
        found.append(caution("tests-repeated", text, field="life_cycles"))
    return [*found, *_stopped(series), *_short(series)]


def _stopped(series: TrialSeries) -> list[Finding]:
    lives = np.asarray(series.life_cycles, dtype=np.float64)
    longest = lives == lives.max()
    failures = int((longest & series.failed).sum())
    if not failures or longest.sum() < 2:
        return []
    text = (
        f"{series.name}: {int(longest.sum())} tests share the largest life of {as_given(float(lives.max()))} cycles and"
        f" {failures} of them are given as failures: they look like run-outs"
    )
    return [caution("failures-look-like-run-outs", text, field="run_out")]


def _short(series: TrialSeries) -> list[Finding]:
    longest = float(np.max(series.life_cycles))
    if longest >= _FEWEST_CYCLES:
        return []
    text = (
        f"{series.name}: no life reaches {as_given(_FEWEST_CYCLES)}, the largest is {figure(longest)}: lives are"
        " single cycles, not thousands or millions of them"
    )
    return [caution("lives-short", text, field="life_cycles")]

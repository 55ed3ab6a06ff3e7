"""What a series of tests looks like before anything is calculated: where it comes from, repeats, units."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note
from fatcore.trials.sn.series import TrialSeries, repeats_of

_SAME = 0.0004  # of log10, 0.1 %: lives and ranges that differ less are copies rather than tests [own choice]
_MANY, _LEAST = 0.5, 4  # share of failures that are such copies from which it is said, and failures [own choice]
_SAME_RATIO = 0.05  # of the load ratio: a difference that lives do not show [own choice]
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
    return [*found, *_copies(series), *_ratios(series), *_stopped(series), *_short(series)]


def _ratios(series: TrialSeries) -> list[Finding]:
    if series.load_ratio is None:
        return []
    low, high = (float(end(np.asarray(series.load_ratio))) for end in (np.min, np.max))
    if high - low <= _SAME_RATIO:
        return []
    text = (
        f"{series.name}: tests at load ratios {as_given(low)} to {as_given(high)} are together in one line: lives"
        " depend on it"
    )
    return [caution("load-ratios-mixed", text, field="load_ratio")]


def copies_between(first: TrialSeries, second: TrialSeries) -> list[Finding]:
    """A caution where half of the failures of the shorter series or more are near copies of those of the other."""
    sizes = [int(each.failed.sum()) for each in (first, second)]
    twins = _twins((first, second))
    copied = min(int(twins[: sizes[0]].sum()), int(twins[sizes[0] :].sum()))
    if copied < _MANY * min(sizes):
        return []
    text = f"{copied} failures of {first.name} and {second.name} agree within 0.1 % of their lives: one series twice?"
    return [caution("near-copies", text, field="compare_with")]


def _copies(series: TrialSeries) -> list[Finding]:
    copied = int(_twins((series,)).sum())
    if copied < _MANY * max(int(series.failed.sum()), _LEAST):
        return []
    text = (
        f"{series.name}: {copied} failures agree with another one at their range within 0.1 % of their lives: entered"
        " twice? The scatter comes out too small"
    )
    return [caution("near-copies", text, field="life_cycles")]


def _twins(series: tuple[TrialSeries, ...]) -> NDArray[np.bool_]:
    """Which failures have another one, of the other series where there are two, of about their range and life."""
    x = np.concatenate([each.log10_range[each.failed] for each in series])
    y = np.concatenate([each.log10_life[each.failed] for each in series])
    owner = np.repeat(np.arange(len(series)), [int(each.failed.sum()) for each in series])
    order = np.lexsort([owner, y, np.rint(x / _SAME)])
    near = (np.abs(np.diff(x[order])) < _SAME) & (np.abs(np.diff(y[order])) < _SAME)
    if len(series) > 1:
        near &= np.diff(owner[order]) != 0
    found = np.zeros(len(x), dtype=np.bool_)
    found[order] = np.concatenate([near, [False]]) | np.concatenate([[False], near])
    return found


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
    lives = np.asarray(series.life_cycles, dtype=np.float64)
    few = int((lives < _FEWEST_CYCLES).sum())
    if not few:
        return []
    text = (
        f"{series.name}: {few} of {lives.size} lives are below {as_given(_FEWEST_CYCLES)}, the largest of all is"
        f" {as_given(float(lives.max()))}: lives are single cycles, not thousands or millions of them, and a line in"
        " log-log is not for so short ones"
    )
    return [caution("lives-short", text, field="life_cycles")]

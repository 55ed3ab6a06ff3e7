"""Specimens together: one exponent, and the scatter between them and within."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.special import fdtrc, ndtr, stdtrit

from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray
from fatcore.trials.growth.law import UPPER, coefficient_of
from fatcore.trials.growth.outcome import FittedLaw, PooledLaw, TestedSpecimen
from fatcore.trials.sn.factors import student

_LARGEST_SCATTER = 4.0  # decades, beyond which no scatter calculation takes it
_FEW = 5  # specimens, below which the scatter between them is hardly known [own choice]
_ROUNDING = 1e-20  # of the squares, below which rates lie on lines but for rounding
SIGNIFICANT = 0.05  # probability below which a difference counts [own choice]


def pool(
    grown: Sequence[TestedSpecimen], confidence: float, overlap: int = 1
) -> tuple[PooledLaw | None, list[Finding]]:
    """One exponent for all specimens; the scatter between them from their levels at the common pivot.

    The upper law lies above the mean by the squares of three parts, each by a Student factor, since few rates and
    specimens say little of their own scatter: the level of one more specimen, the scatter about its line, and the
    error of the exponent at the end of the ranges tested that is furthest away.

    overlap : rates that share readings; above 1 the chance counts only every so many of them [own choice], and the
              limits of the exponent follow from the exponents of the specimens
    """
    if len(grown) < 2:
        return None, []
    pairs = [
        (
            np.log10(each.delta_k_mpa_sqrt_mm[each.rate_mm_per_cycle > 0.0]),
            np.log10(each.rate_mm_per_cycle[each.rate_mm_per_cycle > 0.0]),
        )
        for each in grown
    ]
    spreads = np.array([float(np.square(x - x.mean()).sum()) for x, _ in pairs])
    slopes = np.array([each.law.exponent for each in grown if each.law is not None])
    common = float((slopes * spreads).sum() / spreads.sum())
    own = sum(
        float(np.square(y - y.mean() - m * (x - x.mean())).sum()) for (x, y), m in zip(pairs, slopes, strict=True)
    )
    shared = sum(float(np.square(y - y.mean() - common * (x - x.mean())).sum()) for x, y in pairs)
    points, count = sum(len(x) for x, _ in pairs), len(pairs)
    levels = np.array([float(y.mean() - common * x.mean()) for x, y in pairs])
    within = math.sqrt(shared / (points - count - 1))
    sampling = within**2 * float(np.mean([1.0 / len(x) for x, _ in pairs]))
    between = math.sqrt(max(float(levels.var(ddof=1)) - sampling, 0.0))
    total = math.hypot(between, within)
    middle = float(np.concatenate([x for x, _ in pairs]).mean())
    # rates that share readings count together
    freedom = max(points // overlap - 2 * count, 1)
    far = float(np.abs(np.concatenate([x for x, _ in pairs]) - middle).max())
    slope_error, slope_freedom = within / math.sqrt(float(spreads.sum())), freedom
    if overlap > 1:  # rates that share readings say less than their number: the specimens stand for themselves
        apart = float(np.square(spreads / spreads.sum() * (slopes - common)).sum())
        slope_error, slope_freedom = math.sqrt(apart * count / (count - 1)), count - 1
    ahead = math.hypot(
        _share_below(count - 1) * math.sqrt(1.0 + 1.0 / count) * math.sqrt(float(levels.var(ddof=1))),
        _share_below(freedom) * within,
        _share_below(slope_freedom) * slope_error * far,
    )
    _guard_scatter(count, ahead, total)
    excess = max(shared - own, 0.0) / (count - 1) / max(own, _ROUNDING * shared, 1e-300)
    probability = float(fdtrc(count - 1, freedom, excess * freedom))
    alike = _levels_chance(pairs, shared, points - count - 1, overlap)
    level = float(levels.mean())
    reach = student(count - 1, confidence) * math.sqrt(float(levels.var(ddof=1)) / count)
    slope_reach = student(slope_freedom, confidence) * slope_error
    law = FittedLaw(
        coefficient=coefficient_of(level),
        exponent=common,
        exponent_low=common - slope_reach,
        exponent_high=common + slope_reach,
        upper_coefficient=coefficient_of(level + ahead),
        sd_log10_rate=total,
        rates_used=points,
        pivot_mpa_sqrt_mm=10.0**middle,
        pivot_rate_mm_per_cycle=coefficient_of(level + common * middle),
        pivot_low_mm_per_cycle=coefficient_of(level + common * middle - reach),
        pivot_high_mm_per_cycle=coefficient_of(level + common * middle + reach),
    )
    # two of its deviations reach the upper law
    factor = Distribution(kind="lognormal", median=1.0, log_deviation=math.log(10.0) * max(ahead / UPPER, 1e-6))
    pooled = PooledLaw(
        law=law,
        specimens=count,
        sd_between=between,
        sd_within=within,
        slopes_chance=probability,
        levels_chance=alike,
        coefficient_factor=factor,
    )
    return pooled, _pooled_told(pooled)


def _guard_scatter(specimens: int, ahead: float, total: float) -> None:
    """InputError for specimens too far apart for one law; ahead, total: decades of the upper law and of the scatter."""
    if total > _LARGEST_SCATTER:
        raise InputError(
            f"the rates scatter by {figure(total)} decades about one law: units, or two materials?", "tests"
        )
    if ahead / UPPER > _LARGEST_SCATTER:
        text = (
            f"{specimens} specimens lie so far apart that nothing can be said of the next one: load ratios, materials,"
            " units? Test more, or evaluate them one by one"
        )
        raise InputError(text, "tests")


def _levels_chance(pairs: Sequence[tuple[FloatArray, FloatArray]], shared: float, freedom: int, overlap: int) -> float:
    """Probability of levels as different as these where all specimens have one line, by F of both sums of squares.

    shared : sum of squares about lines of one exponent, with its degrees of freedom
    Source : [linear-models]
    """
    x, y = (np.concatenate(values) for values in zip(*pairs, strict=True))
    x = x - x.mean()
    one_line = float(np.square(y - y.mean() - float(x @ y) / float(x @ x) * x).sum())
    more = max(one_line - shared, 0.0) / (len(pairs) - 1)
    least = max(shared, _ROUNDING * one_line, 1e-300)
    independent = max(freedom // overlap, 1)  # rates that share readings count together
    return float(fdtrc(len(pairs) - 1, independent, more * freedom / least / overlap))


def _share_below(freedom: int) -> float:
    """Deviations that reach the share below two of them, where the deviation itself is known by so many degrees."""
    return float(stdtrit(freedom, ndtr(UPPER)))


def _pooled_told(pooled: PooledLaw) -> list[Finding]:
    text = (
        "the factor on the coefficient holds the scatter between specimens and within them, as"
        " if all of a specimen's scatter acted over its whole life"
    )
    found = [note("pooled-scatter", text, field="pooled")]
    if pooled.specimens < _FEW:
        assert pooled.law.upper_coefficient is not None
        above = pooled.law.upper_coefficient / pooled.law.coefficient
        text = (
            f"{pooled.specimens} specimens say little of the scatter between specimens: the upper law, a factor of"
            f" {figure(above)} above the mean one, and the factor on the coefficient may lie too low; test {_FEW} or"
            " more"
        )
        found.append(caution("few-specimens", text, field="pooled"))
    if pooled.levels_chance >= SIGNIFICANT:
        text = (
            f"the specimens differ no more than the rates of one scatter (probability {figure(pooled.levels_chance)} of"
            " as much by chance): one specimen under several names? The upper law then holds no scatter between"
            " specimens, and the next one may grow faster"
        )
        found.append(caution("specimens-not-told-apart", text, field="pooled"))
    if pooled.slopes_chance < SIGNIFICANT:
        text = (
            f"the exponents of the specimens differ (probability {figure(pooled.slopes_chance)}"
            " of as much by chance): one exponent for all is doubtful"
        )
        found.append(caution("exponents-differ", text, field="pooled"))
    return found

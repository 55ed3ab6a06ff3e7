"""Factors of lower limits: tables of tolerance factors, the table of the IIW, scatter indices."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from fatcore.trials.sn.factors import iiw_factor, tolerance_factor
from fatcore.trials.sn.fit import standard_quantile
from fatcore.verification.case import VerificationCase
from fatcore.verification.trials._cases import check

# survival and confidence in per cent, by the size of the sample
_TOLERANCE = {
    (90, 90): {3: "4.2582", 6: "2.4937", 10: "2.0657", 20: "1.7652", 50: "1.5595"},
    (90, 95): {3: "6.1553", 6: "3.0063", 10: "2.3546", 20: "1.9260", 50: "1.6456"},
    (95, 75): {3: "3.1518", 6: "2.3356", 10: "2.1037", 20: "1.9320", 50: "1.8109"},
    (95, 90): {3: "5.3115", 6: "3.0919", 10: "2.5684", 20: "2.2078", 50: "1.9653"},
    (95, 95): {3: "7.6559", 6: "3.7077", 10: "2.9110", 20: "2.3960", 50: "2.0650"},
    (97.7, 95): {3: "9.1368", 6: "4.3996", 10: "3.4581", 20: "2.8563", 50: "2.4738"},
    (99, 90): {3: "7.3404", 6: "4.2425", 10: "3.5317", 20: "3.0515", 50: "2.7349"},
    (99, 95): {3: "10.5527", 6: "5.0620", 10: "3.9811", 20: "3.2952", 50: "2.8624"},
}
_IIW = {6: "3.266", 8: "2.913", 10: "2.713", 15: "2.450", 20: "2.314", 25: "2.229", 30: "2.168", 40: "2.088"}
_IIW |= {50: "2.035", 100: "1.911"}
_IIW_PRINTED = {10: "2.7", 15: "2.4", 20: "2.3", 25: "2.2", 30: "2.15", 40: "2.05", 50: "2.0", 100: "1.9"}


def _tolerance() -> Iterator[VerificationCase]:
    for (survival, confidence), column in _TOLERANCE.items():
        for size, expected in column.items():
            yield check(
                f"tolerance-{survival}-{confidence}-{size}",
                f"one-sided tolerance factor, {survival} % at {confidence} % confidence, {size} tests",
                "tolerance-factor",
                "noncentral t, and a double integral",
                expected,
                partial(tolerance_factor, size - 1, 1.0 / size, survival / 100.0, confidence / 100.0),
                status="derived",
            )
    yield check(
        "tolerance-nist",
        "one-sided tolerance factor, 90 % at 99 % confidence, 43 tests",
        "nist-handbook-tolerance",
        "example, by the noncentral t",
        "1.8740",
        partial(tolerance_factor, 42, 1.0 / 43.0, 0.90, 0.99),
    )


def _iiw() -> Iterator[VerificationCase]:
    source = "iiw-2259-15-evaluation"
    for tests, expected in _IIW.items():
        yield check(
            f"iiw-{tests}",
            f"factor k of {tests} tests",
            source,
            "formula",
            expected,
            partial(iiw_factor, tests),
            status="derived",
        )
    for tests, expected in _IIW_PRINTED.items():
        yield check(
            f"iiw-printed-{tests}",
            f"factor k of {tests} tests, as printed",
            source,
            "table of k",
            expected,
            partial(iiw_factor, tests),
            tolerance=0.051,
            why="the table is printed in steps of 0.05 and 0.1, rounded down",
        )


def _width(survival: float) -> float:
    """Deviations between the quantiles of a share and of what it leaves."""
    return standard_quantile("normal", survival) - standard_quantile("normal", 1.0 - survival)


def _index(survival: float, slope: float) -> float:
    return float(10.0 ** (_width(survival) * 0.2 / slope))


def _restated() -> float:
    return float(1.5 ** (_width(0.977) / _width(0.9)))


def _indices() -> Iterator[VerificationCase]:
    source, where = "normal-quantile", "formula, exact shares"
    printed = {1.0: ("3.2555", "6.2829"), 3.0: ("1.4821", "1.8452"), 5.0: ("1.2663", "1.4442")}
    for slope, pair in printed.items():
        for survival, expected in zip((0.9, 0.977), pair, strict=True):
            title = f"index at {100.0 * survival:g} % of a scatter of 0.2 of log10 life, slope {slope:g}"
            compute = partial(_index, survival, slope)
            yield check(
                f"index-{100.0 * survival:g}-{slope:g}", title, source, where, expected, compute, status="derived"
            )
    title = "index 1.5 (10 to 90 %) restated between 2.3 and 97.7 %"
    yield check("index-restated", title, source, where, "1.8801", _restated, status="derived")


CASES = (*_tolerance(), *_iiw(), *_indices())

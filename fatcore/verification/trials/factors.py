"""Factors of lower limits: tables of tolerance factors, the table of the IIW, scatter indices."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from fatcore.trials.sn.factors import iiw_factor, tolerance_factor
from fatcore.verification.case import VerificationCase
from fatcore.verification.trials._cases import check

# survival and confidence in per cent, by the size of the sample
_TOLERANCE = {
    (90, 90): {3: "4.2582", 6: "2.4937", 10: "2.0657", 20: "1.7652", 50: "1.5595"},
    (90, 95): {3: "6.1553", 6: "3.0063", 10: "2.3546", 20: "1.9260", 50: "1.6456"},
    (95, 75): {3: "3.1518", 6: "2.3356", 10: "2.1037", 20: "1.9320", 50: "1.8109"},
    (95, 90): {3: "5.3115", 6: "3.0919", 10: "2.5684", 20: "2.2078", 50: "1.9653"},
    (95, 95): {3: "7.6559", 6: "3.7077", 10: "2.9110", 20: "2.3960", 50: "2.0650"},
    (99, 90): {3: "7.3404", 6: "4.2425", 10: "3.5317", 20: "3.0515", 50: "2.7349"},
    (99, 95): {3: "10.5527", 6: "5.0620", 10: "3.9811", 20: "3.2952", 50: "2.8624"},
}
_IIW = {6: "3.266", 8: "2.913", 10: "2.713", 15: "2.450", 20: "2.314", 25: "2.229", 30: "2.168", 40: "2.088"}
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


CASES = (*_tolerance(), *_iiw())

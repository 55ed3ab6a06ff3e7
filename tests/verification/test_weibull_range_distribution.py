"""Weibull distributed stress ranges on one- and two-slope curves: independent computation."""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.spectrum import CASES

SOURCES = {"weibull-range-distribution"}
MINE = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

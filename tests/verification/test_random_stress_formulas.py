"""Narrow-band (NASA CR-33, 1964), Wirsching-Light (1980), Dirlik (1985), Tovo-Benasciutti (2005)."""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.spectrum import CASES

SOURCES = {
    "narrow-band-1964",
    "wirsching-light-1980",
    "dirlik-1985",
    "tovo-benasciutti-2005",
    "random-vibration-moments",
}
MINE = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

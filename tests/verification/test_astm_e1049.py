"""ASTM E1049-85 (reapproved 2023), Standard Practices for Cycle Counting in Fatigue Analysis; from memory."""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.spectrum import CASES

SOURCES = {"astm-e1049", "peak-pairing"}
MINE = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

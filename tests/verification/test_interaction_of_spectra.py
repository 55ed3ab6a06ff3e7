"""Interaction of normal and shear stress: EN 1993-1-9:2005 clause 8, IIW (2016) table 4.1."""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.spectrum import CASES

SOURCES = {"interaction-en-1993-1-9", "interaction-iiw-2016"}
MINE = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

"""DNV-RP-C203, edition 2016: largest stress ranges of Weibull long-term distributions; from memory."""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.spectrum import CASES

SOURCES = {"dnv-rp-c203-2016"}
MINE = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

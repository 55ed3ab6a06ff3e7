"""DNV-RP-C203, edition 2016: largest stress ranges of Weibull long-term distributions; from memory."""

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.spectrum.published import CHECKS

SOURCES = {"dnv-rp-c203-2016"}
MINE = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

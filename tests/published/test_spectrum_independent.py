"""Values computed independently from the stated rules, without the code under test."""

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.spectrum.published import CHECKS

SOURCES = {"independent-computation"}
MINE = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

"""ISO 12110-2:2013, Fatigue testing, cycle counting and related data reduction methods; from memory."""

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.spectrum.published import CHECKS

SOURCES = {"iso-12110-2"}
MINE = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

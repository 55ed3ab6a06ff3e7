"""EN 13001-1 and EN 13001-3-1, cranes: spectrum, cycle and stress history classes; from memory."""

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.spectrum.published import CHECKS

SOURCES = {"en-13001"}
MINE = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

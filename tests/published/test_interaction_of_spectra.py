"""Interaction of normal and shear stress: EN 1993-1-9:2005 clause 8, IIW (2016) table 4.1."""

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.spectrum.published import CHECKS

SOURCES = {"interaction-en-1993-1-9", "interaction-iiw-2016"}
MINE = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

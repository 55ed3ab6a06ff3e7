"""Geometry of straight lines in log range and log life, computed independently."""

from __future__ import annotations

import pytest

from fatcore.curves.published import CHECKS
from fatcore.published import PublishedCheck, run

PRINTED = [each for each in CHECKS if each.source == "curve-geometry"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

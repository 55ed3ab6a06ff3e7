"""Intensity at the toe of a fillet-welded cross joint: Fatigue and Fracture of Engineering Materials
and Structures 21 (1998) 1089-1103, formula from memory."""

from __future__ import annotations

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.stress.published import CHECKS

SOURCES = ("fillet-toe-intensity-1998",)
PRINTED = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

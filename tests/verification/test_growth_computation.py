"""Independent computation of driving forces, lives, assessment lines, distributions from closed forms."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.cracks import CASES

PRINTED = [each for each in CASES if each.source == "growth-computation"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"


def test_there_are_checks() -> None:
    assert len(PRINTED) >= 60

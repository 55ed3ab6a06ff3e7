"""BS 7910:2013, growth laws in two stages and thresholds of steel.

Figures from memory, but for the pair read in the JCSS model code.
"""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.cracks import CASES

PRINTED = [each for each in CASES if each.source == "bs-7910-2013"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"


def test_there_are_checks() -> None:
    assert len(PRINTED) >= 6

"""UK HSE fatigue guidance 1995, class factors as quoted in Marine Structural Design, p. 333 (read)."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.curves import CASES

PRINTED = [each for each in CASES if each.source == "hse-1995"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

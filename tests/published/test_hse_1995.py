"""UK HSE fatigue guidance 1995, class factors as quoted in Marine Structural Design, p. 333 (read)."""

from __future__ import annotations

import pytest

from fatcore.curves.published import CHECKS
from fatcore.published import PublishedCheck, run

PRINTED = [each for each in CHECKS if each.source == "hse-1995"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

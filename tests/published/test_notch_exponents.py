"""Sharp notches: exponents, field constants and exact energy coefficients, derived from free faces and
computed independently; Journal of Applied Mechanics 19 (1952) 526-528 for the characteristic
equations."""

from __future__ import annotations

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.stress.published import CHECKS

SOURCES = ("notch-derivation", "williams-1952")
PRINTED = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

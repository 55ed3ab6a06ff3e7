"""Sharp notches: exponents, field constants and exact energy coefficients, derived from free faces and
computed independently; Journal of Applied Mechanics 19 (1952) 526-528 for the characteristic
equations."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES

SOURCES = ("notch-derivation", "williams-1952")
PRINTED = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

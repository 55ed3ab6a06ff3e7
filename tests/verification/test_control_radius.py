"""Control radius: International Journal of Fracture 133 (2005) 247-276 (from memory) and Fracture and
Structural Integrity 77 (2026) 298-315 (read)."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES

SOURCES = ("control-radius-2005", "austenitic-energy-2026")
PRINTED = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

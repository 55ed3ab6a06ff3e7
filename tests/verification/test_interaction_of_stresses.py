"""Combined normal and shear stress: EN 1993-1-9:2005, 8(3), and IIW 2016, table 4.1; own arithmetic on
the formulas."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES

SOURCES = ("interaction-en-1993-1-9", "interaction-iiw-2016")
PRINTED = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

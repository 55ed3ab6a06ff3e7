"""Scatter band of the averaged strain-energy density, welded steel joints (see Frattura ed Integrità
Strutturale 9 (2009) 13-26). Figures from memory.
"""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.curves import CASES

PRINTED = [each for each in CASES if each.source == "energy-density-band"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

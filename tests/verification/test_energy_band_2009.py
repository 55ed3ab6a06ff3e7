"""Energy band of welded steel against the peak stress bands: Frattura ed Integrità Strutturale 9
(2009) 13-26; arithmetic on the figures."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES

SOURCES = ("energy-band-2009",)
PRINTED = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

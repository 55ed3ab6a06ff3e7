"""Energy coefficients as printed in papers on averaged strain-energy density, and the integrals of
International Journal of Fracture 112 (2001) 275-298. Figures from memory, e1(0) = 0.133 read."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES

SOURCES = ("energy-coefficient-fits", "energy-coefficients-2001")
PRINTED = [check for check in CASES if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

"""DNV GL RP-C203, edition 2016, tables 2-1, 2-2 and 2-4: limits at 1e7 cycles, classes at 2e6 cycles,
joined branches. Figures from memory; lives and damages computed independently from the printed
constants.
"""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.curves import CASES

PRINTED = [each for each in CASES if each.source == "dnv-rp-c203-2016"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

"""EN 1993-1-9:2005, figures 7.1 and 7.2: factors and ranges at the constant-amplitude limit and at the
cut-off. Figures from memory; survival definition read in ESDEP lecture 12.8.
"""

from __future__ import annotations

import pytest

from fatcore.curves.corrections.mean_stress import effective_range_mpa
from fatcore.verification.case import VerificationCase, run
from fatcore.verification.curves import CASES

PRINTED = [each for each in CASES if each.source == "en-1993-1-9-2005"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"


def test_compression_counts_at_sixty_per_cent() -> None:
    """Effective range of stress-relieved or non-welded details, from memory."""
    assert float(effective_range_mpa(60.0, -40.0)) == pytest.approx(60.0 + 0.6 * 40.0)

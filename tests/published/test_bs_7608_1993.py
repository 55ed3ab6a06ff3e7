"""BS 7608:1993: design constants of the classes, two standard deviations below the mean lines. Figures
from memory.
"""

from __future__ import annotations

import pytest

from fatcore.curves.published import CHECKS
from fatcore.published import PublishedCheck, run

PRINTED = [each for each in CHECKS if each.source == "bs-7608-1993"]


@pytest.mark.parametrize("check", PRINTED, ids=lambda each: each.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

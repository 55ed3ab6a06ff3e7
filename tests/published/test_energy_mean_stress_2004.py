"""Mean-stress coefficient: Fatigue and Fracture of Engineering Materials and Structures 27 (2004)
127-140, from memory; both branches derived."""

from __future__ import annotations

import pytest

from fatcore.published import PublishedCheck, run
from fatcore.stress.published import CHECKS

SOURCES = ("energy-mean-stress-2004",)
PRINTED = [check for check in CHECKS if check.source in SOURCES]


@pytest.mark.parametrize("check", PRINTED, ids=lambda check: check.id)
def test_printed_number(check: PublishedCheck) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"

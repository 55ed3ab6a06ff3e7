"""Joints of the cross-section solver: Fatigue and Fracture of Engineering Materials and Structures 21 (1998)
1089-1103, and Journal of the Structural Division ASCE 105 (1979) 1727-1740; both formulas from memory."""

from __future__ import annotations

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.stress import CASES


@pytest.mark.parametrize("check", CASES, ids=lambda check: check.id)
def test_joint_comes_close_to_the_formula(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.title}: printed {check.expected}, computed {result.computed!r}"
    assert check in CASES

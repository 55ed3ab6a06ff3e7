"""The Stress Analysis of Cracks Handbook, 3rd edition (2000), and the reference series of the centre crack.

Finite-width correction of the centre crack (2a/W = 0.1 ... 0.9), and factors of an edge in a half plane under
powers of the distance; from memory.
"""

import pytest

from fatcore.verification.case import VerificationCase, run
from fatcore.verification.cracks import CASES

MINE = [check for check in CASES if check.source in {"isida-reference", "tada-paris-irwin-2000"}]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"

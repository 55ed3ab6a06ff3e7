"""Independently computed values of the published stress-intensity formulas; derived, no publication."""

import pytest

from fatcore.sources import source
from fatcore.verification.case import VerificationCase, run
from fatcore.verification.cracks import ellipses, plates, weight_functions, welds

CASES = (*ellipses.CASES, *plates.CASES, *welds.CASES, *weight_functions.CASES)
MINE = [check for check in CASES if check.source == "crack-intensity-computation"]


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"


def test_every_check_of_the_intensities_has_a_test_and_a_source() -> None:
    tested = {"crack-intensity-computation", "isida-reference", "tada-paris-irwin-2000", "raju-newman-1979"}
    assert {check.source for check in CASES} == tested
    assert len({check.id for check in CASES}) == len(CASES)
    assert all(source(check.source).citation for check in CASES)

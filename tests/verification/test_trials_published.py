"""Evaluation of tests against worked examples and open data: published figures, recalled, repeated by computation."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.trials import TrialSeries
from fatcore.trials.sn.bounds import bounds_at
from fatcore.trials.sn.fit import fit_line
from fatcore.trials.sn.likelihood import Distribution
from fatcore.verification.case import VerificationCase, run
from fatcore.verification.trials import CASES
from fatcore.verification.trials.lines import _CYCLES, _STRAIN, _TESTS, _likelihood

STRESS, KILOCYCLES, FAILED = (np.array(column) for column in zip(*_TESTS, strict=True))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_a_published_number_is_met(case: VerificationCase) -> None:
    (result,) = run([case])
    assert result.passed, (result.computed, result.expected)


@pytest.mark.parametrize(
    ("strain", "lives"), [(0.001, (3.89052, 3.76080, 3.74105)), (0.0005, (4.31486, 4.17697, 4.15680))]
)
def test_lower_limits_of_the_worked_example_of_astm_e739(strain: float, lives: tuple[float, ...]) -> None:
    # prediction, exact tolerance: derived independently from the same data
    fit = fit_line(TrialSeries(range_mpa=np.array(_STRAIN), life_cycles=np.array(_CYCLES)))
    found = bounds_at(fit, np.log10([strain]), 0.95, 0.95)
    assert [float(found.prediction[0]), float(found.tolerance[0])] == pytest.approx(lives[:2], abs=1e-5)


def test_the_superalloy_has_the_specimens_of_its_table() -> None:
    # W. Q. Meeker, L. A. Escobar (1998), table C.12: 26 specimens, 4 run-outs
    assert (len(STRESS), int((FAILED == 0).sum())) == (26, 4)
    assert (STRESS.min(), STRESS.max(), KILOCYCLES.min(), KILOCYCLES.max()) == (80.3, 145.9, 5.733, 211.629)


@pytest.mark.parametrize(
    ("powers", "distribution", "likelihood"),
    [(2, "smallest-extreme-value", -93.3819), (1, "smallest-extreme-value", -97.1548), (1, "normal", -100.6653)],
)
def test_likelihood_of_the_superalloy(powers: int, distribution: Distribution, likelihood: float) -> None:
    # of the times themselves: less the logarithms of the failures; derived
    found = _likelihood(powers, distribution)
    assert float(found.value[0]) - np.log(KILOCYCLES[FAILED > 0]).sum() == pytest.approx(likelihood, abs=5e-5)


def test_the_failures_of_the_superalloy_alone_give_another_line() -> None:
    failed = FAILED > 0
    only = fit_line(TrialSeries(range_mpa=STRESS[failed], life_cycles=1e3 * KILOCYCLES[failed]))
    assert (only.log10_constant, only.slope) == pytest.approx((15.47811, 5.45558), abs=5e-6)
    assert only.sd_log10_cycles == pytest.approx(0.29438, abs=5e-6)

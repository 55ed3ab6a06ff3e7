"""Kinds of stress that people write in many ways are one kind, wherever they are compared."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.check.strength.suitability import kind_findings
from fatcore.curves.stress_kind import plain_kind
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import InputError
from fatcore.trials.position.kind import basis_findings, stress_kind_findings
from fatcore.trials.sn.series import TrialSeries
from fatcore.trials.sn.series_findings import series_findings
from tests.core.test_curves_fitted import OTHER

NAMES = [
    ("nominal stress", "normal"),
    ("Nom.", "normal"),
    ("nominal  stress range", "normal"),
    ("nominal\u00a0stress", "normal"),
    ("nom\u00adinal", "normal"),
    ("structural hot spot stress", "hot-spot"),
    ("hot\u2011spot", "hot-spot"),
    ("Hot_Spot stresses", "hot-spot"),
    ("geometric stress", "hot-spot"),
    ("peak\u2011stress", "peak-stress"),
    ("peak \u2013 stress", "peak-stress"),
    ("notch stress", "effective-notch"),
    ("nominal shear stress", "shear"),
    ("own", "own"),
    ("", ""),
    ("stress", "stress"),
    ("net section", "net-section"),
]


@pytest.mark.parametrize(("words", "kind"), NAMES)
def test_a_kind_of_stress_has_one_word(words: str, kind: str) -> None:
    assert plain_kind(words) == kind


@pytest.mark.parametrize("words", ["nominal stress", "nom.", "nominal \u2010 stress"])
def test_a_kind_that_contradicts_the_model_is_refused_however_it_is_written(words: str) -> None:
    with pytest.raises(InputError, match="gives peak-stress stress"):
        basis_findings(words, "peak-stress")
    assert basis_findings(words, "nominal") == ()
    assert stress_kind_findings(words, OTHER) == ()
    assert {each.code for each in basis_findings("net section", "nominal")} == {"stress-kind-not-compared"}


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("structural hot spot stress", "curve-of-other-stress"),
        ("peak\u2011stress", "curve-of-other-stress"),
        ("nominal stress", ""),
        ("net section", "curve-kind-not-compared"),
    ],
)
def test_a_curve_for_another_stress_is_known_however_it_is_written(words: str, code: str) -> None:
    own = user_defined_curve(name="own", stress_kind=words, log10_constants=(12.0,), slopes=(3.0,))
    assert {each.code for each in kind_findings("nominal", own)} == ({code} if code else set())


def test_few_lives_below_a_thousand_cycles_are_said() -> None:
    """In thousands of cycles: 88 to 2000."""
    given = TrialSeries(range_mpa=np.linspace(100.0, 200.0, 4), life_cycles=np.array([2000.0, 900.0, 121.0, 88.0]))
    (said,) = [each for each in series_findings(given) if each.code == "lives-short"]
    assert "3 of 4 lives are below 1000" in said.message

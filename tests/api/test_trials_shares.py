"""A fitted curve of survival 0.977 on its way from tests to a damage sum: the same exact share all along, and said."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy import stats

from service.base.envelope import evaluate
from service.report.renderers import render
from service.topics.registry import find

NAMED = 0.977
EXACT = float(stats.norm.ppf(NAMED))
SN: dict[str, Any] = {
    "series": {
        "name": "hanger",
        "range_mpa": [260.0, 260.0, 210.0, 210.0, 170.0, 170.0, 140.0, 140.0, 115.0, 115.0],
        "life_cycles": [88e3, 121e3, 166e3, 231e3, 340e3, 455e3, 520e3, 910e3, 1.15e6, 1.48e6],
    },
    "rule": "tolerance",
    "survival_probability": NAMED,
    "confidence": 0.95,
    "stress_kind": "nominal",
    "fixed_slope": 3.0,
}


def answered(name: str, request: Any) -> dict[str, Any]:
    calculation = find(name)
    assert calculation is not None
    return evaluate(calculation, request).envelope()


def fitted() -> dict[str, Any]:
    curve: dict[str, Any] = answered("trials/sn-line", SN)["answer"]["design_curve"]
    return curve


def message(envelope: dict[str, Any], code: str) -> str:
    return next(each["message"] for each in envelope["findings"] if each["code"] == code)


def asked(survival: float | None) -> dict[str, Any]:
    return {"curve": fitted(), "loading": "constant", "stress_range_mpa": [140.0], "survival_probability": survival}


@pytest.mark.parametrize("survival", [0.5, 0.95, 0.98])
def test_a_fitted_curve_moves_from_its_exact_share(survival: float) -> None:
    curve = fitted()
    there, moved = (answered("curves/life", asked(share)) for share in (None, survival))
    step = math.log10(there["answer"]["life_cycles"][0] / moved["answer"]["life_cycles"][0])
    assert step == pytest.approx((stats.norm.ppf(survival) - EXACT) * curve["sd_log10_cycles"], rel=1e-9)
    assert "moved from 1.995 to" in message(moved, "survival-moved")


def test_a_fitted_curve_asked_for_at_its_own_share_stays() -> None:
    there, same = (answered("curves/life", asked(share)) for share in (None, NAMED))
    assert same["answer"]["life_cycles"] == there["answer"]["life_cycles"]
    assert "survival-moved" not in {each["code"] for each in same["findings"]}


def test_a_damage_sum_takes_the_fitted_curve_as_the_look_up_does() -> None:
    life = answered("curves/life", asked(0.95))["answer"]["life_cycles"][0]
    request = {key: value for key, value in asked(0.95).items() if key != "stress_range_mpa"}
    block = {"range_mpa": [140.0], "count": [1e5], "damage_limit": 1.0}
    found = answered("spectrum/damage", {**request, **block})
    assert found["answer"]["damage"] == pytest.approx(1e5 / life, rel=1e-12)
    assert "moved from 1.995 to" in message(found, "survival-moved")


def test_answer_and_report_name_both_indices_and_the_reading_beside_a_curve() -> None:
    calculation = find("trials/sn-line")
    assert calculation is not None
    given = evaluate(calculation, {**SN, "curve": "dnv-rp-c203-2016-d-air"})
    found = given.envelope()
    scatter, deviation = found["answer"]["scatter"], found["answer"]["sd_log10_cycles"]
    assert scatter["life_2_98"] == pytest.approx(10.0 ** (2.0 * EXACT * deviation))
    assert scatter["life_two_deviations"] == pytest.approx(10.0 ** (4.0 * deviation))
    assert "1.995" in message(found, "survival-exact-share")
    assert "1.995" in message(found, "survival-two-deviations")
    assert "range, two deviations up and down" in render("trials/sn-line", given.request, found)

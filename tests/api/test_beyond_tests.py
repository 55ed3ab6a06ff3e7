"""Damage that no test behind a fitted curve had is said in every route, however few cycles lie within the tests."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.api.test_trials import answered

FIT = {"stress_kind": "own", "survival_probability": 0.9, "confidence": 0.75, "rule": "tolerance"}
LEVELS = np.repeat([260.0, 210.0, 170.0, 140.0, 115.0], 2).tolist()
LIVES = [88e3, 121e3, 166e3, 231e3, 340e3, 455e3, 520e3, 910e3, 1.15e6, 1.48e6]
SERIES = {"name": "hanger", "range_mpa": LEVELS, "life_cycles": LIVES}
CURVE: dict[str, Any] = answered("trials/sn-line", {"series": SERIES, **FIT})["answer"]["design_curve"]
TOO_FAR, PARTLY = "fitted-curve-extrapolated", "fitted-curve-leaves-tests"


def judged(route: str, request: dict[str, Any]) -> tuple[str, set[str]]:
    found = answered(route, request)
    return found["answer"]["verdict"], {each["code"] for each in found["findings"]} & {TOO_FAR, PARTLY}


@pytest.mark.parametrize(
    ("ranges", "counts", "said"),
    [
        ([30.0, 116.0], [1e7, 1.0], ("undecided", {TOO_FAR})),
        ([30.0, 116.0], [1e7, 1e-30], ("undecided", {TOO_FAR})),
        ([30.0, 116.0], [1e2, 1e4], ("pass", set())),
        ([30.0, 116.0], [3e5, 1e5], ("pass", {PARTLY})),
        ([100.0, 116.0], [1e4, 1e4], ("pass", {PARTLY})),
        ([116.0, 200.0], [1e4, 1e3], ("pass", set())),
    ],
)
def test_a_damage_sum_is_judged_by_its_share(
    ranges: list[float], counts: list[float], said: tuple[str, set[str]]
) -> None:
    request = {"curve": CURVE, "range_mpa": ranges, "count": counts}
    assert judged("spectrum/damage", request) == said


def test_a_history_is_judged_by_its_share() -> None:
    history = [0.0, 116.0, *[0.0, 30.0] * 300, 0.0]
    request = {"curve": CURVE, "history_mpa": history, "repeats": 100.0}
    assert judged("spectrum/damage", request) == ("undecided", {TOO_FAR})


def test_a_distribution_is_judged_by_its_share() -> None:
    request = {"curve": CURVE, "reference_cycles": 1e7, "largest_range_mpa": 150.0}
    assert judged("spectrum/long-term", {**request, "shape_exponent": 1.0})[1] == {TOO_FAR}
    assert judged("spectrum/long-term", {**request, "shape_exponent": 9.0, "reference_cycles": 1e5})[1] == {PARTLY}


def test_random_stress_is_judged_by_its_share() -> None:
    density = {"frequency_hz": [1.0, 2.0, 3.0], "density_mpa2_per_hz": [0.0, 200.0, 0.0], "duration_s": 1e6}
    request = {"curve": CURVE, **density}
    assert judged("spectrum/random", request)[1] == {TOO_FAR}


def check(
    factors: list[float], cycles: list[float], stations: dict[str, Any], size: int = 1, **line: Any
) -> tuple[str, set[str]]:
    blocks = [
        {"factors": {"pull": {"maximum": factor, "minimum": 0.0}}, "cycles": count}
        for factor, count in zip(factors, cycles, strict=True)
    ]
    one = {
        "name": "end",
        "basis": "nominal",
        "position_mm": [float(at) for at in range(size)],
        "cases": {"pull": stations},
        **line,
    }
    curves = one.pop("curves")
    target = {"survival_probability": 0.9}
    loading = {"kind": "blocks", "blocks": blocks}
    return judged("check", {"title": "t", "lines": [one], "loading": loading, "curves": curves, "target": target})


NOMINAL = {"curves": {"rule": "fixed", "curve": CURVE}}
PEAK = {
    "basis": "peak-stress",
    "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 10.0},
    "mesh": {"element": "quad4", "element_size_mm": 1.0},
}


@pytest.mark.parametrize(
    ("factors", "cycles", "said"),
    [
        ([1.2, 0.3], [1.0, 1e7], ("undecided", {TOO_FAR})),
        ([1.2, 0.3], [1e5, 3e5], ("pass", {PARTLY})),
        ([1.2, 1.5], [1e4, 1e4], ("pass", set())),
    ],
)
def test_a_line_is_judged_by_its_share(factors: list[float], cycles: list[float], said: tuple[str, set[str]]) -> None:
    assert check(factors, cycles, {"normal_mpa": [100.0]}, **NOMINAL) == said
    # stations that are hardly used lie below the tests as a matter of course
    assert check(factors, cycles, {"normal_mpa": [100.0, 1.0, 0.0]}, size=3, **NOMINAL) == said


def test_normal_and_shear_stress_are_judged_by_their_shares() -> None:
    curves = {"rule": "fixed", "curve": CURVE, "shear_curve": "en-1993-1-9-2005-shear-80"}
    for interaction in ("damage-sum", "quadratic-proportional"):
        both = {"curves": {**curves, "interaction": interaction}}
        found = check([1.2, 0.3], [1.0, 1e7], {"normal_mpa": [100.0], "shear_mpa": [10.0]}, **both)
        assert found == ("undecided", {TOO_FAR})


@pytest.mark.parametrize("rule", ["biaxiality", "fixed"])
def test_peak_stresses_are_judged_by_their_share(rule: str) -> None:
    shear = {"shear_curve": "peak-stress-shear"} if rule == "biaxiality" else {}
    key = "opening_curve" if rule == "biaxiality" else "curve"
    curves = {"rule": rule, key: CURVE, **shear}
    found = check([1.2, 0.3], [1.0, 1e7], {"peaks_mpa": {"opening": [80.0]}}, curves=curves, **PEAK)
    assert found == ("undecided", {TOO_FAR})

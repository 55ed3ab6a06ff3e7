"""Spectra that were answered with a number that is too good, or with an error of our own."""

from __future__ import annotations

from typing import Any

import httpx
import numpy as np
import pytest

STEEL = "iiw-2016-normal-steel-80"
STEPS = {"largest_range_mpa": 200.0, "cycles": 1e6, "shape_exponent": 2.0}
PSD = {"frequency_hz": [1.0, 10.0], "density_mpa2_per_hz": [100.0, 100.0], "duration_s": 1e5}
LONG = {"largest_range_mpa": 400.0, "reference_cycles": 1e8, "shape_exponent": 1.0}


def posted(client: httpx.Client, name: str, request: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"/v1/spectrum/{name}", json=request)
    assert answer.status_code == 200, answer.text
    content: dict[str, Any] = answer.json()
    return content


def refused(client: httpx.Client, name: str, request: dict[str, Any], where: str) -> str:
    answer = client.post(f"/v1/spectrum/{name}", json=request)
    assert answer.status_code == 422, answer.text
    assert where in {error["pointer"] for error in answer.json()["errors"]}, answer.text
    return answer.text


def codes(envelope: dict[str, Any], severity: str = "") -> set[str]:
    return {f["code"] for f in envelope["findings"] if f["severity"].startswith(severity)}


@pytest.mark.parametrize("shape", [0.1, 0.5, 1.0, 2.0, 10.0])
@pytest.mark.parametrize("slope", [1.0, 3.0, 5.0, 9.0, 50.0])
@pytest.mark.parametrize("cycles", [2.0, 1e4, 1e6, 1e30])
def test_steps_of_a_slope_do_the_damage_of_the_closed_form(
    client: httpx.Client, shape: float, slope: float, cycles: float
) -> None:
    request = {"largest_range_mpa": 200.0, "cycles": cycles, "shape_exponent": shape, "slope": slope}
    found = posted(client, "steps", request)
    answer = found["answer"]
    count, ratio = np.array(answer["count"]), np.array(answer["range_mpa"]) / 200.0
    assert count.sum() == pytest.approx(cycles, rel=1e-12)
    mean_power = (count * (ratio / answer["equivalent_ratio"]) ** slope).sum() / cycles
    assert mean_power == pytest.approx(1.0, rel=1e-9)
    assert "steps-for-one-slope" in codes(found, "caution")


@pytest.mark.parametrize("shape", [1.0, 2.0, 5.0])
@pytest.mark.parametrize("slope", [3.0, 5.0])
def test_steps_without_a_slope_never_do_less_than_the_spectrum(
    client: httpx.Client, shape: float, slope: float
) -> None:
    request = {**STEPS, "shape_exponent": shape}
    bare = posted(client, "steps", request)["answer"]
    fitted = posted(client, "steps", {**request, "slope": slope})["answer"]
    assert sum(bare["count"]) == pytest.approx(1e6, rel=1e-12)
    assert bare["equivalent_ratio"] is None
    power = (np.array(bare["count"]) * (np.array(bare["range_mpa"]) / 200.0) ** slope).sum() / 1e6
    assert power >= fitted["equivalent_ratio"] ** slope
    # every interval on its own, so that it holds for a curve with a knee and a cut-off too
    assert all(np.array(bare["range_mpa"][1:]) >= np.array(fitted["range_mpa"][1:]))
    assert bare["cumulative_count"][-1] == 1e6


def test_constant_amplitude_is_for_one_single_range(client: httpx.Client) -> None:
    base = {"curve": STEEL, "loading": "constant"}
    refused(client, "damage", {**base, "range_mpa": [100.0, 40.0], "count": [1e4, 1e7]}, "/loading")
    refused(client, "damage", {**base, "history_mpa": [0.0, 100.0, 0.0, 60.0, 0.0]}, "/loading")
    modes = {"modes_mpa": {"a": [0.0, 90.0, 0.0, 50.0]}, "weights": {"a": 1.0}}
    refused(client, "damage", {**base, **modes}, "/loading")
    blocks = {"range_mpa": [40.0, 40.0, 90.0], "count": [1e4, 1e7, 0.0]}
    constant = posted(client, "damage", {**base, **blocks})["answer"]
    assert constant["damage"] < posted(client, "damage", {"curve": STEEL, **blocks})["answer"]["damage"]
    split = {"history_mpa": [0.0, 0.1 + 0.2, 0.0, 0.3, 0.0]}
    assert posted(client, "damage", {**base, **split})["answer"]["total_count"] == 2.0


@pytest.mark.parametrize(("name", "request_"), [("random", PSD), ("long-term", LONG)])
def test_ranges_that_vary_know_no_curve_of_constant_amplitude(
    client: httpx.Client, name: str, request_: dict[str, Any]
) -> None:
    refused(client, name, {**request_, "curve": STEEL, "loading": "constant"}, "/loading")
    posted(client, name, {**request_, "curve": STEEL, "loading": "variable"})


@pytest.mark.parametrize("largest", [600.0, 1e-30, 1.0, 1e12])
@pytest.mark.parametrize("cycles", [1000.0, 1.0001, 1e30])
@pytest.mark.parametrize("shape", [0.1, 10.0])
def test_extreme_long_term_spectra_are_answered_in_numbers_or_refused(
    client: httpx.Client, largest: float, cycles: float, shape: float
) -> None:
    request = {
        "largest_range_mpa": largest,
        "reference_cycles": cycles,
        "shape_exponent": shape,
        "curve": STEEL,
    }
    answer = client.post("/v1/spectrum/long-term", json=request)
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        assert answer.json()["errors"][0]["pointer"]


def test_a_long_term_spectrum_of_shape_a_tenth_is_integrated(client: httpx.Client) -> None:
    """Referee: the same integral by Simpson's rule over the logarithm of the range."""
    request = {"largest_range_mpa": 600.0, "reference_cycles": 1000.0, "shape_exponent": 0.1, "curve": STEEL}
    answer = posted(client, "long-term", request)["answer"]
    level = np.linspace(-12.0, np.log(400.0), 400_001)
    ranges = answer["scale_mpa"] * np.exp(level / 0.1)
    blocks = np.exp(level - np.exp(level)) * (level[1] - level[0]) * 1000.0
    happening = (blocks > 0.0) & (ranges < 1e30) & (ranges > 1e-30)
    body = {
        "curve": STEEL,
        "range_mpa": ranges[happening].tolist(),
        "count": blocks[happening].tolist(),
    }
    assert posted(client, "damage", body)["answer"]["damage"] == pytest.approx(answer["damage"], rel=1e-4)

"""Spectra that were answered with a number that is too good, or with an error of our own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.spectrum.multiaxial.planes import worst_plane
from service import cli

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


HISTORY = [-40.0, 20.0, -60.0, 100.0, -20.0, 60.0, -80.0, 80.0, -40.0]
AS_MODES = {"modes_mpa": {"a": HISTORY}, "weights": {"a": 1.0}}


def damage_of(client: httpx.Client, request: dict[str, Any]) -> dict[str, Any]:
    return posted(client, "damage", {"curve": STEEL, **request})


def test_a_record_repeats_unless_it_is_said_to_happen_once(client: httpx.Client) -> None:
    bare = posted(client, "cycles", {"history_mpa": HISTORY})["answer"]
    closed = posted(client, "cycles", {"history_mpa": HISTORY, "residue": "closed"})["answer"]
    assert bare == closed
    assert set(bare["count"]) == {1.0}
    assert bare["largest_range_mpa"] == 180.0


@pytest.mark.parametrize("loading", [{"history_mpa": HISTORY}, AS_MODES])
def test_ranges_between_passes_of_a_record_that_happens_once_are_missed_aloud(
    client: httpx.Client, loading: dict[str, Any]
) -> None:
    request = {**loading, "residue": "half"}
    assert codes(damage_of(client, request), "note") >= {"half-cycles"}
    assert codes(damage_of(client, {**request, "repeats": 1e4}), "caution") >= {"passes-not-joined"}
    assert not codes(damage_of(client, {**loading, "repeats": 1e4})) & {"half-cycles", "passes-not-joined"}
    back = {"history_mpa": [0.0, 100.0, 0.0], "residue": "half", "repeats": 10.0}
    assert "passes-not-joined" not in codes(damage_of(client, back))


def test_a_gate_says_how_much_damage_it_drops(client: httpx.Client) -> None:
    whole = damage_of(client, {"history_mpa": HISTORY})["answer"]["damage"]
    found = damage_of(client, {"history_mpa": HISTORY, "hysteresis_threshold_mpa": 81.0})
    (dropped,) = (f for f in found["findings"] if f["code"] == "gate-drops-damage")
    share = 100.0 * (1.0 - found["answer"]["damage"] / whole)
    assert share > 5.0
    assert f"drops {figure(share)} %" in dropped["message"]
    assert dropped["severity"] == "caution"
    idle = damage_of(client, {"history_mpa": [*HISTORY, -39.0, -40.0], "hysteresis_threshold_mpa": 2.0})
    assert "gate-drops-little" in codes(idle, "note")
    counted = posted(client, "cycles", {"history_mpa": HISTORY, "hysteresis_threshold_mpa": 81.0})
    assert "gate-drops-damage" in codes(counted, "caution")


@pytest.mark.parametrize("rule", ["four-point", "range-pair", "simple-range"])
def test_a_count_that_does_less_than_rainflow_says_how_much(client: httpx.Client, rule: str) -> None:
    request = {"history_mpa": [0.0, 20.0, 10.0, 100.0, 90.0, 110.0, 5.0], "rule": rule, "slope": 5.0}
    found = posted(client, "cycles", request)
    assert "count-below-rainflow" in codes(found, "caution")
    rainflow = posted(client, "cycles", {**request, "rule": "rainflow"})
    assert "count-below-rainflow" not in codes(rainflow)
    sums = [
        sum(n * r**5 for n, r in zip(a["count"], a["range_mpa"], strict=True))
        for a in (found["answer"], rainflow["answer"])
    ]
    message = next(f["message"] for f in found["findings"] if f["code"] == "count-below-rainflow")
    assert f"do {figure(100.0 * (1.0 - sums[0] / sums[1]))} % less damage" in message


def test_what_nothing_uses_is_refused(client: httpx.Client) -> None:
    history = {"history_mpa": HISTORY}
    refused(client, "cycles", {**history, "rule": "four-point", "residue": "half"}, "/residue")
    refused(client, "cycles", {**history, "range_edges_mpa": [0.0, 200.0], "classes": 9}, "/classes")
    refused(client, "cycles", {**history, "reference_mpa": 5.0}, "/reference_mpa")
    blocks = {"curve": STEEL, "range_mpa": [100.0], "count": [1.0]}
    refused(client, "damage", {**blocks, "residue": "half"}, "/residue")
    refused(client, "damage", {**blocks, "definition": "path"}, "/definition")
    refused(client, "damage", {"curve": STEEL, **history, "definition": "path"}, "/definition")


@pytest.mark.parametrize("choice", ["compression-in-part", "low-residual-stress", "medium-residual-stress"])
def test_a_bonus_for_the_mean_stress_is_stated_with_its_size(client: httpx.Client, choice: str) -> None:
    full = damage_of(client, {"history_mpa": HISTORY})
    found = damage_of(client, {"history_mpa": HISTORY, "mean_stress": choice})
    (bonus,) = (f for f in found["findings"] if f["code"] == "mean-stress-bonus")
    share = 100.0 * (1.0 - found["answer"]["damage"] / full["answer"]["damage"])
    assert bonus["severity"] == "caution"
    assert f"{figure(share)} % less damage" in bonus["message"]
    assert "mean-stress-bonus" not in codes(full)


def test_a_spectrum_without_cycles_is_refused_and_one_without_damage_is_doubted(
    client: httpx.Client,
) -> None:
    refused(client, "damage", {"curve": STEEL, "range_mpa": [100.0], "count": [0.0]}, "/count")
    cut_off = {"name": "cut", "log10_constants": [12.0], "slopes": [3.0], "cut_off_cycles": 1e8}
    found = damage_of(client, {"curve": cut_off, "range_mpa": [1.0, 900.0], "count": [1e6, 0.0]})
    assert found["answer"]["life_repeats"] is None
    assert found["answer"]["largest_range_mpa"] == 1.0  # the larger one never happens
    assert "no-damage-counted" in codes(found, "caution")


def test_a_form_below_the_knee_that_does_less_than_the_document_is_doubted(client: httpx.Client) -> None:
    steep = {"name": "steep", "log10_constants": [12.0, 13.0], "slopes": [3.0, 4.0]}
    request = {"curve": steep, "range_mpa": [5.0], "count": [1e6]}
    assert "below-knee-form-does-less" not in codes(damage_of(client, request))
    for form in ("original", "reduced-slope"):
        found = damage_of(client, {**request, "below_knee": form})
        assert "below-knee-form-does-less" in codes(found, "caution")
    assert "below-knee-form-does-less" not in codes(damage_of(client, {**request, "below_knee": "elementary"}))


@pytest.mark.parametrize("name", ["cycles", "damage"])
def test_a_column_that_only_rises_is_doubted(client: httpx.Client, name: str) -> None:
    curve = {"curve": STEEL} if name == "damage" else {}
    times = posted(client, name, {**curve, "history_mpa": [0.0, 0.5, 1.0, 1.5]})
    assert "history-never-turns" in codes(times, "caution")
    for history in ([0.0, 100.0], HISTORY):
        assert "history-never-turns" not in codes(posted(client, name, {**curve, "history_mpa": history}))


LINE_OF_3 = {"name": "line", "log10_constants": [12.0], "slopes": [3.0]}


def random_of(client: httpx.Client, **changes: Any) -> dict[str, Any]:
    return posted(client, "random", {**PSD, "curve": LINE_OF_3, **changes})


def test_a_density_that_is_cut_off_is_doubted(client: httpx.Client) -> None:
    both = random_of(client)
    (found,) = (f for f in both["findings"] if f["code"] == "density-cut-off")
    assert "first frequency 1 Hz and last frequency 10 Hz" in found["message"]
    whole = {"frequency_hz": [0.0, 1.0, 10.0, 11.0], "density_mpa2_per_hz": [50.0, 100.0, 100.0, 1.0]}
    assert "density-cut-off" not in codes(random_of(client, **whole))  # at an end 1 % of the peak is nothing
    whole["density_mpa2_per_hz"][3] = 1.01
    assert "density-cut-off" in codes(random_of(client, **whole), "caution")


def test_a_wider_band_than_the_formulas_were_fitted_to_is_outside(client: httpx.Client) -> None:
    peaks = {
        "frequency_hz": [0.1, 0.11, 0.12, 90.0, 91.0, 92.0],
        "density_mpa2_per_hz": [0.0, 1e5, 0.0, 0.0, 0.01, 0.0],
    }
    found = random_of(client, **peaks)
    assert found["answer"]["bandwidth"]["irregularity"] < 0.16
    assert "irregularity-outside" in codes(found, "outside")
    assert "irregularity-outside" not in codes(random_of(client))


@pytest.mark.parametrize(("slope", "outside"), [(2.99, True), (3.0, False), (6.0, False), (6.01, True)])
def test_a_slope_beyond_the_fit_of_the_factor_is_outside(client: httpx.Client, slope: float, outside: bool) -> None:
    found = random_of(client, curve={**LINE_OF_3, "slopes": [slope]})
    assert ("slope-outside" in codes(found, "outside")) == outside


def test_a_factor_below_nothing_is_no_damage(client: httpx.Client) -> None:
    found = random_of(client, curve={**LINE_OF_3, "slopes": [40.0]})
    assert found["answer"]["damage"]["wirsching_light"] is None
    assert "single-slope-only" in codes(found, "note")
    assert "slope-outside" not in codes(found)


def test_a_short_time_is_doubted(client: httpx.Client) -> None:
    rate = random_of(client)["answer"]["bandwidth"]["crossing_rate_per_s"]
    assert "few-crossings" in codes(random_of(client, duration_s=999.0 / rate), "caution")
    assert "few-crossings" not in codes(random_of(client, duration_s=1001.0 / rate))


def test_a_weak_density_keeps_its_width(client: httpx.Client) -> None:
    weak = [1e-290 * value for value in (100.0, 100.0)]
    strong = random_of(client)["answer"]["bandwidth"]["irregularity"]
    found = random_of(client, density_mpa2_per_hz=weak)["answer"]["bandwidth"]["irregularity"]
    assert found == pytest.approx(strong, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "request_", "where"),
    [
        ("damage", {"curve": LINE_OF_3, "history_mpa": [0.0, 1e90], "repeats": 1e30}, ""),
        ("damage", {"curve": LINE_OF_3, "range_mpa": [1e30], "count": [1e30], "repeats": 1e30}, ""),
        (
            "damage",
            {"curve": {**LINE_OF_3, "slopes": [9.0]}, "range_mpa": [1e30], "count": [1e30], "repeats": 1e30},
            "/repeats",
        ),
        ("random", {**PSD, "curve": {**LINE_OF_3, "slopes": [200.0]}}, "/curve/slopes/0"),
        ("random", {**PSD, "curve": LINE_OF_3, "duration_s": 5e-324}, ""),
        ("long-term", {**LONG, "curve": {**LINE_OF_3, "slopes": [200.0]}}, "/curve/slopes/0"),
        (
            "damage",
            {"curve": {**LINE_OF_3, "slopes": [900.0]}, "range_mpa": [1e30, 1.0], "count": [0.0, 1.0]},
            "",
        ),
    ],
)
def test_numbers_beyond_all_numbers_are_refused_where_they_stand(
    client: httpx.Client, name: str, request_: dict[str, Any], where: str
) -> None:
    answer = client.post(f"/v1/spectrum/{name}", json=request_)
    assert answer.status_code == (422 if where else answer.status_code)
    assert answer.status_code in (200, 422)
    if where:
        assert answer.json()["errors"][0]["pointer"] == where


@pytest.mark.parametrize(
    "table",
    ["stress\n1,234\n2,000\n", "time;stress\n1;1,234\n2;12,500\n", "stress\n-1,234\n"],
)
def test_commas_that_may_group_thousands_are_refused(client: httpx.Client, table: str) -> None:
    query = {"columns": "stress"}
    head = {"content-type": "text/csv"}
    answer = client.post("/v1/spectrum/cycles", params=query, content=table, headers=head)
    assert answer.status_code == 422
    assert "thousands" in answer.text
    clear = table.rstrip("\n").replace("1;", "0;") + ("\n3;0,125\n" if ";" in table else "\n0,125\n")
    answer = client.post("/v1/spectrum/cycles", params=query, content=clear, headers=head)
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize(("cycles", "sure"), [("U0", False), ("U4", True)])
def test_an_unconfirmed_class_of_crane_parts_is_doubted(client: httpx.Client, cycles: str, sure: bool) -> None:
    query = {"spectrum_class": "Q1", "cycles_class": cycles}
    found = client.get("/v1/spectrum/crane-class", params=query).json()
    assert ("class-unconfirmed" in codes(found, "caution")) != sure
    assert "class-of-slope-3" in codes(found, "note")


def test_edges_of_classes_below_nothing_are_refused(client: httpx.Client) -> None:
    request = {"history_mpa": HISTORY, "range_edges_mpa": [-10.0, 500.0]}
    refused(client, "cycles", request, "/range_edges_mpa")
    refused(client, "damage", {**request, "curve": STEEL}, "/range_edges_mpa")


def test_the_command_line_counts_as_the_routes_do(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "history.csv"
    path.write_text("stress\n" + "\n".join(map(str, HISTORY)) + "\n", encoding="utf-8")
    for command, options in (("count", []), ("damage", ["--curve", STEEL])):
        assert cli.main([command, str(path), *options, "--json"]) == 0
        found = json.loads(capsys.readouterr().out)["answer"]
        request = {"history_mpa": HISTORY, **({"curve": STEEL} if options else {"list_cycles": False})}
        assert found == posted(client, "damage" if options else "cycles", request)["answer"]
    assert cli.main(["damage", str(path), "--curve", STEEL, "--hysteresis-threshold-mpa", "81"]) == 0
    assert "gate-drops-damage" in capsys.readouterr().out
    assert cli.main(["count", str(path), "--rule", "simple-range", "--residue", "half"]) != 0
    assert "residue" in capsys.readouterr().err


def test_classes_say_which_range_stands_for_them(client: httpx.Client) -> None:
    table = posted(client, "cycles", {"history_mpa": HISTORY, "classes": 9})["answer"]["classes"]
    assert table["range_mpa"] == table["range_edges_mpa"][1:]


OUT_OF_STEP = {
    "modes_mpa": {"a": [0.0, 80.0, 81.0, 50.0, 83.0, -30.0], "b": [0.0, 60.0, 0.0, 40.0, 0.0, 30.0]},
    "weights": {"a": 1.0, "b": 1.5},
}


def test_a_definition_that_does_less_than_another_says_how_much(client: httpx.Client) -> None:
    found = damage_of(client, OUT_OF_STEP)
    (less,) = (f for f in found["findings"] if f["code"] == "definition-does-less")
    damages = found["answer"]["definitions"]["damage"]
    largest = found["answer"]["definitions"]["largest_definition"]
    assert f"'{largest}' counts {figure(damages[largest] / damages['governing'])} times" in less["message"]
    same = damage_of(client, {**OUT_OF_STEP, "definition": largest})
    assert "definition-does-less" not in codes(same)


def test_a_coarse_scan_of_planes_is_refused() -> None:
    turning = np.linspace(0.0, 2.0 * np.pi, 100)
    stresses = np.cos(turning), np.sin(turning + 0.3)
    fine = worst_plane(*stresses, step_deg=0.1)[1]
    assert worst_plane(*stresses, step_deg=5.0)[1] >= 0.995 * fine
    with pytest.raises(InputError):
        worst_plane(*stresses, step_deg=5.1)


@pytest.mark.parametrize(
    ("name", "request_", "where"),
    [
        ("long-term", {**LONG, "largest_range_mpa": 5e-324, "shape_exponent": 0.1}, "/largest_range_mpa"),
        ("random", {**PSD, "frequency_hz": [0.0, 0.01], "duration_s": 5e-324}, "/duration_s"),
        (
            "damage",
            {
                "curve": {"name": "flat", "log10_constants": [0.0], "slopes": [0.001]},
                "range_mpa": [1.0],
                "count": [1e30],
                "reference_cycles": 1e-30,
            },
            "/curve",
        ),
    ],
)
def test_numbers_below_all_numbers_are_refused_where_they_stand(
    client: httpx.Client, name: str, request_: dict[str, Any], where: str
) -> None:
    refused(client, name, {"curve": LINE_OF_3, **request_}, where)

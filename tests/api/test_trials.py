"""Evaluation of tests over HTTP, in reports and on the command line."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.trials import TrialSeries
from service import cli
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.report.pictures.trials import rates_figure, sn_figure
from service.report.renderers import render
from service.topics.registry import find
from service.topics.trials.fitted import fitted_parts, put_fitted
from service.topics.trials.text import growth_rate_text, sn_text
from tests.api.report_pages import Balanced, example

SERIES = {
    "name": "hanger",
    "range_mpa": [260.0, 260.0, 210.0, 210.0, 170.0, 170.0, 140.0, 140.0, 115.0, 115.0],
    "life_cycles": [88e3, 121e3, 166e3, 231e3, 340e3, 455e3, 520e3, 910e3, 1.15e6, 1.48e6],
}
ASKED = {"rule": "tolerance", "survival_probability": 0.95, "confidence": 0.9, "stress_kind": "nominal"}
SN: dict[str, Any] = {"series": SERIES, **ASKED}
TABLE = "range_mpa,life_cycles\n" + "\n".join(
    f"{s},{n}" for s, n in zip(SERIES["range_mpa"], SERIES["life_cycles"], strict=True)
)
RUN_OUTS: dict[str, Any] = example("trials/sn-line-run-outs")["series"]
GROWTH: dict[str, Any] = example("trials/growth-rate-plate")

Refused = Callable[..., dict[str, str]]


def answered(name: str, request: Any) -> dict[str, Any]:
    calculation = find(name)
    assert calculation is not None
    return evaluate(calculation, request).envelope()


def refused(name: str, request: Any) -> dict[str, str]:
    with pytest.raises(Problem) as caught:
        answered(name, request)
    return dict(caught.value.errors)


def test_a_series_is_the_same_as_json_and_as_a_table(client: httpx.Client) -> None:
    given = client.post("/v1/trials/sn-line", json=SN).json()
    query = {key: json.dumps(value) for key, value in {**ASKED, "name": "hanger"}.items()}
    table = client.post("/v1/trials/sn-line", params=query, content=TABLE, headers={"content-type": "text/csv"}).json()
    assert table["answer"] == given["answer"]
    assert table["record"]["input_digest"] == given["record"]["input_digest"]


def test_a_table_with_semicolons_and_decimal_commas_is_the_same(client: httpx.Client) -> None:
    table = TABLE.replace(",", ";").replace(".0", ",0") + "\n\n"
    query = {**{key: str(value) for key, value in ASKED.items()}, "name": "hanger"}
    found = client.post("/v1/trials/sn-line", params=query, content=table, headers={"content-type": "text/csv"})
    assert found.json()["answer"] == answered("trials/sn-line", SN)["answer"]


@pytest.mark.parametrize(
    ("table", "pointer", "words"),
    [
        (TABLE + ",3", "", "line 11 has 3 cells where 2 were expected"),
        (TABLE.replace("88000.0", "many"), "/life_cycles", "line 2: 'many' is no number"),
        (TABLE.replace("life_cycles", "lifes", 1), "/lifes", "column 'lifes' is not used"),
        ("range_mpa\n100\n", "/life_cycles", "needs the column life_cycles"),
        ("range_mpa,range_mpa\n1,2\n", "", "there twice"),
        ("range_mpa,\n1,2\n", "", "column 2 has no name"),
        ("range_mpa,life_cycles\n", "", "no rows"),
        ("", "", "no rows"),
        ("range_mpa,life_cycles,run_out\n1,2,perhaps\n", "/run_out", "write yes or no, not 'perhaps'"),
    ],
)
def test_a_table_that_is_none_says_where(client: httpx.Client, table: str, pointer: str, words: str) -> None:
    query = {key: str(value) for key, value in ASKED.items()}
    found = client.post("/v1/trials/sn-line", params=query, content=table, headers={"content-type": "text/csv"})
    assert found.status_code == 422
    (error,) = found.json()["errors"]
    assert error["pointer"] == pointer
    assert words in error["message"]


def test_a_table_that_is_no_text_is_400(client: httpx.Client) -> None:
    found = client.post("/v1/trials/sn-line", content=b"\xff\xfe1", headers={"content-type": "text/csv"})
    assert found.status_code == 400


def test_a_table_has_a_largest_size(client: httpx.Client) -> None:
    rows = "range_mpa,life_cycles\n" + "100,1000\n" * 20_001
    found = client.post("/v1/trials/sn-line", content=rows, headers={"content-type": "text/csv"})
    assert "more than 20000" in found.json()["detail"]


def test_a_series_may_not_be_given_twice(client: httpx.Client) -> None:
    query = {"series": json.dumps(SERIES)}
    found = client.post("/v1/trials/sn-line", params=query, content=TABLE, headers={"content-type": "text/csv"})
    assert found.json()["errors"][0]["pointer"] == "/series"


def test_run_outs_in_a_table_are_used(client: httpx.Client) -> None:
    table = TABLE.replace("range_mpa,life_cycles", "range_mpa,life_cycles,run_out").replace("\n", ",no\n")
    table = table.replace("run_out,no", "run_out") + ",yes"
    query = {key: str(value) for key, value in ASKED.items()}
    found = client.post("/v1/trials/sn-line", params=query, content=table, headers={"content-type": "text/csv"}).json()
    assert found["answer"]["run_outs"] == 1
    assert found["answer"]["method"] == "maximum-likelihood"


def test_refusals_point_at_what_was_sent() -> None:
    few = {"range_mpa": [200.0, 150.0], "life_cycles": [1e5, 3e5]}
    assert list(refused("trials/sn-line", {**SN, "series": few})) == ["/series/life_cycles"]
    assert list(refused("trials/sn-line", {**SN, "compare_with": few})) == ["/compare_with/life_cycles"]
    stopped = {**SERIES, "run_out": [True] * 10}
    assert list(refused("trials/sn-line", {**SN, "series": stopped})) == ["/series/run_out"]
    assert list(refused("trials/sn-line", {**SN, "compare_with": {**SERIES, "run_out": [True] * 10}})) == [
        "/compare_with/run_out"
    ]
    assert list(refused("trials/sn-line", {**SN, "curve": "none-such"})) == ["/curve"]
    one = {**SERIES, "range_mpa": [100.0] * 10}
    assert list(refused("trials/sn-line", {**SN, "series": one})) == ["/series/range_mpa"]
    wide = {**GROWTH, "tests": [{**GROWTH["tests"][0], "size_mm": [60.0 + x for x in range(36)]}]}
    assert list(refused("trials/growth-rate", wide)) == ["/tests/0/size_mm"]
    for width in ("wide", -50.0):
        odd = {**GROWTH["tests"][0]["specimen"]["parameters"], "width_mm": width}
        told = {**GROWTH["tests"][0], "specimen": {**GROWTH["tests"][0]["specimen"], "parameters": odd}}
        assert list(refused("trials/growth-rate", {**GROWTH, "tests": [told]})) == [
            "/tests/0/specimen/parameters/width_mm"
        ]
    forceless = {"width_mm": 50.0, "thickness_mm": 12.0}
    specimen = {**GROWTH["tests"][0]["specimen"], "parameters": forceless}
    missing = {**GROWTH, "tests": [{**GROWTH["tests"][0], "specimen": specimen}]}
    assert list(refused("trials/growth-rate", missing)) == ["/tests/0/specimen/parameters/force_n"]


def test_comparison_and_position_stand_beside_the_line() -> None:
    other = {**SERIES, "name": "relieved", "life_cycles": [2.0 * life for life in SERIES["life_cycles"]]}  # type: ignore[operator]
    found = answered("trials/sn-line", {**SN, "compare_with": other, "curve": "iiw-2016-normal-steel-80"})
    assert found["answer"]["comparison"]["life_factor"] == pytest.approx(2.0)
    stopped = {**other, "run_out": [True, *[False] * 9]}
    with_run_out = answered("trials/sn-line", {**SN, "compare_with": stopped})["answer"]["comparison"]
    assert (
        with_run_out["level"]["degrees_of_freedom"] == found["answer"]["comparison"]["level"]["degrees_of_freedom"] - 1
    )
    position = found["answer"]["position"]
    assert position["curve"] == "iiw-2016-normal-steel-80"
    assert len(position["life_factor"]) == 10
    assert {"iiw-2016", "linear-models"} <= {source["key"] for source in found["record"]["sources"]}
    text = sn_text(found)
    assert "life of the second    2 times" in text
    assert "beside                iiw-2016-normal-steel-80: 0 % of the tests below it" in text


def test_a_design_curve_goes_into_a_damage_sum_as_it_is() -> None:
    curve = answered("trials/sn-line", SN)["answer"]["design_curve"]
    lives = answered("curves/life", {"curve": curve, "stress_range_mpa": [150.0]})["answer"]["life_cycles"]
    constant, slope = curve["log10_constants"][0], curve["slopes"][0]
    assert lives[0] == pytest.approx(10.0**constant * 150.0**-slope)


def test_a_growth_table_is_the_same_as_its_request(client: httpx.Client) -> None:
    test = GROWTH["tests"][0]
    rows = "\n".join(f"{size},{count},1" for size, count in zip(test["size_mm"], test["cycles"], strict=True))
    query = {"specimen": json.dumps(test["specimen"]), "name": test["name"], "reduction": "secant", "confidence": "0.9"}
    headers = {"content-type": "text/csv"}
    found = client.post(
        "/v1/trials/growth-rate", params=query, content=f"size_mm,cycles,load_factor\n{rows}", headers=headers
    ).json()
    same = answered("trials/growth-rate", {"reduction": "secant", "confidence": 0.9, "tests": [test]})
    assert found["answer"] == same["answer"]
    twice = client.post(
        "/v1/trials/growth-rate", params={"tests": "[]"}, content=f"size_mm,cycles\n{rows[:0]}1,2", headers=headers
    )
    assert twice.json()["errors"][0]["pointer"] == "/tests"


def test_a_staircase_table_is_the_same_as_its_request(client: httpx.Client) -> None:
    request = example("trials/staircase-hanger")
    rows = zip(request["test_level_mpa"], request["specimen_failed"], strict=True)
    table = "test_level_mpa,specimen_failed\n" + "\n".join(f"{s},{'yes' if f else 'no'}" for s, f in rows)
    query = {key: str(request[key]) for key in ("step_mpa", "survival_probability", "confidence")}
    found = client.post("/v1/trials/staircase", params=query, content=table, headers={"content-type": "text/csv"})
    assert found.json()["answer"] == answered("trials/staircase", request)["answer"]


@pytest.mark.parametrize("name", ["from-compliance", "to-compliance", "to-potential"])
def test_every_way_of_reading_a_crack_answers(name: str) -> None:
    readings: dict[str, dict[str, Any]] = {
        "from-compliance": {
            "compliance_mm_per_n": [2e-5, 3e-5],
            "width_mm": 50.0,
            "thickness_mm": 12.0,
            "youngs_modulus_mpa": 206000.0,
            "gauge": "load-line",
        },
        "to-compliance": {"size_mm": [20.0, 25.0], "width_mm": 50.0, "gauge": "front-face"},
        "to-potential": {"form": {"specimen": "compact", "width_mm": 50.0}, "size_mm": [20.0, 25.0]},
    }
    found = answered("trials/crack-length", {"readings": {"kind": name, **readings[name]}})["answer"]
    assert found["initiation"] is None
    assert len(found["sizes"]["size_mm"]) == 2


def test_a_table_of_readings_of_a_crack_is_the_same_as_its_request(client: httpx.Client) -> None:
    rest = {"kind": "to-compliance", "width_mm": 50.0}
    given = client.post("/v1/trials/crack-length", json={"readings": {**rest, "size_mm": [20.0, 25.0]}}).json()
    query = {key: json.dumps(value) for key, value in rest.items()}
    table = {"content": "size_mm\n20\n25\n", "headers": {"content-type": "text/csv"}}
    found = client.post("/v1/trials/crack-length", params=query, **table).json()
    assert found["answer"] == given["answer"]
    twice = client.post("/v1/trials/crack-length", params={**query, "readings": "{}"}, **table)
    assert twice.json()["errors"][0]["pointer"] == "/readings"


def test_what_a_reading_lacks_is_found_within_the_readings() -> None:
    through = {"kind": "to-compliance", "size_mm": [20.0, 60.0], "width_mm": 50.0}
    assert list(refused("trials/crack-length", {"readings": through})) == ["/readings/size_mm"]
    own = {
        "specimen": "compact",
        "width_mm": 50.0,
        "size_coefficients": [0.0, 0.2],
        "ratio_low": 1.0,
        "ratio_high": 3.0,
    }
    far = {"kind": "to-potential", "form": own, "size_mm": [20.0, 40.0]}
    assert list(refused("trials/crack-length", {"readings": far})) == ["/readings/size_mm/1"]


def test_the_page_of_a_line_begins_with_its_design_value_and_lists_both_series() -> None:
    calculation = find("trials/sn-line")
    assert calculation is not None
    other = {**SERIES, "name": "relieved", "life_cycles": [1.3 * n for n in SERIES["life_cycles"]]}  # type: ignore[operator]
    found = evaluate(calculation, {**SN, "compare_with": other})
    envelope = found.envelope()
    page = render("trials/sn-line", found.request, envelope)
    design = next(line for line in envelope["answer"]["characteristic"] if line["rule"] == "tolerance")
    assert f"design curve: {design['range_at_two_million_mpa']:.1f} MPa at two million cycles" in page
    assert "Tests of relieved" in page
    assert f"design curve by the rule tolerance: {design['range_at_two_million_mpa']:.1f} MPa" in sn_text(envelope)


def test_reports_show_tests_and_lines() -> None:
    for name in ("trials/sn-line-hanger", "trials/sn-line-run-outs", "trials/growth-rate-plate"):
        calculation = find("trials/growth-rate" if "growth" in name else "trials/sn-line")
        assert calculation is not None
        found = evaluate(calculation, example(name))
        page = Balanced(render(calculation.name, found.request, found.envelope()))
        assert "This is no verdict" in page.text


def test_a_long_series_is_cut_with_a_word() -> None:
    stress = [100.0 + index for index in range(250)]
    life = [1e12 * s**-3.0 * (1.0 + 0.3 * ((7 * index) % 5)) for index, s in enumerate(stress)]
    request = {**SN, "series": {"range_mpa": stress, "life_cycles": life}}
    calculation = find("trials/sn-line")
    assert calculation is not None
    found = evaluate(calculation, request)
    assert "50 more in the request" in Balanced(render("trials/sn-line", found.request, found.envelope())).text


def test_a_threshold_test_has_a_report_and_a_text() -> None:
    sizes = [10.0 + 0.3 * step for step in range(21)]
    rates = [1e-6 * 10 ** (-step / 18.0) for step in range(20)]
    cycles = [0.0]
    for rate in rates:
        cycles.append(cycles[-1] + 0.3 / rate)
    factor = [0.975**step for step in range(21)]
    specimen = {
        "family": "specimen-compact",
        "parameters": {"width_mm": 50.0, "thickness_mm": 12.0, "force_n": 2000.0},
        "load_ratio": 0.1,
        "load_factor": factor,
    }
    test = {"specimen": specimen, "size_mm": sizes, "cycles": cycles, "shedding": True}
    found = answered("trials/growth-rate", {"reduction": "secant", "confidence": 0.9, "tests": [test]})
    assert found["answer"]["mean_law"] is None
    assert found["answer"]["threshold_mpa_sqrt_mm"] > 0.0
    assert "threshold" in growth_rate_text(found)
    calculation = find("trials/growth-rate")
    assert calculation is not None
    again = evaluate(calculation, {"reduction": "secant", "confidence": 0.9, "tests": [test]})
    assert "THRESHOLD" in Balanced(render("trials/growth-rate", again.request, again.envelope())).text


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """A table, a request, and where answers go."""
    (tmp_path / "hanger.csv").write_text(TABLE, encoding="utf-8")
    (tmp_path / "readings.json").write_text(json.dumps(GROWTH), encoding="utf-8")
    (tmp_path / "history.csv").write_text("stress\n0\n100\n-20\n120\n0\n", encoding="utf-8")
    return {name: tmp_path / name for name in ("hanger.csv", "readings.json", "history.csv", "sn.json", "law.json")}


FIT = ["--rule", "tolerance", "--survival", "0.95", "--confidence", "0.9", "--stress-kind", "nominal"]


def test_a_fitted_curve_goes_by_name_into_a_damage_sum(
    files: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    page = files["sn.json"].with_suffix(".html")
    words = ["fit-sn", str(files["hanger.csv"]), *FIT, "--save", str(files["sn.json"]), "--report", str(page)]
    assert cli.main(words) == 0
    assert "series                hanger: 10 tests" in capsys.readouterr().out
    assert "FATIGUE TESTS" not in page.read_text(encoding="utf-8")
    damage = ["damage", str(files["history.csv"]), "--curve", "hanger", "--fitted", str(files["sn.json"])]
    assert cli.main([*damage, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    saved = json.loads(files["sn.json"].read_text(encoding="utf-8"))["answer"]["design_curve"]
    given = {"history_mpa": [0.0, 100.0, -20.0, 120.0, 0.0], "curve": saved, "unit_stated": False}
    assert found["answer"] == answered("spectrum/damage", given)["answer"]


def test_a_fitted_law_goes_by_name_into_growth(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["fit-growth", str(files["readings.json"]), "--save", str(files["law.json"]), "--json"]) == 0
    law = json.loads(capsys.readouterr().out)["answer"]["upper_law"]
    request = {**example("cracks/growth-surface-blocks"), "law": {"name": "pooled/upper"}}
    files["sn.json"].write_text(json.dumps(request), encoding="utf-8")
    cli.main(["grow", str(files["sn.json"]), "--fitted", str(files["law.json"]), "--json"])
    found = json.loads(capsys.readouterr().out)
    own = {name: value for name, value in law.items() if value is not None}
    assert found["answer"] == answered("cracks/growth", {**request, "law": own})["answer"]


def test_a_table_of_readings_needs_its_specimen(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    test = GROWTH["tests"][0]
    rows = "\n".join(f"{size},{count}" for size, count in zip(test["size_mm"], test["cycles"], strict=True))
    table, specimen = files["sn.json"].with_name("plate.csv"), files["law.json"]
    table.write_text(f"size_mm,cycles\n{rows}\n", encoding="utf-8")
    specimen.write_text(json.dumps(test["specimen"]), encoding="utf-8")
    words = ["fit-growth", str(table), "--reduction", "secant", "--confidence", "0.9"]
    assert cli.main(words) == 2
    assert "specimen" in capsys.readouterr().err
    assert cli.main([*words, "--specimen", str(specimen), "--json"]) in (0, 1)
    assert json.loads(capsys.readouterr().out)["answer"]["specimens"][0]["name"] == "plate"
    assert cli.main([*words, "--specimen", str(specimen), "--shedding"]) == 2
    assert "does not fall" in capsys.readouterr().err


def test_series_are_compared_on_the_command_line(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    other = files["hanger.csv"].with_name("relieved.csv")
    other.write_text(TABLE.replace("88000.0", "99000.0"), encoding="utf-8")
    words = ["fit-sn", str(files["hanger.csv"]), *FIT, "--slope", "3", "--compare", str(other)]
    assert cli.main(words) == 0
    assert "compared with         scatter not shown to differ (p = " in capsys.readouterr().out


def test_options_of_a_table_are_refused_for_a_request(
    files: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["fit-growth", str(files["readings.json"]), "--name", "x"]) == 2
    assert "name is for a table" in capsys.readouterr().err


def test_what_was_fitted_must_be_named(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    cli.main(["fit-sn", str(files["hanger.csv"]), *FIT, "--save", str(files["sn.json"])])
    capsys.readouterr()
    fitted = ["--fitted", str(files["sn.json"])]
    damage = ["damage", str(files["history.csv"]), "--curve", "iiw-2016-normal-steel-80"]
    assert cli.main([*damage, *fitted]) == 2
    assert "nothing in the request is called 'hanger'" in capsys.readouterr().err
    assert cli.main([*damage, *fitted, *fitted]) == 2
    assert "'hanger' is there twice" in capsys.readouterr().err
    assert cli.main([*damage, "--fitted", str(files["readings.json"])]) == 2
    assert "holds no answer of trials/sn-line" in capsys.readouterr().err


def test_a_law_of_one_specimen_goes_by_its_name() -> None:
    found = answered("trials/growth-rate", {**GROWTH, "tests": GROWTH["tests"][:1]})
    parts = fitted_parts(found, "x")
    assert list(parts) == ["plate-1/mean"]
    put = put_fitted({"law": {"name": "plate-1/mean", "threshold": "none"}, "blocks": [{"a": 1}], "n": [1]}, parts)
    assert put["law"]["threshold"] == "none"
    assert put["law"]["units"] == "mm-MPa"
    assert put["blocks"] == [{"a": 1}]
    assert put["law"]["tested"]["specimens"] == 1
    with pytest.raises(Problem, match="has no upper law"):
        put_fitted({"law": {"name": "plate-1/upper"}}, parts)


@pytest.mark.parametrize(
    "beside",
    [
        {"units": "m-MPa"},
        {"stages": [{"coefficient": 1e-15, "exponent": 3.0}]},
        {"threshold_mpa_sqrt_mm": 150.0},
        {"threshold": "iiw-2016/steel"},
        {"load_ratio_effect": {"kind": "elber"}},
        {"threshold": "none", "units": "m-MPa"},
    ],
)
def test_constants_beside_the_name_of_a_fitted_law_are_refused(beside: dict[str, Any]) -> None:
    parts = fitted_parts(answered("trials/growth-rate", {**GROWTH, "tests": GROWTH["tests"][:1]}), "x")
    with pytest.raises(Problem, match="takes no constants"):
        put_fitted({"law": {"name": "plate-1/mean", **beside}}, parts)


def test_a_fitted_threshold_goes_by_name_and_may_be_left_out() -> None:
    found = answered("trials/growth-rate", {**GROWTH, "tests": GROWTH["tests"][:1]})
    found["answer"]["mean_law"]["threshold_mpa_sqrt_mm"] = 50.0
    parts = fitted_parts(found, "x")
    assert put_fitted({"law": {"name": "plate-1/mean"}}, parts)["law"]["threshold_mpa_sqrt_mm"] == 50.0
    without = put_fitted({"law": {"name": "plate-1/mean", "threshold": "none"}}, parts)["law"]
    assert "threshold_mpa_sqrt_mm" not in without
    assert answered("cracks/growth", {**example("cracks/growth-surface-blocks"), "law": without})


def test_specimens_together_are_a_row_of_the_text() -> None:
    text = growth_rate_text(answered("trials/growth-rate", GROWTH))
    assert "all together" in text
    assert "between specimens" in text


def test_run_outs_are_told_in_the_text() -> None:
    text = sn_text(answered("trials/sn-line", example("trials/sn-line-run-outs")))
    assert "11 tests, 2 of them run-outs, maximum likelihood" in text


CAMPAIGN: dict[str, Any] = example("trials/campaign-hanger")


def test_the_report_of_a_campaign_shows_the_inputs_of_its_model_and_its_crack() -> None:
    calculation = find("trials/sn-line")
    assert calculation is not None
    found = evaluate(calculation, CAMPAIGN)
    page = Balanced(render(calculation.name, found.request, found.envelope())).text
    assert "Model of the specimen of " in page
    assert "Crack of the specimen: " in page


def test_a_campaign_puts_model_series_curve_and_growth_together() -> None:
    found = answered("trials/sn-line", CAMPAIGN)
    answer = found["answer"]
    model = CAMPAIGN["series"]["specimen_model"]
    checked = answered("check", model["check"])["answer"]
    assert answer["specimen_model"] == checked
    factor = checked["equivalent_stress_mpa"] / model["load_range"]
    assert answer["range_per_load_mpa"] == pytest.approx(factor)
    assert max(answer["range_mpa"]) == pytest.approx(factor * max(CAMPAIGN["series"]["load_range"]))
    grown = answered("cracks/growth", CAMPAIGN["growth"])["answer"]
    assert answer["growth"] == grown
    explained = answer["explanation"]
    assert explained["life_extension_factor"] == grown["life_extension_factor"]
    curve = answered("curves/life", {"curve": "peak-stress-opening", "stress_range_mpa": [100.0]})
    assert curve["answer"]["life_cycles"][0] > 0.0
    shown = [above for above in answer["position"]["deviations_above_mean"] if above is not None]
    scatter = 0.0
    for above, over in zip(shown, answer["position"]["life_factor"], strict=True):
        scatter += math.log10(over)
        assert above > 0.0
    # the mean line lies two deviations above the design line of this curve
    sd = math.log10(answer["position"]["life_factor"][0]) / (shown[0] + 2.0)
    assert explained["tests_life_factor"] == pytest.approx(10.0 ** (scatter / len(shown) - 2.0 * sd))
    assert explained["unexplained_factor"] == pytest.approx(
        explained["tests_life_factor"] / explained["life_extension_factor"]
    )
    told = {finding["code"] for finding in found["findings"]}
    assert {"sharing-explains", "growth-loads-not-compared"} <= told
    assert "stress-kind-not-compared" not in told
    other = answered("trials/sn-line", {**CAMPAIGN, "stress_kind": "stress at the toe"})
    assert "stress-kind-not-compared" in {finding["code"] for finding in other["findings"]}


def test_a_campaign_that_sharing_does_not_explain_says_so() -> None:
    series = {**CAMPAIGN["series"], "life_cycles": [20.0 * life for life in CAMPAIGN["series"]["life_cycles"]]}
    found = answered("trials/sn-line", {**CAMPAIGN, "series": series})
    assert "sharing-does-not-explain" in {finding["code"] for finding in found["findings"]}


def changed(**new: Any) -> dict[str, Any]:
    """The campaign with other entries of its series; None takes one away."""
    series = {**CAMPAIGN["series"], **new}
    return {**CAMPAIGN, "series": {name: value for name, value in series.items() if value is not None}}


def model(**new: Any) -> dict[str, Any]:
    given = CAMPAIGN["series"]["specimen_model"]
    return changed(specimen_model={**given, "check": {**given["check"], **new}})


RESTING = {
    "stages": [{"coefficient": 5e-13, "exponent": 3.0}],
    "units": "mm-MPa",
    "threshold_mpa_sqrt_mm": 1e5,
}
BLOCKS = {"kind": "blocks", "blocks": [{"factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1.0}]}
FLAT = {"kind": "constant", "factors": {"pull": {"maximum": 1.0, "minimum": 1.0}}, "cycles": 1.0}


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        (changed(load_range=None), "/series/range_mpa"),
        (changed(range_mpa=[100.0] * 10), "/series/range_mpa"),
        (changed(load_range=None, range_mpa=[100.0] * 10), "/series/specimen_model"),
        (changed(specimen_model=None), "/series/range_per_load_mpa"),
        (changed(range_per_load_mpa=1.0), "/series/range_per_load_mpa"),
        (changed(range_per_load_origin="gauge"), "/series/range_per_load_origin"),
        (model(loading=BLOCKS), "/series/specimen_model/check/loading"),
        (model(loading=FLAT), "/series/specimen_model/check"),
        (model(target={"load_factor": 1.2}), "/series/specimen_model/check/target/load_factor"),
        (model(document={"part": "x"}), "/series/specimen_model/check/document"),
        (model(lines=[]), "/series/specimen_model/check/lines"),
        ({**CAMPAIGN, "curve": None}, "/curve"),
        ({**CAMPAIGN, "growth": {**CAMPAIGN["growth"], "sharing": None}}, "/growth/sharing"),
        ({**CAMPAIGN, "growth": {**CAMPAIGN["growth"], "law": RESTING}}, "/growth/loading"),
        ({**CAMPAIGN, "stress_kind": "Nominal"}, "/stress_kind"),
        ({**CAMPAIGN, "stress_kind": "hot spot"}, "/stress_kind"),
        ({**CAMPAIGN, "growth": {**CAMPAIGN["growth"], "document": {"part": "x"}}}, "/growth/document"),
        ({**CAMPAIGN, "curve": {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0]}}, "/curve"),
    ],
)
def test_a_campaign_refuses_what_it_would_not_use(request_: dict[str, Any], pointer: str) -> None:
    assert list(refused("trials/sn-line", request_)) == [pointer]


def test_tests_that_failed_below_a_cut_off_are_not_compared() -> None:
    low = {"range_mpa": [30.0, 25.0, 20.0, 18.0], "life_cycles": [1e6, 2e6, 3e6, 5e6]}
    request = {**CAMPAIGN, "series": low, "compare_with": None, "curve": "en-1993-1-9-2005-normal-71"}
    assert "no damage" in refused("trials/sn-line", request)["/curve"]


def marks(svg: str) -> list[np.ndarray]:
    """Places of each kind of mark, that of the legend taken away."""
    found: dict[str, list[tuple[float, float]]] = {}
    for name, x, y in re.findall(r'<use href="#(m\w+)" x="([\d.]+)" y="([\d.]+)"', svg):
        found.setdefault(name, []).append((float(x), float(y)))
    return [np.array(places[:-1]) for places in found.values()]  # the legend is drawn last


def on_log_scale(drawn: np.ndarray, values: np.ndarray) -> float:
    """Largest distance [pt] of places from a straight line over the logarithms of their values."""
    line = np.polyfit(np.log10(values), drawn, 1)
    return float(np.abs(np.polyval(line, np.log10(values)) - drawn).max())


def test_every_test_has_its_mark_where_it_belongs() -> None:
    found = answered("trials/sn-line", example("trials/sn-line-run-outs"))["answer"]
    life, stress = np.array(RUN_OUTS["life_cycles"]), np.array(RUN_OUTS["range_mpa"])
    series = TrialSeries(range_mpa=stress, life_cycles=life, run_out=np.array(RUN_OUTS["run_out"]))
    picture = sn_figure(found, [series], None)
    drawn = next(places for places in marks(picture.svg) if len(places) == series.failed.sum())
    assert on_log_scale(drawn[:, 0], life[series.failed]) < 0.02
    assert on_log_scale(drawn[:, 1], stress[series.failed]) < 0.02
    assert "2 stopped whole" in picture.description


def test_every_rate_has_its_mark_where_it_belongs() -> None:
    answer = answered("trials/growth-rate", {**GROWTH, "tests": GROWTH["tests"][:1]})["answer"]
    (specimen,) = answer["specimens"]
    drawn = next(each for each in marks(rates_figure(answer).svg) if len(each) == len(specimen["rate_mm_per_cycle"]))
    assert on_log_scale(drawn[:, 0], np.array(specimen["delta_k_mpa_sqrt_mm"])) < 0.02
    assert on_log_scale(drawn[:, 1], np.array(specimen["rate_mm_per_cycle"])) < 0.02


def codes(found: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in found["findings"]}


def test_an_amplitude_in_place_of_the_load_range_of_the_model_is_refused() -> None:
    half = changed(specimen_model={**CAMPAIGN["series"]["specimen_model"], "load_range": 5.5})
    assert "is a load range of 11, not 5.5" in refused("trials/sn-line", half)["/series/specimen_model/load_range"]


def test_a_load_range_that_nothing_tells_is_taken_on_faith() -> None:
    given = CAMPAIGN["series"]["specimen_model"]
    unlabelled = [{key: value for key, value in line.items() if key != "unit_load"} for line in given["check"]["lines"]]
    assert "load-range-on-faith" in codes(answered("trials/sn-line", model(lines=unlabelled)))
    assert "load-range-on-faith" not in codes(answered("trials/sn-line", CAMPAIGN))


def test_a_rule_with_levels_of_its_own_says_so() -> None:
    for rule, told in (("iiw", True), ("prediction", True), ("tolerance", False), ("iso-12107", False)):
        assert ("rule-has-own-levels" in codes(answered("trials/sn-line", {**SN, "rule": rule}))) is told
    usual = {**SN, "rule": "iiw", "survival_probability": 0.95, "confidence": 0.75}
    assert "rule-has-own-levels" not in codes(answered("trials/sn-line", usual))


def test_the_stress_of_tests_is_compared_with_that_of_the_curve() -> None:
    assert refused("trials/sn-line", {key: value for key, value in SN.items() if key != "stress_kind"})
    beside = {**SN, "curve": "iiw-2016-normal-steel-80"}
    assert "position-of-another-stress" not in codes(answered("trials/sn-line", beside))
    other = answered("trials/sn-line", {**beside, "stress_kind": "peak-stress"})
    assert "position-of-another-stress" in codes(other)
    assert other["answer"]["design_curve"]["stress_kind"] == "peak-stress"


def test_loads_come_from_a_table_too(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    table = files["hanger.csv"].with_name("loads.csv")
    table.write_text(TABLE.replace("range_mpa", "load_range"), encoding="utf-8")
    assert cli.main(["fit-sn", str(table), *FIT]) == 2
    assert "range_per_load" in capsys.readouterr().err
    words = ["--range-per-load", "2", "--range-per-load-origin", "strain gauge"]
    assert cli.main(["fit-sn", str(table), *FIT, *words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["answer"]["range_per_load_mpa"] == 2.0
    assert max(found["answer"]["range_mpa"]) == pytest.approx(2.0 * 260.0)


def test_a_fit_outside_validity_does_not_go_elsewhere_by_name() -> None:
    wide = answered("trials/sn-line", {**SN, "range_mpa": [40.0]})
    with pytest.raises(Problem, match="leaves a limit of validity"):
        fitted_parts(wide, "wide.json")


CHECK: dict[str, Any] = {
    "lines": [
        {"name": "attachment", "basis": "nominal", "position_mm": [0.0], "cases": {"b": {"normal_mpa": [130.0]}}}
    ],
    "loading": {"kind": "constant", "factors": {"b": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e5},
    "curves": {"rule": "fixed", "curve": "hanger"},
}


@pytest.fixture
def fitted(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> Path:
    cli.main(["fit-sn", str(files["hanger.csv"]), *FIT, "--save", str(files["sn.json"])])
    capsys.readouterr()
    return files["sn.json"]


def test_a_gate_knows_a_fitted_curve_by_name(fitted: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "checks"
    folder.mkdir()
    (folder / "one.json").write_text(json.dumps(CHECK), encoding="utf-8")
    words = ["gate", str(folder), "--json", "--reports", str(tmp_path / "pages")]
    assert cli.main(words) == 2
    capsys.readouterr()
    assert cli.main([*words, "--fitted", str(fitted)]) in (0, 1)
    (check,) = json.loads(capsys.readouterr().out)["checks"]
    assert check["error"] is None
    (folder / "one.json").write_text(
        json.dumps({**CHECK, "curves": {"rule": "fixed", "curve": "iiw-2016-normal-steel-80"}}), "utf-8"
    )
    assert cli.main([*words, "--fitted", str(fitted)]) == 2
    assert "nothing in the checks is called 'hanger'" in capsys.readouterr().err


def test_a_batch_knows_a_fitted_curve_by_name(fitted: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    life = {"id": "a", "calculation": "curves/life", "input": {"curve": "hanger", "stress_range_mpa": [150.0]}}
    other = {"id": "b", "calculation": "curves/life", "input": {"curve": "hangers", "stress_range_mpa": [150.0]}}
    lines = tmp_path / "many.ndjson"
    lines.write_text("\n".join([json.dumps(life), json.dumps(other), "[1]", "{"]), encoding="utf-8")
    assert cli.main(["batch", str(lines), "--fitted", str(fitted)]) == 1
    answers = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [each["status"] for each in answers] == [200, 422, 400, 400] or answers[0]["status"] == 200
    lines.write_text(json.dumps(other), encoding="utf-8")
    assert cli.main(["batch", str(lines), "--fitted", str(fitted)]) == 2
    assert "nothing in the lines is called 'hanger'" in capsys.readouterr().err
    assert cli.main(["batch", str(lines)]) == 1


def test_calculate_knows_a_fitted_curve_by_name(
    fitted: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = tmp_path / "life.json"
    request.write_text(json.dumps({"curve": "hanger", "stress_range_mpa": [150.0, 300.0]}), encoding="utf-8")
    assert cli.main(["calculate", "curves/life", str(request), "--fitted", str(fitted)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert "fitted-curve-outside-ranges" in {each["code"] for each in found["findings"]}


def test_a_check_on_a_fitted_curve_says_what_its_tests_leave_open() -> None:
    curve = answered("trials/sn-line", SN)["answer"]["design_curve"]

    def told(stress: float, basis: str = "nominal") -> set[str]:
        line = {**CHECK["lines"][0], "basis": basis, "cases": {"b": {"normal_mpa": [stress]}}}
        found = answered("check", {**CHECK, "lines": [line], "curves": {"rule": "fixed", "curve": curve}})
        return {each["code"] for each in found["findings"] if each["code"].startswith("fitted-curve")}

    assert told(130.0) == set()
    assert told(270.0) == {"fitted-curve-outside-ranges"}
    assert told(110.0) == {"fitted-curve-below-ranges"}


def test_a_fitted_shear_curve_is_compared_with_its_tests_too() -> None:
    curve = {**answered("trials/sn-line", SN)["answer"]["design_curve"], "stress_kind": "shear"}
    curves = {
        "rule": "fixed",
        "curve": "en-1993-1-9-2005-normal-71",
        "shear_curve": curve,
        "interaction": "damage-sum",
    }

    def told(shear: float) -> set[str]:
        line = {**CHECK["lines"][0], "cases": {"b": {"normal_mpa": [60.0], "shear_mpa": [shear]}}}
        found = answered("check", {**CHECK, "lines": [line], "curves": curves})
        return {each["code"] for each in found["findings"] if each["code"].startswith("fitted-curve")}

    assert told(130.0) == set()
    assert told(270.0) == {"fitted-curve-outside-ranges"}
    assert told(110.0) == {"fitted-curve-below-ranges"}


def test_load_ratios_of_a_series_stand_in_its_table(client: httpx.Client) -> None:
    rows = TABLE.splitlines()
    mixed = "\n".join([f"{rows[0]},load_ratio", *(f"{row},{0.1 if k < 5 else 0.5}" for k, row in enumerate(rows[1:]))])
    query = {key: str(value) for key, value in {**ASKED, "name": "hanger"}.items()}
    found = client.post("/v1/trials/sn-line", params=query, content=mixed, headers={"content-type": "text/csv"}).json()
    assert "load-ratios-mixed" in {each["code"] for each in found["findings"]}
    same = {**SN, "series": {**SERIES, "load_ratio": [0.1] * 10}}
    assert "load-ratios-mixed" not in {each["code"] for each in answered("trials/sn-line", same)["findings"]}
    short = {**SN, "series": {**SERIES, "load_ratio": [0.1] * 9}}
    assert list(refused("trials/sn-line", short)) == ["/series/load_ratio"]

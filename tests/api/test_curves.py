"""Routes of the curve topic: numbers, infinite life, refused input with pointers, single cells."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from fatcore.curves.standards.catalogue import all_ids, find_curve
from fatcore.errors import InputError, NotCoveredError, UnknownError, at
from service.topics.curves.models import UserDefinedCurve, curve_from

D = "dnv-rp-c203-2016-d-air"
IIW = {"document": "iiw-2016"}
POINT = {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0]}


def answer(response: httpx.Response) -> dict[str, Any]:
    assert response.status_code == 200, response.text
    content: dict[str, Any] = response.json()
    return content


def test_the_list_holds_every_curve(client: httpx.Client) -> None:
    content = answer(client.get("/v1/curves"))["answer"]
    assert content["id"] == list(all_ids())
    assert {len(column) for column in content.values()} == {len(all_ids())}
    filtered = answer(client.get("/v1/curves", params={"environment": "free-corrosion", "text": "w3"}))
    assert filtered["answer"]["id"] == ["dnv-rp-c203-2016-w3-free-corrosion"]


@pytest.mark.parametrize("curve_id", all_ids()[::7])
def test_every_curve_has_a_page_of_its_own(client: httpx.Client, curve_id: str) -> None:
    for loading in ("constant", "variable"):
        content = answer(client.get(f"/v1/curves/{curve_id}", params={"loading": loading}))
        assert content["answer"]["id"] == curve_id
        assert content["answer"]["loading"] in (loading, "any")
        assert content["record"]["sources"][0]["status"] in ("read", "from memory")
        assert list(content["record"]["tables"]) == [f"curves_{find_curve(curve_id).table}".replace("curves/", "")]


def test_life_and_strength_of_one_number(client: httpx.Client) -> None:
    life = answer(client.get(f"/v1/curves/{D}/life", params={"stress_range_mpa": 100}))["answer"]
    assert life["life_cycles"] == pytest.approx(10**12.164 / 1e6, rel=1e-12)
    strength = answer(client.get(f"/v1/curves/{D}/strength", params={"life_cycles": life["life_cycles"]}))
    assert strength["answer"]["stress_range_mpa"] == pytest.approx(100.0, rel=1e-12)


@pytest.mark.parametrize(
    ("path", "where"),
    [
        (f"/v1/curves/{D}?curve={D}", "/curve"),
        (f"/v1/curves/{D}?curve=zzz", "/curve"),
        (f"/v1/curves/{D}/life?stress_range_mpa=90&curve=none-such", "/curve"),
        (f"/v1/curves/{D}/strength?life_cycles=2e6&curve={D}", "/curve"),
    ],
)
def test_what_stands_in_the_path_is_given_there_alone(client: httpx.Client, path: str, where: str) -> None:
    found = client.get(path)
    assert found.status_code == 422
    assert found.json()["errors"] == [{"pointer": where, "message": "stands in the path: give it there alone"}]
    assert client.get(f"{path}&only=answer").text == f"#ERR: {where}: stands in the path: give it there alone"


def test_what_stands_in_the_path_is_not_offered_for_the_query(client: httpx.Client) -> None:
    (error,) = client.get(f"/v1/curves/{D}/life?stress_range_mpa=90&curv=a").json()["errors"]
    assert error["pointer"] == "/curv"
    assert "curve" not in error["message"].replace("curve_", "")
    assert "Allowed: " in error["message"]


@pytest.mark.parametrize("number", ["\u0663", "1_0", "\uff11\uff10", "1e1_0", " \u0663 "])
@pytest.mark.parametrize("name", ["stress_range_mpa", "stress_range_ksi"])
def test_a_number_in_a_url_has_plain_digits(client: httpx.Client, name: str, number: str) -> None:
    found = client.get(f"/v1/curves/{D}/life", params={name: number})
    assert found.status_code == 422
    assert found.json()["errors"] == [{"pointer": f"/{name}", "message": "must be a number in plain digits"}]
    assert client.get("/v1/curves", params={"text": number}).status_code == 200


def test_infinite_life_is_null(client: httpx.Client) -> None:
    url = "/v1/curves/en-1993-1-9-2005-normal-71/life"
    for load, infinite in ((28.73, True), (28.74, False), (0, True)):
        content = answer(client.get(url, params={"stress_range_mpa": load}))["answer"]
        assert content["below_cutoff"] is infinite
        assert (content["life_cycles"] is None) is infinite
    columns = {"curve": "en-1993-1-9-2005-normal-71", "stress_range_mpa": [100.0, 20.0, 0.0]}
    content = answer(client.post("/v1/curves/life", json=columns))["answer"]
    assert content["life_cycles"][1:] == [None, None]
    assert content["below_cutoff"] == [False, True, True]
    assert content["damage_per_cycle"][1:] == [0.0, 0.0]


def test_one_cell_for_a_spreadsheet(client: httpx.Client) -> None:
    url = "/v1/curves/iiw-2016-normal-steel-90/strength"
    found = client.get(url, params={"life_cycles": 1e7, "only": "answer.stress_range_mpa"})
    assert found.headers["content-type"].startswith("text/plain")
    assert float(found.text) == pytest.approx(52.63, abs=0.01)
    failed = client.get("/v1/curves/none/life", params={"stress_range_mpa": 1, "only": "answer.life_cycles"})
    assert failed.status_code == 200
    assert failed.text.startswith("#ERR: ")


def test_an_unknown_curve_is_404_in_the_path_and_422_in_the_body(client: httpx.Client) -> None:
    for tail in ("", "/life?stress_range_mpa=1", "/strength?life_cycles=1"):
        response = client.get(f"/v1/curves/none{tail}")
        assert response.status_code == 404
        assert response.json()["errors"][0]["pointer"] == "/curve"
    response = client.post("/v1/curves/life", json={"curve": "none", "stress_range_mpa": [1.0]})
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "/curve"


def test_statuses_and_assumptions_travel_with_the_answer(client: httpx.Client) -> None:
    body = {"curve": "iiw-2016-normal-steel-90", "stress_range_mpa": [90.0], "survival_probability": 0.5}
    content = answer(client.post("/v1/curves/life", json=body))
    assert {each["code"] for each in content["findings"]} == {
        "survival-moved", "scatter-not-tabulated", "survival-definition", "curve-holds-for",
        "survival-below-design", "thickness-not-corrected", "partial-factor-not-applied",
        "limit-of-use-not-compared",
    }  # fmt: skip
    assert {each["status"] for each in content["record"]["sources"]} == {
        "from memory", "derived", "common practice",
    }  # fmt: skip
    assert content["answer"]["life_cycles"] == [pytest.approx(2e6 * 10**0.4, rel=1e-9)]


def test_surroundings_and_class_thickness(client: httpx.Client) -> None:
    body = {
        "curve": D, "environment": "free-corrosion", "life_cycles": [1e6],
        "corrections": [{"kind": "class-thickness", "thickness_mm": 50.0}],
    }  # fmt: skip
    content = answer(client.post("/v1/curves/strength", json=body))["answer"]
    assert content["curve"] == "dnv-rp-c203-2016-d-free-corrosion"
    assert content["stress_range_mpa"] == [pytest.approx(10 ** ((11.687 - 6) / 3) * 0.5**0.2, rel=1e-12)]


@pytest.mark.parametrize(
    ("correction", "factor"),
    [
        (
            {
                "kind": "detail-thickness",
                "document": "iiw-2016",
                "detail": "base-material",
                "thickness_mm": 50.0,
            },
            0.5**0.1,
        ),
        ({"kind": "mean-stress", "residual_stress": "low", "load_ratio": [0.0]}, 1.2),
        ({"kind": "effective-range", "maximum_mpa": [0.0], "minimum_mpa": [-10.0]}, 1 / 0.6),
        (
            {
                "kind": "partial-factor",
                "document": "iiw-2016",
                "concept": "fail-safe",
                "consequence": "loss-of-life",
            },
            1 / 1.3,
        ),
        ({"kind": "class-factor", "label": "F2"}, 1 / 1.52),
        ({"kind": "own", "name": "temperature", "strength_factor": 0.9, "reason": "invented"}, 0.9),
    ],
)
def test_each_correction(client: httpx.Client, correction: dict[str, Any], factor: float) -> None:
    body = {"curve": "bs-7608-1993-d", "life_cycles": [1e5], "corrections": [correction]}
    content = answer(client.post("/v1/curves/strength", json=body))
    assert content["answer"]["strength_factor"] == [pytest.approx(factor, rel=1e-12)]
    assert content["answer"]["stress_range_mpa"] == [
        pytest.approx(factor * float(find_curve("bs-7608-1993-d").range_mpa(1e5)), rel=1e-12)
    ]
    assert content["findings"]


LOW = {"kind": "mean-stress", "residual_stress": "low"}
PART = {"kind": "effective-range", "maximum_mpa": [1.0, 2.0, 3.0]}
LIFE = {"curve": D, "stress_range_mpa": [100.0]}


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"stress_range_mpa": []}, "/stress_range_mpa"),
        ({"stress_range_mpa": [100.0, -1.0]}, "/stress_range_mpa/1"),
        ({"stress_range_mpa": ["100"]}, "/stress_range_mpa/0"),
        ({"stress_range_mpa": [True]}, "/stress_range_mpa/0"),
        ({"stress_range_mpa": None}, "/stress_range_mpa"),
        ({"energy_density_mj_m3": [0.1]}, "/stress_range_mpa"),
        ({"curve": "energy-density"}, "/stress_range_mpa"),
        ({"surprise": 1}, "/surprise"),
        ({"loading": "any"}, "/loading"),
        ({"survival_probability": 1.0}, "/survival_probability"),
        ({"sample_size": 10}, "/sample_size"),
        ({"survival_probability": 0.5, "sample_size": 10}, "/sample_size"),
        ({"survival_probability": 0.5, "sample_size": 1}, "/sample_size"),
        ({"environment": "vacuum"}, "/environment"),
        ({"curve": POINT, "environment": "air"}, "/environment"),
        ({"curve": POINT, "survival_probability": 0.5}, "/survival_probability"),
        ({"curve": 7}, "/curve"),
        ({"curve": {}}, "/curve/range_mpa"),
        ({"curve": {**POINT, "slopes": [-3.0]}}, "/curve/slopes/0"),
        ({"curve": {**POINT, "slopes": [3.0, 5.0]}}, "/curve/knee_cycles"),
        ({"curve": {**POINT, "surprise": 1}}, "/curve/surprise"),
        ({"curve": {**POINT, "scatter_index": 1.5, "sd_log10_cycles": 0.2}}, "/curve/scatter_index"),
        ({"curve": {**POINT, "log10_constants": [12.0]}}, "/curve/range_mpa"),
        ({"corrections": [{"kind": "magic"}]}, "/corrections/0/kind"),
        ({"corrections": [{"kind": "own", "name": "x", "strength_factor": 0.9}]}, "/corrections/0/reason"),
        (
            {"curve": "bs-7608-1993-d", "corrections": [{"kind": "class-factor", "label": "Z"}]},
            "/corrections/0/label",
        ),
        (
            {"corrections": [{"kind": "mean-stress", "residual_stress": "low", "load_ratio": [0.0, 0.1]}]},
            "/corrections/0",
        ),
        (
            {"corrections": [{"kind": "effective-range", "maximum_mpa": [1.0, 2.0, 3.0], "minimum_mpa": [0.0, 0.0]}]},
            "/corrections/0/minimum_mpa",
        ),
        (
            {"corrections": [{"kind": "own", "name": "x", "strength_factor": 1e-30, "reason": "y"}] * 20},
            "/corrections",
        ),
        ({"yield_strength_mpa": 0.0}, "/yield_strength_mpa"),
    ],
)
def test_refused_input_is_pointed_at(client: httpx.Client, change: dict[str, Any], pointer: str) -> None:
    response = client.post("/v1/curves/life", json={**LIFE, **change})
    assert response.status_code == 422, response.text
    assert response.headers["content-type"] == "application/problem+json"
    assert pointer in {each["pointer"] for each in response.json()["errors"]}


@pytest.mark.parametrize(
    ("url", "pointer"),
    [
        (f"/v1/curves/{D}/life", "/stress_range_mpa"),
        (f"/v1/curves/{D}/life?stress_range_mpa=-1", "/stress_range_mpa"),
        (f"/v1/curves/{D}/life?stress_range_mpa=nan", "/stress_range_mpa"),
        (f"/v1/curves/{D}/life?stress_range_mpa=1e999", "/stress_range_mpa"),
        (f"/v1/curves/{D}/life?stress_range_mpa=1&energy_density_mj_m3=1", "/stress_range_mpa"),
        (f"/v1/curves/{D}/strength?life_cycles=0", "/life_cycles"),
        (f"/v1/curves/{D}/strength", "/life_cycles"),
        (f"/v1/curves/{D}?loading=any", "/loading"),
        ("/v1/curves?colour=red", "/colour"),
    ],
)
def test_refused_queries_are_pointed_at(client: httpx.Client, url: str, pointer: str) -> None:
    response = client.get(url)
    assert response.status_code == 422, response.text
    assert pointer in {each["pointer"] for each in response.json()["errors"]}


def test_curve_references_for_other_topics() -> None:
    assert curve_from(D) == find_curve(D)
    constant = curve_from("en-1993-1-9-2005-normal-71", loading="constant")
    assert constant.cut_off_cycles() == pytest.approx(5e6)
    index = {"scatter_index": 1.5, "scatter_index_survival": 0.9, "survival_probability": 0.5}
    own = curve_from(UserDefinedCurve(name="mine", origin="trials", **POINT, **index))  # type: ignore[arg-type]
    assert (own.id, own.source, own.title) == ("mine", "own-curve", "trials")
    assert own.scatter() == pytest.approx(0.2061, abs=5e-5)
    with pytest.raises(UnknownError) as caught, at("curves", "opening_curve"):
        curve_from("none")
    assert caught.value.path == ("curves", "opening_curve")
    with pytest.raises(InputError):
        curve_from(UserDefinedCurve())
    with pytest.raises(NotCoveredError):
        curve_from(UserDefinedCurve(**POINT)).at_survival(0.5)  # type: ignore[arg-type]

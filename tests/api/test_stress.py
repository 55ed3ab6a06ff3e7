"""Stress routes over HTTP: contract of the answers, and wrong input with its pointer."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.stress.interaction import combine_en
from fatcore.stress.peak.calibration import calibrate_element

FOLDER = Path(__file__).parents[2] / "openapi_examples" / "stress"
PEAK: dict[str, Any] = {
    "notch": {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 8.0},
    "mesh": {"element": "quad4", "element_size_mm": 0.5},
    "peaks_mpa": {"opening": [100.0, 0.0], "sliding": [10.0, 20.0], "tearing": [0.0, 5.0]},
}


def example(name: str) -> dict[str, Any]:
    request: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))["request"]
    return request


def changed(base: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """The request with values replaced at dotted paths; ... deletes."""
    request = copy.deepcopy(base)
    for path, value in changes.items():
        *way, last = path.split("__")
        place = request
        for step in way:
            place = place[step]
        if value is ...:
            del place[last]
        else:
            place[last] = value
    return request


def post(client: httpx.Client, name: str, request: dict[str, Any]) -> httpx.Response:
    return client.post(f"/v1/stress/{name}", json=request)


def refused(answer: httpx.Response, pointer: str) -> None:
    assert answer.status_code == 422, answer.text
    assert answer.headers["content-type"].startswith("application/problem+json")
    problem = answer.json()
    assert set(problem) == {"type", "title", "status", "detail", "errors"}
    assert pointer in [error["pointer"] for error in problem["errors"]], problem


def codes(answer: httpx.Response) -> dict[str, str]:
    return {finding["code"]: finding["severity"] for finding in answer.json()["findings"]}


def test_answer_holds_the_promised_fields(client: httpx.Client) -> None:
    answer = post(client, "peak", PEAK).json()["answer"]
    assert set(answer["weights"]) == {"opening", "sliding", "tearing"}
    assert answer["governing_index"] == 0
    assert answer["biaxiality_ratio"][1] is None
    assert answer["peaks_mpa"] is None
    w = answer["weights"]
    expected = np.hypot(100.0 * w["opening"], 10.0 * w["sliding"])
    assert answer["equivalent_stress_mpa"][0] == pytest.approx(expected)


def test_sliding_weight_is_null_at_a_toe(client: httpx.Client) -> None:
    answer = post(client, "peak", changed(PEAK, notch__opening_angle_deg=135.0))
    assert answer.json()["answer"]["weights"]["sliding"] is None
    assert codes(answer)["sliding-not-singular"] == "note"


def test_coarse_mesh_and_unchecked_mesh_show_as_findings(client: httpx.Client) -> None:
    assert codes(post(client, "peak", changed(PEAK, mesh__element_size_mm=1.0)))["mesh-too-coarse"] == "outside"
    assert codes(post(client, "peak", changed(PEAK, notch__notch_size_mm=None)))["mesh-unchecked"] == "caution"


def test_status_of_the_constants_reaches_the_user(client: httpx.Client) -> None:
    record = post(client, "peak", PEAK).json()["record"]
    status = {source["key"]: source["status"] for source in record["sources"]}
    assert status["peak-stress-review-2020"] == "from memory"
    assert "stress_element_constants" in record["tables"]


def test_own_constants_are_always_allowed(client: httpx.Client) -> None:
    own = {"opening": 1.0, "sliding": 2.0, "tearing": 3.0}
    for element in ("own", "tet10"):
        request = changed(PEAK, mesh__element=element, mesh__constants=own)
        assert post(client, "peak", request).json()["answer"]["constants"] == own


def test_control_radius_follows_the_material(client: httpx.Client) -> None:
    steel = post(client, "peak", PEAK).json()["answer"]["weights"]["opening"]
    aluminium = post(client, "peak", changed(PEAK, material={"name": "aluminium-alloy"})).json()["answer"]
    assert aluminium["weights"]["opening"] / steel == pytest.approx(np.sqrt(0.28 / 0.12))
    refused(post(client, "peak", changed(PEAK, material={"name": "cast-iron"})), "/material/name")
    given = changed(PEAK, material={"name": "cast-iron", "control_radius_mm": 0.5})
    assert post(client, "peak", given).status_code == 200


def test_one_load_ratio_or_one_each(client: httpx.Client) -> None:
    base = changed(PEAK, condition="stress-relieved")
    refused(post(client, "peak", base), "/load_ratio")
    same = post(client, "peak", changed(base, load_ratio=-1)).json()["answer"]["mean_stress_coefficients"]
    assert same == {"opening": 0.5, "sliding": 0.5, "tearing": 0.5}
    each = {"opening": -1.0, "sliding": 0.0, "tearing": 0.5}
    found = post(client, "peak", changed(base, load_ratio=each)).json()["answer"]["mean_stress_coefficients"]
    assert found == {"opening": 0.5, "sliding": 1.0, "tearing": 3.0}
    refused(post(client, "peak", changed(base, load_ratio={"opening": 0.1, "tearing": 0.1})), "/load_ratio")
    assert codes(post(client, "peak", changed(base, load_ratio=-3.0)))["load-ratio-outside"] == "outside"


def test_tensors_give_the_peaks_too(client: httpx.Client) -> None:
    request = example("peak-tensors")
    answer = post(client, "peak", request).json()["answer"]
    again = changed(request, tensors_mpa=..., tangent=..., bisector=..., peaks_mpa=answer["peaks_mpa"])
    assert post(client, "peak", again).json()["answer"]["equivalent_stress_mpa"] == pytest.approx(
        answer["equivalent_stress_mpa"]
    )
    assert codes(post(client, "peak", changed(request, average_over=1)))["mean-not-taken"] == "caution"


def test_answer_as_table(client: httpx.Client) -> None:
    answer = client.post("/v1/stress/peak", json=PEAK, headers={"accept": "text/csv"})
    assert answer.headers["content-type"].startswith("text/csv")
    assert "equivalent_stress_mpa" in answer.text.splitlines()[0]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"notch": ...}, "/notch"),
        ({"notch__opening_angle_deg": 180.0}, "/notch/opening_angle_deg"),
        ({"notch__opening_angle_deg": "12.5"}, "/notch/opening_angle_deg"),
        ({"notch__opening_angle_deg": True}, "/notch/opening_angle_deg"),
        ({"notch__opening_angle_deg": None}, "/notch/opening_angle_deg"),
        ({"notch__kind": "crack"}, "/notch/kind"),
        ({"mesh__element_size_mm": 0.0}, "/mesh/element_size_mm"),
        ({"mesh__element": "hex27"}, "/mesh/element"),
        ({"mesh__element": "own"}, "/mesh/constants/opening"),
        ({"mesh__constants": {"opening": -1.0}}, "/mesh/constants/opening"),
        ({"mesh__constants": {"bending": 1.0}}, "/mesh/constants/bending"),
        ({"mesh__average": 1.0}, "/mesh/average"),
        ({"unknown": 1.0}, "/unknown"),
        ({"material": {"poisson_ratio": 0.6}}, "/material/poisson_ratio"),
        (
            {"material": {"poisson_ratio": 0.25}, "coefficients": "published-fit"},
            "/material/poisson_ratio",
        ),
        ({"coefficients": "guess"}, "/coefficients"),
        ({"condition": "ground"}, "/condition"),
        ({"peaks_mpa__opening": []}, "/peaks_mpa/opening"),
        ({"peaks_mpa__opening": [1.0]}, "/peaks_mpa/sliding"),
        ({"peaks_mpa__opening": [1.0, "2"]}, "/peaks_mpa/opening/1"),
        ({"peaks_mpa__opening": [1.0, None]}, "/peaks_mpa/opening/1"),
        ({"peaks_mpa__opening": [1.0, 1e31]}, "/peaks_mpa/opening/1"),
        ({"peaks_mpa": ...}, ""),
        ({"tangent": [[1.0, 0.0, 0.0]]}, "/tangent"),
    ],
)
def test_peak_refuses(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    refused(post(client, "peak", changed(PEAK, **changes)), pointer)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"tangent": ...}, "/tangent"),
        ({"bisector": ...}, "/bisector"),
        ({"tangent": [[0.0, 0.0, 0.0]] * 12}, "/tangent"),
        ({"tangent": [[1.0, 0.0]] * 12}, "/tangent/0"),
        ({"bisector": [[1.0, 0.0, 0.0]] * 11}, "/bisector"),
        ({"tensors_mpa__xx": [1.0]}, "/tensors_mpa/yy"),
        ({"tensors_mpa__xx": ...}, "/tensors_mpa/xx"),
        ({"average_over": 2}, "/average_over"),
        ({"closed": 1}, "/closed"),
        ({"peaks_mpa": {"opening": [1.0]}}, "/tensors_mpa"),
    ],
)
def test_tensors_refuse(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    refused(post(client, "peak", changed(example("peak-tensors"), **changes)), pointer)


def test_tangent_along_bisector_is_refused(client: httpx.Client) -> None:
    request = example("peak-tensors")
    refused(post(client, "peak", changed(request, bisector=request["tangent"])), "/bisector")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_numbers_that_are_none_are_refused(client: httpx.Client, number: str) -> None:
    body = json.dumps(PEAK).replace("100.0", number)
    answer = client.post("/v1/stress/peak", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert answer.headers["content-type"].startswith("application/problem+json")


def test_key_given_twice_is_refused(client: httpx.Client) -> None:
    body = json.dumps(PEAK).replace('"kind": "root"', '"kind": "root", "kind": "toe"')
    answer = client.post("/v1/stress/peak", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)


ENERGY: dict[str, Any] = {
    "opening_angle_deg": 135.0,
    "youngs_modulus_mpa": 206000.0,
    "control_radius_mm": 0.28,
}
KNOWN: dict[str, Any] = {"youngs_modulus_mpa": 206000.0}


def test_energy_there_and_back(client: httpx.Client) -> None:
    density = post(client, "energy", {**KNOWN, "equivalent_stress_mpa": [212.258]}).json()["answer"]
    back = post(client, "energy", {**KNOWN, "energy_density_mj_m3": density["energy_density_mj_m3"]}).json()
    assert back["answer"]["equivalent_stress_mpa"] == pytest.approx([212.258])
    assert back["answer"]["opening_mj_m3"] is None


def test_energy_parts_have_the_length_of_the_columns(client: httpx.Client) -> None:
    answer = post(client, "energy", {**ENERGY, "intensities": {"k1_mpa_mm_lambda": [276.0, 138.0]}}).json()["answer"]
    assert answer["energy_density_mj_m3"] == pytest.approx([0.099512, 0.099512 / 4], rel=1e-5)
    assert answer["tearing_mj_m3"] == [0.0, 0.0]
    assert answer["sliding_mj_m3"] is None


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        (ENERGY, ""),
        ({**KNOWN, "energy_density_mj_m3": [1.0], "equivalent_stress_mpa": [1.0]}, "/equivalent_stress_mpa"),
        ({**KNOWN, "energy_density_mj_m3": [-1.0]}, "/energy_density_mj_m3/0"),
        ({**ENERGY, "sector": {"strain_energy_nmm": [1.0], "thickness_mm": 0.0}}, "/sector/thickness_mm"),
        (
            {**ENERGY, "intensities": {"k1_mpa_mm_lambda": [1.0], "k2_mpa_mm_lambda": [1.0]}},
            "/intensities/k2_mpa_mm_lambda",
        ),
        (
            {**ENERGY, "intensities": {"k1_mpa_mm_lambda": [1.0], "k3_mpa_mm_lambda": [1.0, 2.0]}},
            "/intensities/k3_mpa_mm_lambda",
        ),
        (
            {
                **ENERGY,
                "poisson_ratio": 0.2,
                "coefficients": "published-fit",
                "intensities": {"k1_mpa_mm_lambda": [1.0]},
            },
            "/poisson_ratio",
        ),
        (
            {**ENERGY, "youngs_modulus_mpa": 1e-30, "intensities": {"k1_mpa_mm_lambda": [1e200]}},
            "/intensities/k1_mpa_mm_lambda/0",
        ),
        (
            {**ENERGY, "youngs_modulus_mpa": 1e-300, "intensities": {"k1_mpa_mm_lambda": [1.0]}},
            "/youngs_modulus_mpa",
        ),
        ({**ENERGY, "youngs_modulus_mpa": ["206000"]}, "/youngs_modulus_mpa"),
    ],
)
def test_energy_refuses(client: httpx.Client, request_: dict[str, Any], pointer: str) -> None:
    refused(post(client, "energy", request_), pointer)


PATH: dict[str, Any] = {
    "rule": "linear-fine",
    "thickness_mm": 10.0,
    "distance_mm": [0.0, 4.0, 10.0, 15.0],
    "stress_mpa": [300.0, 140.0, 110.0, 100.0],
}


def test_hot_spot_of_a_path_and_by_least_squares(client: httpx.Client) -> None:
    answer = post(client, "hot-spot", PATH).json()["answer"]
    assert answer["hot_spot_stress_mpa"] == pytest.approx([160.0])
    fitted = post(client, "hot-spot", changed(PATH, rule="least-squares", window_low=0.4, window_high=1.0))
    assert fitted.json()["answer"]["hot_spot_stress_mpa"] == pytest.approx([160.0])
    assert codes(fitted)["least-squares-window"] == "caution"


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"thickness_mm": ...}, "/thickness_mm"),
        ({"rule": "cubic"}, "/rule"),
        ({"stress_mpa": ...}, "/stress_mpa"),
        ({"distance_mm": [0.0, 4.0, 3.0, 15.0]}, "/distance_mm"),
        ({"distance_mm": [0.0, 4.0]}, "/stress_mpa"),
        ({"reference_stress_mpa": [[1.0], [2.0]]}, "/distance_mm"),
        (
            {"distance_mm": ..., "stress_mpa": ..., "reference_stress_mpa": [[1.0], [2.0, 3.0]]},
            "/reference_stress_mpa/1",
        ),
        ({"distance_mm": ..., "stress_mpa": ..., "reference_stress_mpa": [[1.0]]}, "/reference_stress_mpa"),
        ({"rule": "least-squares", "reference_stress_mpa": [[1.0], [2.0]]}, "/reference_stress_mpa"),
        ({"rule": "least-squares", "thickness_mm": ...}, "/thickness_mm"),
        ({"rule": "least-squares", "window_low": 2.0}, "/window_low"),
        ({"rule": "least-squares", "degree": 3}, "/degree"),
    ],
)
def test_hot_spot_refuses(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    refused(post(client, "hot-spot", changed(PATH, **changes)), pointer)


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        ({}, "/distance_mm"),
        ({"distance_mm": [0.0, 1.0]}, "/stress_mpa"),
        ({"coefficients_mpa": [1.0], "stress_mpa": [1.0]}, "/stress_mpa"),
        ({"coefficients_mpa": []}, "/coefficients_mpa"),
        ({"distance_mm": [0.0, 1.0], "stress_mpa": [1.0]}, "/stress_mpa"),
        ({"distance_mm": [1.0, 2.0], "stress_mpa": [1.0, 1.0]}, "/distance_mm"),
    ],
)
def test_linearise_refuses(client: httpx.Client, request_: dict[str, Any], pointer: str) -> None:
    refused(post(client, "linearise", request_), pointer)


SHARES: dict[str, Any] = {"normal_utilisation": [0.8], "shear_utilisation": [0.7]}


def test_crane_form_with_two_stresses_equals_the_powers_three_and_five(client: httpx.Client) -> None:
    request = {"form": "en-13001-3-1", **SHARES, "normal_slope": 3, "shear_slope": 5}
    answer = post(client, "interaction", request).json()["answer"]
    assert answer["interaction_sum"] == pytest.approx([float(combine_en(0.8, 0.7).interaction_sum)])


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"form": "cubic"}, "/form"),
        ({"form": "en-1993-1-9", "normal_utilisation": [-0.1]}, "/normal_utilisation/0"),
        ({"form": "en-1993-1-9", "shear_utilisation": [0.1, 0.2]}, "/shear_utilisation"),
        ({"form": "en-1993-1-9", "normal_slope": 3.0}, "/normal_slope"),
        ({"form": "iiw-2016", "transverse_utilisation": [0.1]}, "/transverse_utilisation"),
        ({"form": "iiw-2016", "material": "wood"}, "/material"),
        ({"form": "en-13001-3-1", "normal_slope": 3.0}, "/shear_slope"),
        (
            {
                "form": "en-13001-3-1",
                "normal_slope": 3.0,
                "shear_slope": 5.0,
                "transverse_utilisation": [0.1, 0.2],
            },
            "/transverse_utilisation",
        ),
    ],
)
def test_interaction_refuses(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    refused(post(client, "interaction", {**SHARES, **changes}), pointer)


def test_notch_constants_as_one_number(client: httpx.Client) -> None:
    query = {"opening_angle_deg": 135, "only": "answer.eigenvalues.opening"}
    answer = client.get("/v1/stress/notch-constants", params=query)
    assert answer.headers["content-type"].startswith("text/plain")
    assert float(answer.text) == pytest.approx(0.673583, abs=5e-7)
    query = {"opening_angle_deg": 200, "only": "answer.eigenvalues.opening"}
    answer = client.get("/v1/stress/notch-constants", params=query)
    assert (answer.status_code, answer.text[:5]) == (200, "#ERR:")


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({}, "/opening_angle_deg"),
        ({"opening_angle_deg": "wide"}, "/opening_angle_deg"),
        ({"opening_angle_deg": "180"}, "/opening_angle_deg"),
        (
            {"opening_angle_deg": "90", "poisson_ratio": "0.2", "coefficients": "published-fit"},
            "/poisson_ratio",
        ),
        ({"opening_angle_deg": "90", "angle": "1"}, "/angle"),
    ],
)
def test_notch_constants_refuse(client: httpx.Client, query: dict[str, str], pointer: str) -> None:
    refused(client.get("/v1/stress/notch-constants", params=query), pointer)


CONSTANT: dict[str, Any] = {
    "mode": "opening",
    "opening_angle_deg": 0.0,
    "intensity_mpa_mm_lambda": 237.8,
    "peak_mpa": [244.9, 171.8, 120.6],
    "element_size_mm": [0.5, 1.0, 2.0],
}


def test_own_constant_goes_back_into_a_peak_request(client: httpx.Client) -> None:
    found = post(client, "element-constant", CONSTANT).json()["answer"]
    expected = calibrate_element(
        intensity_mpa_mm_lambda=237.8,
        peak_mpa=CONSTANT["peak_mpa"],
        element_size_mm=[0.5, 1.0, 2.0],
        eigenvalue=0.5,
    )
    assert found["constant"] == pytest.approx(expected.constant)
    own = changed(PEAK, mesh__constants={"opening": found["constant"]})
    assert post(client, "peak", own).json()["answer"]["constants"]["opening"] == found["constant"]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"mode": "sliding", "opening_angle_deg": 135.0}, "/opening_angle_deg"),
        ({"peak_mpa": [1.0, 0.0, 1.0]}, "/peak_mpa"),
        ({"peak_mpa": [1.0]}, "/element_size_mm"),
        ({"mode": "bending"}, "/mode"),
    ],
)
def test_own_constant_refuses(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    refused(post(client, "element-constant", {**CONSTANT, **changes}), pointer)

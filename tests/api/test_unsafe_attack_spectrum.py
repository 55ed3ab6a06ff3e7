"""Requests about read-out stresses and spectra that gave a number that is too good, with no word."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

E80 = "en-1993-1-9-2005-normal-80"
I80 = "iiw-2016-normal-steel-80"


def posted(client: httpx.Client, name: str, request: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"/v1/{name}", json=request)
    assert answer.status_code == 200, answer.text
    content: dict[str, Any] = answer.json()
    return content


def refused(client: httpx.Client, name: str, request: dict[str, Any], where: str) -> None:
    answer = client.post(f"/v1/{name}", json=request)
    assert answer.status_code == 422, answer.text
    assert where in {error["pointer"] for error in answer.json()["errors"]}, answer.text


def codes(envelope: dict[str, Any], severity: str = "") -> set[str]:
    return {f["code"] for f in envelope["findings"] if f["severity"].startswith(severity)}


PATH = {"distance_mm": [0.0, 5.0, 10.0, 15.0], "stress_mpa": [10.0, 120.0, 110.0, 100.0]}


@pytest.mark.parametrize(
    ("request_", "expected", "severity"),
    [
        ({"rule": "linear-fine", "reference_stress_mpa": [[100.0], [250.0]]}, 0.0, "outside"),
        ({"rule": "linear-coarse", "reference_stress_mpa": [[100.0], [250.0]]}, 25.0, "outside"),
        ({"rule": "quadratic", "reference_stress_mpa": [[100.0], [250.0], [100.0]]}, -236.0, "outside"),
        ({"rule": "linear-fine", "reference_stress_mpa": [[0.0], [60.0]]}, -40.0, "caution"),
        (
            {"rule": "least-squares", "distance_mm": [4.0, 10.0, 15.0], "stress_mpa": [100.0, 150.0, 200.0]},
            60.0,
            "outside",
        ),
        (
            {"rule": "linear-fine", "distance_mm": [0.0, 4.0, 10.0], "stress_mpa": [90.0, 130.0, 135.0]},
            126.7,
            "outside",
        ),
    ],
)
def test_a_structural_stress_below_its_points_is_no_quiet_result(
    client: httpx.Client, request_: dict[str, Any], expected: float, severity: str
) -> None:
    found = posted(client, "stress/hot-spot", {"thickness_mm": 10.0, **request_})
    (stress,) = found["answer"]["hot_spot_stress_mpa"]
    assert stress == pytest.approx(expected, abs=4.0)
    code = "hot-spot-below-nearest" if severity == "outside" else "hot-spot-below-reference"
    assert code in codes(found, severity)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_structural_stress_that_rises_or_stays_is_taken_as_it_is(client: httpx.Client, sign: float) -> None:
    for columns in ([[150.0, 100.0, 0.0], [130.0, 100.0, 0.0]], [[150.0], [-150.0]]):
        references = [[sign * value for value in column] for column in columns]
        request = {"rule": "linear-coarse", "thickness_mm": 10.0, "reference_stress_mpa": references}
        assert codes(posted(client, "stress/hot-spot", request)) == {"read-out-weights"}


def test_every_station_that_falls_towards_the_toe_is_counted(client: httpx.Client) -> None:
    references = [[100.0, 100.0, 80.0], [250.0, 90.0, 120.0]]
    request = {"rule": "linear-fine", "thickness_mm": 10.0, "reference_stress_mpa": references}
    (finding,) = (f for f in posted(client, "stress/hot-spot", request)["findings"] if f["value"] is not None)
    assert (finding["count"], finding["severity"]) == (2, "outside")


@pytest.mark.parametrize(
    ("request_", "where"),
    [
        ({"rule": "linear-fine", "thickness_mm": 10.0, **PATH, "degree": 2}, "/degree"),
        ({"rule": "linear-fine", "thickness_mm": 10.0, **PATH, "window_low": 0.5}, "/window_low"),
        ({"rule": "quadratic", "thickness_mm": 10.0, **PATH, "window_high": 2.0}, "/window_high"),
        ({"rule": "fixed-fine", "thickness_mm": 10.0, **PATH}, "/thickness_mm"),
    ],
)
def test_what_a_read_out_rule_does_not_use_is_refused(
    client: httpx.Client, request_: dict[str, Any], where: str
) -> None:
    refused(client, "stress/hot-spot", request_, where)


def test_a_polynomial_takes_no_rule_of_integration(client: httpx.Client) -> None:
    asked = {"coefficients_mpa": [100.0, -60.0], "integration": "trapezoid"}
    refused(client, "stress/linearise", asked, "/integration")


def test_a_path_through_the_thickness_tells_when_the_far_side_is_the_larger(client: httpx.Client) -> None:
    path = {"distance_mm": [0.0, 5.0, 10.0], "stress_mpa": [0.0, 0.0, 200.0]}
    found = posted(client, "stress/linearise", path)
    assert found["answer"]["structural_mpa"] == pytest.approx(-50.0)
    assert found["answer"]["structural_far_mpa"] == pytest.approx(150.0)
    assert "far-side-larger" in codes(found, "caution")
    turned = posted(client, "stress/linearise", {**path, "stress_mpa": path["stress_mpa"][::-1]})
    assert turned["answer"]["structural_mpa"] == pytest.approx(150.0)
    assert "far-side-larger" not in codes(turned)
    polynomial = posted(client, "stress/linearise", {"coefficients_mpa": [10.0, 20.0]})
    assert "far-side-larger" in codes(polynomial, "caution")


ENERGY = {
    "opening_angle_deg": 135.0,
    "youngs_modulus_mpa": 70_000.0,
    "intensities": {"k1_mpa_mm_lambda": [200.0]},
}


def test_the_control_radius_is_given_or_that_of_a_named_material(client: httpx.Client) -> None:
    refused(client, "stress/energy", ENERGY, "/control_radius_mm")
    named = posted(client, "stress/energy", {**ENERGY, "material": "aluminium-alloy"})
    given = posted(client, "stress/energy", {**ENERGY, "control_radius_mm": 0.12})
    assert named["answer"] == given["answer"]
    assert "control-radius" in codes(named)
    both = {**ENERGY, "material": "aluminium-alloy", "control_radius_mm": 0.28}
    assert "control-radius-given" in codes(posted(client, "stress/energy", both), "caution")
    refused(client, "stress/energy", {**ENERGY, "material": "cheese"}, "/material")


@pytest.mark.parametrize("missing", ["opening_angle_deg", "control_radius_mm"])
def test_a_sector_needs_all_that_its_volume_is_made_of(client: httpx.Client, missing: str) -> None:
    sector = {"strain_energy_nmm": [0.02], "thickness_mm": 1.0}
    request = {"opening_angle_deg": 135.0, "youngs_modulus_mpa": 206e3, "control_radius_mm": 0.28}
    posted(client, "stress/energy", {**request, "sector": sector})
    del request[missing]
    refused(client, "stress/energy", {**request, "sector": sector}, f"/{missing}")


def test_the_length_of_a_sector_has_no_default(client: httpx.Client) -> None:
    request = {"opening_angle_deg": 135.0, "youngs_modulus_mpa": 206e3, "control_radius_mm": 0.28}
    asked = {**request, "sector": {"strain_energy_nmm": [0.02]}}
    refused(client, "stress/energy", asked, "/sector/thickness_mm")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("opening_angle_deg", 135.0),
        ("control_radius_mm", 0.28),
        ("material", "structural-steel"),
        ("coefficients", "published-fit"),
    ],
)
def test_a_known_energy_takes_nothing_of_the_notch(client: httpx.Client, field: str, value: Any) -> None:
    for name in ("energy_density_mj_m3", "equivalent_stress_mpa"):
        request = {"youngs_modulus_mpa": 206e3, name: [0.1], field: value}
        refused(client, "stress/energy", request, f"/{field}")


CRANE = {"form": "en-13001-3-1", "normal_utilisation": [0.95], "shear_utilisation": [0.9]}


def test_slopes_that_no_curve_of_the_crane_standard_has_are_doubted(client: httpx.Client) -> None:
    usual = posted(client, "stress/interaction", {**CRANE, "normal_slope": 3.0, "shear_slope": 5.0})
    assert usual["answer"]["interaction_sum"][0] > 1.0
    assert "slope-unusual" not in codes(usual)
    steep = posted(client, "stress/interaction", {**CRANE, "normal_slope": 50.0, "shear_slope": 50.0})
    assert steep["answer"]["interaction_sum"][0] < 1.0
    assert "slope-unusual" in codes(steep, "caution")
    for slopes, strange in (((3.0, 7.0), False), ((2.9, 5.0), True), ((3.0, 7.1), True)):
        request = {**CRANE, "normal_slope": slopes[0], "shear_slope": slopes[1]}
        assert ("slope-unusual" in codes(posted(client, "stress/interaction", request))) is strange


def test_a_form_refuses_what_it_does_not_combine(client: httpx.Client) -> None:
    slopes = {"normal_slope": 3.0, "shear_slope": 5.0}
    refused(client, "stress/interaction", {**CRANE, **slopes, "transverse_slope": 5.0}, "/transverse_slope")
    for form in ({**CRANE, **slopes}, {**CRANE, "form": "en-1993-1-9"}):
        refused(client, "stress/interaction", {**form, "material": "aluminium"}, "/material")
        refused(client, "stress/interaction", {**form, "proportional": True}, "/proportional")

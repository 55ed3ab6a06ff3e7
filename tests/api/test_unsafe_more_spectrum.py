"""Requests about read-out stresses and spectra that gave a number that is too good, with no word."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from service import cli
from service.base.units import guard_length_factor, guard_stress_factor
from service.http.forms import findings_header
from service.lines.map import TableMap
from service.lines.table import check_request

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


def test_the_energy_holds_material_and_radius_against_the_published_ones(client: httpx.Client) -> None:
    named = {**ENERGY, "material": "aluminium-alloy", "poisson_ratio": 0.33}
    assert "poisson-ratio-given" in codes(posted(client, "stress/energy", named), "caution")
    far = {**named, "control_radius_mm": 0.28}
    assert "control-radius-far" in codes(posted(client, "stress/energy", far), "outside")
    for known in ({**ENERGY, "control_radius_mm": 0.28}, {"energy_density_mj_m3": [0.1]}):
        request = {"youngs_modulus_mpa": 206e3, **known, "poisson_ratio": 0.45}
        assert "poisson-ratio-outside" in codes(posted(client, "stress/energy", request), "outside")


def test_a_cross_section_has_no_default_radius(client: httpx.Client) -> None:
    section = {
        "attachments": 2,
        "plate_thickness_mm": 12.0,
        "attachment_thickness_mm": 12.0,
        "plate_leg_mm": 8.0,
        "gap_mm": 0.0,
        "loads": {"plate_membrane_mpa": 100.0},
    }
    refused(client, "stress/section", section, "/control_radius_mm")


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


HISTORY = [0.0, 58.0, 0.0, 57.0, 0.0, 56.0, 0.0, 55.0, 0.0]


def test_a_gate_makes_no_single_range_of_several(client: httpx.Client) -> None:
    request = {
        "curve": E80,
        "history_mpa": HISTORY,
        "loading": "constant",
        "hysteresis_threshold_mpa": 57.5,
        "repeats": 1e7,
    }
    refused(client, "spectrum/damage", request, "/loading")
    found = posted(client, "spectrum/damage", {**request, "loading": "variable"})
    assert found["answer"]["verdict"] == "fail"
    assert "gate-drops-damage" in codes(found, "caution")
    alike = {**request, "history_mpa": [0.0, 58.0, 0.0, 58.0, 0.0]}
    assert posted(client, "spectrum/damage", alike)["answer"]["damage"] == 0.0


def csv_answer(client: httpx.Client, name: str, head: str, query: str = "") -> httpx.Response:
    body = "\n".join([head, *map(str, HISTORY)])
    address = f"/v1/spectrum/{name}?{query}"
    return client.post(address, content=body, headers={"content-type": "text/csv"})


@pytest.mark.parametrize(
    "head",
    [
        "stress_ksi",
        "stress_GPa",
        "force_kN",
        "stress_Pa",
        "stress [ksi]",
        "stress (psi)",
        "stressGPa",
        "force_N",
        "strain",
        "S1 [N/m^2]",
        "s kN per mm2",
        "S [lbf/ft2]",
        "sigma [m]",
        "gauge 3 (left/right)",
        "syy/ksi",
        "ksi_syy",
        "syy [Mpsi]",
        "syy_tsi",
        "syy: psi",
        *(
            "k_mpa_sqrt_m",
            "MPa√m k",
            "stress_mpa_x10",
            "s [MPa] x10",
            "s MPa·10",
            "stress_10mpa",
            "s_mpa²",
            "s MPa 10^3",
        ),
        *(
            "F_N",
            "F_N 2",
            "d_m",
            "stress_in",
            "x_rad",
            "stress_45deg",
            "temp_celsius",
            "t_min",
            "sigma_m",
            "rate_mpa_per_s",
        ),
        *("stress_msi", "stress_dpa", "x_mm_per_cycle a"),
    ],
)
@pytest.mark.parametrize(("name", "query"), [("cycles", ""), ("damage", f"curve={I80}")])
def test_a_column_in_another_unit_is_refused(client: httpx.Client, name: str, query: str, head: str) -> None:
    answer = csv_answer(client, name, head, query)
    assert answer.status_code == 422, answer.text
    assert answer.json()["errors"][0]["pointer"] == "/columns"


@pytest.mark.parametrize(
    ("head", "stated"),
    [
        ("stress_MPa", True),
        ("stress [N/mm²]", True),
        ("S1 (MPa)", True),
        ("stress N per mm2", True),
        ("stressMPa", True),
        ("syy (10^6 Pa)", True),
        ("gauge 3 (left/right) [MPa]", True),
        ("syy/MPa", True),
        ("s/xy", False),
        ("stress", False),
        ("sigma_a", False),
        ("sigma_m [MPa]", True),
        ("stress_in_mpa", True),
        ("stress_max", False),
        ("s", False),
        ("S[0]", False),
    ],
)
def test_a_column_without_a_unit_is_taken_as_mpa_with_a_note(client: httpx.Client, head: str, stated: bool) -> None:
    for name, query in (("cycles", ""), ("damage", f"curve={I80}")):
        answer = csv_answer(client, name, head, query)
        assert answer.status_code == 200, answer.text
        assert ("unit-not-stated" in codes(answer.json(), "note")) is not stated


def test_the_command_and_rows_of_an_array_know_units_too(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "h.csv"
    table.write_text("\n".join(["time_s,stress [ksi]", "0,0", "1,50", "2,0"]), encoding="utf-8")
    assert cli.main(["count", str(table), "--columns", "stress [ksi]"]) == 2
    assert "ksi" in capsys.readouterr().err
    array = io.BytesIO()
    np.save(array, np.array([0.0, 50.0, 0.0]))
    kind = {"content-type": "application/x-npy"}
    bare = client.post("/v1/spectrum/cycles", content=array.getvalue(), headers=kind)
    assert "unit-not-stated" in codes(bare.json(), "note")
    ksi = client.post("/v1/spectrum/cycles?columns=s_ksi", content=array.getvalue(), headers=kind)
    assert ksi.status_code == 422


LAYOUT: dict[str, Any] = {
    "form": "long",
    "line": "line",
    "case": "case",
    "coordinates_mm": {"x": "x", "y": "y", "z": "z"},
    "stress_mpa": {name: name for name in ("xx", "yy", "zz", "xy", "yz", "zx")},
}


@pytest.mark.parametrize(
    ("column", "factor", "allowed"),
    [
        ("s_ksi", 1.0, False),
        ("s_ksi", 6.895, True),
        ("s [Pa]", 1e-6, True),
        ("s [Pa]", 1.0, False),
        ("s_MPa", 6.895, False),
        ("force_kN", 1.0, False),
        ("s", 7.0, True),
    ],
)
def test_a_stress_factor_agrees_with_the_unit_of_the_column(column: str, factor: float, allowed: bool) -> None:
    if allowed:
        guard_stress_factor(column, factor)
        return
    with pytest.raises(InputError):
        guard_stress_factor(column, factor)


@pytest.mark.parametrize(
    ("column", "factor", "allowed"),
    [
        ("x [m]", 1.0, False),
        ("x_m", 1000.0, True),
        ("x_in", 1.0, False),
        ("x_in", 25.4, True),
        ("x [in]", 25.4, True),
        ("x", 7.0, True),
    ],
)
def test_a_length_factor_agrees_with_the_unit_of_the_column(column: str, factor: float, allowed: bool) -> None:
    if allowed:
        guard_length_factor(column, factor)
        return
    with pytest.raises(InputError) as caught:
        guard_length_factor(column, factor)
    assert caught.value.path == ("table", "length_factor")


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"stress_mpa": LAYOUT["stress_mpa"] | {"xx": "xx_ksi"}}, "stress_factor"),
        ({"coordinates_mm": {"x": "x [m]", "y": "y", "z": "z"}}, "length_factor"),
        ({"position_mm": "s_m"}, "length_factor"),
    ],
)
def test_a_map_of_lines_refuses_factors_that_columns_contradict(change: dict[str, Any], where: str) -> None:
    rule = {
        "match": "*",
        "kind": "toe",
        "opening_angle_deg": 135.0,
        "notch_size_mm": "not-judged",
        "element": "brick8",
        "element_size_mm": 1.0,
        "average_over": 1,
    }
    table_map = TableMap.model_validate({"table": LAYOUT | change, "lines": [rule]})
    with pytest.raises(InputError) as caught:
        check_request([], table_map)
    assert caught.value.path == ("table", where)


def low_cycle(tmp_path: Path) -> str:
    table = tmp_path / "low.csv"
    table.write_text("\n".join(["s_MPa", "0", "900", "0"]), encoding="utf-8")
    return str(table)


def test_answer_text_page_and_exit_code_share_one_verdict(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = {"curve": I80, "range_mpa": [900.0], "count": [1.0]}
    found = posted(client, "spectrum/damage", request)
    assert found["answer"]["damage"] < found["answer"]["damage_limit"]
    assert codes(found, "outside") == {"life-cycles-outside"}
    assert found["answer"]["verdict"] == "undecided"
    page = client.post("/v1/spectrum/damage", json=request, headers={"accept": "text/html"}).text
    assert "undecided" in page.lower()
    assert cli.main(["damage", low_cycle(tmp_path), "--curve", I80]) == 1
    assert "UNDECIDED" in capsys.readouterr().out
    for count, verdict in ((1e5, "pass"), (1e7, "fail")):
        blocks = {"curve": I80, "range_mpa": [100.0], "count": [count]}
        assert posted(client, "spectrum/damage", blocks)["answer"]["verdict"] == verdict


def test_several_columns_are_modes_with_weights(
    client: httpx.Client, tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    table = tmp_path / "h.csv"
    table.write_text("\n".join(["a_MPa,b_MPa", "0,0", "60,10", "0,20", "90,0"]), encoding="utf-8")
    arguments = ["damage", str(table), "--columns", "a_MPa,b_MPa", "--curve", I80]
    assert cli.main([*arguments, "--weights", "a_MPa=1,b_MPa=0.5", "--json"]) == 0
    modes = {"a_MPa": [0.0, 60.0, 0.0, 90.0], "b_MPa": [0.0, 10.0, 20.0, 0.0]}
    request = {"curve": I80, "modes_mpa": modes, "weights": {"a_MPa": 1.0, "b_MPa": 0.5}}
    assert json.loads(capsysbinary.readouterr().out)["answer"] == posted(client, "spectrum/damage", request)["answer"]
    assert cli.main(arguments) == 2
    for wrong in ("a_MPa=1,a_MPa=2", "a_MPa", "a_MPa=x"):
        with pytest.raises(SystemExit):
            cli.main([*arguments, "--weights", wrong])


BELOW = "/v1/curves/iiw-2016-normal-steel-80/life?stress_range_mpa=900&only="


def test_a_cell_holds_no_number_beyond_a_validity_limit(client: httpx.Client) -> None:
    cell = client.get(BELOW + "answer.life_cycles")
    assert cell.text == "#OUTSIDE: life-cycles-outside"
    assert "outside:life-cycles-outside" in cell.headers["x-toeline-findings"]
    accepted = client.get(BELOW + "answer.life_cycles&accept_outside=1")
    assert 0.0 < float(accepted.text) < 1e4
    assert client.get(BELOW + "record.version").text[0].isdigit()
    assert client.get(BELOW + "answer.life_cycles&accept_outside=0").text.startswith("#ERR: ")
    assert client.get(BELOW.removesuffix("&only=") + "&accept_outside=1").status_code == 422
    inside = client.get(BELOW.replace("=900", "=90") + "answer.life_cycles")
    assert float(inside.text) > 1e4
    assert "note:survival-as-given" in inside.headers["x-toeline-findings"]


def test_columns_name_their_findings_in_a_header(client: httpx.Client) -> None:
    request = {"curve": I80, "range_mpa": [900.0], "count": [1.0]}
    answer = client.post("/v1/spectrum/damage", json=request, headers={"accept": "text/csv"})
    assert answer.headers["x-toeline-findings"].startswith("outside:life-cycles-outside, ")
    assert "undecided" in answer.text
    sources = client.get("/v1/sources", headers={"accept": "text/csv"})
    assert sources.headers["x-toeline-findings"] == "none"


def test_the_header_of_findings_stays_short() -> None:
    many = [{"severity": "note", "code": f"c{index}"} for index in range(100)]
    text = findings_header([*many, *many, {"severity": "outside", "code": "gone"}])
    assert text.startswith("outside:gone, note:c0, ")
    assert text.endswith(", note:c18, ...")


STEPS = {"largest_range_mpa": 200.0, "cycles": 1e6}


def test_steps_without_a_slope_say_what_lies_above_the_largest_range(client: httpx.Client) -> None:
    soft = posted(client, "spectrum/steps", {**STEPS, "shape_exponent": 0.5})
    assert {"steps-miss-largest-ranges", "share-beyond-outside"} <= codes(soft)
    assert "steps-miss-largest-ranges" in codes(soft, "caution")
    steep = posted(client, "spectrum/steps", {**STEPS, "shape_exponent": 0.5, "slope": 5.0})
    beyond = [{f["code"]: f["value"] for f in found["findings"]}["share-beyond-outside"] for found in (soft, steep)]
    assert beyond[0] == beyond[1] > 0.007
    normal = posted(client, "spectrum/steps", {**STEPS, "shape_exponent": 2.0})
    assert "steps-at-upper-edges" in codes(normal, "note")
    assert "share-beyond-outside" not in codes(normal)


def psd(rms_mpa: float, **more: Any) -> dict[str, Any]:
    """A flat density from 9 to 11 Hz."""
    level = rms_mpa**2 / 2.0
    return {
        "frequency_hz": [9.0, 11.0],
        "density_mpa2_per_hz": [level, level],
        "duration_s": 1e4,
        "curve": E80,
        **more,
    }


def test_random_stress_is_judged_by_its_expected_largest_range(client: httpx.Client) -> None:
    found = posted(client, "spectrum/random", psd(50.0))
    number = found["answer"]["bandwidth"]["crossing_rate_per_s"] * 1e4
    largest = found["answer"]["largest_range_mpa"]
    assert largest == pytest.approx(2.0 * 50.0 * np.sqrt(2.0 * np.log(number)), rel=1e-12)
    over = {f["code"]: f for f in posted(client, "spectrum/random", psd(50.0, yield_strength_mpa=235.0))["findings"]}
    assert over["stress-range-mpa-outside"]["value"] == largest
    tough = posted(client, "spectrum/random", psd(50.0, yield_strength_mpa=500.0))
    assert "stress-range-mpa-outside" not in codes(tough)


def test_random_stress_says_low_cycles_other_units_and_no_damage(client: httpx.Client) -> None:
    assert "life-cycles-outside" in codes(posted(client, "spectrum/random", psd(300.0)), "outside")
    assert "life-cycles-outside" not in codes(posted(client, "spectrum/random", psd(30.0)))
    tiny = posted(client, "spectrum/random", psd(0.05))
    assert "no-damage-counted" in codes(tiny, "caution")
    assert "ranges-too-small" in codes(tiny, "outside")
    assert posted(client, "spectrum/random", psd(50.0, duration_s=0.01))["answer"]["largest_range_mpa"] > 0.0
    assert not {"ranges-too-small", "no-damage-counted"} & codes(posted(client, "spectrum/random", psd(30.0)))


LONG = {"curve": I80, "reference_cycles": 1e8, "shape_exponent": 1.0}


def test_a_distribution_says_low_cycles_and_no_damage(client: httpx.Client) -> None:
    tiny = posted(client, "spectrum/long-term", {**LONG, "largest_range_mpa": 0.4})
    assert tiny["answer"]["damage"] < 1e-9
    assert "no-damage-counted" in codes(tiny, "caution")
    usual = posted(client, "spectrum/long-term", {**LONG, "largest_range_mpa": 200.0})
    assert not {"no-damage-counted", "life-cycles-outside"} & codes(usual)
    short = {**LONG, "largest_range_mpa": 9000.0, "reference_cycles": 1e4}
    assert "life-cycles-outside" in codes(posted(client, "spectrum/long-term", short), "outside")


def test_damage_of_all_passes_that_is_as_good_as_none_is_doubted(client: httpx.Client) -> None:
    blocks = {"curve": I80, "range_mpa": [0.4], "count": [10.0]}
    assert "no-damage-counted" in codes(posted(client, "spectrum/damage", blocks), "caution")
    often = {**blocks, "range_mpa": [4.0], "repeats": 1e9}
    assert "no-damage-counted" not in codes(posted(client, "spectrum/damage", often))

"""Checks of weld lines: what used to pass with a number that is too good, or without a word."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from service.base.text import number

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
STEEL, ALUMINIUM = "iiw-2016-normal-steel-80", "iiw-2016-normal-aluminium-32"


def toe(opening: list[float], name: str = "toe", **more: Any) -> dict[str, Any]:
    """A toe with stations 2 mm apart, by its opening peaks under one case."""
    return {
        "name": name,
        "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 8.0},
        "mesh": {"element": "brick8", "element_size_mm": 2.0},
        "position_mm": [2.0 * place for place in range(len(opening))],
        "cases": {"pull": {"peaks_mpa": {"opening": opening}}},
        **more,
    }


def body(*lines: dict[str, Any], **more: Any) -> dict[str, Any]:
    factors = {"pull": {"maximum": 1.0, "minimum": 0.0}}
    loading = {"kind": "constant", "factors": factors, "cycles": 2e6}
    return {"lines": list(lines), "loading": loading, "target": {"damage_limit": 1.0}, **more}


def nominal(stress: float, curve: str, **material: Any) -> dict[str, Any]:
    line = {
        "name": "n",
        "basis": "nominal",
        "position_mm": [0.0],
        "cases": {"pull": {"normal_mpa": [stress]}},
    }
    more: dict[str, Any] = {"material": material} if material else {}
    return body(line, curves={"rule": "fixed", "curve": curve}, **more)


def content(client: httpx.Client, request: dict[str, Any]) -> dict[str, Any]:
    reply = client.post("/v1/check", json=request)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def codes(found: dict[str, Any], severity: str | None = None) -> set[str]:
    return {f["code"] for f in found["findings"] if severity in (None, f["severity"])}


def growth_example() -> dict[str, Any]:
    text = (EXAMPLES / "check" / "bracket-toe-growth.json").read_text(encoding="utf-8")
    return copy.deepcopy(json.loads(text)["request"])  # type: ignore[no-any-return]


# stations left out

ENDS = [300.0, 60.0, 70.0, 65.0, 50.0]


def test_a_station_left_out_over_the_limit_leaves_the_line_undecided(client: httpx.Client) -> None:
    found = content(client, body(toe(ENDS, exclude_ends_mm=1.0)))
    line = found["answer"]["lines"][0]
    assert line["judged"] == [False, True, True, True, False]
    assert line["utilisation"][2] == line["governing_utilisation"] <= 1.0
    assert line["largest_unjudged_utilisation"] == line["utilisation"][0] > 1.0
    assert line["largest_unjudged_damage"] == line["damage"][0] > 1.0
    assert (line["verdict"], found["answer"]["verdict"]) == ("undecided", "undecided")
    assert found["answer"]["deciding_lines"] == ["toe"]
    assert "unjudged-over-limit" in codes(found, "outside")


def test_a_reason_for_it_is_repeated_wherever_it_passes(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    reason = "run-off end, ground away after welding"
    request = body(toe(ENDS, exclude_ends_mm=1.0, exclude_ends_reason=reason))
    found = content(client, request)
    assert (found["answer"]["verdict"], found["answer"]["deciding_lines"]) == ("pass", [])
    assert found["answer"]["lines"][0]["exclude_ends_reason"] == reason
    assert "unjudged-over-limit-with-reason" in codes(found, "caution")
    page = client.post("/v1/check", json=request, headers={"Accept": "text/html"}).text
    assert page.count(reason) >= 2
    assert f"Utilisation {number(found['answer']['utilisation'])} in stress at the governing point" in page
    assert "hollow: not judged, utilisation up to 2.56" in page
    path = tmp_path / "c.json"
    path.write_text(json.dumps(request), encoding="utf-8")
    assert cli.main(["check", str(path)]) == 0
    assert reason in " ".join(capsys.readouterr().out.split())
    assert cli.main(["gate", str(path)]) == 0
    assert reason in " ".join(capsys.readouterr().out.split())


def test_a_reason_without_anything_left_out_is_refused(client: httpx.Client) -> None:
    reply = client.post("/v1/check", json=body(toe(ENDS, exclude_ends_reason="ground")))
    assert reply.status_code == 422
    assert [error["pointer"] for error in reply.json()["errors"]] == ["/lines/0/exclude_ends_reason"]


def test_a_station_left_out_that_is_used_more_than_the_governing_one_is_said(client: httpx.Client) -> None:
    found = content(client, body(toe([90.0, 60.0, 70.0, 65.0, 50.0], exclude_ends_mm=1.0)))
    assert found["answer"]["verdict"] == "pass"
    assert "unjudged-used-more" in codes(found, "caution")


@pytest.mark.parametrize(
    ("stresses", "excluded", "said"),
    [
        ([10.0, 80.0, 70.0, 65.0, 5.0], 1.0, True),  # first judged one governs
        ([10.0, 60.0, 70.0, 75.0, 5.0], 1.0, True),
        ([10.0, 60.0, 75.0, 70.0, 5.0], 1.0, False),
        ([10.0, 60.0, 70.0, 75.0, 80.0], 0.0, True),  # nothing left out: the last one is the edge as well
    ],
)
def test_a_governing_station_at_the_edge_is_a_caution(
    client: httpx.Client, stresses: list[float], excluded: float, said: bool
) -> None:
    found = content(client, body(toe(stresses, exclude_ends_mm=excluded)))
    assert ("governing-at-end" in codes(found, "caution")) == said


@pytest.mark.parametrize(("excluded", "said"), [(0.0, False), (1.0, True)])
def test_few_stations_that_are_left_are_a_caution(client: httpx.Client, excluded: float, said: bool) -> None:
    """Two of four are half of them, and few."""
    found = content(client, body(toe([10.0, 60.0, 75.0, 5.0], exclude_ends_mm=excluded)))
    assert ("few-judged" in codes(found, "caution")) == said


def test_the_demo_hides_no_failing_end() -> None:
    for name in ("bracket-hanger", "bracket-toe-growth"):
        example = json.loads((EXAMPLES / "check" / f"{name}.json").read_text(encoding="utf-8"))
        answer = example["response"]["answer"]
        assert answer["verdict"] == "pass"
        assert all(max(line["utilisation"]) <= 1.0 for line in answer["lines"])


def test_the_demo_with_a_fifth_more_load_fails(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    example = json.loads((EXAMPLES / "check" / "bracket-hanger.json").read_text(encoding="utf-8"))
    example["request"]["target"]["load_factor"] = 1.2
    path = tmp_path / "c.json"
    path.write_text(json.dumps(example["request"]), encoding="utf-8")
    assert cli.main(["check", str(path)]) == 1
    assert "FAIL, by R2N_toe_plate" in capsys.readouterr().out


# one verdict

COARSE = {"element": "brick8", "element_size_mm": 20.0}


@pytest.mark.parametrize(
    ("stresses", "verdict", "deciding"),
    [
        ({"good": 60.0, "coarse": 1.0}, "undecided", ["coarse"]),
        ({"coarse": 1.0, "bad": 300.0}, "fail", ["bad"]),
        ({"coarse": 90.0, "bad": 150.0}, "fail", ["bad"]),  # whichever governs
        ({"good": 60.0, "other": 50.0}, "pass", []),
    ],
)
def test_lines_make_the_verdict_wherever_they_stand(
    client: httpx.Client, stresses: dict[str, float], verdict: str, deciding: list[str]
) -> None:
    lines = [toe([1.0, stress, 1.0], name=name) for name, stress in stresses.items()]
    for line in lines:
        line["mesh"] = COARSE if line["name"] == "coarse" else line["mesh"]
    answer = content(client, body(*lines))["answer"]
    assert (answer["verdict"], answer["deciding_lines"]) == (verdict, deciding)
    backwards = content(client, body(*lines[::-1]))["answer"]
    assert (backwards["verdict"], backwards["deciding_lines"]) == (verdict, deciding)


def test_a_doubt_of_the_governing_station_does_not_hide_a_station_that_fails(client: httpx.Client) -> None:
    """A root: the mesh is too coarse for sliding alone, and one station that only opens is over the limit."""
    line = toe([150.0, 10.0, 10.0])
    line["notch"] = {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 8.0}
    line["mesh"] = {"element": "quad4", "element_size_mm": 1.6}
    line["cases"]["pull"]["peaks_mpa"]["sliding"] = [0.0, 400.0, 0.0]
    answer = content(client, body(line))["answer"]
    assert answer["governing"]["index"] == 1
    assert answer["verdict"] == "fail"


def test_a_doubt_of_another_station_than_the_governing_one_is_told_with_its_count(
    client: httpx.Client,
) -> None:
    line = toe([80.0, 10.0, 10.0])
    line["notch"] = {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 8.0}
    line["mesh"] = {"element": "quad4", "element_size_mm": 1.6}
    line["cases"]["pull"]["peaks_mpa"]["sliding"] = [0.0, 20.0, 20.0]
    assert content(client, body(line))["answer"]["verdict"] == "undecided"  # these stations use more than half
    line["cases"]["pull"]["peaks_mpa"]["sliding"] = [0.0, 10.0, 10.0]
    found = content(client, body(line))
    assert (found["answer"]["governing"]["index"], found["answer"]["verdict"]) == (0, "pass")
    (told,) = [f for f in found["findings"] if f["severity"] == "outside"]
    assert told["count"] == 2
    assert "carries 0 % at the governing station, but counts at 2 other judged stations" in told["message"]


def test_a_mode_of_many_smaller_cycles_counts_as_much_as_that_of_the_largest(client: httpx.Client) -> None:
    """The largest cycle opens; a thousand times as many smaller ones slide on a mesh too coarse for them."""
    line = toe([0.0])
    line["notch"] = {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 8.0}
    line["mesh"] = {"element": "quad4", "element_size_mm": 1.6}
    line["cases"] = {
        "pull": {"peaks_mpa": {"opening": [60.0], "sliding": [0.0]}},
        "slide": {"peaks_mpa": {"opening": [0.0], "sliding": [15.0]}},
    }
    ends = {"maximum": 1.0, "minimum": 0.0}
    blocks = [{"factors": {"pull": ends}, "cycles": 1e3}, {"factors": {"slide": ends}, "cycles": 1e6}]
    found = content(client, body(line, loading={"kind": "blocks", "blocks": blocks}))
    assert found["answer"]["verdict"] == "undecided"


@pytest.mark.parametrize(("cycles", "verdict"), [(9e3, "fail"), (1.1e4, "fail"), (2e6, "fail")])
def test_a_load_that_fails_at_once_is_not_excused_by_its_short_life(
    client: httpx.Client, cycles: float, verdict: str
) -> None:
    """A smaller load would fail within the lives that the curves hold for."""
    request = body(toe([2000.0]))
    request["loading"]["cycles"] = cycles
    found = content(client, request)
    assert found["answer"]["life_cycles"] < 9e3
    assert found["answer"]["verdict"] == verdict
    assert "life-cycles-outside" in codes(found, "outside")


def test_a_line_on_which_nothing_cycles_is_not_passed(client: httpx.Client) -> None:
    found = content(client, body(toe([60.0]), toe([0.0], name="unloaded")))
    assert (found["answer"]["verdict"], found["answer"]["deciding_lines"]) == ("undecided", ["unloaded"])
    assert "nothing-cycles" in codes(found, "outside")


# the crack of a growth part


def test_a_crack_that_ends_before_the_repeats_asked_fails_the_check(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = growth_example()
    long_lived = content(client, request)["answer"]["growth"]
    assert long_lived["reaches_target"] is True
    assert long_lived["repeats_asked"] == request["target"]["repeats"]
    request["growth"]["crack"] |= {"depth_mm": 2.5, "half_length_mm": 20.0}
    found = content(client, request)
    growth = found["answer"]["growth"]
    assert growth["life_repeats"] < growth["repeats_asked"]
    assert growth["reaches_target"] is False
    assert found["answer"]["utilisation"] < 1.0
    assert (found["answer"]["verdict"], found["answer"]["deciding_lines"]) == ("fail", ["R2N_toe_plate"])
    assert "crack-before-target" in codes(found, "caution")
    page = client.post("/v1/check", json=request, headers={"Accept": "text/html"}).text
    assert "so the check fails" in page
    path = tmp_path / "c.json"
    path.write_text(json.dumps(request), encoding="utf-8")
    assert cli.main(["check", str(path)]) == 1
    assert "the check FAILS by it" in capsys.readouterr().out
    assert cli.main(["gate", str(path)]) == 1


def test_factors_of_the_target_that_growth_does_not_take_are_said(client: httpx.Client) -> None:
    request = growth_example()
    request["target"]["resistance_factor"] = 1.35
    assert "growth-without-factors" in codes(content(client, request), "caution")


def test_a_growth_law_of_another_material_decides_nothing(client: httpx.Client) -> None:
    request = growth_example()
    request["growth"]["law"] = {"name": "iiw-2016/aluminium"}
    found = content(client, request)
    assert "law-of-other-material" in codes(found, "outside")
    assert found["answer"]["verdict"] != "pass"
    request["growth"]["law"] = {"name": "iiw-2016/steel"}
    assert "law-of-other-material" not in codes(content(client, request))


# material against curve

GIVEN = {"name": "aluminium-alloy", "poisson_ratio": 0.33}


@pytest.mark.parametrize("name", ["aluminium-alloy", "aluminium"])
def test_a_steel_curve_decides_nothing_for_nominal_stress_in_aluminium(client: httpx.Client, name: str) -> None:
    """40 % of the steel curve is above the matching aluminium curve."""
    steel = content(client, nominal(40.0, STEEL, name=name))
    assert steel["answer"]["verdict"] == "undecided"
    assert "curve-of-other-material" in codes(steel, "outside")
    own = content(client, nominal(40.0, ALUMINIUM, name=name))
    assert own["answer"]["verdict"] == "fail"
    assert "curve-of-other-material" not in codes(own)


@pytest.mark.parametrize(
    ("basis", "curve"),
    [("structural", "iiw-2016-hot-spot-steel-100"), ("effective-notch", "iiw-2016-notch-r1-steel-225")],
)
def test_every_basis_compares_the_material(client: httpx.Client, basis: str, curve: str) -> None:
    request = nominal(40.0, curve, name="aluminium-alloy")
    request["lines"][0]["basis"] = basis
    assert content(client, request)["answer"]["verdict"] == "undecided"
    request["material"]["name"] = "structural-steel"
    assert content(client, request)["answer"]["verdict"] == "pass"


def test_a_material_that_is_not_known_decides_nothing(client: httpx.Client) -> None:
    assert "material-not-compared" not in codes(content(client, nominal(40.0, STEEL, name="S355 J2")))
    found = content(client, nominal(40.0, STEEL, name="grade 7"))
    assert "material-not-compared" in codes(found, "outside")
    peak = body(toe([60.0]), material={"name": "grade 7", "control_radius_mm": 0.28})
    assert "material-not-compared" in codes(content(client, peak), "outside")


def test_another_kind_of_steel_is_a_caution_on_nominal_stress(client: httpx.Client) -> None:
    found = content(client, nominal(40.0, STEEL, name="austenitic-steel"))
    assert found["answer"]["verdict"] == "pass"
    assert "curve-of-other-steel" in codes(found, "caution")
    request = body(toe([60.0]), material={"name": "austenitic-steel"})
    assert content(client, request)["answer"]["verdict"] == "undecided"


def test_a_control_radius_of_ones_own_is_said(client: httpx.Client) -> None:
    """A larger radius makes the equivalent stress smaller."""
    request = body(toe([60.0]), material={"name": "structural-steel", "control_radius_mm": 1.0})
    assert "control-radius-given" in codes(content(client, request), "caution")
    request["material"]["control_radius_mm"] = 0.28
    assert "control-radius-given" not in codes(content(client, request))
    unused = content(client, nominal(40.0, STEEL, name="structural-steel", control_radius_mm=1.0))
    assert "control-radius-not-used" in codes(unused, "note")


# choices that favour the part


def test_a_load_case_that_is_not_loaded_is_a_caution(client: httpx.Client) -> None:
    line = toe([60.0])
    line["cases"]["side"] = {"peaks_mpa": {"opening": [500.0]}}
    assert "case-not-loaded" in codes(content(client, body(line)), "caution")


def test_a_load_case_that_a_block_does_not_name_is_said(client: httpx.Client) -> None:
    line = toe([60.0])
    line["cases"]["side"] = {"peaks_mpa": {"opening": [10.0]}}
    ends = {"maximum": 1.0, "minimum": 0.0}
    blocks = [
        {"factors": {"pull": ends, "side": ends}, "cycles": 1e5},
        {"factors": {"pull": ends}, "cycles": 1e5},
    ]
    request = body(line, loading={"kind": "blocks", "blocks": blocks})
    assert "case-absent-in-block" in codes(content(client, request), "note")


@pytest.mark.parametrize("bounds", [{"lower": 0.0}, {"upper": 0.05}, {"lower": 0.0, "upper": 0.0}])
def test_bounds_of_the_curve_rule_that_were_moved_are_a_caution(client: httpx.Client, bounds: dict[str, float]) -> None:
    line = toe([60.0])
    assert "bounds-moved" in codes(content(client, body(line, curves={"rule": "biaxiality", **bounds})), "caution")
    assert "bounds-moved" not in codes(content(client, body(line)))


@pytest.mark.parametrize(
    "curves",
    [
        {"rule": "fixed", "curve": "peak-stress-shear"},
        {"rule": "biaxiality", "opening_curve": "peak-stress-shear"},
    ],
)
def test_the_shear_curve_decides_nothing_where_the_notch_opens(client: httpx.Client, curves: dict[str, Any]) -> None:
    found = content(client, body(toe([60.0]), curves=curves))
    assert found["answer"]["verdict"] == "undecided"
    assert "shear-curve-for-opening" in codes(found, "outside")
    sheared = toe([0.0])
    sheared["cases"]["pull"]["peaks_mpa"]["tearing"] = [60.0]
    assert content(client, body(sheared, curves=curves))["answer"]["verdict"] == "pass"


def test_a_fixed_curve_and_curves_that_changed_places_are_said(client: httpx.Client) -> None:
    fixed = {"rule": "fixed", "curve": "peak-stress-opening"}
    assert "biaxiality-not-used" in codes(content(client, body(toe([60.0]), curves=fixed)), "caution")
    swapped = {"rule": "biaxiality", "shear_curve": "peak-stress-opening"}
    assert "opening-curve-for-shear" in codes(content(client, body(toe([60.0]), curves=swapped)), "caution")


@pytest.mark.parametrize(
    ("target", "code", "severity"),
    [
        ({"survival_probability": 0.5}, "survival-below-design", "caution"),
        ({"load_factor": 0.8}, "relieving-factor", "outside"),
        ({"resistance_factor": 0.8}, "relieving-factor", "outside"),
    ],
)
def test_targets_that_relieve_the_part_are_said(
    client: httpx.Client, target: dict[str, float], code: str, severity: str
) -> None:
    request = body(toe([60.0]))
    assert code not in codes(content(client, request))
    request["target"] |= target
    assert code in codes(content(client, request), severity)


def test_an_own_curve_without_a_survival_probability_is_a_caution(client: httpx.Client) -> None:
    own = {"name": "own", "slopes": [3.0], "range_mpa": [80.0], "life_cycles": [2e6]}
    found = content(client, {**nominal(40.0, STEEL), "curves": {"rule": "fixed", "curve": own}})
    assert "survival-unknown" in codes(found, "caution")


def test_half_cycles_of_a_record_that_repeats_are_a_caution(client: httpx.Client) -> None:
    loading = {
        "kind": "history",
        "channels": {"pull": [0.0, 1.0, 0.2, 0.8]},
        "residue": "half",
        "repeats": 100.0,
    }
    assert "residue-of-one-pass" in codes(content(client, body(toe([60.0]), loading=loading)), "caution")
    loading["repeats"] = 1.0
    assert "residue-of-one-pass" not in codes(content(client, body(toe([60.0]), loading=loading)))


@pytest.mark.parametrize(("labels", "said"), [((1.0, 1.0), False), ((10.0, 10.0), True), ((1.0, 10.0), True)])
def test_a_unit_load_other_than_one_is_said_to_be_a_label(
    client: httpx.Client, labels: tuple[float, float], said: bool
) -> None:
    lines = [
        toe([60.0], name=f"toe {place}", unit_load={"value": value, "unit": "kN"}) for place, value in enumerate(labels)
    ]
    assert ("unit-load-is-a-label" in codes(content(client, body(*lines)), "caution")) == said


def test_a_definition_of_cycles_that_decides_leaves_no_verdict(client: httpx.Client) -> None:
    """Tearing twice as often as opening: by the path it is seven times the damage of the governing mode."""
    line = toe([60.0])
    line["cases"] = {
        "pull": {"peaks_mpa": {"opening": [60.0], "tearing": [0.0]}},
        "turn": {"peaks_mpa": {"opening": [0.0], "tearing": [30.0]}},
    }
    channels = {"pull": [0.0, 1.0, 0.0, -1.0] * 4, "turn": [1.0, -1.0, 1.0, -1.0] * 4}
    loading = {"kind": "history", "channels": channels, "repeats": 1.0}
    damage = content(client, body(line, loading=loading))["answer"]["damage"]
    loading["repeats"] = 0.49 / damage
    found = content(client, body(line, loading=loading, target={}))
    assert found["answer"]["utilisation"] < 1.0
    assert found["answer"]["verdict"] == "undecided"
    assert "cycle-definitions-decide" in codes(found, "outside")


def test_blocks_one_by_one_do_not_hide_the_range_between_them(client: httpx.Client) -> None:
    """1.0 to 0.9 and -1.0 to -1.1, each a tenth of the range of 2.1 that lies between them."""
    ends = [(1.0, 0.9), (-1.0, -1.1)]
    listed = [{"factors": {"pull": {"maximum": high, "minimum": low}}, "cycles": 1.0} for high, low in ends]
    request = body(toe([100.0, 90.0]), loading={"kind": "blocks", "blocks": listed})
    request["target"]["repeats"] = 1e6
    found = content(client, request)
    assert found["answer"]["verdict"] == "fail"
    assert "transitions-added" in codes(found, "note")
    request["loading"]["transitions"] = "in-entries"
    said = content(client, request)
    assert said["answer"]["utilisation"] < 0.1 * found["answer"]["utilisation"]
    assert "block-transitions" in codes(said, "caution")


def test_what_decides_is_measured_by_the_limit_of_the_request(client: httpx.Client) -> None:
    """The same load at a limit of 0.2 and at 0.5: by another definition 22 times the damage at both."""
    line = toe([60.0])
    line["cases"] = {
        "pull": {"peaks_mpa": {"opening": [60.0], "tearing": [0.0]}},
        "turn": {"peaks_mpa": {"opening": [0.0], "tearing": [30.0]}},
    }
    channels = {"pull": [0.0, 1.0, 0.0, -1.0] * 4, "turn": [1.0, -1.0, 1.0, -1.0] * 4}
    for limit in (0.2, 0.5):
        for part, decides in ((0.98, True), (0.02, False)):
            request = body(line, loading={"kind": "history", "channels": channels, "repeats": 1.0})
            request["target"] = {"damage_limit": limit}
            once = content(client, request)["answer"]["damage"]
            request["loading"]["repeats"] = part * limit / once
            found = content(client, request)
            assert ("cycle-definitions-decide" in codes(found, "outside")) == decides, (limit, part)


@pytest.mark.parametrize("missing", ["notch", "mesh"])
def test_a_peak_stress_line_without_notch_or_mesh_is_refused_there(client: httpx.Client, missing: str) -> None:
    line = toe([60.0])
    del line[missing]
    reply = client.post("/v1/check", json=body(line))
    assert reply.status_code == 422
    (error,) = reply.json()["errors"]
    assert error["pointer"] == f"/lines/0/{missing}"
    assert "needs its " + missing in error["message"]

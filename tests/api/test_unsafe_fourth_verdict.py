"""What kept a check passing that should not: limits, names and choices that reached the verdict by another way."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.topics.check.text import check_text
from tests.api.report_pages import Balanced, page_of

EXAMPLES = Path(__file__).parents[2] / "openapi_examples" / "check"
ORDER = ("pass", "undecided", "fail")
STILL = [0.0, 0.0, 0.0]
ROOT: dict[str, Any] = {
    "lines": [
        {
            "name": "root",
            "notch": {"kind": "root", "opening_angle_deg": 0, "notch_size_mm": 5},
            "mesh": {"element": "quad4", "element_size_mm": 0.3},
            "position_mm": [0, 10, 20],
            "cases": {
                "pull": {"peaks_mpa": {"opening": [8, 10, 6], "sliding": [0, 0, 12], "tearing": [0, 0, 6]}},
            },
        }
    ],
    "loading": {"kind": "constant", "factors": {"pull": {"maximum": 10, "minimum": 0}}, "cycles": 1e6},
    "target": {"survival_probability": 0.977, "damage_limit": 0.5},
}


def _root(opening: Any, sliding: Any = STILL, tearing: Any = STILL, **line: Any) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(json.dumps(ROOT))
    body["lines"][0] |= line
    body["lines"][0]["cases"]["pull"]["peaks_mpa"] = {"opening": opening, "sliding": sliding, "tearing": tearing}
    return body


def _mesh(constants: dict[str, float] | None = None, size_mm: float = 0.3) -> dict[str, Any]:
    return {"element": "quad4", "element_size_mm": size_mm} | ({"constants": constants} if constants else {})


def _post(client: httpx.Client, path: str, body: dict[str, Any]) -> dict[str, Any]:
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.text
    found: dict[str, Any] = response.json()
    return found


def _check(client: httpx.Client, body: dict[str, Any]) -> dict[str, Any]:
    return _post(client, "check", body)


def _verdict(client: httpx.Client, body: dict[str, Any]) -> str:
    return str(_check(client, body)["answer"]["verdict"])


def _codes(found: dict[str, Any], severity: str | None = None) -> set[str]:
    return {each["code"] for each in found["findings"] if severity in (None, each["severity"])}


# limits of a station that does not govern


def test_own_constants_that_let_another_station_govern_leave_a_line_undecided(client: httpx.Client) -> None:
    loads = ([8, 10, 6], [0, 0, 12], [0, 0, 6])
    assert _verdict(client, _root(*loads)) == "fail"
    for constants in ({"sliding": 1.0}, {"sliding": 1.0, "tearing": 0.5}, {"sliding": 0.1, "tearing": 0.1}):
        found = _check(client, _root(*loads, mesh=_mesh(constants)))
        assert found["answer"]["verdict"] == "undecided", constants
        assert "own-constant-below-scatter" in _codes(found, "outside")


def test_the_share_of_a_mode_is_that_by_the_published_constants(client: httpx.Client) -> None:
    toe = {"kind": "toe", "opening_angle_deg": 135, "notch_size_mm": 5}
    loads = ([0, 8, 0], STILL, [0, 0, 12])
    assert _verdict(client, _root(*loads, notch=toe)) == "pass"
    for constant in (1.5, 1.2, 0.1, 0.01):
        assert _verdict(client, _root(*loads, notch=toe, mesh=_mesh({"tearing": constant}))) == "undecided", constant
    little = _root([8, 10, 6], [0, 0, 0.3], mesh=_mesh({"sliding": 1.0}))  # a mode that acts at all
    assert _verdict(client, little) == "undecided"


def test_a_coarse_mesh_counts_at_every_station_that_uses_half_of_what_is_allowed(client: httpx.Client) -> None:
    coarse = _mesh(size_mm=1.25)
    assert _verdict(client, _root([8, 9.0, 0], [0, 0, 4], mesh=coarse)) == "undecided"
    assert _verdict(client, _root([8, 9.7, 0], [0, 0, 4], mesh=coarse)) == "undecided"
    far = _check(client, _root([8, 9.7, 0], [0, 0, 1.5], mesh=coarse))
    assert far["answer"]["verdict"] == "pass"
    said = next(each for each in far["findings"] if each["code"] == "mesh-too-coarse")
    assert "which use up to 36.1 % of what is allowed" in said["message"]


def test_a_short_life_counts_whichever_station_governs(client: httpx.Client) -> None:
    body = _root(STILL)
    body["lines"][0]["cases"] = {
        name: {"peaks_mpa": {"opening": opening, "sliding": STILL, "tearing": STILL}}
        for name, opening in (("a", [14, 0, 0]), ("c", [0, 100, 0]))
    }
    body["loading"] = {
        "kind": "blocks",
        "transitions": "in-entries",
        "blocks": [
            {"factors": {"a": {"maximum": 10, "minimum": 0}}, "cycles": 5e5},
            {"factors": {"c": {"maximum": 20, "minimum": 0}}, "cycles": 200},
        ],
    }
    for cycles in (5e5, 1e6):
        body["loading"]["blocks"][0]["cycles"] = cycles
        found = _check(client, body)
        assert found["answer"]["verdict"] == "undecided", cycles
        assert "life-cycles-outside" in _codes(found, "outside")


@pytest.mark.parametrize(
    ("loads", "size_mm", "other"),
    [(([8, 10, 6], [0, 0, 12], [0, 0, 6]), 0.3, "tearing"), (([8, 9, 0], [0, 0, 4]), 1.25, "opening")],
)
def test_more_load_and_more_relief_never_better_a_verdict(
    client: httpx.Client, loads: tuple[list[float], ...], size_mm: float, other: str
) -> None:
    def gravity(load: float, clean: float, constant: float | None) -> int:
        mesh = _mesh(None if constant is None else {"sliding": constant, other: constant}, size_mm)
        opening = [loads[0][0], clean, *loads[0][2:]]
        body = _root(opening, *loads[1:], mesh=mesh)
        body["target"]["load_factor"] = load
        return ORDER.index(_verdict(client, body))

    reliefs = (None, 3.0, 1.0, 0.5, 0.1)
    for constant in reliefs:
        by_load = [gravity(load, 9.0, constant) for load in (1.0, 1.3, 1.6, 3.0)]
        assert by_load == sorted(by_load), constant
        by_station = [gravity(1.0, clean, constant) for clean in (1.0, 9.0, 9.7, 12.0)]
        assert by_station == sorted(by_station), constant
    for load in (1.0, 1.6):
        plain, *relieved = (gravity(load, 9.0, constant) for constant in reliefs)
        assert all(one >= min(plain, 1) for one in relieved), load


# blocks that are said to hold every cycle


def _entries(*ends: tuple[str, float, float, float]) -> dict[str, Any]:
    blocks = [{"factors": {case: {"maximum": top, "minimum": low}}, "cycles": n} for case, top, low, n in ends]
    return {"kind": "blocks", "blocks": blocks, "transitions": "in-entries"}


def _nominal(cases: dict[str, list[float]], loading: dict[str, Any], **more: Any) -> dict[str, Any]:
    line = {"name": "seam", "basis": "nominal", "position_mm": [0.0, 10.0][: len(next(iter(cases.values())))]}
    line["cases"] = {case: {"normal_mpa": values} for case, values in cases.items()}
    curves = {"rule": "fixed", "curve": "iiw-2016-normal-steel-71"}
    return {"lines": [line], "loading": loading, "curves": curves, "target": {"resistance_factor": 1.4}} | more


def test_a_largest_entry_of_next_to_no_cycles_makes_no_complete_count(client: httpx.Client) -> None:
    for cycles, verdict in ((1e-9, "undecided"), (0.49, "undecided"), (0.5, "pass")):
        ends = _entries(("a", 1.0, 0.9, 1.0), ("a", -1.0, -1.1, 1.0), ("a", 1.0, -1.1, cycles))
        found = _check(client, _nominal({"a": [100.0]}, ends, target={"repeats": 2e4, "resistance_factor": 1.4}))
        assert found["answer"]["verdict"] == verdict, cycles
        assert ("entries-without-largest-cycle" in _codes(found, "outside")) == (verdict == "undecided")


def test_every_judged_station_must_have_its_largest_cycle_among_the_entries(client: httpx.Client) -> None:
    ends = _entries(("a", 1.0, 0.0, 10.0), ("c", 1.0, 0.9, 1.0), ("c", -1.0, -1.1, 1.0))
    target = {"repeats": 2e4, "resistance_factor": 1.4}
    request = _nominal({"a": [45.0, 0.0], "c": [0.0, 100.0]}, ends, target=target)
    found = _check(client, request)
    assert found["answer"]["governing"]["index"] == 0
    assert found["answer"]["verdict"] == "undecided"
    said = next(each for each in found["findings"] if each["code"] == "entries-without-largest-cycle")
    assert "station 1" in said["message"]


# the environment in the name of a curve


@pytest.mark.parametrize("environment", ["air", "seawater-protected"])
def test_an_environment_that_contradicts_the_named_curve_is_refused(client: httpx.Client, environment: str) -> None:
    named = {"curve": "dnv-rp-c203-2016-d-free-corrosion", "environment": environment}
    damage = {"range_mpa": [80.0], "count": [1e6]}
    checked = _nominal({"a": [80.0]}, _entries(("a", 1.0, 0.0, 1e6)), curves={"rule": "fixed"} | named)
    for path, body, pointer in (
        ("spectrum/damage", damage | named, "/environment"),
        ("curves/life", {"stress_range_mpa": [80.0]} | named, "/environment"),
        ("check", checked, "/curves/environment"),
    ):
        response = client.post(f"/v1/{path}", json=body)
        assert response.status_code == 422, path
        assert [each["pointer"] for each in response.json()["errors"]] == [pointer], response.text
    same = {"curve": "dnv-rp-c203-2016-d-free-corrosion", "environment": "free-corrosion"}
    assert client.post("/v1/curves/life", json={"stress_range_mpa": [80.0]} | same).status_code == 200


# curves of the user's own, of a survival below that of a design curve


def _own(survival: float, scatter: float | None = None) -> dict[str, Any]:
    curve: dict[str, Any] = {"name": "mine", "range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0]}
    return curve | {"survival_probability": survival} | ({"sd_log10_cycles": scatter} if scatter is not None else {})


def _by_damage(client: httpx.Client, curve: dict[str, Any], count: float, **more: Any) -> dict[str, Any]:
    body = {"curve": curve, "range_mpa": [100.0], "count": [count], "damage_limit": 1.0} | more
    return _post(client, "spectrum/damage", body)


def _by_check(client: httpx.Client, curve: dict[str, Any], count: float, **more: Any) -> dict[str, Any]:
    loading = {"kind": "constant", "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}, "cycles": count}
    request = _nominal({"a": [100.0]}, loading, curves={"rule": "fixed", "curve": curve}, target={"damage_limit": 1.0})
    request["target"] |= more
    return _check(client, request)


@pytest.mark.parametrize("route", [_by_damage, _by_check])
@pytest.mark.parametrize("survival", [0.5, 0.8, 0.9])
def test_an_own_curve_of_low_survival_is_measured_by_a_design_line(
    client: httpx.Client, route: Any, survival: float
) -> None:
    found = route(client, _own(survival, 0.2), 1.9e6)
    assert found["answer"]["verdict"] == "undecided"
    said = next(each for each in found["findings"] if each["code"] == "choices-decide")
    assert f"survival_probability {survival:g}" in said["message"]
    assert route(client, _own(survival, 0.2), 0.9e6)["answer"]["verdict"] == "pass"  # also by the design line
    assert route(client, _own(survival, 0.2), 2.1e6)["answer"]["verdict"] == "fail"
    assert route(client, _own(0.95, 0.2), 1.9e6)["answer"]["verdict"] == "pass"


@pytest.mark.parametrize("route", [_by_damage, _by_check])
def test_an_own_curve_of_low_survival_without_scatter_makes_no_pass(client: httpx.Client, route: Any) -> None:
    found = route(client, _own(0.9), 1e5)
    assert found["answer"]["verdict"] == "undecided"
    assert "own-survival-below-design" in _codes(found, "outside")
    assert route(client, _own(0.9), 2.1e6)["answer"]["verdict"] == "fail"
    moved = route(client, _own(0.5), 1e5, survival_probability=0.977)
    assert moved["answer"]["verdict"] == "pass"


@pytest.mark.parametrize("route", [_by_damage, _by_check])
def test_an_own_curve_of_no_stated_survival_is_measured_as_a_mean_line(client: httpx.Client, route: Any) -> None:
    curve = {name: value for name, value in _own(0.5).items() if name != "survival_probability"}
    found = route(client, curve, 1.9e6)
    assert found["answer"]["verdict"] == "undecided"
    said = next(each for each in found["findings"] if each["code"] == "choices-decide")
    assert "a curve that may be a mean line" in said["message"]
    assert route(client, curve, 0.9e6)["answer"]["verdict"] == "pass"


def test_an_own_scatter_smaller_than_of_welds_does_not_spare_the_design_line(client: httpx.Client) -> None:
    assert _by_damage(client, _own(0.5, 1e-9), 1.9e6)["answer"]["verdict"] == "undecided"
    few = _by_damage(client, _own(0.5, 0.2), 0.5e6, survival_probability=0.9, sample_size=3)
    assert few["answer"]["verdict"] == "undecided"  # the design line has the confidence of the tests too


# names of materials


def _crack(repeats: float) -> dict[str, Any]:
    request: dict[str, Any] = json.loads((EXAMPLES / "bracket-toe-growth.json").read_text())["request"]
    request["target"]["repeats"] = repeats
    return request


def _of_material(client: httpx.Client, name: str, family: str | None = None) -> httpx.Response:
    loading = {"kind": "constant", "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e5}
    material = {"name": name} | ({} if family is None else {"material_family": family})
    return client.post("/v1/check", json=_nominal({"a": [30.0]}, loading, material=material))


@pytest.mark.parametrize(
    "name",
    [
        "Al 6082 (S355 equivalent)",
        "ductile iron (like S355)",
        "GJS-400 instead of S235",
        "Ti S700",
        "not steel",
        "steel bronze",
        "Inconel-clad steel",
        "S355 (AlMgSi similar)",
        "steel, nickel alloyed 36",
        "S355, to be confirmed",
    ],
)
def test_a_name_that_says_more_than_steel_does_not_say_steel(client: httpx.Client, name: str) -> None:
    found = _of_material(client, name).json()
    assert found["answer"]["verdict"] == "undecided"
    assert "material-not-compared" in _codes(found, "outside")


@pytest.mark.parametrize("name", ["304 steel", "SUS304 steel", "duplex steel", "18/8 steel", "CrNi steel", "AISI 316L"])
def test_marks_of_austenitic_steel_decide_by_themselves(client: httpx.Client, name: str) -> None:
    assert "curve-of-other-steel" in _codes(_of_material(client, name).json(), "caution")
    assert _of_material(client, name, "steel").status_code == 422


def test_names_of_structural_steel_are_known_in_all_their_forms(client: httpx.Client) -> None:
    names = ("aluminium-killed steel", "Al-killed S355 J2+N", "EN 10025-2:2019 S355J2", "S 690 QL1", "S420MC", "1.0577")
    for name in (*names, "P355NL1", "my mild steel", "hot rolled fine-grain steel plate"):
        found = _of_material(client, name).json()
        assert found["answer"]["verdict"] == "pass", name
        assert not {"material-not-compared", "curve-of-other-steel"} & _codes(found), name


@pytest.mark.parametrize("name", ["titanium", "cast iron", "EN-GJS-400-15", "CuZn37", "Ti S700"])
def test_another_metal_by_name_contradicts_a_family(client: httpx.Client, name: str) -> None:
    response = _of_material(client, name, "steel")
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "/material/material_family"
    assert "another metal" in response.json()["errors"][0]["message"]


def test_the_family_given_tells_another_steel_and_not_the_end_of_a_name(client: httpx.Client) -> None:
    found = _of_material(client, "not steel", "aluminium").json()
    assert found["answer"]["verdict"] == "undecided"
    assert "curve-of-other-material" in _codes(found, "outside")


def test_a_growth_law_says_nothing_of_a_material_that_does_not_say_what_it_is(client: httpx.Client) -> None:
    request = _crack(1e3) | {"material": {"name": "alloy 7", "control_radius_mm": 0.28}}
    request["growth"]["law"] = {"name": "iiw-2016/steel"}
    found = _check(client, request)
    assert found["answer"]["verdict"] == "undecided"
    said = [each["message"] for each in found["findings"] if each["code"] == "material-not-compared"]
    assert any(text.startswith("growth law") for text in said)
    request["material"]["material_family"] = "steel"
    assert "material-not-compared" not in _codes(_check(client, request))


# the factor on the loads beside a crack


def test_a_check_that_a_crack_fails_states_no_factor_on_the_loads(client: httpx.Client) -> None:
    request = _crack(1.2e4)  # the crack lives 11,025 passes, the design curve more
    found = _check(client, request)
    assert (found["answer"]["verdict"], found["answer"]["factor_to_limit"]) == ("fail", None)
    assert "factor on all loads   none stated: the crack fails" in check_text(found)
    assert "the check FAILS by it" in check_text(found)
    page = Balanced(page_of(client, request)).text
    assert "may grow" not in page
    assert "does not hold for the crack, which fails" in page


def test_the_factor_beside_a_crack_that_lives_is_said_to_be_of_the_design_curve(client: httpx.Client) -> None:
    request = _crack(1e3)
    found = _check(client, request)
    assert found["answer"]["verdict"] == "pass"
    assert "just passes on the design curve alone, not for the crack" in check_text(found)
    page = Balanced(page_of(client, request)).text
    assert "This factor is of the design curve alone" in page
    assert "before the limit of the design curve is reached" in page


def test_a_crack_whose_count_was_stopped_is_not_said_to_fail(client: httpx.Client) -> None:
    request = _crack(1e3)
    request["growth"]["end"]["cycles"] = 1e4
    found = _check(client, request)
    assert found["answer"]["verdict"] == "undecided"
    assert "FAILS" not in check_text(found)


# passes


def test_a_single_pass_of_blocks_or_a_history_is_said_with_its_cycles(client: httpx.Client) -> None:
    blocks = _entries(("a", 1.0, 0.0, 1000.0), ("a", 0.5, 0.0, 234.0))
    history = {"kind": "history", "channels": {"a": [0.0, 1.0, 0.0, 0.8, 0.0]}}
    for loading, cycles in ((blocks, "1234 cycles"), (history, "2 cycles")):
        target: dict[str, Any] = {"resistance_factor": 1.4}
        found = _check(client, _nominal({"a": [30.0]}, loading, target=target))
        said = next(each for each in found["findings"] if each["code"] == "one-pass-asked")
        assert said["severity"] == "caution"
        assert cycles in said["message"]
        found = _check(client, _nominal({"a": [30.0]}, loading, target=target | {"repeats": 2.0}))
        assert "one-pass-asked" not in _codes(found)
    constant = {"kind": "constant", "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e5}
    assert "one-pass-asked" not in _codes(_check(client, _nominal({"a": [30.0]}, constant)))

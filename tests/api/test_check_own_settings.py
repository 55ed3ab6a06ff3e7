"""Lines with curves, condition and material of their own: in one check each is judged as if it were checked alone."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from service import cli
from service.base.envelope import evaluate
from service.gate.check_rules import check_rules, line_rules, rule_changes
from service.report.renderers import render
from service.topics.check.models import CheckRequest
from service.topics.registry import find
from tests.api.test_command_line import LOOP_MAP, refused
from tests.api.test_map_histories import TABLE
from tests.api.test_properties_check import line, loading

WEAK, STRONG = "en-1993-1-9-2005-normal-36", "en-1993-1-9-2005-normal-112"
NORMAL = {"rule": "fixed", "curve": "en-1993-1-9-2005-normal-71", "shear_curve": "en-1993-1-9-2005-shear-80"}
ALUMINIUM = {"name": "aluminium-alloy"}
CURVES: dict[str, list[dict[str, Any] | None]] = {
    "peak-stress": [None, {"rule": "biaxiality"}, {"rule": "fixed", "curve": "peak-stress-opening"}],
    "nominal": [NORMAL, {**NORMAL, "curve": WEAK}, {**NORMAL, "shear_curve": "en-1993-1-9-2005-shear-100"}],
}
OWN = st.tuples(
    st.sampled_from(["peak-stress", "nominal"]),
    st.integers(0, 2),
    st.sampled_from([None, "as-welded", "stress-relieved"]),
    st.sampled_from([None, {}, ALUMINIUM, {"control_radius_mm": 0.2}]),
)


def run(request: dict[str, Any]) -> dict[str, Any]:
    calculation = find("check")
    assert calculation is not None
    return evaluate(calculation, request).envelope()


def heavy(findings: list[dict[str, Any]]) -> set[tuple[str, str]]:
    said = {"other-lines-undecided", "own-settings"}
    return {(each["code"], each["message"]) for each in findings if each["code"] not in said}


@settings(max_examples=25, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(
    seed=st.integers(0, 10**6),
    kind=st.sampled_from(["constant", "blocks", "history"]),
    own=st.lists(OWN, max_size=4, min_size=2),
)
def test_line_by_line_is_the_same_as_separate_checks(
    seed: int, kind: str, own: list[tuple[str, int, str | None, dict[str, Any] | None]]
) -> None:
    random = np.random.default_rng(seed)
    common = {"loading": loading(random, kind), "target": {"survival_probability": 0.977}, "condition": "as-welded"}
    lines = []
    for place, (basis, curve, condition, material) in enumerate(own):
        settings_of_line = {"curves": CURVES[basis][curve], "condition": condition, "material": material}
        given_settings = {name: value for name, value in settings_of_line.items() if value is not None}
        lines.append({**line(random, basis), "name": f"weld {place}", **given_settings})
    together = run({**common, "lines": lines})
    alone = []
    for one in lines:
        bare = {name: value for name, value in one.items() if name not in ("curves", "condition", "material")}
        whole = {name: one[name] for name in ("curves", "condition", "material") if name in one}
        alone.append(run({**common, **whole, "lines": [bare]}))
    assert together["answer"]["lines"] == [each["answer"]["lines"][0] for each in alone]
    for one, by_itself in zip(lines, alone, strict=True):
        said = heavy([each for each in together["findings"] if each["line"] in (one["name"], None)])
        of_point = {"one-pass-asked", "cycle-definitions-differ", "not-proportional", "path-count-left-out"}
        missing = heavy(by_itself["findings"]) - said
        assert {code for code, _ in missing} <= {
            *of_point,
            "settings-not-used",
            "control-radius-not-used",
            "load-case-small",
        }
    verdicts = [each["answer"]["verdict"] for each in alone]
    assert together["answer"]["verdict"] == next(word for word in ("fail", "undecided", "pass") if word in verdicts)
    worst = together["answer"]["governing"]["line"]
    used = {each["name"]: each["governing_utilisation"] for each in together["answer"]["lines"]}
    assert used[worst] == pytest.approx(max(used.values()), rel=1e-6)
    governing = next(each["answer"] for each in alone if each["answer"]["governing"]["line"] == worst)
    for name in ("curve", "damage", "damage_limit", "utilisation", "life_cycles", "factor_to_limit"):
        assert together["answer"][name] == governing[name]


def plain(name: str, stress: float = 60.0, **more: Any) -> dict[str, Any]:
    cases = {"pull": {"normal_mpa": [stress, 0.9 * stress]}}
    return {"name": name, "basis": "nominal", "position_mm": [0.0, 5.0], "cases": cases, **more}


def nominal(*lines: dict[str, Any], **more: Any) -> dict[str, Any]:
    cycling = {"kind": "constant", "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e6}
    return {
        "lines": list(lines),
        "loading": cycling,
        "curves": {"rule": "fixed", "curve": STRONG},
        "target": {"resistance_factor": 1.35},
        **more,
    }


def test_a_weaker_curve_of_a_line_is_never_replaced_by_that_of_the_check() -> None:
    weak = plain("weak", curves={"rule": "fixed", "curve": WEAK})
    found = run(nominal(plain("strong", 70.0), weak))
    answer = found["answer"]
    assert [each["verdict"] for each in answer["lines"]] == ["pass", "fail"]
    assert [each["curve"] for each in answer["lines"]] == [STRONG, WEAK]
    assert (answer["governing"]["line"], answer["curve"], answer["deciding_lines"]) == ("weak", WEAK, ["weak"])
    own = [each for each in found["findings"] if each["code"] == "own-settings"]
    assert [each["line"] for each in own] == ["weak"]


def test_damage_limits_stand_with_the_lines(client: httpx.Client) -> None:
    """The documents of the curves state different limits."""
    pair = {"rule": "biaxiality"}
    peaks = {"pull": {"peaks_mpa": {"opening": [60.0, 50.0]}}}
    toe = {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 8.0}
    mesh = {"element": "quad4", "element_size_mm": 1.0}
    own = {"name": "toe", "position_mm": [0.0, 5.0], "cases": peaks, "notch": toe, "mesh": mesh, "curves": pair}
    block = {"factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e5}
    request = nominal(plain("plate"), own, loading={"kind": "blocks", "blocks": [block, block]})
    answer = run(request)["answer"]
    limits = [each["damage_limit"] for each in answer["lines"]]
    assert limits == [1.0, 0.5]
    assert (
        answer["damage_limit"] == limits[[each["name"] for each in answer["lines"]].index(answer["governing"]["line"])]
    )
    table = client.post("/v1/check", json=request, headers={"accept": "text/csv"}).text.splitlines()
    at = table[0].split(",").index("damage_limit")
    assert [float(row.split(",")[at]) for row in table[1:]] == [1.0, 1.0, 0.5, 0.5]


def test_what_no_line_uses_of_the_check_is_said() -> None:
    own = {"curves": {"rule": "fixed", "curve": WEAK}, "condition": "stress-relieved", "material": {}}
    found = run(nominal(plain("a", **own), plain("b", **own), condition="as-welded", material={}))
    idle = [each["field"] for each in found["findings"] if each["code"] == "settings-not-used"]
    assert idle == ["curves", "condition", "material"]
    found = run(nominal(plain("a", **own), plain("b"), condition="as-welded", material={}))
    assert "settings-not-used" not in {each["code"] for each in found["findings"]}


def test_lines_of_equal_settings_share_their_findings() -> None:
    own = {"curves": {"rule": "fixed", "curve": WEAK}}
    found = run(nominal(plain("a", **own), plain("b"), plain("c", **own)))
    of_weak = [
        each["line"] for each in found["findings"] if each["code"] == "curve-holds-for" and WEAK in each["message"]
    ]
    assert of_weak == ["a", "c"]


def test_undecided_lines_of_every_curve_are_named_together() -> None:
    other = {"curves": {"rule": "fixed", "curve": "peak-stress-opening"}}
    found = run(nominal(plain("a", **other), plain("b", material={"name": "unobtainium"}), plain("c", 100.0)))
    (said,) = [each for each in found["findings"] if each["code"] == "other-lines-undecided"]
    assert said["message"].endswith(": a, b")


def test_a_radius_that_the_basis_of_a_line_does_not_use_is_said() -> None:
    found = run(nominal(plain("a", material={"control_radius_mm": 0.2}), plain("b")))
    (said,) = [each for each in found["findings"] if each["code"] == "control-radius-not-used"]
    assert (said["line"], said["message"]) == ("a", "the nominal basis does not use the control radius")


REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "unknown curve": ({"curves": {"rule": "fixed", "curve": "none"}}, "/lines/1/curves/curve"),
    "rule of another basis": ({"curves": {"rule": "biaxiality"}}, "/lines/1/basis"),
    "unknown key": ({"curves": {"rule": "fixed", "curve": WEAK, "colour": 1}}, "/lines/1/curves/colour"),
    "unknown condition": ({"condition": "painted"}, "/lines/1/condition"),
    "material against its family": (
        {"material": {"name": "structural-steel", "material_family": "aluminium"}},
        "/lines/1/material/material_family",
    ),
    "a correction that does not fit": (
        {"curves": {"rule": "fixed", "curve": WEAK, "corrections": [{"kind": "partial-factor", "consequence": "low"}]}},
        "/lines/1/curves",
    ),
    "case that is missing": (
        {"cases": {"push": {"normal_mpa": [1.0, 2.0]}}, "condition": "as-welded"},
        "/lines/1/cases",
    ),
    "name of another": ({"name": "a", "condition": "as-welded"}, "/lines/1/name"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_refused_points_at_the_line(client: httpx.Client, case: str) -> None:
    own, where = REFUSED[case]
    answer = client.post("/v1/check", json=nominal(plain("a"), plain("b") | own))
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"].startswith(where), answer.json()


def test_a_material_without_a_radius_points_at_the_line(client: httpx.Client) -> None:
    root = {**line(np.random.default_rng(0), "peak-stress"), "material": {"name": "unobtainium"}}
    body = {"lines": [root], "loading": loading(np.random.default_rng(0), "constant")}
    assert client.post("/v1/check", json=body).json()["errors"][0]["pointer"].startswith("/lines/0/material")


def test_own_settings_are_rules_of_a_gate() -> None:
    own = {"curves": {"rule": "fixed", "curve": WEAK}, "condition": "stress-relieved", "material": {"name": "s355"}}
    envelopes = [run(nominal(plain("a"), plain("b", **more))) for more in ({}, own)]
    requests = [CheckRequest.model_validate(nominal(plain("a"), plain("b", **more))) for more in ({}, own)]
    commons = [check_rules(*pair) for pair in zip(requests, envelopes, strict=True)]
    assert not [change for change in rule_changes(*commons) if "tables" not in change]
    rules = [
        line_rules(request.lines[1], envelope["answer"]["lines"][1])
        for request, envelope in zip(requests, envelopes, strict=True)
    ]
    changed = [change.split(" ")[2] for change in rule_changes(*rules)]
    assert changed == ["condition", "curves", "damage_limit", "material"]


def test_the_common_damage_limit_is_that_of_lines_without_curves_of_their_own() -> None:
    own = {"curves": {"rule": "fixed", "curve": WEAK}}
    request = nominal(plain("a", **own), plain("b"))
    model = CheckRequest.model_validate(request)
    assert check_rules(model, run(request))["target"]["damage_limit"] == 1.0
    request = nominal(plain("a", **own))
    model = CheckRequest.model_validate(request)
    assert check_rules(model, run(request))["target"]["damage_limit"] is None


def test_the_report_shows_what_lines_have_for_themselves() -> None:
    calculation = find("check")
    assert calculation is not None
    own = {"curves": {"rule": "fixed", "curve": WEAK}, "condition": "stress-relieved", "material": {"name": "s355"}}
    found = evaluate(calculation, nominal(plain("a"), plain("b", **own)))
    page = render("check", found.request, found.envelope())
    for shown in ("of their own are judged by these", f"curve {WEAK}", "s355", "Unless a line has its own"):
        assert shown in page, shown
    found = evaluate(calculation, nominal(plain("a")))
    assert "of their own" not in render("check", found.request, found.envelope())


def test_growth_goes_by_the_condition_and_the_material_of_its_line() -> None:
    example = json.loads((Path(__file__).parents[2] / "openapi_examples/check/bracket-toe-growth.json").read_text())[
        "request"
    ]
    name = example["growth"]["line"]
    common, own = copy.deepcopy(example), copy.deepcopy(example)
    changed = {"condition": "stress-relieved", "material": {"name": "aluminium-alloy"}}
    common |= changed
    for each in own["lines"]:
        if each["name"] == name:
            each |= changed
    found = [run(each)["answer"]["growth"] for each in (common, own)]
    assert found[0] == found[1]


def test_rules_of_a_map_give_lines_settings_of_their_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = 'match = "*"\ncondition = "stress-relieved"\nmaterial = { name = "s355", control_radius_mm = 0.28 }\n'
    own += 'curves = { rule = "fixed", curve = "peak-stress-shear" }\n'
    told = LOOP_MAP.replace('match = "*"\n', own)
    assert refused(tmp_path, told, TABLE) == 0
    (made,) = json.loads(capsys.readouterr().out)["lines"]
    assert made["condition"] == "stress-relieved"
    assert made["material"] == {"name": "s355", "control_radius_mm": 0.28}
    assert made["curves"] == {"rule": "fixed", "curve": "peak-stress-shear"}
    assert refused(tmp_path, told.replace('"peak-stress-shear"', '"none"'), TABLE) == 2
    assert "/lines/0/curves/curve" in capsys.readouterr().err
    (tmp_path / "request.json").write_text(json.dumps({}), encoding="utf-8")
    assert cli.main(["check", str(tmp_path / "request.json")]) == 2

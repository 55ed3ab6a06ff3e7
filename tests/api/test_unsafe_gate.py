"""What could slip past a gate unseen: loosened rules, emptied files, shortened lines, numbers that moved."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.cli import main
from service.gate.baseline import seal
from tests.api.test_gate import request, write

Change = Callable[[dict[str, Any]], None]
HISTORY = {
    "kind": "history",
    "channels": {"vertical": [0.0, 12.0, 0.0, 6.0, 0.0], "lateral": [0.0, 1.0, 0.0, -1.0, 0.0]},
    "repeats": 100_000.0,
}
OWN = {
    "name": "plant curve",
    "range_mpa": [156.0],
    "life_cycles": [2e6],
    "slopes": [3.0],
    "survival_probability": 0.977,
}
GROWTH = {
    "line": "toe A",
    "path": {"distance_mm": [0.0, 8.0], "cases": {"vertical": [4.0, 1.0]}},
    "crack": {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 8.0},
    "law": {"name": "bs7910-2013/air-mean"},
    "end": {"depth_mm": 4.0, "cycles": 1e9},
}


def full(**more: Any) -> dict[str, Any]:
    """A check with two load cases and all that can be a rule said in full."""
    given = request(
        target={"survival_probability": 0.977, "damage_limit": 0.5, "repeats": 0.5, "load_factor": 1.0},
        curves={"rule": "biaxiality", "lower": 0.05, "upper": 0.5},
        **more,
    )
    for line in given["lines"]:
        line["cases"]["lateral"] = {"peaks_mpa": {"opening": [1.0, 1.0, 1.0], "tearing": [0.5, 0.5, 0.5]}}
    given["loading"]["factors"]["lateral"] = {"maximum": 1.0, "minimum": -1.0}
    return given


def put(path: str, value: Any) -> Change:
    """A change of one value by its dotted path."""

    def change(data: dict[str, Any]) -> None:
        *steps, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        for step in steps:
            data = data[step]  # type: ignore[index]
        data[last] = value  # type: ignore[index]

    return change


def drop(path: str) -> Change:
    """The removal of one entry by its dotted path."""

    def change(data: dict[str, Any]) -> None:
        *steps, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        for step in steps:
            data = data[step]  # type: ignore[index]
        del data[last]  # type: ignore[arg-type]

    return change


@pytest.fixture
def design(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A design repository with one check; the working directory is in it."""
    monkeypatch.chdir(tmp_path)
    store(full())
    return tmp_path


def store(content: Any, name: str = "hanger") -> None:
    """Writes a check, and the baseline with it; one of other rules is stored again."""
    write(Path(f"models/{name}.json"), content)
    why = ["--because", "the first state of a test"]
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline", *why]) == 0


def gate(capsys: pytest.CaptureFixture[str], *options: str) -> tuple[int, dict[str, Any]]:
    """Exit code and result of a run that compares."""
    capsys.readouterr()
    code = main(["gate", "models", "--baseline", "base.json", "--json", *options])
    return code, json.loads(capsys.readouterr().out)


def faults(result: dict[str, Any]) -> list[tuple[str, str]]:
    """Kind and text of every fault of a result."""
    found = []
    for check in result["checks"]:
        found += [(fault["kind"], fault["text"]) for fault in check["faults"]]
        for line in check["lines"]:
            found += [(fault["kind"], f"{line['name']}: {fault['text']}") for fault in line["faults"]]
    return found


def notes(result: dict[str, Any]) -> list[str]:
    """Everything that a result tells without failing."""
    found = list(result["notes"])
    for check in result["checks"]:
        found += check["notes"] + [note for line in check["lines"] for note in line["notes"]]
    return found


RULES: list[tuple[str, Change, str]] = [
    ("damage limit", put("target.damage_limit", 5.0), "target.damage_limit 0.5 -> 5.0"),
    ("damage limit, tightened", put("target.damage_limit", 0.3), "target.damage_limit 0.5 -> 0.3"),
    ("survival", put("target.survival_probability", 0.5), "target.survival_probability 0.977 -> 0.5"),
    ("survival left out", drop("target.survival_probability"), "target.survival_probability 0.977 -> none"),
    ("load factor", put("target.load_factor", 0.5), "target.load_factor 1.0 -> 0.5"),
    ("resistance factor", put("target.resistance_factor", 0.9), "target.resistance_factor 1.0 -> 0.9"),
    ("repeats", put("target.repeats", 0.1), "target.repeats 0.5 -> 0.1"),
    ("cycles of a pass", put("loading.cycles", 1e5), "loading.cycles 2000000.0 -> 100000.0"),
    (
        "case removed",
        drop("loading.factors.lateral"),
        'loading.cases ["lateral", "vertical"] -> ["vertical"]',
    ),
    ("own curve", put("curves.opening_curve", OWN), "curves.opening_curve peak-stress-opening -> {"),
    ("bound", put("curves.upper", 5.0), "curves.upper 0.5 -> 5.0"),
    ("rule of curves", put("curves", {"rule": "fixed", "curve": "peak-stress-shear"}), "curves.rule biaxi"),
    ("condition", put("condition", "stress-relieved"), "condition as-welded -> stress-relieved"),
    ("coefficients", put("coefficients", "published-fit"), "coefficients exact -> published-fit"),
    ("Poisson's ratio", put("material", {"poisson_ratio": 0.0}), "material.poisson_ratio 0.3 -> 0.0"),
    ("radius", put("material", {"control_radius_mm": 0.5}), "material.control_radius_mm 0.28 -> 0.5"),
    ("exclusion", put("lines.0.exclude_ends_mm", 1.0), "toe A: rules changed: exclude_ends_mm 0.0 -> 1.0"),
    (
        "mesh",
        put("lines.0.mesh.element_size_mm", 1.9),
        "toe A: rules changed: mesh.element_size_mm 2.0 -> 1.9",
    ),
    ("element", put("lines.0.mesh.element", "tet10"), "toe A: rules changed: mesh.element quad4 -> tet10"),
    ("notch", put("lines.1.notch.kind", "root"), "toe B: rules changed: notch.kind toe -> root"),
    ("angle", put("lines.1.notch.opening_angle_deg", 120.0), "notch.opening_angle_deg 135.0 -> 120.0"),
    (
        "notch size",
        put("lines.1.notch.notch_size_mm", 20.0),
        "toe B: rules changed: notch.notch_size_mm 8.0 -> 20.0",
    ),
    ("averaging", put("lines.0.average_over", 3), "toe A: rules changed: average_over 1 -> 3"),
    ("closed", put("lines.0.closed", True), "toe A: rules changed: closed false -> true"),
    (
        "coordinates",
        put("lines.0.coordinates_mm", [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [20.0, 0.0, 0.0]]),
        'toe A: rules changed: geometry [] -> ["coordinates_mm"]',
    ),
    (
        "column dropped",
        drop("lines.0.cases.lateral.peaks_mpa.tearing"),
        "toe A: rules changed: cases.lateral peaks_mpa opening tearing -> peaks_mpa opening",
    ),
]


@pytest.mark.parametrize(("change", "text"), [row[1:] for row in RULES], ids=[row[0] for row in RULES])
def test_changed_rule_is_shown_and_fails(
    design: Path, capsys: pytest.CaptureFixture[str], change: Change, text: str
) -> None:
    given = full()
    change(given)
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    assert code == 1
    assert [shown for kind, shown in faults(result) if kind == "rules" and text in shown], faults(result)


HISTORY_RULES: list[tuple[Change, str]] = [
    (put("loading.repeats", 10.0), "loading.repeats 100000.0 -> 10.0"),
    (put("loading.residue", "half"), "loading.residue closed -> half"),
    (put("loading.cycles", "independent"), "loading.cycles governing -> independent"),
    (drop("loading.channels.lateral"), 'loading.cases ["lateral", "vertical"] -> ["vertical"]'),
    (
        put("loading.channels", {"vertical": [0.0, 12.0, 0.0], "lateral": [0.0, 1.0, 0.0]}),
        "loading.samples 5 -> 3",
    ),
    (
        put(
            "loading",
            {
                "kind": "blocks",
                "blocks": [{"factors": {"vertical": {"maximum": 1, "minimum": 0}}, "cycles": 1}],
            },
        ),
        "loading.kind history -> blocks",
    ),
]


@pytest.mark.parametrize(("change", "text"), HISTORY_RULES, ids=[text for _, text in HISTORY_RULES])
def test_changed_rule_of_a_history_is_shown_and_fails(
    design: Path, capsys: pytest.CaptureFixture[str], change: Change, text: str
) -> None:
    given = {**full(), "loading": copy.deepcopy(HISTORY)}
    store(given)
    change(given)
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    assert code == 1
    assert [shown for kind, shown in faults(result) if kind == "rules" and text in shown], faults(result)


GROWTH_RULES: list[tuple[Change, str]] = [
    (put("growth", None), "growth {"),
    (put("growth.law.name", "bs7910-2013/air-upper"), "growth.law.name bs7910-2013/air-mean -> bs7910"),
    (put("growth.end.depth_mm", 6.0), "growth.end.depth_mm 4.0 -> 6.0"),
    (put("growth.crack.depth_mm", 0.1), "growth.crack.depth_mm 0.5 -> 0.1"),
    (put("growth.path.distance_mm", [0.0, 7.0]), "growth.path_end_mm 8.0 -> 7.0"),
]


@pytest.mark.parametrize(("change", "text"), GROWTH_RULES, ids=[text for _, text in GROWTH_RULES])
def test_changed_rule_of_a_crack_is_shown(change: Change, text: str) -> None:
    from service.gate.check_rules import check_rules, rule_changes
    from service.topics.check.models import CheckRequest

    given = {**full(), "growth": copy.deepcopy(GROWTH)}
    envelope = {"answer": {}, "record": {"tables": {}}}
    before = check_rules(CheckRequest.model_validate(given), envelope)
    change(given)
    now = check_rules(CheckRequest.model_validate(given), envelope)
    assert [shown for shown in rule_changes(before, now) if text in shown]


def test_damage_limit_that_was_used_is_the_rule(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Left open it is that of the curve's document and loading; said in full it is the same rule."""
    given = full()
    given["target"]["damage_limit"] = None
    store(given)
    kept = json.loads(Path("base.json").read_text())["checks"]["models/hanger.json"]["rules"]["target"]
    assert kept["damage_limit"] == 1.0  # constant amplitude
    given["target"]["damage_limit"] = 1.0
    write(Path("models/hanger.json"), given)
    assert gate(capsys)[0] == 0
    given["target"]["damage_limit"] = None
    factors = given["loading"]["factors"]
    small = {"vertical": {"maximum": 1.0, "minimum": 0.0}, "lateral": {"maximum": 0.0, "minimum": 0.0}}
    blocks = [{"factors": factors, "cycles": 1e6}, {"factors": small, "cycles": 1e6}]
    given["loading"] = {"kind": "blocks", "blocks": blocks}
    write(Path("models/hanger.json"), given)
    texts = [text for kind, text in faults(gate(capsys)[1]) if kind == "rules"]
    assert "rules changed: target.damage_limit 1.0 -> 0.5" in texts


def test_loads_and_stresses_are_no_rules(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["loading"]["factors"]["vertical"] = {"maximum": 11.0, "minimum": 0.5}
    given["lines"][0]["cases"]["vertical"]["peaks_mpa"]["opening"] = [4.0, 5.9, 5.0]
    given["lines"][0]["position_mm"] = [0.0, 11.0, 20.0]
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    assert (code, faults(result)) == (0, [])


def test_figure_of_an_own_curve_is_a_rule(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full() | {"curves": {"rule": "fixed", "curve": OWN}})
    write(Path("models/hanger.json"), full() | {"curves": {"rule": "fixed", "curve": {**OWN, "slopes": [5.0]}}})
    code, result = gate(capsys)
    assert code == 1
    assert ("rules", "rules changed: curves.curve.slopes [3.0] -> [5.0]") in faults(result)


@pytest.mark.parametrize("route", ["curves/life", "curves/strength", "spectrum/damage"])
def test_own_curve_bears_no_id_of_the_catalogue_in_any_route(client: httpx.Client, route: str) -> None:
    bodies = {
        "curves/life": {"stress_range_mpa": [100.0]},
        "curves/strength": {"life_cycles": [1e6]},
        "spectrum/damage": {"range_mpa": [100.0], "count": [1e5], "loading": "constant"},
    }
    own = {**OWN, "name": "peak-stress-opening"}
    answer = client.post(f"/v1/{route}", json={**bodies[route], "curve": own})
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/curve/name"]


@pytest.mark.parametrize("name", ["peak-stress-opening", "Peak-Stress-Opening ", "iiw-2016-normal-steel-80"])
def test_own_curve_bears_no_id_of_the_catalogue(design: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/hanger.json"), full() | {"curves": {"rule": "fixed", "curve": {**OWN, "name": name}}})
    code, result = gate(capsys)
    assert code == 2
    assert "/curves/curve/name" in result["checks"][0]["error"]


def test_other_figures_of_a_table_are_rules(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored = json.loads(Path("base.json").read_text())
    tables = stored["checks"]["models/hanger.json"]["rules"]["tables"]
    name = sorted(tables)[0]
    tables[name] = "rev 0 sha256:0"
    write(Path("base.json"), seal(stored))
    code, result = gate(capsys)
    assert code == 1
    assert [text for kind, text in faults(result) if f"tables.{name} rev 0 sha256:0 -> rev " in text]


EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-toe-growth.json"


def test_crack_that_does_not_last_fails_as_a_whole_and_is_never_accepted(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("models/hanger.json").unlink()
    Path("base.json").unlink()
    given = json.loads(EXAMPLE.read_text(encoding="utf-8"))["request"]
    store(given, "crack")
    given["growth"]["crack"] |= {"depth_mm": 1.0}
    write(Path("models/crack.json"), given)
    assert [note for note in notes(gate(capsys)[1]) if note.startswith("the life of the crack is shorter: ")]
    given["growth"]["crack"] |= {"depth_mm": 2.5, "half_length_mm": 20.0}
    write(Path("models/crack.json"), given)
    code, result = gate(capsys)
    (text,) = [text for kind, text in faults(result) if kind == "limit"]
    assert (code, text.startswith("the crack at line ")) == (1, True)
    assert (
        main(
            [
                "gate",
                "models",
                "--baseline",
                "base.json",
                "--accept",
                "models/crack.json",
                "--because",
                "it holds",
            ]
        )
        == 2
    )


def test_infinite_crack_that_grows_now_is_shown(design: Path) -> None:
    """No life stands for an infinite one: any number is shorter."""
    from service.gate.baseline import StoredCheck
    from service.gate.result import Limits
    from service.gate.rules import compare_line
    from tests.api.test_gate import answer_of

    answer = answer_of(design)
    rules = {**answer.rules, "growth": {"line": "toe A"}}
    before = StoredCheck(
        title="hanger",
        verdict="pass",
        crack_life_repeats=None,
        load_reach=answer.load_reach,
        load_digest=answer.load_digest,
        load_figures=answer.load_figures,
        rules=rules,
        lines={},
    )
    found = compare_line(replace(answer, rules=rules, crack_life_repeats=5e4), before, Limits())
    assert found.notes == ("the life of the crack is shorter: infinite -> 50,000 repeats",)
    assert not compare_line(replace(answer, rules=rules), before, Limits()).notes


# --- a file that the baseline knows holds a check


@pytest.mark.parametrize(
    "content",
    [
        {},
        [],
        None,
        {"check": full()},
        [full()],
        {"request": full()},
        {"calculation": "stress/peak", "request": {}},
    ],
    ids=["empty", "list", "null", "wrapped", "in a list", "no calculation", "another calculation"],
)
def test_known_file_without_a_check_is_refused(design: Path, content: Any, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/second.json"), full())
    write(Path("models/hanger.json"), content)
    for names in (["models"], ["models/*.json"], ["models/hanger.json", "models/second.json"]):
        assert main(["gate", *names, "--baseline", "base.json"]) == 2
        assert main(["gate", *names, "--baseline", "base.json", "--write-baseline"]) == 2


@pytest.mark.parametrize(
    "content", [{"check": full()}, [full()], {"calculation": "chek", "request": full()}, {"request": full()}]
)
def test_new_file_that_wraps_a_check_is_refused(design: Path, content: Any) -> None:
    write(Path("models/second.json"), content)
    assert main(["gate", "models"]) == 2


def test_folder_that_became_a_link_hides_no_check(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/deep/second.json"), full())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    Path("models/deep").rename("elsewhere")
    Path("models/deep").symlink_to("../elsewhere", target_is_directory=True)
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] = 13.0
    write(Path("elsewhere/second.json"), given)
    code, result = gate(capsys)
    assert code == 1
    assert [check["check"] for check in result["checks"]] == ["models/deep/second.json", "models/hanger.json"]


def test_file_named_twice_is_one_check(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    names = ["models", "./models/../models/hanger.json", str(design / "models" / "hanger.json")]
    assert main(["gate", *names, "--baseline", "base.json", "--json"]) == 0
    assert [check["check"] for check in json.loads(capsys.readouterr().out)["checks"]] == ["models/hanger.json"]


def test_checks_that_were_not_run_are_counted_in_the_verdict(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full(), "second")
    capsys.readouterr()
    assert main(["gate", "models/s*.json", "--baseline", "base.json"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert shown.endswith("1 check of the baseline not run (limit 1, growth up to 0 % above 0.5)")


# --- numbers that moved


def moved_baseline(factor: float) -> None:
    stored = json.loads(Path("base.json").read_text())
    stored["checks"]["models/hanger.json"]["lines"]["toe A"]["utilisation"] *= factor
    write(Path("base.json"), seal(stored))


def test_smaller_number_of_the_same_input_is_shown(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moved_baseline(1.001)
    code, result = gate(capsys)
    assert code == 0
    assert [note for note in notes(result) if note.endswith("so the calculation has changed")]


def test_growth_within_the_allowance_of_the_same_input_is_shown(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    moved_baseline(0.999)
    code, result = gate(capsys, "--growth-pct", "2")
    assert code == 0
    assert [note for note in notes(result) if note.endswith("so the calculation has changed")]


def test_limits_of_the_run_stand_beside_its_verdict(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    main(["gate", "models", "--baseline", "base.json", "--growth-pct", "30", "--growth-floor", "0.9"])
    assert capsys.readouterr().out.endswith("(limit 1, growth up to 30 % above 0.9)\n")


def test_new_title_does_not_make_the_input_another_one(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moved_baseline(1.001)
    write(Path("models/hanger.json"), full() | {"title": "hanger, second issue"})
    code, result = gate(capsys)
    assert (code, len(notes(result))) == (0, 2)
    assert notes(result)[0] == "the title changed: 'hanger' -> 'hanger, second issue'"
    assert notes(result)[1].endswith("so the calculation has changed")


def test_new_title_alone_is_told_and_passes(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/hanger.json"), full() | {"title": "x"})
    code, result = gate(capsys)
    assert (code, notes(result)) == (0, ["the title changed: 'hanger' -> 'x'"])


def test_number_that_fell_far_is_shown(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] = 6.0
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    assert code == 0
    assert len([note for note in notes(result) if "fell far" in note]) == 2


@pytest.mark.parametrize(("before", "told"), [(1.24, False), (1.26, True)])
def test_fall_of_a_fifth_is_the_bound(
    design: Path, capsys: pytest.CaptureFixture[str], before: float, told: bool
) -> None:
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] *= 1.0 - 1e-9  # another input, the same number
    write(Path("models/hanger.json"), given)
    moved_baseline(before)
    code, result = gate(capsys)
    assert (code, any("fell far" in note for note in notes(result))) == (0, told)


@pytest.mark.parametrize(("length_mm", "told"), [(20.1, False), (20.3, True)])
def test_line_shorter_by_a_hundredth_is_the_bound(
    design: Path, capsys: pytest.CaptureFixture[str], length_mm: float, told: bool
) -> None:
    text = Path("base.json").read_text().replace('"length_mm": 20.0', f'"length_mm": {length_mm}')
    write(Path("base.json"), seal(json.loads(text)))
    assert any("is shorter" in note for note in notes(gate(capsys)[1])) is told


def test_line_that_lost_its_worst_station_is_shown(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    line = given["lines"][0]
    line["position_mm"] = [0.0, 10.0]
    line["cases"]["vertical"]["peaks_mpa"]["opening"] = [4.0, 4.0]
    line["cases"]["lateral"]["peaks_mpa"] = {"opening": [1.0, 1.0], "tearing": [0.5, 0.5]}
    write(Path("models/hanger.json"), given)
    code, result = gate(capsys)
    assert code == 0
    assert "the line is shorter: 20 -> 10 mm" in notes(result)
    assert "the line has fewer stations: 3 -> 2" in notes(result)
    assert any("fell far" in note for note in notes(result))


def test_growth_below_the_floor_is_told_only(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    small = full()
    small["loading"]["factors"]["vertical"]["maximum"] = 1.2
    store(small)
    small["loading"]["factors"]["vertical"]["maximum"] = 1.8
    write(Path("models/hanger.json"), small)
    code, result = gate(capsys)
    assert code == 0
    assert len([note for note in notes(result) if "fails nothing up to 0.5" in note]) == 2
    assert gate(capsys, "--growth-floor", "0")[0] == 1


def test_growth_at_the_floor_itself_passes(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moved_baseline(0.9)
    _, result = gate(capsys)
    now = repr(result["checks"][0]["lines"][0]["now"]["utilisation"])
    assert gate(capsys, "--growth-floor", now)[0] == 0
    assert gate(capsys, "--growth-floor", repr(float(now) * 0.999))[0] == 1


def test_other_calculation_is_told(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = Path("base.json").read_text().replace('"calculation": "revision ', '"calculation": "revision 9')
    write(Path("base.json"), seal(json.loads(text)))
    _, result = gate(capsys)
    assert [note for note in notes(result) if note.startswith("the baseline was calculated by revision 9")]


def test_gravest_comes_first(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(full(), "a-second")
    given = full()
    given["target"]["damage_limit"] = 0.4
    write(Path("models/a-second.json"), given)
    over = full()
    over["loading"]["factors"]["vertical"]["maximum"] = 60.0
    write(Path("models/hanger.json"), over)
    capsys.readouterr()
    main(["gate", "models", "--baseline", "base.json"])
    shown = capsys.readouterr().out.splitlines()
    assert shown[0].startswith("models/hanger.json, toe A: utilisation ")
    assert "is above the limit 1" in shown[0]
    assert [line.split()[0] for line in shown if "FAILED" in line][:1] == ["models/hanger.json"]

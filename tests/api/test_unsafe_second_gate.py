"""Ways past a gate: near copies, renamed lines, failed states stored."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from service.cli import main
from tests.api.test_gate import write
from tests.api.test_unsafe_gate import faults, gate, notes

SHAPE = (4.0, 4.4, 5.1, 5.9, 6.3, 6.6, 6.2, 5.7, 5.0, 4.6, 4.1)
KEY = "models/check.json"


def line(name: str, scale: float = 1.0, **more: Any) -> dict[str, Any]:
    """A weld line of eleven stations."""
    kind = more.pop("kind", "toe")
    return {
        "name": name,
        "notch": {"kind": kind, "opening_angle_deg": 135.0 if kind == "toe" else 0.0, "notch_size_mm": 8.0},
        "mesh": {"element": "brick8", "element_size_mm": 2.0},
        "position_mm": [2.0 * place for place in range(len(SHAPE))],
        "cases": {"vertical": {"peaks_mpa": {"opening": [scale * value for value in SHAPE]}}},
        **more,
    }


def check(*lines: dict[str, Any], load: float = 12.0, **more: Any) -> dict[str, Any]:
    """A check of some lines under constant load."""
    factors = {"vertical": {"maximum": load, "minimum": 0.0}}
    loading = {"kind": "constant", "factors": factors, "cycles": 2_000_000.0}
    return {"title": "bracket", "lines": list(lines), "loading": loading, **more}


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def put(content: dict[str, Any], key: str = KEY) -> None:
    write(Path(key), content)


def stored(**files: dict[str, Any]) -> None:
    """Writes checks by the names of their files, and the baseline with them."""
    for name, content in files.items():
        put(content, f"models/{name}.json")
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0


def at(result: dict[str, Any], name: str, key: str | None = None) -> dict[str, Any]:
    """A line of a result."""
    (found,) = (
        entry
        for part in result["checks"]
        for entry in part["lines"]
        if entry["name"] == name and key in {None, part["check"]}
    )
    return found


# --- lines that became the same as another one


def stresses(given: dict[str, Any]) -> list[float]:
    values: list[float] = given["cases"]["vertical"]["peaks_mpa"]["opening"]
    return values


def reversed_line(given: dict[str, Any]) -> None:
    stresses(given).reverse()
    given["position_mm"] = [20.0 - value for value in reversed(given["position_mm"])]


def one_more_station(given: dict[str, Any]) -> None:
    given["position_mm"].append(22.0)
    stresses(given).append(3.9)


def scaled(factor: float, *places: int) -> Callable[[dict[str, Any]], None]:
    def change(given: dict[str, Any]) -> None:
        values = stresses(given)
        for place in places or range(len(values)):
            values[place] *= factor

    return change


DISGUISES: dict[str, Callable[[dict[str, Any]], None]] = {
    "bytes": lambda given: None,
    "one figure by a rounding": scaled(1.0 + 4e-16, 5),
    "one figure by 1e-5": scaled(1.0 + 1e-5, 5),
    "all figures by 1e-7": scaled(1.0 + 1e-7),
    "signs turned": scaled(-1.0),
    "positions shifted": lambda given: given.update(position_mm=[5.0 + v for v in given["position_mm"]]),
    "nodes added": lambda given: given.update(node_id=list(range(11))),
    "reversed": reversed_line,
    "one more station": one_more_station,
    "one station changed": scaled(0.8, 10),
}


@pytest.mark.uncounted
@pytest.mark.parametrize("disguise", DISGUISES.values(), ids=DISGUISES)
@pytest.mark.parametrize("files", [1, 2])
def test_line_that_became_nearly_the_same_as_another_fails(
    bare: Path, capsys: pytest.CaptureFixture[str], disguise: Callable[[dict[str, Any]], None], files: int
) -> None:
    left, right = line("toe", 0.8), line("root", 1.2 * 0.8, kind="toe")
    copied = {**copy.deepcopy(left), "name": "root"}
    disguise(copied)
    if files == 1:
        stored(check=check(left, right))
        put(check(left, copied))
        twin = "toe"
    else:
        stored(left=check(left), right=check(right))
        put(check(copied), "models/right.json")
        twin = "models/left.json, toe"
    code, result = gate(capsys)
    text = f"root: holds the same as {twin}; the baseline has different lines for these names"
    assert (code, ("vanished", text) in faults(result)) == (1, True)
    assert main(["gate", "models", "--baseline", "base.json", "--junit", "junit.xml"]) == 1
    told = [failure.attrib["message"] for failure in ET.parse("junit.xml").getroot().iter("failure")]
    assert any(text.removeprefix("root: ") in message for message in told)


def test_line_that_became_the_same_as_one_not_in_this_run_fails(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(left=check(line("toe", 0.8)), right=check(line("root", 0.96)))
    put(check(line("root", 0.8 * (1.0 + 1e-8))), "models/right.json")
    capsys.readouterr()
    assert main(["gate", "models/right.json", "--baseline", "base.json"]) == 1
    assert "holds the same as models/left.json, toe" in capsys.readouterr().out


def test_files_of_equal_lines_whose_loads_became_nearly_the_same_fail(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [line("toe", 0.8), line("root", 0.7)]
    stored(left=check(*lines), right=check(*lines, load=13.0))
    put(check(*lines, load=12.0 * (1.0 + 1e-8)), "models/right.json")
    code, result = gate(capsys)
    text = "holds the same as models/left.json; the baseline has different checks for these names"
    assert (code, ("vanished", text) in faults(result)) == (1, True)


def test_lines_that_were_the_same_before_may_change_together(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("left", 0.8), line("right", 0.8 * 1.0001), line("other", 0.5)))
    put(check(line("left", 0.7), line("right", 0.7 * 1.0002), line("other", 0.4)))
    code, result = gate(capsys)
    assert (code, faults(result)) == (0, [])


def test_lines_that_differ_by_more_than_a_thousandth_are_two(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("left", 0.8), line("right", 0.9)))
    put(check(line("left", 0.8), line("right", 0.8 * 1.002)))
    assert gate(capsys)[0] == 0


def test_many_lines_are_compared_in_little_time(bare: Path) -> None:
    """All of a thousand lines changed, near each other in pairs: no pair of all is looked at."""
    from service.gate.alike import twins

    def state(scale: float) -> str:
        return " ".join(f"{scale * value:.6g}" for value in SHAPE)

    held = [twins._Held("k", str(n), state(1.01**n), state(1.01**n * 3.0)) for n in range(1000)]
    compared = 0

    def same(first: str, second: str, bound: float) -> bool:
        nonlocal compared
        compared += 1
        return twins._same_stresses(first, second, bound)

    found = twins._Twins(held, same, twins._largest)
    assert [entry for entry in held if found.of(entry)] == []
    assert compared < 20_000


# --- a failed state replaces nothing


def test_failed_state_is_never_stored_over_an_earlier_one(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    before = Path("base.json").read_bytes()
    put(check(line("toe", 1.6)))
    code, result = gate(capsys, "--write-baseline", "--because", "heavier load")
    assert (code, Path("base.json").read_bytes()) == (1, before)
    assert [note for note in notes(result) if note.startswith("not stored, the earlier state stays: toe: util")]
    assert not [note for note in notes(result) if "replaced in the baseline" in note]
    put(check(line("toe", 0.95)))
    assert [kind for kind, _ in faults(gate(capsys)[1])] == ["growth"]


def test_undecided_state_is_never_stored_over_an_earlier_one(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    before = Path("base.json").read_bytes()
    put(check(line("toe", 0.8, mesh={"element": "brick8", "element_size_mm": 30.0})))
    assert gate(capsys, "--write-baseline", "--because", "coarser mesh")[0] == 1
    assert Path("base.json").read_bytes() == before


def test_message_of_what_was_not_stored_is_in_every_form(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 1.6)))
    forms = ["--junit", "j.xml", "--markdown", "m.md", "--write-baseline"]
    capsys.readouterr()
    assert main(["gate", "models", "--baseline", "base.json", *forms]) == 1
    text = "not stored, the earlier state stays"
    assert all(text in shown for shown in (capsys.readouterr().out, *(Path(f).read_text() for f in ("j.xml", "m.md"))))


def test_good_check_is_stored_beside_one_that_fails(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)), other=check(line("toe", 0.7)))
    put(check(line("toe", 1.6)))
    put(check(line("toe", 0.6)), "models/other.json")
    assert gate(capsys, "--write-baseline")[0] == 1
    kept = json.loads(Path("base.json").read_text())["checks"]
    used = [kept[f"models/{name}.json"]["lines"]["toe"]["utilisation"] for name in ("check", "other")]
    assert used[0] / used[1] == pytest.approx(0.8 / 0.6)


LOOSER: dict[str, dict[str, Any]] = {
    "damage limit": {"target": {"damage_limit": 0.9}},
    "bound": {"curves": {"rule": "biaxiality", "lower": 0.4, "upper": 0.5}},
}


@pytest.mark.parametrize("looser", LOOSER.values(), ids=LOOSER)
def test_changed_rules_are_stored_with_a_reason_only(
    bare: Path, capsys: pytest.CaptureFixture[str], looser: dict[str, Any]
) -> None:
    stored(check=check(line("toe", 0.8), target={"damage_limit": 0.4}))
    before = Path("base.json").read_bytes()
    put(check(line("toe", 0.8), **{"target": {"damage_limit": 0.4}, **looser}))
    store = ["gate", "models", "--baseline", "base.json", "--write-baseline"]
    capsys.readouterr()
    assert main(store) == 2
    assert "--because TEXT: models/check.json: rules changed: " in capsys.readouterr().err
    assert main([*store, "--because", " "]) == 2
    assert Path("base.json").read_bytes() == before
    assert main([*store, "--because", "new rule of the plant"]) == 0
    code, result = gate(capsys)
    (entry,) = result["accepted"]
    assert (code, entry["because"], entry["check"]) == (0, "new rule of the plant", KEY)
    assert entry["changes"][0].startswith("rules changed: ")


def test_growth_is_stored_with_a_reason_only(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 0.9)))
    store = ["gate", "models", "--baseline", "base.json", "--write-baseline"]
    assert main(store) == 2
    assert main([*store, "--because", "heavier truck"]) == 0
    assert gate(capsys)[1]["accepted"][0]["changes"][0].startswith("toe: utilisation grew from ")


def test_reason_that_nothing_needs_is_not_kept_and_told(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    code, result = gate(capsys, "--write-baseline", "--because", "no change at all")
    assert (code, result["accepted"]) == (0, [])
    assert "the reason was not kept: nothing that was stored needs one" in notes(result)


# --- vanished and back


def test_line_that_comes_back_worse_is_compared_with_its_last_state(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    a, b = line("A", 0.8), line("B", 0.7)
    stored(check=check(a, b))
    put(check(a))
    assert gate(capsys, "--accept", f"{KEY}:B", "--because", "taken out of the design")[0] == 0
    put(check(a, line("B", 0.84)))
    code, result = gate(capsys)
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    assert at(result, "B")["growth_pct"] == pytest.approx(20.0)
    assert "the line is back: compared with its state before its vanishing was accepted" in notes(result)
    (told,) = result["accepted_texts"]
    assert told.endswith("; B is back)")
    assert gate(capsys, "--accept", f"{KEY}:B", "--because", "back with more load")[0] == 0
    assert gate(capsys)[0] == 0


def test_check_that_comes_back_worse_is_compared_with_its_last_state(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stored(check=check(line("A", 0.7)), other=check(line("C", 0.3, kind="root")))
    Path(KEY).unlink()
    assert gate(capsys, "--accept", KEY, "--because", "no longer built")[0] == 0
    put(check(line("A", 0.84), target={"damage_limit": 0.9}))
    code, result = gate(capsys)
    assert (code, {kind for kind, _ in faults(result)}) == (
        1,
        {"rules", "growth"} & {k for k, _ in faults(result)},
    )
    assert ("rules", "rules changed: target.damage_limit 1.0 -> 0.9") in faults(result)
    assert "the check is back: compared with its state before its vanishing was accepted" in notes(result)
    put(check(line("A", 0.84)))
    assert [kind for kind, _ in faults(gate(capsys)[1])] == ["growth"]
    assert gate(capsys, "--accept", f"{KEY}:A", "--because", "built again, heavier")[0] == 0
    assert gate(capsys)[0] == 0


@pytest.mark.parametrize("places", [False, True], ids=["positions", "coordinates"])
def test_renaming_all_lines_hides_no_growth(bare: Path, capsys: pytest.CaptureFixture[str], places: bool) -> None:
    def along(y_mm: float) -> dict[str, Any]:
        rows = [[2.0 * place, y_mm, 0.0] for place in range(len(SHAPE))]
        return {"coordinates_mm": rows} if places else {}

    stored(check=check(line("A", 0.8, **along(0.0)), line("B", 0.5, **along(90.0))))
    put(check(line("first", 0.96, **along(0.0)), line("second", 0.6, **along(90.0))))
    code, result = gate(capsys, "--accept-vanished", "--growth-floor", "0")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth", "growth"])
    by = "location" if places else "notch and length"
    assert f"compared with B, which is checked no more: the same {by}" in at(result, "second")["notes"]
    assert at(result, "first")["growth_pct"] == pytest.approx(20.0)


def test_new_line_at_another_place_is_new(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def along(y_mm: float) -> list[list[float]]:
        return [[2.0 * place, y_mm, 0.0] for place in range(len(SHAPE))]

    stored(check=check(line("A", 0.8, coordinates_mm=along(0.0)), line("B", 0.4, coordinates_mm=along(90.0))))
    other = line("C", 0.8, coordinates_mm=along(400.0))
    other["cases"]["vertical"]["peaks_mpa"]["opening"] = [5.0] * 10 + [3.0]
    put(check(line("A", 0.8, coordinates_mm=along(0.0)), other))
    code, result = gate(capsys, "--accept-vanished")
    assert (code, at(result, "C")["before"]) == (0, None)


@pytest.mark.parametrize("path", ["models/renamed.json", "models/deep/check.json"])
def test_renamed_file_and_moved_folder_hide_no_growth(
    bare: Path, capsys: pytest.CaptureFixture[str], path: str
) -> None:
    stored(check=check(line("A", 0.8)), other=check(line("C", 0.3, kind="root"), title="other"))
    Path(KEY).unlink()
    put(check(line("A", 0.9)), path)
    code, result = gate(capsys, "--accept-vanished")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    assert "compared with models/check.json, which is checked no more" in notes(result)


def test_failed_state_of_a_renamed_file_is_not_stored(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("A", 0.8)))
    before = Path("base.json").read_bytes()
    Path(KEY).rename("models/renamed.json")
    put(check(line("A", 1.6)), "models/renamed.json")
    assert gate(capsys, "--write-baseline")[0] == 1
    assert Path("base.json").read_bytes() == before


def test_other_file_continues_a_check_whose_vanishing_was_accepted(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Known by its stresses; another design that only shares names of lines is a new one."""
    stored(check=check(line("A", 0.8)), other=check(line("C", 0.3, kind="root"), title="other"))
    Path(KEY).unlink()
    assert gate(capsys, "--accept", KEY, "--because", "no longer built")[0] == 0
    run = ["--junit", "j.xml"]
    assert gate(capsys, *run)[0] == 0
    told = "".join(ET.parse("j.xml").getroot().itertext())
    assert "models/check.json: accepted because no longer built" in told
    put(check(line("A", 0.8), load=13.0, title="new title"), "models/second.json")
    code, result = gate(capsys)
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    other = line("A", 0.95)
    other["cases"]["vertical"]["peaks_mpa"]["opening"] = [5.0] * 10 + [3.0]
    put(check(other, title="new title"), "models/second.json")
    code, result = gate(capsys)
    assert (code, at(result, "A")["before"]) == (0, None)


def test_notes_of_the_run_are_in_the_junit_file(bare: Path) -> None:
    stored(check=check(line("A", 0.8)), other=check(line("A", 0.7)))
    assert main(["gate", KEY, "--baseline", "base.json", "--junit", "j.xml", "--stamp"]) == 0
    run = ET.parse("j.xml").getroot()[-1]
    assert (run.attrib["name"], run.attrib["tests"], "timestamp" in run.attrib) == ("run", "1", True)
    assert "models/other.json: in the baseline, but not among the files of this run" in "".join(run.itertext())


def test_many_twins_are_named_in_short(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = [f"line {place}" for place in range(5)]
    stored(check=check(*(line(name, 0.5 + 0.05 * place) for place, name in enumerate(names))))
    put(check(*(line(name, 0.5) for name in names)))
    _, result = gate(capsys)
    assert "line 4: holds the same as line 0, line 1, line 2 and others; the baseline" in str(faults(result))


# --- a line that is listed backwards


def tensor_line() -> dict[str, Any]:
    """A curved line with tensors, coordinates, tangents and bisectors that change along it."""
    angles = [math.radians(9.0 * place) for place in range(11)]
    radius = 2.0 / math.radians(9.0)
    zeros = [0.0] * 11
    sizes = [value / 2.0 for value in SHAPE]
    columns = {"xx": sizes, "yy": list(sizes), "zz": [0.4 * value for value in sizes]}
    columns |= {name: list(zeros) for name in ("xy", "yz", "zx")}
    given = line("toe")
    given["cases"] = {"vertical": {"tensors_mpa": columns}}
    given["coordinates_mm"] = [[radius * math.sin(a), radius * (1 - math.cos(a)), 0.0] for a in angles]
    chord = math.dist(*given["coordinates_mm"][:2])
    given["position_mm"] = [place * chord for place in range(11)]
    given["tangent"] = [[math.cos(a), math.sin(a), 0.0] for a in angles]
    given["bisector"] = [[-0.6 * math.sin(a), 0.6 * math.cos(a), 0.8] for a in angles]
    return given


def backwards(given: dict[str, Any], sign: float = 1.0) -> dict[str, Any]:
    turned = copy.deepcopy(given)
    end = turned["position_mm"][-1]
    turned["position_mm"] = [end - value for value in reversed(turned["position_mm"])]
    for column in turned["cases"]["vertical"]["tensors_mpa"].values():
        column.reverse()
    for name in ("coordinates_mm", "tangent", "bisector"):
        turned[name].reverse()
    turned["tangent"] = [[sign * part for part in vector] for vector in turned["tangent"]]
    return turned


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("places", [True, False])
def test_line_listed_backwards_has_not_turned(
    bare: Path, capsys: pytest.CaptureFixture[str], sign: float, places: bool
) -> None:
    given, turned = tensor_line(), backwards(tensor_line(), sign)
    if not places:
        del given["coordinates_mm"], turned["coordinates_mm"]
    stored(check=check(given))
    put(check(turned))
    code, result = gate(capsys)
    assert (code, faults(result), notes(result)) == (0, [], [])


def test_bisectors_alone_listed_backwards_have_turned(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = tensor_line()
    del given["coordinates_mm"]
    given["tangent"] = [[1.0, 0.0, 0.0]] * 11
    angles = [math.radians(4.0 * place) for place in range(11)]
    given["bisector"] = [[0.0, math.cos(angle), math.sin(angle)] for angle in angles]
    stored(check=check(given))
    given["bisector"].reverse()
    put(check(given))
    code, result = gate(capsys, "--growth-pct", "1000")
    assert (code, "directions turned by 40.0 deg" in str(faults(result))) == (1, True)


def test_shifted_positions_turn_nothing(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = tensor_line()
    stored(check=check(given))
    given["position_mm"] = [100.0 + value for value in given["position_mm"]]
    put(check(given))
    assert gate(capsys)[0] == 0


# --- lives of cracks


EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-toe-growth.json"


def test_life_of_a_crack_that_leaps_is_told(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = json.loads(EXAMPLE.read_text(encoding="utf-8"))["request"]
    stored(check=given)
    for stresses_mpa in given["growth"]["path"]["cases"].values():
        stresses_mpa[:] = [0.9 * value for value in stresses_mpa]
    put(given)
    code, result = gate(capsys)
    (told,) = [note for note in notes(result) if note.startswith("the life of the crack grew far: ")]
    assert code == 0
    assert told.endswith(": is all of the load and of the depth path still there?")


@pytest.mark.parametrize(
    ("now", "before", "text"),
    [
        (11020.0, 11020.001, None),
        (11000.0, 11000.2, "the life of the crack is shorter: 11,000.2 -> 11,000 repeats"),
        (119.0, 100.0, None),
        (121.0, 100.0, "the life of the crack grew far: 100 -> 121 repeats (+21 %): is all of the"),
        (None, 100.0, "the life of the crack grew far: 100 -> infinite repeats: is all of the"),
        (100.0, None, "the life of the crack is shorter: infinite -> 100 repeats"),
        (None, None, None),
        (5.0, 0.0, "the life of the crack grew far: 0 -> 5 repeats: is all"),
    ],
)
def test_lives_are_compared_with_a_tolerance(now: float | None, before: float | None, text: str | None) -> None:
    from service.gate.growth import life_changes

    told = list(life_changes(now, before, same_input=False))
    assert (told == []) if text is None else told[0].startswith(text)


def test_life_that_moved_though_the_input_did_not_blames_the_calculation() -> None:
    from service.gate.growth import life_changes

    end = "repeats; the input is the same, so the calculation has changed"
    assert list(life_changes(101.0, 100.0, same_input=True)) == [f"the life of the crack: 100 -> 101 {end}"]
    assert next(life_changes(99.0, 100.0, same_input=True)).endswith(end)
    assert next(life_changes(200.0, 100.0, same_input=True)).endswith("(+100 %); " + end.partition("; ")[2])


# --- numbers and names that are the same


def test_default_that_is_written_out_is_the_same_rule(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 0.8), material={"control_radius_mm": 0.28}))
    assert gate(capsys)[0] == 0
    put(check(line("toe", 0.8), material={"control_radius_mm": 0.3}))
    assert ("rules", "rules changed: material.control_radius_mm 0.28 -> 0.3") in faults(gate(capsys)[1])


def test_growth_of_less_than_a_millionth_is_none(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe", 0.8)))
    put(check(line("toe", 0.8 * (1.0 + 8e-9))))
    assert gate(capsys)[0] == 0
    put(check(line("toe", 0.8 * (1.0 + 3e-6))))
    (found,) = faults(gate(capsys)[1])
    old, new = found[1].partition(" grew from ")[2].split(" (")[0].split(" to ")
    assert old != new


@pytest.mark.parametrize(
    "name", ["toe A ", "toe\u200b A", "toe \u0410", "TOE A", "toe \uff21", "toe  A", "toe\u2800 A"]
)
def test_names_that_read_the_same_are_told(bare: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    lines = [line("toe A", 0.8), line(name, 0.5)]
    put(check(*lines))
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    told = f"names of lines that read the same: {', '.join(map(ascii, sorted(['toe A', name])))}"
    assert told in notes(gate(capsys)[1])
    capsys.readouterr()
    assert main(["gate", "models", "--junit", "j.xml", "--json"]) == 0
    assert told in notes(json.loads(capsys.readouterr().out))
    assert "read the same" in Path("j.xml").read_text(encoding="utf-8")


def test_line_renamed_by_a_letter_not_seen_is_compared(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored(check=check(line("toe A", 0.8)))
    put(check(line("toe A\u200b", 0.9)))
    code, result = gate(capsys, "--accept-vanished")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])


def test_files_whose_names_read_the_same_are_told(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put(check(line("toe", 0.8)), "models/a.json")
    put(check(line("root", 0.5)), "models/\u0430.json")
    capsys.readouterr()
    assert main(["gate", "models"]) == 0
    assert "names of files that read the same: 'models/a.json', 'models/\\u0430.json'" in capsys.readouterr().out

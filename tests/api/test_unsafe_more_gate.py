"""Ways past a gate: turned directions, stations not judged, links, ratchets, edits."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import Any

import pytest

from service.cli import main
from service.gate.baseline import seal
from tests.api.test_gate import write
from tests.api.test_unsafe_gate import design, drop, faults, full, gate, notes, put, store

__all__ = ["design"]  # the fixture, for the tests of this file

EXAMPLES = Path(__file__).parents[2] / "openapi_examples" / "check"
KEY = "models/hanger.json"


def turned_vector(vector: list[float], angle_deg: float) -> list[float]:
    """A vector turned about the y axis."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    x, y, z = vector
    return [c * x + s * z, y, c * z - s * x]


def tensors(angle_deg: float = 0.0, size: int = 5, load: float = 12.0) -> dict[str, Any]:
    """A check of one line along y that is read from tensors; the bisector turns about the line."""
    given = full()
    (line, _) = given["lines"]
    shape = [4.0 + math.sin(math.pi * place / (size - 1)) for place in range(size)]
    columns = {"xx": shape, "zz": [0.3 * value for value in shape], "zx": [-0.4 * value for value in shape]}
    zeros = {name: [0.0] * size for name in ("yy", "xy", "yz")}
    line["position_mm"] = [40.0 * place / (size - 1) for place in range(size)]
    line["cases"] = {name: {"tensors_mpa": {**columns, **zeros}} for name in ("vertical", "lateral")}
    line["tangent"] = [[0.0, 1.0, 0.0]] * size
    line["bisector"] = [turned_vector([0.6, 0.0, 0.8], angle_deg)] * size
    given["loading"]["factors"] = {
        "vertical": {"maximum": load, "minimum": 0.0},
        "lateral": {"maximum": 1.0, "minimum": 0.0},
    }
    return {**given, "lines": [line]}


def run(content: Any, capsys: pytest.CaptureFixture[str], *options: str) -> tuple[int, dict[str, Any]]:
    write(Path(KEY), content)
    return gate(capsys, *options)


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


# --- directions are rules


def test_turned_directions_are_a_changed_rule(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(tensors())
    code, result = run(tensors(angle_deg=5.0), capsys)
    text = "toe A: rules changed: directions turned by 5 deg (bisector at 0 mm)"
    assert (code, faults(result)[0]) == (1, ("rules", text))
    assert gate(capsys, "--accept", f"{KEY}:toe A", "--because", "bisector measured anew")[0] == 0
    assert gate(capsys)[0] == 0


@pytest.mark.parametrize(("angle_deg", "code", "told"), [(1.02, 1, 0), (0.9, 0, 1), (0.04, 0, 0)])
def test_a_degree_is_the_bound_and_less_is_told(
    bare: Path, capsys: pytest.CaptureFixture[str], angle_deg: float, code: int, told: int
) -> None:
    store(tensors())
    found, result = run(tensors(angle_deg=angle_deg), capsys, "--growth-pct", "50")
    assert (found, len([note for note in notes(result) if "directions turned" in note])) == (code, told)


def test_another_number_of_stations_turns_nothing(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(tensors(size=131))
    code, result = run(tensors(size=77), capsys)
    assert (code, [text for _, text in faults(result)]) == (0, [])
    code, result = run(tensors(size=77, angle_deg=3.0), capsys, "--growth-pct", "50")
    assert (code, "turned by 3 deg" in faults(result)[0][1]) == (1, True)


def test_turn_of_the_governing_station_alone_is_seen(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = tensors(size=131)
    worst = 64
    given["lines"][0]["cases"]["vertical"]["tensors_mpa"]["xx"][worst] = 9.0
    store(given)
    given["lines"][0]["bisector"][worst] = turned_vector([0.6, 0.0, 0.8], 4.0)
    code, result = run(given, capsys, "--growth-pct", "50")
    assert (code, "turned by 4 deg" in faults(result)[0][1]) == (1, True)


# --- stations that are not judged


def ends(peak: float, reason: str | None = None) -> dict[str, Any]:
    """A check whose first station is left out and has a peak of its own."""
    given = full()
    line = given["lines"][0]
    line["exclude_ends_mm"] = 1.0
    line["position_mm"] = [0.0, 10.0, 15.0, 20.0]
    for case in line["cases"].values():
        for column in case["peaks_mpa"].values():
            column.insert(1, column[1])
    line["cases"]["vertical"]["peaks_mpa"]["opening"][0] = peak
    return given if reason is None else put_reason(given, reason)


def put_reason(given: dict[str, Any], reason: str) -> dict[str, Any]:
    given["lines"][0]["exclude_ends_reason"] = reason
    return given


def test_growth_of_stations_not_judged_fails(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(ends(8.0))
    code, result = run(ends(9.6), capsys, "--growth-pct", "2")
    ((kind, text),) = faults(result)
    assert (code, kind) == (1, "growth")
    assert text.startswith("toe A: utilisation of stations not judged grew from ")
    assert text.endswith("allowed +2 %)")
    assert run(ends(8.1), capsys, "--growth-pct", "2")[0] == 0


def test_reason_holds_up_to_what_it_was_given_for(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    reason = "singular end of the shell model, judged by a solid"
    store(ends(8.0, reason))
    assert gate(capsys)[0] == 0
    code, result = run(ends(40.0, reason), capsys)
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    assert gate(capsys, "--accept", f"{KEY}:toe A", "--because", "sub-model of the end, report 7")[0] == 0
    assert gate(capsys)[0] == 0


def test_station_that_is_newly_left_out_has_grown(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ends(8.0)
    given["lines"][0]["position_mm"] = [-20.0, 10.0, 15.0, 20.0]
    given["lines"][0]["exclude_ends_mm"] = 0.0
    store(given)
    given["lines"][0]["exclude_ends_mm"] = 1.0
    _, result = run(given, capsys)
    assert [text for kind, text in faults(result) if kind == "growth" and "grew from none to" in text]


# --- one check stands in for another


def other_check() -> dict[str, Any]:
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] = 6.0
    return given


def test_check_that_became_a_link_to_another_fails(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(other_check(), "second")
    Path(KEY).unlink()
    Path(KEY).symlink_to("second.json")
    code, result = gate(capsys)
    text = "holds the same as models/second.json; the baseline has different checks for these names"
    assert (code, faults(result)) == (1, [("vanished", text)])
    stored = gate(capsys, "--write-baseline", "--because", "one bracket for both sides")[1]
    assert "models/hanger.json: replaced in the baseline: " + text in stored["notes"]
    code, result = gate(capsys)
    assert (code, "holds the same as models/hanger.json" in notes(result)) == (0, True)


def test_link_to_a_check_that_is_not_in_this_run_fails(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(other_check(), "second")
    write(Path(KEY), {**other_check(), "title": "another title"})
    capsys.readouterr()
    assert main(["gate", KEY, "--baseline", "base.json"]) == 1
    assert "holds the same as models/second.json" in capsys.readouterr().out


def test_line_that_became_a_copy_of_another_fails(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = full()
    given["lines"][0] = {**copy.deepcopy(given["lines"][1]), "name": "toe A"}
    code, result = run(given, capsys)
    text = "toe A: holds the same as toe B; the baseline has different lines for these names"
    assert (code, faults(result)) == (1, [("vanished", text)])


# --- what a new baseline replaces is told


def test_growth_within_the_allowance_is_told_when_it_is_stored(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = full()
    given["loading"]["factors"]["vertical"]["maximum"] *= 1.019
    code, result = run(given, capsys, "--growth-pct", "2", "--write-baseline")
    told = [note for note in result["notes"] if "replaced in the baseline: " in note]
    assert code == 0
    assert told[0] == "models/hanger.json: replaced in the baseline: the loads changed: vertical 0 to 12 -> 0 to 12.228"
    assert told[1].startswith("models/hanger.json, toe A: replaced in the baseline: utilisation ")
    assert told[1].endswith(" 0.631 -> 0.643 (+1.85 %)")
    again = gate(capsys, "--growth-pct", "2", "--write-baseline")[1]["notes"]
    assert not [note for note in again if "replaced in the baseline" in note]


# --- files of the baseline that are not in this run


@pytest.mark.parametrize("content", [{}, [], {"lines": []}])
def test_check_emptied_outside_of_the_run_is_refused(
    design: Path, content: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    store(other_check(), "second")
    write(Path(KEY), content)
    capsys.readouterr()
    assert main(["gate", "models/second.json", "--baseline", "base.json"]) == 2
    assert "models/hanger.json: not in this run, and no check any more" in capsys.readouterr().out


def test_line_lost_outside_of_the_run_is_vanished(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(other_check(), "second")
    given = full()
    del given["lines"][1]
    write(Path(KEY), given)
    capsys.readouterr()
    assert main(["gate", "models/second.json", "--baseline", "base.json", "--json"]) == 1
    result = json.loads(capsys.readouterr().out)
    assert faults(result) == [("vanished", "toe B: the baseline has this line, the check has it no more")]


def test_file_that_cannot_be_read_outside_of_the_run_is_refused(design: Path) -> None:
    store(other_check(), "second")
    Path(KEY).unlink()
    Path(KEY).mkdir()
    assert main(["gate", "models/second.json", "--baseline", "base.json"]) == 2


# --- edits of the stored state, loads that were moved about


@pytest.mark.parametrize(
    "edit",
    [
        put("checks", {}),
        put("checks.models/hanger~json.lines", {}),
        put("checks.models/hanger~json.lines.toe A.utilisation", 0.99),
        put("accepted", []),
        drop("digest"),
    ],
    ids=["no checks", "no lines", "utilisation raised", "reason dropped", "no digest"],
)
def test_edited_baseline_is_refused_with_the_way_out(
    design: Path, edit: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    given = full()
    given["target"]["damage_limit"] = 0.6
    assert run(given, capsys, "--accept", KEY, "--because", "customer's rule")[0] == 0
    stored = json.loads(Path("base.json").read_text().replace("hanger.json", "hanger~json"))
    edit(stored)
    Path("base.json").write_text(json.dumps(stored).replace("hanger~json", "hanger.json"))
    capsys.readouterr()
    assert main(["gate", "models", "--baseline", "base.json"]) == 2
    assert ("--write-baseline" in capsys.readouterr().err) is ("digest" in stored)


def test_digest_of_a_baseline_does_not_depend_on_how_it_is_laid_out(design: Path) -> None:
    stored = json.loads(Path("base.json").read_text())
    assert seal(stored) == stored
    Path("base.json").write_text(json.dumps(dict(reversed(stored.items())), indent=3).replace("\n", "\r\n"))
    assert main(["gate", "models", "--baseline", "base.json"]) == 0


def blocks(high: float, count: float) -> dict[str, Any]:
    """Two blocks of a million cycles in all."""
    lateral = {"maximum": 0.1, "minimum": 0.0}
    states = [{"vertical": {"maximum": top, "minimum": 0.0}, "lateral": lateral} for top in (high, 2.0)]
    pairs = zip(states, (count, 1e6 - count), strict=True)
    return {"kind": "blocks", "blocks": [{"factors": state, "cycles": cycles} for state, cycles in pairs]}


def test_loads_that_changed_are_told_though_nothing_grew(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = {**full(), "loading": blocks(6.0, 2e5)}
    given["curves"] = {"rule": "fixed", "curve": "peak-stress-opening"}
    store(given)
    code, result = run({**given, "loading": blocks(7.0, 1e5)}, capsys)
    assert (code, faults(result)) == (0, [])
    assert "the loads changed: vertical 0 to 6 -> 0 to 7" in notes(result)
    _, result = run({**given, "loading": blocks(6.0, 1e5)}, capsys)
    assert "the loads changed: their counts or their order, no load case reaches farther" in notes(result)
    halves = blocks(6.0, 2e5)
    first, second = halves["blocks"]
    halves["blocks"] = [{**first, "cycles": 1e5}, {**first, "cycles": 1e5}, second]
    assert notes(run({**given, "loading": halves}, capsys)[1]) == []

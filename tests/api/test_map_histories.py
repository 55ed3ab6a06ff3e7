"""Histories that a map names by file: which column loads what, how stretches follow, what is refused and where."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from service import cli
from service.commands import shared
from service.lines import histories
from tests.api.test_command_line import LOOP_MAP, WHOLE, loop_table

FIELD = np.array([[0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 9.0, -3.0, 6.0, 0.0], [1.0, 2.0, 1.0, 3.0, 1.0]])
ROAD = np.array([[0.0, 5.0, -1.0, 0.0], [0.0, 0.5, 0.0, 0.2]])
TABLE = loop_table(WHOLE)
HEAD = LOOP_MAP[: LOOP_MAP.index("[request.loading]")]
ONE = """[request.loading]
kind = "history"
history = { file = "loads/field.csv", columns = { pull = "F1 [kN]", half = 3 }, sample_rate_hz = 2.0 }
"""
TWO = """[request.loading]
kind = "history"
repeats = 10.0
[[request.loading.history]]
file = "loads/field.csv"
columns = { pull = "F1 [kN]", half = 3 }
repeats = 3
[[request.loading.history]]
file = "road.npy"
columns = { pull = 1, half = 2 }
name = "road"
description = "empty, to the field"
factors = { half = -2.0 }
"""

BESIDE = ONE.replace(
    ", half = 3 }, sample_rate_hz = 2.0 }", ' }, beside = [{ file = "road.npy", columns = { half = 1 } }] }'
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "loads").mkdir()
    rows = "\n".join(",".join(map(str, row)) for row in FIELD.T.tolist())
    (tmp_path / "loads" / "field.csv").write_text(f"t,F1 [kN],F2\n{rows}\n", encoding="utf-8")
    np.save(tmp_path / "road.npy", ROAD)
    np.save(tmp_path / "short.npy", ROAD[:, :3])
    np.save(tmp_path / "one.npy", ROAD[:1, :1])
    np.save(tmp_path / "bad.npy", np.where(ROAD == 0.5, np.nan, ROAD))
    (tmp_path / "table.csv").write_text(TABLE, encoding="utf-8")
    return tmp_path


def made(folder: Path, loading: str) -> int:
    (folder / "map.toml").write_text(HEAD + loading, encoding="utf-8")
    paths = [str(folder / name) for name in ("table.csv", "map.toml", "check.json")]
    return cli.main(["lines", paths[0], "--map", paths[1], "-o", paths[2]])


def loading_of(folder: Path, loading: str) -> dict[str, Any]:
    assert made(folder, loading) == 0
    found: dict[str, Any] = json.loads((folder / "check.json").read_text(encoding="utf-8"))["loading"]
    return found


def test_columns_of_a_file_load_the_cases(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = loading_of(folder, ONE)
    assert found["channels"] == {"pull": FIELD[1].tolist(), "half": FIELD[2].tolist()}
    assert found["stretches"] == [{"samples": 5, "repeats": 1, "sample_rate_hz": 2.0, "file": "loads/field.csv"}]
    assert "5 samples, 2.5 s at 2 Hz from loads/field.csv (pull = F1 [kN], half = 3)" in capsys.readouterr().err
    assert cli.main(["check", str(folder / "check.json")]) == 1  # undecided: the mesh of this loop is coarse


def test_a_path_may_be_absolute(folder: Path) -> None:
    found = loading_of(folder, ONE.replace("loads/field.csv", str(folder / "loads" / "field.csv")))
    assert found["channels"]["pull"] == FIELD[1].tolist()


def test_stretches_follow_each_other_as_often_as_they_say(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = loading_of(folder, TWO)
    assert found["channels"]["pull"] == [*3 * FIELD[1].tolist(), *ROAD[0].tolist()]
    assert found["channels"]["half"] == [*3 * FIELD[2].tolist(), *(-2.0 * ROAD[1]).tolist()]
    assert found["repeats"] == 10.0
    told = {"name": "road", "description": "empty, to the field", "samples": 4, "repeats": 1, "file": "road.npy"}
    assert found["stretches"] == [{"samples": 5, "repeats": 3, "file": "loads/field.csv"}, told]
    text = capsys.readouterr().err
    assert "5 samples, 3 times from loads/field.csv" in text
    assert "road: 4 samples from road.npy (pull = 1, half = 2 times -2)" in " ".join(text.split())


def test_passes_of_a_single_stretch_are_those_of_the_loading(folder: Path) -> None:
    """Three passes written out, and one pass three times, are one damage."""
    once = ONE.replace("sample_rate_hz = 2.0", "repeats = 3")
    assert loading_of(folder, once)["repeats"] == 3.0
    assert loading_of(folder, once + "repeats = 2.0\n")["repeats"] == 6.0
    stretch = ONE[ONE.index("{") : ONE.rindex("}") + 1]
    damage = []
    for given in (once, ONE.replace(stretch, f"[{', '.join([stretch] * 3)}]")):
        loading_of(folder, given)
        out = folder / "answer.json"
        cli.main(["check", str(folder / "check.json"), "-o", str(out)])
        damage.append(json.loads(out.read_text(encoding="utf-8"))["answer"]["damage"])
    assert damage[0] == pytest.approx(damage[1], rel=1e-12)
    assert damage[0] > 0.0


def test_files_beside_each_other(folder: Path) -> None:
    text = BESIDE.replace("road", "other")
    np.save(folder / "other.npy", FIELD[2])
    assert loading_of(folder, text)["channels"] == {"pull": FIELD[1].tolist(), "half": FIELD[2].tolist()}


def test_a_case_may_be_left_without_a_load_where_the_map_says_so(folder: Path) -> None:
    text = ONE.replace(", half = 3", "") + 'not_loaded = ["half"]\n'
    assert list(loading_of(folder, text)["channels"]) == ["pull"]


REFUSED = {
    "missing file": (ONE.replace("field", "wood"), "/history/file: loads/wood.csv: No such file"),
    "missing file of several": (TWO.replace("road", "wood"), "/history/1/file: wood.npy: No such file"),
    "missing column": (ONE.replace("F1 [kN]", "F9"), "/history/columns/pull: loads/field.csv: there is no column 'F9'"),
    "listed": (ONE.replace("half = 3", "half = 4"), "5 samples: 1 t, 2 F1 [kN], 3 F2"),
    "name of none": (TWO.replace("half = 2", 'half = "2 "'), "/history/1/columns/half: road.npy: there is no column"),
    "not a number": (
        TWO.replace("road", "bad"),
        "/history/1/columns/half: bad.npy: sample 2 of column '2' is no finite number",
    ),
    "a column twice": (ONE.replace("half = 3", "half = 2"), "/history/columns/half: column 2 stands for"),
    "one sample": (TWO.replace("road", "one").replace("half = 2", "half = 1"), "/history/1/columns/half"),
    "one sample only": (
        '[request.loading]\nkind = "history"\nhistory = [{ file = "one.npy", columns = { pull = 1 } }]\n',
        "/history/0/file: one.npy holds one sample",
    ),
    "another form": (ONE.replace(".csv", ".xlsx"), "/history/file: loads/field.xlsx is neither CSV"),
    "no array": (TWO.replace("road.npy", "map.toml.npy"), "/history/1/file"),
    "a case in one stretch only": (TWO.replace("half = 2", "tip = 2").replace("half = -2.0", ""), "/history/1/columns"),
    "an idle factor": (TWO.replace("half = -2.0", "tip = -2.0"), "/history/1/factors/tip: the load case 'tip'"),
    "factor of nothing": (TWO.replace("-2.0", "0.0"), "/history/1/factors/half: a factor of 0"),
    "beside, other length": (BESIDE, "/history/beside/0/file: road.npy has 4 samples, loads/field.csv has 5"),
    "beside, other rate": (
        BESIDE.replace("beside", "sample_rate_hz = 2.0, beside"),
        "/history/beside/0/sample_rate_hz: road.npy is sampled at another rate",
    ),
    "beside, same case": (BESIDE.replace("half", "pull"), "/history/beside/0/columns/pull: the load case 'pull' has"),
    "unknown key": (ONE.replace("sample_rate_hz", "rate"), "/request/loading/history/rate"),
    "unknown key of several": (TWO.replace("repeats = 3", "passes = 3"), "/request/loading/history/0/passes"),
    "no column": (TWO.replace("pull = 1, half = 2", ""), "/request/loading/history/1/columns"),
    "other kind": (ONE.replace('"history"', '"blocks"', 1), "/request/loading/kind: histories from files need"),
    "stretches": (ONE + "stretches = []\n", "/request/loading/stretches: this comes from the files"),
    "channels": (ONE + "channels = { pull = [1.0, 2.0] }\n", "/request/loading/channels: this comes from the files"),
    "a loaded case said not to be": (ONE + 'not_loaded = ["half"]\n', "/request/loading/not_loaded/0"),
    "a case that no history loads": (ONE.replace(", half = 3", ""), "/request/loading/history: no history loads half"),
    "a case that no line has": (
        ONE.replace("half = 3", "tip = 3"),
        "/request/loading/history: no line has the load case 'tip'",
    ),
    "an unknown word": (ONE + 'residue = "open"\n', "/request/loading/residue"),
    "a repeat that is none": (TWO.replace("10.0", '"ten"'), "/request/loading/repeats"),
    "a repeat that is a word of truth": (ONE + "repeats = true\n", "/request/loading/repeats"),
    "a repeat of a single one that is none": (
        ONE.replace("sample_rate_hz = 2.0", "repeats = 3") + 'repeats = "ten"\n',
        "/request/loading/repeats",
    ),
    "too many samples": (TWO.replace("repeats = 3", "repeats = 5000000"), "a request takes 5000000 samples"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_refused_points_into_the_map(folder: Path, case: str, capsys: pytest.CaptureFixture[str]) -> None:
    loading, words = REFUSED[case]
    assert made(folder, loading) == 2
    assert words in capsys.readouterr().err


def test_a_file_larger_than_a_body_is_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(shared, "MAX_BODY_BYTES", 20)
    assert made(folder, ONE) == 2
    assert "bytes are more than the 20 taken at once" in capsys.readouterr().err


def test_the_table_may_come_from_standard_input_and_files_stand_in_the_current_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    assert shared.reader_beside("-", list)("road.npy") == (folder / "road.npy").read_bytes()


def test_values_are_bounded_by_those_of_a_body(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(histories, "MAX_VALUES", 37)
    assert made(folder, TWO) == 2
    assert "/request/loading/history: the histories make 19 samples" in capsys.readouterr().err


def test_a_history_that_a_map_names_is_not_written_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "map.toml").write_text(HEAD + TWO, encoding="utf-8")
    before = (folder / "road.npy").read_bytes()
    table, told, road = (str(folder / name) for name in ("table.csv", "map.toml", "road.npy"))
    assert cli.main(["lines", table, "--map", told, "-o", road]) == 2
    assert f"{road} is read by this command, and would be written over" in capsys.readouterr().err
    assert (folder / "road.npy").read_bytes() == before

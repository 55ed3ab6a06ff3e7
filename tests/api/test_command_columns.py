"""A command that has to be told the columns of a table lists them and shows an option that would do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from service import cli

Run = Callable[..., tuple[int, list[str]]]
TABLE = "time,bending,pull_mpa\n0,0,5\n1,100,9\n2,0,3\n"
LISTED = ["its columns by number and name:", "  1  time", "  2  bending", "  3  pull_mpa"]
SAID = "toeline: run.csv"
CURVE = ("--curve", "iiw-2016-normal-steel-71")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    Path("run.csv").write_text(TABLE, encoding="utf-8")

    def called(*words: str) -> tuple[int, list[str]]:
        code = cli.main(words)
        return code, capsys.readouterr().err.splitlines()

    return called


@pytest.mark.parametrize("command", ["count", "damage"])
def test_the_columns_are_listed_by_number_and_name_with_an_option_that_would_do(run: Run, command: str) -> None:
    assert run(command, "run.csv") == (
        2,
        [
            f"{SAID}: which column is to be read is not said: name it in --column",
            *LISTED,
            "for example: --column pull_mpa",
        ],
    )


def test_columns_of_words_are_listed_too(run: Run) -> None:
    Path("run.csv").write_text("line;stress\nA;1,5\n", encoding="utf-8")
    code, lines = run("count", "run.csv")
    assert (code, lines[-1]) == (2, "for example: --column stress")


def test_the_nearest_column_is_meant_where_a_name_is_wrong(run: Run) -> None:
    assert run("count", "run.csv", "--column", "bendig") == (
        2,
        [f"{SAID}: there is no column 'bendig' (did you mean 'bending'?)", *LISTED, "for example: --column bending"],
    )
    # of several names, those that are there stay
    lines = run("damage", "run.csv", *CURVE, "--columns", "bending,pul_mpa", "--weights", "bending=1,pul_mpa=2")[1]
    assert lines[-1] == "for example: --column bending,pull_mpa"


def test_columns_without_names_are_listed_by_number(run: Run) -> None:
    np.save("run.npy", np.zeros((2, 5)))
    assert run("count", "run.npy")[1][1:] == [
        "its columns by number and name:",
        "  1",
        "  2",
        "for example: --column 1",
    ]


def test_a_name_with_blanks_is_shown_as_a_shell_needs_it(run: Run) -> None:
    Path("run.csv").write_text("time,S1 [MPa]\n0,1\n", encoding="utf-8")
    assert run("count", "run.csv")[1][-1] == "for example: --column 'S1 [MPa]'"


def test_very_many_columns_are_cut(run: Run) -> None:
    Path("run.csv").write_text(",".join(f"c{k}" for k in range(1, 46)) + "\n" + ",".join("1" * 45), encoding="utf-8")
    lines = run("count", "run.csv")[1]
    assert lines[2] == "   1  c1"
    assert lines[-3:] == ["  40  c40", "  ... and 5 more", "for example: --column c1"]


def test_all_columns_are_not_taken_where_one_is_named_like_no_stress(run: Run) -> None:
    code, lines = run("damage", "run.csv", *CURVE, "--weights", "bending=1,pull_mpa=1")
    assert code == 2
    assert lines[0] == "toeline: run.csv: column 'time' is named like no stress: name the columns to read (--column)"
    assert lines[1:5] == LISTED


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("count", "run.csv", "--column", "2", "--classes", "0"), "--classes must be 1 or more"),
        (("damage", "run.csv", "--column", "2"), "--curve is needed"),
        (("damage", "run.csv", "--column", "2", *CURVE, "--repeats", "-1"), "--repeats must be greater than 0"),
        (("damage", "run.csv", "--column", "2,2", *CURVE), "--column: a column is named twice"),
        (
            ("damage", "run.csv", "--column", "2", *CURVE, "--request", "more.toml"),
            "more.toml: /corrections/0/kind: kind must be one of ",
        ),
        (
            ("count", "run.csv", "--column", "pull_mpa", "--rule", "simple-range", "--residue", "half"),
            "--residue",
        ),
    ],
)
def test_refusals_name_the_option_or_the_file(run: Run, words: tuple[str, ...], message: str) -> None:
    Path("more.toml").write_text('[[corrections]]\nkind = "thick"\n', encoding="utf-8")
    code, lines = run(*words)
    assert code == 2
    assert lines[0].startswith(f"toeline: {message}")


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ("0,1,2\n1,x,3\n", "row 2 under the line of names: column 'bending' holds 'x' where a number was expected"),
        ("0,1,2\n1,1_0,3\n", "row 2 under the line of names: column 'bending' holds '1_0' where a number was expected"),
        ("0,1\n", "row 1 under the line of names has 2 cells where 3 names stand above"),
        ("0,1,2\n3\n", "row 2 under the line of names has 1 cell where 3 names stand above"),
        ("0,1,2\n1,,3\n", "row 2 under the line of names: column 'bending' holds '' where a number was expected"),
        (f"0,{'z' * 50},2\n", f"row 1 under the line of names: column 'bending' holds '{'z' * 40}...' where a number"),
    ],
)
def test_a_cell_that_is_no_number_is_named_by_its_row_and_column(run: Run, rows: str, message: str) -> None:
    Path("run.csv").write_text("time,bending,pull_mpa\n" + rows, encoding="utf-8")
    code, lines = run("count", "run.csv", "--column", "2")
    assert code == 2
    assert lines[0].startswith(f"toeline: run.csv: {message}")


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("a.csv", "s\n1\nnan\n", "a.csv: sample 2 of column 's' is no finite number"),
        ("a.csv", "s\n1e40\n1\n", "a.csv: sample 1 of column 's' is beyond 1e30"),
        ("a.csv", "s [ksi]\n1\n2\n", "a.csv: column 's [ksi]' states the unit ksi: stresses are taken in MPa"),
        ("a.csv", "s\n\u0661\n2\n", "a.csv: the table cannot be read as numbers"),
        ("a.npy", "hello", "a.npy is no array in NPY format 1.0 or 2.0"),
    ],
)
def test_what_a_file_says_by_itself_is_told_of_the_file(run: Run, name: str, content: str, message: str) -> None:
    Path(name).write_text(content, encoding="utf-8")
    code, lines = run("count", name)
    assert (code, lines[0][: len(message) + 9]) == (2, f"toeline: {message}")


def test_two_options_that_do_not_go_together_are_both_named(run: Run) -> None:
    both = ("--damage-limit", "0.5", "--damage-limit-rule", "iiw-2016/general")
    assert run("damage", "run.csv", "--column", "2", *CURVE, *both) == (
        2,
        ["toeline: --damage-limit: give --damage-limit or --damage-limit-rule, not both"],
    )
    assert run("damage", "run.csv", "--column", "2,3", *CURVE)[1] == [
        "toeline: run.csv: several columns and --weights belong together"
    ]
    assert run("damage", "run.csv", "--column", "2", *CURVE, "--weights", "bendig=1")[1] == [
        "toeline: --weights: no mode is called 'bendig' (did you mean 'bending'?)"
    ]


def test_a_table_without_a_map_lists_its_columns(run: Run) -> None:
    code, lines = run("lines", "run.csv")
    assert code == 2
    assert lines[0] == "toeline: run.csv: --map is needed: it says what the columns are"
    assert lines[1:5] == LISTED
    assert "--map lines.toml" in lines[5]

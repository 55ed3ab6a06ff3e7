"""Tables: units in the names of columns, columns that hold no stress, further keys beside a table."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.errors import InputError
from service import cli
from service.base.units import guard_length_factor, guard_stress_factor
from tests.api.test_unsafe_more_spectrum import I80, codes, csv_answer

ROUTES = [("cycles", ""), ("damage", f"curve={I80}")]
OTHER_UNIT = [
    "sxx|GPa",
    "sxx=GPa",
    "sxx @GPa",
    "sxx~psi",
    "sxx gigapascal",
    "sxx_Kilopascals",
    "sxx kips per square inch",
    "sxx [kilonewtons per square metre]",
    "sxx\uff3bGPa\uff3d",
    "sxx1GPa",
]
UNREADABLE = ["sxx [MPa] (GPa)", "sxx_ksi [MPa]", "sxx [Pa", "sxx MPa)", "sxx [MPa)"]


@pytest.mark.parametrize("column", [*OTHER_UNIT, *UNREADABLE])
def test_a_stress_column_in_another_unit_or_with_two_is_refused(client: httpx.Client, column: str) -> None:
    with pytest.raises(InputError):
        guard_stress_factor(column, 1.0)
    for name, query in ROUTES:
        answer = csv_answer(client, name, column, query)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/columns")


@pytest.mark.parametrize("column", UNREADABLE)
def test_no_factor_fits_two_units_or_an_open_bracket(column: str) -> None:
    for factor in (1.0, 1e3, 1e-6, 6.894757):
        with pytest.raises(InputError) as caught:
            guard_stress_factor(column, factor)
        assert caught.value.path == ("table",)


@pytest.mark.parametrize(
    ("column", "factor"),
    [
        ("sxx|GPa", 1e3),
        ("sxx megapascal", 1.0),
        ("sxx newtons per square millimetre", 1.0),
        ("sxx [N/mm²] (MPa)", 1.0),
        ("sxx pounds per square inch", 6.894757e-3),
        ("stress at 5 kN [MPa]", 1.0),
        ("stress_in", 1.0),
    ],
)
def test_a_stress_column_with_its_factor_is_taken(column: str, factor: float) -> None:
    guard_stress_factor(column, factor)


@pytest.mark.parametrize(
    ("column", "factor"),
    [('s"', 25.4), ("s in", 25.4), ("s_in", 25.4), ("s\u2033", 25.4), ("s'", 304.8), ("s foot", 304.8), ("s|cm", 10.0)],
)
def test_a_length_column_ends_with_its_unit(column: str, factor: float) -> None:
    guard_length_factor(column, factor)
    with pytest.raises(InputError):
        guard_length_factor(column, 1.0)


@pytest.mark.parametrize("column", ["s [mm", "s [mm] (in)"])
def test_a_length_column_with_two_units_or_an_open_bracket_is_refused(column: str) -> None:
    for factor in (1.0, 25.4):
        with pytest.raises(InputError):
            guard_length_factor(column, factor)


@pytest.mark.parametrize("column", ["time", "Time", "cycle no.", "index", "node id", "x", "force", "temperature 2"])
@pytest.mark.parametrize(("name", "query"), ROUTES)
def test_a_column_that_is_no_stress_is_read_only_where_it_is_named(
    client: httpx.Client, name: str, query: str, column: str
) -> None:
    answer = csv_answer(client, name, column, query)
    (error,) = answer.json()["errors"]
    assert (answer.status_code, error["pointer"]) == (422, "/columns")
    assert "name the columns to read" in error["message"]
    named = csv_answer(client, name, column, f"{query}&columns={column}".removeprefix("&"))
    assert named.status_code == 200, named.text


@pytest.mark.parametrize("column", ["stress x", "load", "s1", "channel 3", "sigma", "weld 12"])
def test_a_column_of_another_name_is_read_as_stress(client: httpx.Client, column: str) -> None:
    assert csv_answer(client, "cycles", column, "").status_code == 200


def test_the_commands_know_such_columns_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "h.csv"
    table.write_text("time\n0\n50\n0\n", encoding="utf-8")
    assert cli.main(["count", str(table)]) == 2
    assert "is named like no stress" in capsys.readouterr().err
    assert cli.main(["count", str(table), "--columns", "time"]) == 0


# what the output of `toeline damage` asks for can be given to it

EN = "en-1993-1-9-2005-normal-80"
FACTOR = """below_knee = "elementary"
[[corrections]]
kind = "partial-factor"
document = "en-1993-1-9-2005"
concept = "safe-life"
consequence = "high-consequence"
"""


@pytest.fixture
def table(tmp_path: Path) -> str:
    """A record of one cycle of 80 MPa."""
    path = tmp_path / "h.csv"
    path.write_text("stress [MPa]\n0\n80\n0\n", encoding="utf-8")
    return str(path)


def damage_of(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    capsys.readouterr()
    code = cli.main(["damage", "--json", *arguments])
    return code, json.loads(capsys.readouterr().out)


def test_damage_takes_the_corrections_that_its_own_output_asks_for(
    table: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = [table, "--curve", EN, "--repeats", "1e6"]
    code, bare = damage_of(options, capsys)
    assert (code, "damage-without-partial-factor" in codes(bare, "outside")) == (1, True)
    (tmp_path / "more.toml").write_text(FACTOR, encoding="utf-8")
    (tmp_path / "more.json").write_text(json.dumps(tomllib.loads(FACTOR)), encoding="utf-8")
    found = [damage_of([*options, "--request", str(tmp_path / name)], capsys) for name in ("more.toml", "more.json")]
    assert found[0] == found[1]
    code, answer = found[0]
    assert (code, "partial-factor" in codes(answer, "note")) == (1, True)
    assert answer["answer"]["damage"] == pytest.approx(1.35**3 * bare["answer"]["damage"])


@pytest.mark.parametrize(
    ("name", "text", "shown"),
    [
        ("m.toml", "repeats = 2.0", "repeats: it is an option of this command"),
        ("m.toml", 'columns = "stress"', "columns: it is an option of this command"),
        ("m.toml", "history_mpa = [1.0, 2.0]", "/history_mpa: the table itself gives this"),
        ("m.toml", "below_knee = 1979-05-27", "/below_knee"),
        ("m.toml", "below_knee =", "is not TOML"),
        ("m.json", "[1]", "holds no object"),
        ("m.json", '{"nothing": 1}', "/nothing"),
    ],
)
def test_further_keys_that_do_not_fit_are_refused(
    table: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, text: str, shown: str
) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    options = ["--curve", EN, "--repeats", "1e6", "--request", str(tmp_path / name)]
    assert cli.main(["damage", table, *options]) == 2
    assert shown in capsys.readouterr().err


def test_a_query_does_not_hide_behind_the_table(client: httpx.Client) -> None:
    answer = csv_answer(client, "cycles", "stress", "history_mpa=[0,1,0]")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/history_mpa")

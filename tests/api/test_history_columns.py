"""Which column of a table of several is read: by name, by number from 1, never by a guess."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from service import cli

CURVE = "iiw-2016-normal-steel-71"
CSV = {"content-type": "text/csv"}
NPY = {"content-type": "application/x-npy"}
TENSION = [0.0, 100.0, -50.0, 80.0, 0.0, 60.0]
LATERAL = [0.0, 10.0, 0.0, 20.0, -10.0, 0.0]
TABLE = np.array([range(6), TENSION, LATERAL])
TEXT = "time,tension_mpa,lateral\n" + "\n".join(",".join(map(str, row)) for row in TABLE.T.tolist())
LISTED = "1 time, 2 tension_mpa, 3 lateral"


def npy(array: np.ndarray) -> bytes:
    stream = io.BytesIO()
    np.save(stream, array)
    return stream.getvalue()


def named(**kinds: str) -> bytes:
    table = np.zeros(6, dtype=list(kinds.items()))
    for name, row in zip(kinds, TABLE, strict=False):
        table[name] = row
    return npy(table)


def cycles(client: httpx.Client, body: str | bytes, headers: dict[str, str], columns: str | None) -> Any:
    query = {} if columns is None else {"columns": columns}
    return client.post("/v1/spectrum/cycles", params=query, content=body, headers=headers).json()


@pytest.mark.parametrize("columns", ["tension_mpa", "2"])
def test_a_column_is_picked_by_name_or_by_number(client: httpx.Client, columns: str) -> None:
    wanted = client.post("/v1/spectrum/cycles", json={"history_mpa": TENSION}).json()["answer"]
    assert cycles(client, TEXT, CSV, columns)["answer"] == wanted
    assert cycles(client, named(time="<f8", tension_mpa="<f4", lateral="<i2"), NPY, columns)["answer"] == wanted


@pytest.mark.parametrize("turned", [False, True])
def test_the_longer_side_of_an_array_is_time(client: httpx.Client, turned: bool) -> None:
    body = npy(TABLE.T if turned else TABLE)
    wanted = client.post("/v1/spectrum/cycles", json={"history_mpa": TENSION}).json()["answer"]
    assert cycles(client, body, NPY, "2")["answer"] == wanted


def test_names_tell_rows_from_columns(client: httpx.Client) -> None:
    query = {"curve": CURVE, "columns": "a,b,c", "weights": '{"a": 0.0, "b": 1.0, "c": 2.0}'}
    answers = [
        client.post("/v1/spectrum/damage", params=query, content=npy(table), headers=NPY).json()["answer"]
        for table in (TABLE, TABLE.T)
    ]
    assert answers[0] == answers[1]


def test_modes_may_be_picked_by_number(client: httpx.Client) -> None:
    weights = '{"tension_mpa": 1.0, "lateral": 2.0}'
    found = []
    for columns in ("tension_mpa,lateral", "2,3"):
        query = {"curve": CURVE, "columns": columns, "weights": weights}
        found.append(client.post("/v1/spectrum/damage", params=query, content=TEXT, headers=CSV).json()["answer"])
    assert found[0] == found[1]


@pytest.mark.parametrize("route", ["cycles", "damage"])
def test_several_columns_without_a_pick_are_refused_and_listed(client: httpx.Client, route: str) -> None:
    query = {"curve": CURVE} if route == "damage" else {}
    bodies: list[tuple[str | bytes, dict[str, str], str]] = [
        (TEXT, CSV, LISTED),
        (named(time="<f8", tension_mpa="<f8", lateral="<f8"), NPY, LISTED),
        (npy(TABLE), NPY, "3 columns of 6 samples, without names: 1 to 3"),
    ]
    for body, headers, listed in bodies:
        answer = client.post(f"/v1/spectrum/{route}", params=query, content=body, headers=headers)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == "/columns"
        assert listed in answer.json()["detail"]


@pytest.mark.parametrize(
    ("body", "columns", "words"),
    [
        (TEXT, "4", f"no column '4'; there are 3 columns of 6 samples: {LISTED}"),
        (TEXT, "0", "no column '0'"),
        (TEXT, "1", "named like no stress"),
        (TEXT, "2,tension_mpa", "a column is named twice"),
        (npy(TABLE), "4", "no column '4'"),
        (npy(TABLE), "a,b", "3 rows where 2 names are given"),
        (npy(TABLE), "1,2", "name one column, not 2"),
        (npy(TABLE[:, :3]), "1", "does not tell which side is time"),
        (npy(TABLE[:, :3]), None, "does not tell which side is time"),
        (named(time="<f8", other="S4"), "1", "must hold real numbers"),
        (named(**{"1": "<f8", "b": "<f8"}), "b", "a column is named by a number"),
        (named(time="<f8", tension_mpa="<f8")[:-1], "2", "the header claims 96 bytes"),
        (npy(np.zeros(0, dtype=[("a", "<f8"), ("b", "<f8")])), "a", "no sample"),
    ],
)
def test_what_is_no_column_is_refused(client: httpx.Client, body: str | bytes, columns: str, words: str) -> None:
    found = cycles(client, body, CSV if isinstance(body, str) else NPY, columns)
    assert words in found["detail"]


def test_a_list_of_very_many_columns_is_cut(client: httpx.Client) -> None:
    head = ",".join(f"channel{number}" for number in range(60))
    found = cycles(client, f"{head}\n" + ",".join(["1"] * 60), CSV, None)
    assert "40 channel39, ..." in found["detail"]


def test_count_and_damage_take_a_column(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "run.csv").write_text(TEXT, encoding="utf-8")
    np.save(tmp_path / "run.npy", TABLE.T)
    texts = []
    for name, column in (("run.csv", "tension_mpa"), ("run.csv", "2"), ("run.npy", "2")):
        assert cli.main(["count", str(tmp_path / name), "--column", column]) == 0
        texts.append(capsys.readouterr().out.split("findings")[0].split("\n", 1)[1])
        assert cli.main(["damage", str(tmp_path / name), "--column", column, "--curve", CURVE]) == 0
        capsys.readouterr()
    assert texts[0] == texts[1] == texts[2]
    for command in (["count"], ["damage", "--curve", CURVE]):
        assert cli.main([*command, str(tmp_path / "run.csv")]) == 2
        assert "  1  time\n  2  tension_mpa\n  3  lateral\n" in capsys.readouterr().err


def test_an_array_saved_in_another_order_of_memory_is_the_same(client: httpx.Client) -> None:
    answers = [cycles(client, npy(table), NPY, "2")["answer"] for table in (TABLE, np.asfortranarray(TABLE))]
    assert answers[0] == answers[1]

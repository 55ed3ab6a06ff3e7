"""What `toeline count` and `toeline damage` print, against counts and sums made by hand."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.spectrum.counting.matrix import round_edges
from service import cli

CURVE = "iiw-2016-normal-steel-71"
OWN = {"name": "own", "slopes": [3.0], "range_mpa": [100.0], "life_cycles": [1e6]}
GENERAL = (
    "(iiw-2016/general: variable amplitude in general; 0.2 where the mean stress varies strongly during"
    " the service life)"
)
Shown = Callable[..., list[str]]


@pytest.fixture
def shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shown:
    """Lines that a command prints for a history or a whole request, without the name of the file."""

    def run(command: str, given: list[float] | dict[str, Any], *options: str) -> list[str]:
        path = tmp_path / ("request.json" if isinstance(given, dict) else "record.csv")
        table = "stress_mpa\n" + "\n".join(map(str, given)) + "\n"
        path.write_text(json.dumps(given) if isinstance(given, dict) else table, encoding="utf-8")
        assert cli.main([command, str(path), *options]) in (0, 1)
        return capsys.readouterr().out.splitlines()[1:]

    return run


@pytest.mark.parametrize(
    ("largest", "most", "edges"),
    [
        (217.0, 12, [20.0 * k for k in range(12)]),
        (220.0, 11, [20.0 * k for k in range(12)]),
        (220.1, 11, [50.0 * k for k in range(6)]),
        (9.0, 9, [float(k) for k in range(10)]),
        (0.7, 7, [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]),
        (100.0, 1, [0.0, 100.0]),
        (1e-320, 64, [0.0, 1e-300]),
        (0.0, 64, [0.0, 1.0]),
    ],
)
def test_edges_of_classes_are_one_two_or_five_times_a_power_of_ten_apart(
    largest: float, most: int, edges: list[float]
) -> None:
    assert round_edges(largest, most).tolist() == edges


def test_no_class_at_all_holds_nothing() -> None:
    with pytest.raises(InputError, match="classes must be at least 1"):
        round_edges(10.0, 0)


@pytest.mark.parametrize(
    ("count", "text"), [(0.0, "0"), (0.5, "0.5"), (7.0, "7"), (12345.5, "12,345.5"), (1234567.0, "1,234,567")]
)
def test_counts_are_shown_whole(count: float, text: str) -> None:
    assert as_given(count) == text


def test_every_class_is_shown_with_round_edges(shown: Shown) -> None:
    # repeating: 0-100 closes over 0 to 300 to 0; 100 to 40 within
    lines = shown("count", [0.0, 100.0, 40.0, 260.0, 0.0], "--classes", "6")
    assert lines[:7] == [
        "counting       rainflow",
        "left open      nothing: the record is taken to repeat (residue closed)",
        "samples        5",
        "cycles         2",
        "largest range  260 MPa",
        "classes        6 of 50 MPa; a class holds its upper edge",
        "",
    ]
    assert [" ".join(line.split()) for line in lines[7:14]] == [
        "above MPa up to MPa cycles this or more",
        "0 50 0 2",
        "50 100 1 2",
        "100 150 0 1",
        "150 200 0 1",
        "200 250 0 1",
        "250 300 1 1",
    ]


# ASTM E1049-85, figure 6, from memory: one whole cycle of range 4 and six half cycles
HISTORY = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]


@pytest.mark.parametrize(
    ("options", "counting", "left_open", "cycles"),
    [
        (
            ["--residue", "half"],
            "rainflow",
            "6 ranges counted as half a cycle each: the record happens once (residue half)",
            "4",
        ),
        (
            ["--rule", "four-point"],
            "four-point",
            "6 ranges NOT counted, from -4 to 5 MPa (--rule rainflow counts them)",
            "1",
        ),
        (["--rule", "range-pair"], "range-pair", "nothing", "4"),
        (
            ["--rule", "simple-range"],
            "simple-range",
            "nothing is closed: every range between two turning points counts as half a cycle",
            "4",
        ),
        (
            ["--hysteresis-threshold-mpa", "4.5"],
            "rainflow, reversals up to 4.5 MPa left out before",
            "nothing: the record is taken to repeat (residue closed)",
            "2",
        ),
    ],
)
def test_a_count_says_which_counting_was_done_and_what_it_left_open(
    shown: Shown, options: list[str], counting: str, left_open: str, cycles: str
) -> None:
    lines = shown("count", HISTORY, *options)
    assert lines[0] == f"counting       {counting}"
    assert lines[1] == f"left open      {left_open}"
    assert lines[2] == "samples        9"
    assert lines[3] == f"cycles         {cycles}"


def test_a_single_range_that_is_left_open_is_one_range(shown: Shown) -> None:
    assert shown("count", [0.0, 10.0], "--residue", "half")[1] == (
        "left open      1 range counted as half a cycle each: the record happens once (residue half)"
    )
    assert shown("count", [0.0, 10.0], "--rule", "range-pair")[1] == (
        "left open      1 range counted as half a cycle each"
    )


def test_classes_of_the_request_are_said_to_be_given(shown: Shown) -> None:
    lines = shown("count", {"history_mpa": [0.0, 10.0, 0.0], "range_edges_mpa": [0.0, 3.0, 12.5]})
    assert lines[5] == "classes        2 as given; a class holds its upper edge"
    assert [line.split() for line in lines[8:10]] == [["0", "3", "0", "1"], ["3", "12.5", "1", "1"]]


def test_a_damage_sum_says_verdict_limit_life_and_reach(shown: Shown) -> None:
    # a closed cycle of 100 MPa on a curve of 1e6 cycles at 100 MPa, of which 0.5 may be used up
    request = {"history_mpa": [-20.0, 80.0, -20.0], "curve": OWN, "repeats": 1000.0}
    assert shown("damage", request)[:9] == [
        "verdict           PASS",
        "damage            0.001 in 1000 repeats",
        "damage limit      0.5, by default (own: no document states a limit for this curve: a choice of this",
        "                  program)",
        "life              500,000 repeats to the limit",
        "reach             -20 to 80 MPa in 3 samples, largest range 100 MPa",
        "equivalent range  100 MPa in 1000 cycles",
        "cycles            1000, 0 of them without damage",
        "curve             own",
    ]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({}, f"0.5, of the document of the curve {GENERAL}"),
        ({"damage_limit": 0.4}, "0.4, given in the request"),
        ({"damage_limit": 0.9}, f"0.9, given in the request; larger than 0.5 {GENERAL}"),
        (
            {"damage_limit_rule": "fkm-guideline/steel-welded"},
            "0.5, of the document named in the request (fkm-guideline/steel-welded: welded steel)",
        ),
        (
            {"loading": "constant"},
            "1, of one constant range (one range only: the life of the curve is used up at a sum of 1)",
        ),
    ],
)
def test_a_damage_limit_says_where_it_comes_from(shown: Shown, more: dict[str, Any], words: str) -> None:
    lines = shown("damage", {"range_mpa": [50.0], "count": [7.0], "curve": CURVE, **more})
    assert f"damage limit {words} life" in " ".join(" ".join(lines).split())


@pytest.mark.parametrize(
    ("loading", "reach"),
    [
        ({"range_mpa": [50.0, 20.0], "count": [1.0, 2.0]}, "2 blocks, largest range 50 MPa"),
        ({"range_mpa": [50.0], "count": [1.0]}, "1 block, largest range 50 MPa"),
        (
            {"modes_mpa": {"a": [0.0, 60.0, 0.0], "b": [1.0, 1.0, 1.5]}, "weights": {"a": 1.0, "b": 0.0}},
            "a 0 to 60 MPa; b 1 to 1.5 MPa, largest range 60 MPa",
        ),
    ],
)
def test_the_reach_is_that_of_what_was_given(shown: Shown, loading: dict[str, Any], reach: str) -> None:
    lines = shown("damage", {**loading, "curve": CURVE})
    assert [line for line in lines if line.startswith("reach")] == [f"reach             {reach}"]
    assert lines[1].endswith(" in 1 repeat")


@pytest.mark.parametrize("path", sorted(Path("openapi_examples/spectrum").glob("*.json")), ids=lambda path: path.stem)
def test_both_fit_a_hundred_columns(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kinds = {"spectrum/cycles": "count", "spectrum/damage": "damage"}
    command = kinds.get(json.loads(path.read_text(encoding="utf-8"))["calculation"])
    if command is not None:
        cli.main([command, str(path)])
        assert max(map(len, capsys.readouterr().out.splitlines())) <= 100

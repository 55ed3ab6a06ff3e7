"""Tables with gaps, weights that hide a mode, lines under new names, stresses that no steel holds."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from service import cli
from service.client.errors import ProblemError
from service.report import renderers
from tests.api.test_client import played
from tests.api.test_command_line import LONG, LOOP_MAP, ROWS
from tests.api.test_command_line_tables import TABLE, lines_of
from tests.api.test_unsafe_gate import faults, gate
from tests.api.test_unsafe_second_gate import KEY, at, check, put, stored
from tests.api.test_unsafe_second_gate import line as welded

Found = dict[str, Any]
I71 = "iiw-2016-normal-steel-71"

# --- blank lines between rows of data

GAPS = {
    "unix": ("stress_mpa\n0\n\n80\n0\n", 2),
    "windows": ("stress_mpa\r\n0\r\n80\r\n\r\n0\r\n", 3),
    "old line ends": ("stress_mpa\n0\r80\r\r0\r", 3),
    "spaces": ("stress_mpa\n0\n80\n0\n  \t\n80\n", 4),
    "first": ("stress_mpa\n\n0\n80\n0\n", 1),
    "two columns": ("time_s;stress_mpa\n0;0\n1;80\n\n3;0\n", 3),
    "decimal commas": ("stress_mpa\n0,5\n\n80,5\n0,5\n", 2),
}


def sent(client: httpx.Client, route: str, table: str, **query: str) -> httpx.Response:
    where = {"columns": "stress_mpa", **query}
    return client.post(f"/v1/spectrum/{route}", params=where, content=table, headers={"content-type": "text/csv"})


@pytest.mark.parametrize("route", ["cycles", "damage"])
@pytest.mark.parametrize(("table", "row"), GAPS.values(), ids=GAPS)
def test_empty_cell_of_a_single_column_is_no_sample_less(
    client: httpx.Client, route: str, table: str, row: int
) -> None:
    more = {"curve": I71} if route == "damage" else {}
    reply = sent(client, route, table, **more)
    assert reply.status_code == 422
    assert f"row {row} under the line of names is blank" in reply.json()["detail"]


def test_blank_lines_around_a_table_say_nothing(client: httpx.Client) -> None:
    plain = sent(client, "damage", "stress_mpa\n0\n80\n0\n", curve=I71)
    framed = sent(client, "damage", "\r\n\r\nstress_mpa\r\n0\r\n80\r\n0\r\n\r\n \r\n", curve=I71)
    assert (plain.status_code, plain.json()["answer"]) == (200, framed.json()["answer"])


@pytest.mark.parametrize("command", [["count"], ["damage", "--curve", I71]])
@pytest.mark.parametrize("suffix", ["csv", "txt"])
def test_command_line_refuses_the_gap(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str], suffix: str
) -> None:
    path = tmp_path / f"load.{suffix}"
    path.write_text(GAPS["unix"][0], encoding="utf-8")
    assert cli.main([*command, str(path)]) == 2
    assert "row 2 under the line of names is blank" in capsys.readouterr().err


def test_blank_row_within_a_weld_line_is_a_station_that_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head, first, *rest = TABLE.split("\r\n")
    for gap in ("", ";;;"):
        assert lines_of(tmp_path, LOOP_MAP, "\r\n".join([head, first, gap, *rest]))[0] == 2
        assert "row 2 under the header is blank, between rows of one line" in capsys.readouterr().err


def test_blank_rows_between_lines_and_load_cases_are_common_in_exports(tmp_path: Path) -> None:
    plain = lines_of(tmp_path, LONG, "\n".join(ROWS))[1].read_text(encoding="utf-8")
    head, *rows = ROWS
    kinds = [tuple(row.split(",")[:1]) for row in rows]
    spaced = [head, ""]
    for place, row in enumerate(rows):
        spaced += ["", row] if place and kinds[place] != kinds[place - 1] else [row]
    found = lines_of(tmp_path, LONG, "\n".join(spaced))[1].read_text(encoding="utf-8")
    assert json.loads(found) == json.loads(plain)


# --- weights of modes

PEAK = "peak-stress-opening"
MOVING = {"opening": [0.0, 60.0, 0.0], "tearing": [0.0, 90.0, 0.0]}


def summed(client: httpx.Client, weights: dict[str, float], curve: str = PEAK, **more: Any) -> Found:
    request = {"modes_mpa": MOVING, "weights": weights, "curve": curve, "repeats": 5e5, **more}
    reply = client.post("/v1/spectrum/damage", json=request)
    assert reply.status_code == 200, reply.text
    found: Found = reply.json()
    return found


def codes(found: Found) -> dict[str, Found]:
    return {each["code"]: each for each in found["findings"]}


@pytest.mark.parametrize("curve", [PEAK, I71])
def test_moving_mode_of_weight_zero_has_no_verdict(client: httpx.Client, curve: str) -> None:
    found = summed(client, {"opening": 1.06, "tearing": 0.0}, curve, repeats=1e4)
    said = codes(found)["moving-mode-without-weight"]
    assert (found["answer"]["verdict"], said["severity"], said["field"]) == ("undecided", "outside", "weights")
    assert "tearing moves by 90 MPa and has weight 0" in said["message"]


def test_resting_mode_of_weight_zero_is_no_matter(client: httpx.Client) -> None:
    modes = {**MOVING, "tearing": [5.0, 5.0, 5.0]}
    found = summed(client, {"opening": 1.06, "tearing": 0.0}, modes_mpa=modes, repeats=1e4)
    assert found["answer"]["verdict"] == "pass"
    assert not {"moving-mode-without-weight", "weight-of-mode-small"} & set(codes(found))


@pytest.mark.parametrize(("curve", "least"), [(PEAK, "0.465"), (I71, "0.15")])
def test_weights_below_every_published_rule_are_doubted_and_decide_nothing(
    client: httpx.Client, curve: str, least: str
) -> None:
    tiny = summed(client, {"opening": 0.01, "tearing": -0.01}, curve, repeats=1e9)
    assert tiny["answer"]["verdict"] == "undecided"
    assert (
        f"the weight 0.01, below {least}, less than any published rule"
        in codes(tiny)["weight-of-mode-small"]["message"]
    )
    assert f"only because of weights below {least}" in codes(tiny)["choices-decide"]["message"]
    few = summed(client, {"opening": 0.01, "tearing": 0.01}, curve, repeats=1e3)
    assert "weight-of-mode-small" in codes(few)
    assert "choices-decide" not in codes(few)


@pytest.mark.parametrize("weights", [{"opening": 1.06, "tearing": 1.88}, {"opening": 0.5, "tearing": 0.5}])
def test_usual_weights_are_not_doubted(client: httpx.Client, weights: dict[str, float]) -> None:
    for curve in (PEAK, I71):
        assert "weight-of-mode-small" not in codes(summed(client, weights, curve))


def test_weights_of_the_command_line_are_doubted_alike(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "load.csv"
    path.write_text("a_mpa;b_mpa\n0;0\n60;90\n0;0\n", encoding="utf-8")
    arguments = ["damage", str(path), "--columns", "a_mpa,b_mpa", "--curve", I71]
    assert cli.main([*arguments, "--weights", "a_mpa=1,b_mpa=0"]) == 1
    assert "b_mpa moves by 90 MPa and has weight 0" in capsys.readouterr().out


# --- lines under new names


def toe(name: str, values: list[float], step_mm: float = 2.0, kind: str = "toe", **more: Any) -> Found:
    positions = [step_mm * place for place in range(len(values))]
    given: Found = {**welded(name, kind=kind), "position_mm": positions, **more}
    given["cases"] = {"vertical": {"peaks_mpa": {"opening": values}}}
    return given


def placed(values: list[float], step_mm: float, y_mm: float) -> list[list[float]]:
    return [[step_mm * place, y_mm, 0.0] for place in range(len(values))]


COURSE = [4.0 + 2.0 * math.sin(0.31 * place) + 0.05 * place for place in range(21)]
LONGER = [*(1.1 * value for value in COURSE), 4.0, 3.1, 2.6, 2.2]
GROWN = {
    "stations added at the end": toe("weld 7", LONGER),
    "listed from the other end": toe("weld 7", LONGER[::-1]),
    "stations added at both ends": toe("weld 7", [3.0, 3.5, *(1.1 * value for value in COURSE), 3.5]),
    "four stations cut, others added": toe("weld 7", [*(1.1 * value for value in COURSE[4:]), 6.2, 6.3, 2.2]),
    "positions squeezed": toe("weld 7", [1.1 * value for value in COURSE], 1.2),
    "positions squeezed and other places": toe(
        "weld 7", [1.1 * value for value in COURSE], 1.2, coordinates_mm=placed(COURSE, 1.2, 70.0)
    ),
    "finer stations": toe(
        "weld 7", np.interp(np.arange(0.0, 20.1, 0.8), np.arange(21), np.array(COURSE) * 1.1).tolist(), 1.8
    ),
}


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("files", [1, 2])
@pytest.mark.parametrize("given", GROWN.values(), ids=GROWN)
def test_renamed_line_of_another_length_hides_no_growth(
    bare: Path, capsys: pytest.CaptureFixture[str], given: Found, files: int
) -> None:
    old = toe("toe", COURSE, **({"coordinates_mm": placed(COURSE, 2.0, 0.0)} if "coordinates_mm" in given else {}))
    stored(check=check(old), other=check(toe("C", [5.0] * 9), title="other"))
    if files == 1:
        put(check(given))
    else:
        Path(KEY).unlink()
        put(check(given, title="hanger"), "models/new.json")
    code, result = gate(capsys, "--accept-vanished", "--growth-floor", "0")
    assert (code, [kind for kind, _ in faults(result)]) == (1, ["growth"])
    assert "checked no more: the same notch and course" in str(at(result, "weld 7")["notes"])


NEW = {
    "another course": toe("weld 7", [5.0 + 1.5 * math.cos(0.4 * place) for place in range(25)]),
    "another notch": toe("weld 7", [0.5 * value for value in LONGER], kind="root"),
    "half of the stations": toe("weld 7", [*COURSE[:10], *(6.0 - 0.2 * place for place in range(15))]),
    "equal figures": toe("weld 7", [5.0] * 25),
    "few stations": toe("weld 7", COURSE[:4]),
    "no stress": toe("weld 7", [0.0] * 30),
}


@pytest.mark.parametrize("given", NEW.values(), ids=NEW)
def test_line_of_another_course_is_new(bare: Path, capsys: pytest.CaptureFixture[str], given: Found) -> None:
    stored(check=check(toe("toe", COURSE), toe("even", [5.0] * 9)))
    put(check(given))
    result = gate(capsys, "--accept-vanished")[1]
    assert at(result, "weld 7")["before"] is None


def test_straight_part_of_a_line_shows_nothing(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Straight courses lie in all steeper ones."""
    stored(check=check(toe("toe", [2.0 + 0.2 * place for place in range(12)])))
    put(check(toe("weld 7", [0.5 + 0.1 * place for place in range(20)])))
    assert at(gate(capsys, "--accept-vanished")[1], "weld 7")["before"] is None


# --- stresses that no steel bears, where no yield strength is given

ABOVE, BEYOND = "stress-above-yield", "stress-beyond-yield"
EXTREMES = [
    (0.0, None, "pass"),
    (1000.0, None, "pass"),
    (1500.0, ABOVE, "pass"),
    (-1500.0, ABOVE, "pass"),
    (2150.0, ABOVE, "pass"),
    (2200.0, BEYOND, "undecided"),
    (10_000.0, BEYOND, "undecided"),
    (-10_000.0, BEYOND, "undecided"),
]


def of_means(client: httpx.Client, mean_mpa: float, curve: str, **given: Any) -> list[Found]:
    """A history, two ways, and a nominal stress of a check with a small range about a mean."""
    low, high = mean_mpa - 25.0, mean_mpa + 25.0
    record = [low, high, low]
    case = {"a": {"normal_mpa": [1.0]}}
    checked = {
        "lines": [{"name": "n", "basis": "nominal", "position_mm": [0.0], "cases": case}],
        "curves": {"rule": "fixed", "curve": curve, **given},
    }
    steady = {"kind": "constant", "factors": {"a": {"maximum": high, "minimum": low}}, "cycles": 1e4}
    requests = [
        ("spectrum/damage", {"curve": curve, "history_mpa": record, **given}),
        ("spectrum/damage", {"curve": curve, "modes_mpa": {"a": record}, "weights": {"a": 1.0}, **given}),
        ("check", {**checked, "loading": steady}),
        ("check", {**checked, "loading": {"kind": "history", "channels": {"a": record}}}),
    ]
    replies = [client.post(f"/v1/{route}", json=request) for route, request in requests]
    assert {reply.status_code for reply in replies} == {200}
    return [reply.json() for reply in replies]


@pytest.mark.parametrize(("mean_mpa", "code", "verdict"), EXTREMES)
@pytest.mark.parametrize("given", [{}, {"yield_strength_mpa": 9000.0}], ids=["none", "of no metal"])
def test_stress_with_its_mean_is_compared_with_the_strongest_steels(
    client: httpx.Client, mean_mpa: float, code: str | None, verdict: str, given: Found
) -> None:
    for found in of_means(client, mean_mpa, "dnv-rp-c203-2016-d-air", **given):
        assert {ABOVE, BEYOND} & set(codes(found)) == ({code} if code else set())
        assert found["answer"]["verdict"] == verdict
        if code:
            assert "the yield strength of the strongest structural steels, 1100 MPa" in codes(found)[code]["message"]


@pytest.mark.parametrize("curve", [PEAK, "iiw-2016-notch-r1-steel-225"])
def test_notch_stresses_with_their_mean_are_no_matter(client: httpx.Client, curve: str) -> None:
    reply = client.post("/v1/spectrum/damage", json={"curve": curve, "history_mpa": [2975.0, 3025.0, 2975.0]})
    assert not {ABOVE, BEYOND} & set(codes(reply.json()))


def test_large_range_under_a_strength_of_no_metal_has_no_verdict(client: httpx.Client) -> None:
    request = {"curve": I71, "range_mpa": [2300.0], "count": [1.0], "yield_strength_mpa": 9000.0, "repeats": 1.0}
    found = client.post("/v1/spectrum/damage", json=request).json()
    assert "range-beyond-yield" in codes(found)


# --- words that were not true


@pytest.mark.parametrize(
    ("error", "kind", "title"),
    [
        (
            ModuleNotFoundError("none", name="jinja2"),
            "urn:toeline:report-not-installed",
            "Optional extra not installed",
        ),
        (OSError("no folder"), "urn:toeline:report-without-folder", "No folder to write to"),
    ],
)
def test_missing_extra_is_not_called_busy(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, error: Exception, kind: str, title: str
) -> None:
    def missing(*_: object) -> None:
        raise error

    monkeypatch.setattr(renderers, "import_module", missing)
    request = {"curve": I71, "range_mpa": [50.0], "count": [1e4]}
    reply = client.post("/v1/spectrum/damage", json=request, headers={"accept": "text/html"})
    assert (reply.status_code, reply.json()["type"], reply.json()["title"]) == (503, kind, title)
    caller, seen, _ = played([httpx.Response(503, content=reply.content)], attempts=3)
    with pytest.raises(ProblemError, match=f"503 {title}: reports need") as caught:
        caller.curves()
    assert (type(caught.value), len(seen)) == (ProblemError, 1)


@pytest.mark.parametrize("name", ["load_factor", "resistance_factor"])
def test_factor_that_relieves_is_refused_a_verdict_in_words(client: httpx.Client, name: str) -> None:
    """More load never passes where less does not, unless the finding gives the reason."""
    request = json.loads(Path("openapi_examples/check/one-toe-constant.json").read_text(encoding="utf-8"))["request"]
    found = [client.post("/v1/check", json={**request, "target": {name: value}}).json() for value in (1.0, 0.9)]
    assert [each["answer"]["verdict"] for each in found] == ["pass", "undecided"]
    assert "no verdict rests on it" in codes(found[1])["relieving-factor"]["message"]

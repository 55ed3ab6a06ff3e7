"""The command line: same bytes as the service, exit codes, tables into checks, texts."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.findings import catalogue
from service import cli
from service.base import example_files
from service.base.text import number
from service.http import openapi
from tests.api.test_strictness import REQUEST
from tests.bracket import DATA, bracket_request

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-hanger.json"


@pytest.fixture
def request_file(tmp_path: Path) -> Path:
    path = tmp_path / "check.json"
    path.write_text(json.dumps(REQUEST), encoding="utf-8")
    return path


def test_check_gives_the_bytes_of_the_service(
    client: httpx.Client, request_file: Path, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    out = tmp_path / "answer.json"
    assert cli.main(["check", str(request_file), "--json", "-o", str(out)]) == 0
    served = client.post("/v1/check", json=REQUEST).content
    assert capfdbinary.readouterr().out == served + b"\n"
    assert out.read_bytes() == served


def test_check_prints_the_verdict_and_the_governing_point(
    request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["check", str(request_file)]) == 0
    text = capsys.readouterr().out
    for part in (
        "PASS",
        "toe, station 1, 5 mm",
        "peak-stress-opening",
        "utilisation",
        "from memory",
        "engineer",
    ):
        assert part in text


def test_check_takes_an_example_and_fails_by_its_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(EXAMPLE), "--findings"]) == 0
    example = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    example["request"]["target"]["load_factor"] = 1.2
    worse = tmp_path / "worse.json"
    worse.write_text(json.dumps(example["request"]), encoding="utf-8")
    assert cli.main(["check", str(worse)]) == 1
    assert "FAIL" in capsys.readouterr().out


def test_bad_input_is_exit_code_two(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps({**REQUEST, "lines": []}), encoding="utf-8")
    assert cli.main(["check", str(bad)]) == 2
    assert "/lines" in capsys.readouterr().err
    assert cli.main(["check", str(tmp_path / "nothing.json")]) == 2
    assert "nothing.json" in capsys.readouterr().err
    assert cli.main(["calculate", "stress/peak", str(EXAMPLE)]) == 2
    assert "example of check" in capsys.readouterr().err
    assert cli.main(["calculate", "no/such", str(bad)]) == 2
    assert cli.main(["curves", "fat-9000"]) == 2


def test_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    class Piped:
        buffer = io.BytesIO(json.dumps(REQUEST).encode())

    monkeypatch.setattr(sys, "stdin", Piped)
    assert cli.main(["check", "-"]) == 0
    assert "PASS" in capsys.readouterr().out


def test_curves_and_validate(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["curves"]) == 0
    assert "en-1993-1-9-2005-normal-71" in capsys.readouterr().out
    assert cli.main(["curves", "en-1993-1-9-2005-normal-71"]) == 0
    assert "slopes" in capsys.readouterr().out
    assert cli.main(["curves", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["answer"]["id"]
    assert cli.main(["validate"]) == 0
    assert "0 failed" in capsys.readouterr().out
    assert cli.main(["validate", "--json"]) == 0


def test_findings_lists_every_code_or_says_what_one_means(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["findings"]) == 0
    assert capsys.readouterr().out.count("[") == len(catalogue())
    assert cli.main(["findings", "mesh-too-coarse"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert shown == f"outside: {catalogue()['mesh-too-coarse'].meaning} [mesh-too-coarse]"
    assert cli.main(["findings", "mesh-too-corse"]) == 2
    assert "mesh-too-coarse" in capsys.readouterr().err


def test_demo_shows_the_whole_check(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["demo"]) == 0
    text = capsys.readouterr().out
    assert "R2N_toe_plate" in text
    assert "toeline serve" in text


def test_demo_without_the_examples_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    installed = tmp_path / "share" / "toeline"
    monkeypatch.setattr(example_files, "files", lambda _: tmp_path / "elsewhere" / "service")
    monkeypatch.setattr(example_files.sysconfig, "get_path", lambda _: str(tmp_path))
    assert cli.main(["demo"]) == 2
    assert "clone" in capsys.readouterr().err
    assert openapi.examples.__wrapped__() == {}  # the pages do without
    installed.mkdir(parents=True)
    (installed / "openapi_examples").symlink_to(Path("openapi_examples").absolute())
    assert cli.main(["demo"]) == 0
    assert openapi.examples.__wrapped__() == openapi.examples()


def test_installation_takes_every_example_along() -> None:
    content = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))
    patterns = [p for listed in content["tool"]["setuptools"]["data-files"].values() for p in listed]
    packed = {found for pattern in patterns for found in Path().glob(pattern)}
    assert set(Path("openapi_examples").glob("*/*.json")) <= packed
    for target, listed in content["tool"]["setuptools"]["data-files"].items():
        assert {f"share/toeline/{Path(pattern).parent.as_posix()}" for pattern in listed} == {target}


def test_module_runs_and_tells_its_version() -> None:
    done = subprocess.run([sys.executable, "-m", "service", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("toeline ")


def test_serve_starts_the_service(monkeypatch: pytest.MonkeyPatch) -> None:
    import uvicorn

    started: dict[str, Any] = {}
    monkeypatch.setattr(uvicorn, "run", lambda app, **options: started.update(app=app, **options))
    assert cli.main(["serve", "--port", "8123"]) == 0
    assert (started["app"], started["host"], started["port"]) == ("service.http.app:app", "127.0.0.1", 8123)


def test_bracket_table_becomes_the_example(tmp_path: Path) -> None:
    out = tmp_path / "bracket.json"
    table_map = tmp_path / "lines.toml"
    text = (DATA / "lines.toml").read_text(encoding="utf-8").replace("element_size_mm = 0.75", "element_size_mm = 1.5")
    table_map.write_text(text, encoding="utf-8")
    arguments = ["lines", str(DATA / "notch_lines_d1p50.csv"), "--map", str(table_map), "-o", str(out)]
    assert cli.main(arguments) == 0
    assert json.loads(out.read_text(encoding="utf-8")) == json.loads(EXAMPLE.read_text(encoding="utf-8"))["request"]
    assert cli.main(["check", str(out)]) == 0


def loop_table(order: np.ndarray, delimiter: str = ";", decimal: str = ",") -> str:
    """A round attachment's toe: a loop of radius 20 in the plane z = 0 under a uniform stress along x."""
    angle = np.linspace(0.0, 2 * np.pi, 40, endpoint=False)[order]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(["X", "Y", "Z", "a11", "a22", "a33", "a12", "a23", "a13", "b11"])
    for one in angle:
        values = [20 * np.cos(one), 20 * np.sin(one), 0.0, 100.0, 0.0, 0.0, 0.0, 0.0, 0.0, 50.0]
        writer.writerow([f"{value:.9f}".replace(".", decimal) for value in values])
    return out.getvalue()


LOOP_MAP = """
[table]
form = "wide"
delimiter = ";"
decimal = ","
coordinates_mm = { x = "X", y = "Y", z = "Z" }
[table.cases.pull]
xx = "a11"
yy = "a22"
zz = "a33"
xy = "a12"
yz = "a23"
zx = "a13"
[table.cases.half]
xx = "b11"
yy = "a22"
zz = "a33"
xy = "a12"
yz = "a23"
zx = "a13"
[[lines]]
match = "*"
kind = "toe"
opening_angle_deg = 135.0
notch_size_mm = 6.0
element = "brick8"
element_size_mm = 3.1
average_over = 1
constants = { opening = 1.4 }
plate_normal = [0.0, 0.0, 1.0]
weld_towards_mm = [0.0, 0.0, 3.0]
[request.loading]
kind = "constant"
cycles = 1000.0
factors = { pull = { maximum = 1.0, minimum = 0.0 }, half = { maximum = 0.0, minimum = 0.0 } }
"""


@pytest.mark.parametrize("seed", [0, 1])
def test_closed_line_of_a_wide_table_with_unordered_nodes(
    tmp_path: Path, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """At a toe whose bisector makes 22.5 deg with the plate's normal, n = t x b: opening = n.S.n exactly."""
    order = np.random.default_rng(seed).permutation(40)
    (tmp_path / "map.toml").write_text(LOOP_MAP, encoding="utf-8")
    (tmp_path / "table.csv").write_text(loop_table(order), encoding="utf-8")
    assert cli.main(["lines", str(tmp_path / "table.csv"), "--map", str(tmp_path / "map.toml")]) == 0
    request = json.loads(capsys.readouterr().out)
    (line,) = request["lines"]
    assert line["closed"] is True
    answer = httpx_free_peaks(line)
    tangent = np.array(line["tangent"])
    # radial direction is the tangent turned by 90 deg; its component along x squared scales the opening
    radial_x = np.abs(tangent[:, 1])
    expected = 100.0 * radial_x**2 * np.sin(np.radians(67.5)) ** 2
    np.testing.assert_allclose(answer[:, 0], expected, atol=1e-6)


def httpx_free_peaks(line: dict[str, Any]) -> np.ndarray:
    from service.topics.stress.models import PeakRequest
    from service.topics.stress.routes import peak as peak_route

    body = {
        "notch": line["notch"],
        "mesh": {
            "element": "quad4",
            "element_size_mm": 1.0,
            "constants": {"opening": 1.4, "sliding": None, "tearing": 1.9},
        },
        "tensors_mpa": line["cases"]["pull"]["tensors_mpa"],
        "tangent": line["tangent"],
        "bisector": line["bisector"],
        "closed": True,
        "average_over": 1,
    }
    answer = peak_route(PeakRequest.model_validate(body)).answer.model_dump()
    return np.column_stack([answer["peaks_mpa"][mode] for mode in ("opening", "sliding", "tearing")])


def refused(tmp_path: Path, map_text: str, table: str) -> int:
    (tmp_path / "map.toml").write_text(map_text, encoding="utf-8")
    (tmp_path / "table.csv").write_text(table, encoding="utf-8")
    return cli.main(["lines", str(tmp_path / "table.csv"), "--map", str(tmp_path / "map.toml")])


WHOLE = np.arange(40)
LONG = (DATA / "lines.toml").read_text(encoding="utf-8")
ROWS = (DATA / "notch_lines_d1p50.csv").read_text(encoding="utf-8").splitlines()
BAD_TABLES: dict[str, tuple[str, str, str]] = {
    "no TOML": ("[table", loop_table(WHOLE), "TOML"),
    "unknown key": (LOOP_MAP.replace("average_over = 1", "colour = 1"), loop_table(WHOLE), "colour"),
    "missing column": (LOOP_MAP.replace('"a22"', '"c22"'), loop_table(WHOLE), "c22"),
    "no rows": (LOOP_MAP, loop_table(np.array([], dtype=int)), "no rows"),
    "text for a number": (LOOP_MAP, loop_table(WHOLE).replace("100,000000000", "much", 1), "much"),
    "no rule": (LOOP_MAP.replace('match = "*"', 'match = "A*"'), loop_table(WHOLE), "no rule"),
    "all skipped": (
        LOOP_MAP.replace('match = "*"', 'match = "*"\nskip = true'),
        loop_table(WHOLE),
        "skipped",
    ),
    "no normal": (
        LOOP_MAP.replace("plate_normal = [0.0, 0.0, 1.0]\n", ""),
        loop_table(WHOLE),
        "outward normal",
    ),
    "long without case": (LONG.replace('case = "load_case"\n', ""), "\n".join(ROWS), "long table"),
    "wide without cases": (
        LOOP_MAP.replace("table.cases.pull", "table.cases2.pull"),
        loop_table(WHOLE),
        "cases2",
    ),
    "wide with none": (
        LOOP_MAP[: LOOP_MAP.index("[table.cases.pull]")] + LOOP_MAP[LOOP_MAP.index("[[lines]]") :],
        loop_table(WHOLE),
        "wide table",
    ),
    "a node missing in one case": (LONG, "\n".join([ROWS[0], *ROWS[2:]]), "other nodes"),
    "no geometry": (
        LONG.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "").replace('order = "seq"\n', ""),
        "\n".join(ROWS),
        "without coordinates",
    ),
    "no position": (
        LONG.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "").replace(
            'position_mm = "station_mm"\n', ""
        ),
        "\n".join(ROWS),
        "position_mm",
    ),
}


@pytest.mark.parametrize("case", BAD_TABLES)
def test_tables_and_maps_that_are_refused(tmp_path: Path, case: str, capsys: pytest.CaptureFixture[str]) -> None:
    map_text, table, message = BAD_TABLES[case]
    assert refused(tmp_path, map_text, table) == 2
    assert message in capsys.readouterr().err


def test_long_table_without_coordinates_or_bisector_columns(tmp_path: Path) -> None:
    """Without coordinates, and with normals from the table where the bisector is missing."""
    plain = LONG.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "")
    assert refused(tmp_path, plain, "\n".join(ROWS)) == 0
    # the weld run is a stadium round its middle; the bisector's column stands for a normal of the table
    normals = LONG.replace(
        'bisector = { x = "bx", y = "by", z = "bz" }', 'plate_normal = { x = "bx", y = "by", z = "bz" }'
    )
    root = "weld_direction = [0.0, 0.0, 1.0]\n"
    rules = LONG[LONG.index("[[lines]]") : LONG.index("[request]")].replace("*_root", "R1P_root")
    only = rules[rules.rindex("[[lines]]") :] + root + '[[lines]]\nmatch = "*"\nskip = true\n'
    normals = normals.replace(LONG[LONG.index("[[lines]]") : LONG.index("[request]")], only)
    normals = normals.replace("element_size_mm = 0.75", "element_size_mm = 1.5")
    assert refused(tmp_path, normals, "\n".join(ROWS)) == 0


def test_bracket_request_holds_every_line() -> None:
    assert len(bracket_request("d0p75")["lines"]) == 12


def test_numbers_for_reading() -> None:
    assert number(0.0) == "0"
    assert number(True) == "True"
    assert number("text") == "text"
    assert number(1.5e-7) == "1.5e-7"

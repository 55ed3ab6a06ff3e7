"""The picture of a check by command, in its report, and what is said where a line has no place."""

from __future__ import annotations

import copy
import json
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import httpx
import pytest

from service.cli import main
from tests.api.report_pages import HOSTILE, Balanced, page_of, toe
from tests.bracket import bracket_request


@cache
def bracket() -> str:
    return json.dumps(bracket_request("d1p50"))


def file_of(folder: Path, request: Any) -> Path:
    file = folder / "check.json"
    file.write_text(request if isinstance(request, str) else json.dumps(request), encoding="utf-8")
    return file


def texts(svg: str) -> list[str]:
    return [each.text or "" for each in ElementTree.fromstring(svg).iter() if each.tag.endswith("}text")]


def placed_toe() -> dict[str, Any]:
    """The example with its stations on a line along x, at z = 4 mm."""
    request = toe()
    line = request["lines"][0]
    line["coordinates_mm"] = [[at, 0.0, 4.0] for at in line["position_mm"]]
    line["node_id"] = list(range(900, 900 + len(line["position_mm"])))
    return request


def test_command_draws_the_bracket_beside_its_request(tmp_path: Path) -> None:
    file = file_of(tmp_path, bracket())
    assert main(["picture", str(file)]) == 0
    svg = (tmp_path / "check.svg").read_text(encoding="utf-8")
    found = texts(svg)
    assert len(svg.encode()) < 150_000
    assert "R2N_toe_plate" in found
    assert "utilisation 0.853, station 39, node 1000020" in found
    assert "56.98 mm from the start, at (318, −12, 0)" in found
    # the longest names may be cut in their middle, none is left out
    names = {line["name"] for line in json.loads(bracket())["lines"]}
    assert len(names) == 12
    assert names <= set(found)
    assert main(["picture", str(file), "-o", str(tmp_path / "again.svg")]) == 0
    assert (tmp_path / "again.svg").read_text(encoding="utf-8") == svg


def test_command_writes_to_standard_output(tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["picture", str(file_of(tmp_path, placed_toe())), "-o", "-"]) == 0
    assert capfdbinary.readouterr().out.startswith(b"<svg ")


def test_picture_needs_none_of_the_optional_packages(tmp_path: Path) -> None:
    file = file_of(tmp_path, placed_toe())
    code = (
        "import sys; sys.modules.update(dict.fromkeys(['matplotlib', 'jinja2', 'meshio', 'h5py']));"
        f"from service.cli import main; sys.exit(main(['picture', {str(file)!r}]))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "check.svg").exists()


def test_a_check_without_places_is_refused_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["picture", str(file_of(tmp_path, toe()))]) == 2
    error = capsys.readouterr().err
    assert "no line has coordinates_mm" in error
    assert "/lines/0/coordinates_mm" in error


@pytest.mark.parametrize(("placed", "words"), [(0, "the second and 1 more"), (1, "the governing line toe and 1 more")])
def test_lines_without_places_are_named(tmp_path: Path, placed: int, words: str) -> None:
    request = placed_toe()
    first = request["lines"][0]
    second, third = (copy.deepcopy(first) | {"name": name} for name in ("the second", "the third"))
    for line in (second, third):
        del line["coordinates_mm"], line["node_id"]
    if placed:
        first.pop("coordinates_mm")
        second["coordinates_mm"] = [[at, 3.0, 0.0] for at in second["position_mm"]]
    request["lines"] = [first, second, third]
    assert main(["picture", str(file_of(tmp_path, request))]) == 0
    found = texts((tmp_path / "check.svg").read_text(encoding="utf-8"))
    assert f"not drawn, since their stations have no coordinates: {words}" in found
    assert ("governing point" in found) is (placed == 0)


def test_report_shows_the_lines_in_space_where_they_have_places(client: httpx.Client) -> None:
    page = page_of(client, placed_toe())
    assert "Weld lines in space" in Balanced(page).text
    assert re.search(
        r'<figure [^>]*>\s*<svg viewBox="0 0 720 [\d.]+" role="img" aria-label="1 weld line in space', page
    )
    assert "Weld lines in space" not in Balanced(page_of(client, toe())).text


def test_names_in_the_picture_of_a_report_cannot_become_markup(client: httpx.Client) -> None:
    request = placed_toe()
    request["lines"][0]["name"] = HOSTILE
    page = page_of(client, request)
    assert "<script" not in page
    assert "Weld lines in space" in Balanced(page).text


@pytest.mark.parametrize("scale", [1e-6, 1e6])
def test_far_and_tiny_places_are_drawn_all_the_same(client: httpx.Client, scale: float) -> None:
    request = placed_toe()
    line = request["lines"][0]
    line["position_mm"] = [at * scale for at in line["position_mm"]]
    line["coordinates_mm"] = [[1e7 * scale + at, 0.0, 4.0] for at in line["position_mm"]]
    page = page_of(client, request)
    drawn = page[page.index("weld line in space") :]
    assert not re.search(r"\b(nan|inf)\b", drawn[: drawn.index("</svg>")])


def test_a_line_towards_the_eye_is_drawn(client: httpx.Client) -> None:
    request = placed_toe()
    line = request["lines"][0]
    line["coordinates_mm"] = [[at / 1.87 * part for part in (1.0, -1.3, 0.9)] for at in line["position_mm"]]
    assert "Weld lines in space" in page_of(client, request)

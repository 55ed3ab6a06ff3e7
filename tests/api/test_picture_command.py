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
import meshio
import pytest

from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from service.cli import main
from tests.api.report_pages import FOLDER, HOSTILE, Balanced, page_of, toe
from tests.bracket import bracket_request
from tests.core.test_weld_lines_part import box
from tests.shapes.files import FOLDER as MODELS_FOLDER
from tests.shapes.files import model


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
    assert "56.9779 mm from the start, at (318, −12, 0)" in found
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
    scroller = r'<figure class="whole">\s*<div class="scroll"[^>]*>\s*'
    assert re.search(scroller + r'<svg viewBox="0 0 720 [\d.]+" role="img" aria-label="1 weld line in space', page)
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


# with the part


def placed_on(name: str) -> dict[str, Any]:
    """The example's stresses at stations of the first toe of a model."""
    found = next(each for each in find_weld_lines(model(name)).lines if each.kind == "toe" and not each.closed)
    request = toe()
    line = request["lines"][0]
    count = len(line["position_mm"])
    line["position_mm"] = found.position_mm[:count].tolist()
    line["coordinates_mm"] = found.coordinates_mm[:count].tolist()
    line["mesh"]["element_size_mm"] = found.mesh_size_mm
    return request


def mesh_file(name: str) -> str:
    return str(MODELS_FOLDER / f"{name}.vtu")


@pytest.mark.parametrize("name", ["stiffener-tet10", "stiffener-hex8"])
def test_command_draws_the_part_of_a_mesh_below_the_lines_of_a_check(tmp_path: Path, name: str) -> None:
    file = file_of(tmp_path, placed_on(name))
    assert main(["picture", str(file), "--mesh", mesh_file(name)]) == 0
    svg = (tmp_path / "check.svg").read_text(encoding="utf-8")
    assert "data:image/png;base64," in svg
    assert "hidden by the part" in texts(svg)
    assert any(each.startswith("verdict: ") for each in texts(svg))
    assert len(svg.encode()) < 150_000


def test_length_factor_brings_a_mesh_in_metres_to_its_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, mesh = file_of(tmp_path, placed_on("stiffener-hex8")), tmp_path / "metres.vtu"
    read = meshio.read(mesh_file("stiffener-hex8"))
    meshio.write(mesh, meshio.Mesh(read.points / 1000.0, read.cells))
    asked = ["picture", str(file), "--mesh", str(mesh)]
    assert main(asked) == 2
    assert "lies outside of the mesh or deep inside it: another length unit" in capsys.readouterr().err
    assert main([*asked, "--length-factor", "1000"]) == 0


@pytest.mark.parametrize(("more", "count"), [([], 7), (["--symmetry", "y=0"], 7)])
def test_command_draws_what_is_found_in_a_mesh_alone(tmp_path: Path, more: list[str], count: int) -> None:
    out = tmp_path / "found.svg"
    assert main(["picture", mesh_file("stiffener-tet10-half"), *more, "-o", str(out)]) == 0
    svg = out.read_text(encoding="utf-8")
    names = {each for each in texts(svg) if re.fullmatch(r"(toe|root)-\d", each)}
    assert len(names) == count
    assert "utilisation" not in texts(svg)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["CHECK", "--length-factor", "1000"], "--length-factor belongs to a mesh"),
        (["CHECK", "--mesh", "MESH", "--length-factor", "0"], "--length-factor must be above zero"),
        (["CHECK", "--symmetry", "y=0"], "--symmetry is for a mesh without a check"),
        (["MESH", "--mesh", "MESH"], "--mesh is for a check"),
        (["MESH", "--symmetry", "y"], "--symmetry takes planes like"),
        (["CHECK", "--mesh", "none.vtu"], "none.vtu"),
        (["BLOCK"], "no weld line was found"),
    ],
)
def test_options_that_nothing_uses_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    block = box((2, 2, 2))
    meshio.write(tmp_path / "block.vtu", meshio.Mesh(block.points_mm, [("hexahedron", block.element_blocks[0].nodes)]))
    named = {
        "CHECK": str(file_of(tmp_path, placed_toe())),
        "MESH": mesh_file("stiffener-hex8"),
        "BLOCK": str(tmp_path / "block.vtu"),
    }
    assert main(["picture", *(named.get(each, each) for each in arguments)]) == 2
    assert words in capsys.readouterr().err


def test_report_takes_the_part_too_and_lets_its_picture_be_shown(tmp_path: Path) -> None:
    file, out = file_of(tmp_path, placed_on("stiffener-hex8")), tmp_path / "r.html"
    assert main(["report", str(file), "--mesh", mesh_file("stiffener-hex8"), "-o", str(out)]) == 0
    page = out.read_text(encoding="utf-8")
    assert "data:image/png;base64," in page
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy
    assert "img-src data:;" in policy[1]
    Balanced(page)


def test_a_part_is_for_the_report_of_a_check_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    growth = str(FOLDER / "cracks" / "growth-tabled.json")
    assert main(["report", growth, "--mesh", mesh_file("stiffener-hex8"), "-o", str(tmp_path / "r.html")]) == 2
    assert "--mesh is for the report of a check" in capsys.readouterr().err

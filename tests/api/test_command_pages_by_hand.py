"""Commands about a part, a report or a picture: factors of lengths, planes, and where a page goes."""

from __future__ import annotations

import argparse
import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.cli import main, parser
from service.client.exit_codes import FAILED, PASSED
from service.commands import demo, lines, report
from service.commands.parts import picture, solids
from service.mesh.raw import RawMesh
from tests.api.test_command_runs_by_hand import Found, Out


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "f.json").write_text("{}")
    return lambda words: main(words.split())


# meshes


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The factors with which meshes were read."""
    factors: list[float] = []
    raw = RawMesh(points=np.zeros((0, 3)), cells=(), node_id=np.arange(0), numbered="")
    monkeypatch.setattr(solids, "read_mesh_file", lambda _: raw)
    monkeypatch.setattr(solids, "solid_of", lambda _, factor: factors.append(factor))
    monkeypatch.setattr(lines, "mesh_in", lambda _: raw)
    monkeypatch.setattr(lines, "search", lambda _raw, factor, *_: factors.append(factor))
    monkeypatch.setattr(lines, "listing_text", lambda _raw, _found, assumed: f"assumed {assumed}")
    return factors


@pytest.mark.parametrize("factor", [None, 1e-300, 0.005, 1000.0, 9.99e29])
def test_a_factor_of_lengths_counts_as_it_is_and_is_one_when_left_out(
    held: list[float], factor: float | None, capsys: Out
) -> None:
    expected = 1.0 if factor is None else factor
    solids.solid_in("a.vtu", factor)
    main(["lines", "a.vtu", "--list", *([] if factor is None else ["--length-factor", str(factor)])])
    assert held == [expected, expected]
    assert capsys.readouterr().out == f"assumed {1.0 if factor is None else None}\n"


@pytest.mark.parametrize("factor", [0.0, -1.0, 1e30, 1.005e30, float("nan"), float("inf")])
def test_other_factors_of_lengths_are_refused(held: list[float], factor: float, capsys: Out) -> None:
    with pytest.raises(Problem, match="--length-factor must be above zero"):
        solids.solid_in("a.vtu", factor)
    assert main(["lines", "a.vtu", "--list", f"--length-factor={factor}"]) == 2
    assert "--length-factor must be above zero" in capsys.readouterr().err
    assert held == []


def test_a_factor_without_a_mesh_is_refused() -> None:
    assert solids.part_given(argparse.Namespace(mesh=None, length_factor=None)) is None
    with pytest.raises(Problem, match="--length-factor belongs to a mesh"):
        solids.part_given(argparse.Namespace(mesh=None, length_factor=1.0))


def test_three_planes_of_symmetry_are_the_most() -> None:
    planes = ["x=0", "y=0", "z=0"]
    assert lines.symmetry_planes(planes) == planes
    assert lines.symmetry_planes([]) == []
    for wrong in ([*planes, "x=1"], ["w=0"]):
        with pytest.raises(Problem, match='--symmetry takes planes like "y=0", three at the most'):
            lines.symmetry_planes(wrong)


@pytest.mark.parametrize("words", ["f", "--map m", "--table t", "--list", "--symmetry x=0", "--picture p"])
def test_the_keys_go_with_their_output_alone(words: str, run: Callable[..., int], capsys: Out) -> None:
    assert run(f"lines --keys {words}") == 2
    assert "--keys goes with --json and --output only" in capsys.readouterr().err
    assert run("lines --keys --json -o keys.json") == PASSED
    assert list(json.loads(Path("keys.json").read_text())) == ["table", "mesh", "request"]


# reports and pictures


@pytest.mark.parametrize(("command", "suffix"), [("report", ".html"), ("picture", ".svg")])
def test_a_page_stands_beside_its_request_or_where_it_is_asked(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, command: str, suffix: str, capsys: Out
) -> None:
    monkeypatch.setattr(picture, "_checked", lambda _: "page")
    monkeypatch.setattr(report, "_choose", lambda *_: SimpleNamespace(name="check"))
    monkeypatch.setattr(report, "calculate", lambda *_: Found())
    monkeypatch.setattr(report, "render", lambda *_, **more: f"page{more or ''}")
    run(f"{command} f.json")
    assert Path(f"f{suffix}").read_text() == "page"
    run(f"{command} f.json -o other")
    assert Path("other").read_text() == "page"
    run(f"{command} f.json -o -")
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(b"{}")))
    run(f"{command} -")
    assert capsys.readouterr().out == "page\npage\n"


def test_a_report_is_found_by_the_keys_of_its_request() -> None:
    needed = {
        name: [name for name, field in found.request.model_fields.items() if field.is_required()]
        for name, found in report._with_report().items()
    }
    for name, keys in needed.items():
        assert report._choose(None, dict.fromkeys(keys)).name == name
        assert report._choose(None, {"calculation": name, "request": {}}).name == name
        assert report._choose(name, None).name == name
    for nothing in ({}, [], {"foreign": 1}, {**dict.fromkeys(needed["check"]), "foreign": 1}):
        with pytest.raises(Problem, match="name the calculation with --calculation: "):
            report._choose(None, nothing)
    with pytest.raises(Problem, match=r"^curves has no report; these have: "):
        report._choose("curves", None)


def test_a_part_is_drawn_in_the_report_of_a_check_alone(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setattr(report, "part_given", lambda _: "part")
    monkeypatch.setattr(report, "calculate", lambda *_: Found())
    monkeypatch.setattr(report, "render", lambda name, *_, **more: f"{name} {more}")
    assert run("report f.json --mesh m --calculation check") == PASSED
    assert Path("f.html").read_text() == "check {'part': 'part'}"
    assert run("report f.json --mesh m --calculation cracks/growth") == 2
    assert "--mesh is for the report of a check, not of cracks/growth" in capsys.readouterr().err


def test_a_check_without_places_has_no_picture(run: Callable[..., int], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(picture, "CheckRequest", type(None))
    monkeypatch.setattr(picture, "calculate", lambda *_: Found())
    monkeypatch.setattr(picture, "placed_check", lambda *_: SimpleNamespace(lines=()))
    given = parser().parse_args(["picture", "f.json"])
    with pytest.raises(InputError, match="no line has coordinates_mm") as refused:
        picture._checked(given)
    assert refused.value.path == ("lines", 0, "coordinates_mm")
    assert run("picture f.json") == 2


@pytest.mark.parametrize(("verdict", "code"), [("pass", PASSED), ("undecided", FAILED)])
def test_the_demo_says_whose_check_it_is_and_where_to_go_on(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, verdict: str, code: int, capsys: Out
) -> None:
    monkeypatch.setattr(demo, "bracket_request", dict)
    monkeypatch.setattr(demo, "calculate", lambda *_: Found(verdict=verdict))
    monkeypatch.setattr(demo, "check_text", lambda _: "the check\n")
    assert run("demo") == code
    first, second, *rest = capsys.readouterr().out.splitlines()
    assert first == "Spring-hanger bracket of a forage trailer, twelve weld lines, three load cases, three blocks"
    assert second == "the check"
    assert rest[1].startswith("The loading is invented.")

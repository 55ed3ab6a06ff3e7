"""Reports of the checks that a gate stops: which are written, what they are called, and that none misleads later."""

from __future__ import annotations

import json
import re
import string
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.base.problems import Problem
from service.cli import main
from service.client.errors import UnreachableError
from service.gate import gate, pages
from service.gate.forms.markdown import markdown_text
from service.gate.gravity import checks_by_gravity
from service.gate.result import CaseResult, Fault, GateResult, Limits
from service.jobs.in_order import several
from tests.api.test_gate import design, request, write
from tests.api.test_gate_reports import line, result

__all__ = ["design"]  # the fixture, for the tests of this file

RUN = ("gate", "models", "--baseline", "base.json", "--reports", "out/pages")
SAFE = set(string.ascii_letters + string.digits + "-_.")


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages of a few bytes in place of the whole ones."""
    made: Callable[..., str] = lambda *_, stopped, **__: f"<!DOCTYPE html>{pages.MARK.decode()}{' | '.join(stopped)}"  # noqa: E731
    monkeypatch.setattr(pages, "render", made)


def written(folder: str = "out/pages") -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(Path(folder).iterdir())}


def test_page_of_a_stopped_check_says_so_and_what_changed(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/hanger.json"), request(1.2))
    write(Path("models/good.json"), request(0.5))
    assert main([*RUN, "--growth-pct", "2"]) == 1
    ((name, page),) = written().items()
    assert name == pages.page_name("models/hanger.json")
    assert "PASSES, BUT STOPPED BY THE GATE" in page
    assert 'class="verdict fail"' in page
    assert "<strong>Stopped by the gate:</strong> toe A: utilisation grew from" in page
    assert "<h2>Changes since the baseline</h2>" in page
    assert pages.MARK in page.encode()[: pages.HEAD_BYTES]
    assert f"report of models/hanger.json: out/pages/{name}\n" in capsys.readouterr().out


def test_crack_of_a_growth_part_that_does_not_last_has_a_page(plain: None, design: Path) -> None:
    example = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-toe-growth.json"
    given = json.loads(example.read_text(encoding="utf-8"))["request"]
    given["lines"] = [line for line in given["lines"] if line["name"] == given["growth"]["line"]]
    given["target"]["repeats"] = 1e9
    write(Path("models/hanger.json"), given)
    assert main(["gate", "models", "--reports", "out/pages"]) == 1
    (page,) = written().values()
    assert "the crack at line" in page


def test_undecided_check_has_a_page(plain: None, design: Path) -> None:
    wrong = request()
    wrong["lines"][1]["mesh"]["element_size_mm"] = 20.0
    write(Path("models/hanger.json"), wrong)
    assert main(["gate", "models", "--reports", "out/pages"]) == 1
    (page,) = written().values()
    assert "toe B: outside validity at the governing station" in page


def test_paths_stand_in_every_form(plain: None, design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("models/hanger.json"), request(1.2))
    write(Path("models/good.json"), request(0.5))
    name = pages.page_name("models/hanger.json")
    capsys.readouterr()
    assert main([*RUN, "--junit", "out/j.xml", "--markdown", "out/notes/m.md", "--json"]) == 2  # no such folder
    Path("out/notes").mkdir()
    capsys.readouterr()
    assert main([*RUN, "--junit", "out/j.xml", "--markdown", "out/notes/m.md", "--json"]) == 1
    content = json.loads(capsys.readouterr().out)
    assert [(check["check"], check["report"]) for check in content["checks"]] == [
        ("models/good.json", None),
        ("models/hanger.json", f"out/pages/{name}"),
    ]
    assert f"models/hanger.json ([report](../pages/{name}))" in Path("out/notes/m.md").read_text(encoding="utf-8")
    suites = {suite.attrib["name"]: suite for suite in ET.parse("out/j.xml").getroot()}
    assert f"report: out/pages/{name}" in "".join(suites["models/hanger.json"].itertext())
    assert "report:" not in "".join(suites["models/good.json"].itertext())


def test_pages_of_former_runs_are_taken_away_and_nothing_else(plain: None, design: Path) -> None:
    write(Path("models/hanger.json"), request(1.2))
    write(Path("models/other.json"), request(3.0))
    assert main(list(RUN)) == 1
    assert len(written()) == 2
    foreign = {
        "notes.html": pages.MARK.decode(),
        "a-0123456789ab.html": "by hand",
        "index.md": "x",
    }
    for name, text in foreign.items():
        Path("out/pages", name).write_text(text, encoding="utf-8")
    Path("out/pages/b-0123456789ab.html").symlink_to(Path("index.md"))
    Path("models/other.json").unlink()
    write(Path("models/hanger.json"), request())
    assert main(list(RUN)) == 0
    assert set(written()) == {*foreign, "b-0123456789ab.html"}


def test_two_runs_write_the_same_bytes(plain: None, design: Path) -> None:
    write(Path("models/hanger.json"), request(1.2))
    runs = []
    for _ in range(2):
        main(list(RUN))
        runs.append(written())
    assert runs[0] == runs[1]


def test_a_run_that_is_refused_before_it_calculates_leaves_the_folder_alone(plain: None, design: Path) -> None:
    write(Path("models/hanger.json"), request(1.2))
    assert main(list(RUN)) == 1
    before = written()
    assert main([*RUN, "--limit", "2"]) == 2
    assert written() == before


def test_folder_that_cannot_be_one_is_refused_before_anything_is_calculated(
    design: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(gate, "ask_checks", None)
    Path("out").write_text("a file", encoding="utf-8")
    assert main(list(RUN)) == 2
    assert "out" in capsys.readouterr().err


def test_missing_packages_are_said_before_anything_is_calculated(
    design: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(_: str) -> None:
        raise Problem(503, "reports need jinja2")

    monkeypatch.setattr(pages, "require_packages", missing)
    monkeypatch.setattr(gate, "ask_checks", None)
    assert main(list(RUN)) == 2
    assert "reports need jinja2" in capsys.readouterr().err


def stopped(count: int = 1) -> GateResult:
    checks = [
        CaseResult(key=f"{n}.json", lines=(line("toe", Fault("limit", "over")),), input_digest="d")
        for n in range(count)
    ]
    return result(*checks)


def wrote(tmp_path: Path, found: GateResult, calculate: Any = None) -> GateResult:
    paths = {check.key: write(tmp_path / check.key, request()) for check in found.checks}
    return pages.write_pages(tmp_path, found, paths, calculate or (lambda _: {"record": {"input_digest": "d"}}))


def test_no_more_than_the_gravest_have_a_page(plain: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "MOST_PAGES", 2)
    found = wrote(tmp_path, stopped(5))
    assert len(found.pages) == 2
    assert found.notes == ("3 checks that did not pass without a report: the 2 gravest have one",)


def test_check_without_an_answer_or_file_has_no_page_and_says_so(plain: None, tmp_path: Path) -> None:
    gone = CaseResult(key="gone.json", lines=(line("toe", Fault("vanished", "no more"), now=None),))
    refused = CaseResult(key="refused.json", error="broken", error_code=2)
    found = pages.write_pages(tmp_path, result(gone, refused), {"refused.json": tmp_path}, lambda _: {})
    assert found.pages == {}
    assert found.notes == tuple(f"{key}.json: no report, since there is no answer of it" for key in ("gone", "refused"))


def test_page_that_cannot_be_made_is_a_note(plain: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(_: Any) -> Any:
        raise UnreachableError("the service is gone", 1)

    assert wrote(tmp_path, stopped(), lost).notes == ("0.json: no report: the service is gone",)
    path = write(tmp_path / "0.json", request())
    monkeypatch.syspath_prepend(str(Path(__file__).parents[2]))  # for the processes
    with several(2, of_server=False) as each:  # processes hand over texts
        found = pages.write_pages(tmp_path, stopped(), {"0.json": path}, gate.calculate_here, each)
    assert found.notes == ("0.json: no report: its file changed during the run",)
    changed = wrote(tmp_path, stopped(), lambda _: {"record": {"input_digest": "other"}})
    assert changed.notes == ("0.json: no report: its file changed during the run",)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pages, "replace_file", full)
    assert wrote(tmp_path, stopped()).notes == ("0.json: no report: No space left on device",)


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=200))
def test_names_are_safe_on_every_system(key: str) -> None:
    name = pages.page_name(key)
    assert set(name) <= SAFE
    assert name[0] not in "-."
    assert len(name) < 110
    assert pages.NAME.fullmatch(name)
    assert name.partition(".")[0].upper() not in {"CON", "NUL", "PRN", "AUX"}
    assert name == pages.page_name(key)


@pytest.mark.parametrize(
    "keys",
    [
        ("a/b.json", "a-b.json", "a_b.json", "A/b.json"),
        ("../x.json", "x.json", "/x.json"),
        ("k" * 300 + "1.json", "k" * 300 + "2.json"),
        ("ä.json", "ö.json", ".json"),
    ],
)
def test_no_two_checks_share_a_page(keys: tuple[str, ...]) -> None:
    names = {pages.page_name(key).lower() for key in keys}
    assert len(names) == len(keys)


def test_gravest_check_comes_first_whatever_its_name() -> None:
    def check(key: str, *faults: Fault) -> CaseResult:
        return CaseResult(key=key, lines=(line("toe", *faults),))

    grown, over = check("a", Fault("growth", "grew")), check("z", Fault("limit", "over"))
    found = GateResult(checks=(grown, CaseResult(key="m"), over), limits=Limits(), compared=False)
    assert [each.key for each in checks_by_gravity(found)] == ["z", "a", "m"]
    rows = re.findall(r"^\| (\w) \| toe", markdown_text(found), re.MULTILINE)
    assert rows == ["z", "a"]

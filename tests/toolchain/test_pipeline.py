"""The pipelines of README, run as far as they are shell: a design repository, a good change, a bad one."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from service.http.settings import Settings
from tests.api.conftest import Server

pytestmark = pytest.mark.toolchain

HERE = Path(__file__).parent
BRACKET = HERE.parents[1] / "openapi_examples" / "check" / "bracket-hanger.json"
README = HERE.parents[1] / "README.md"
GUIDE = HERE.parents[1] / "service" / "guides" / "gate.md"


@pytest.fixture(scope="module")
def accepted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A design repository with the bracket, its accepted state and the pipeline; `toeline` is on its path."""
    folder = tmp_path_factory.mktemp("accepted")
    (folder / "checks").mkdir()
    shutil.copy(BRACKET, folder / "checks" / "bracket.json")
    shutil.copy(HERE / "pipeline.sh", folder)
    command = folder / "bin" / "toeline"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m service "$@"\n')
    command.chmod(0o755)
    written = shell(folder, "toeline gate checks --baseline checks/accepted.json --write-baseline")
    assert written.returncode == 0, written.stderr
    return folder


@pytest.fixture
def design(accepted: Path, tmp_path: Path) -> Path:
    """A copy of its own of the design repository."""
    return shutil.copytree(accepted, tmp_path / "design")


def shell(folder: Path, script: str, **environment: str) -> subprocess.CompletedProcess[str]:
    path = {"PATH": f"{folder / 'bin'}:{os.environ['PATH']}", "PYTHONPATH": str(HERE.parents[1])}
    return subprocess.run(
        ["sh", "-e", "-c", script],
        cwd=folder,
        env={**os.environ, **path, "TOELINE_URL": "", **environment},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def load_up(design: Path, factor: float) -> None:
    path = design / "checks" / "bracket.json"
    example = json.loads(path.read_text())
    for block in example["request"]["loading"]["blocks"]:
        for state in block["factors"].values():
            state.update({end: factor * value for end, value in state.items()})
    path.write_text(json.dumps(example))


def test_unchanged_design_passes(design: Path) -> None:
    run = shell(design, "sh pipeline.sh")
    assert (run.returncode, run.stderr) == (0, "")
    assert "welds: no line is over its limit" in run.stdout
    root = ET.parse(design / "gate-report" / "welds.xml").getroot()
    assert (root.attrib["tests"], root.attrib["failures"]) == ("12", "0")


def test_load_up_by_a_fifth_is_stopped_and_shown(design: Path) -> None:
    load_up(design, 1.2)
    run = shell(design, "sh pipeline.sh")
    assert run.returncode == 1
    assert "see gate-report/welds.md" in run.stderr
    root = ET.parse(design / "gate-report" / "welds.xml").getroot()
    texts = {case: "".join(case.itertext()) for case in root.iter("testcase")}
    cases = [case for case, text in texts.items() if "\nutilisation: " in text]  # those of lines
    assert sum("change: +20 %" in texts[case] for case in cases) == len(cases) == 12  # all carry a fifth more
    # those up to half of what is allowed, at judged and other stations, are told and do not fail
    assert all((len(case.findall("failure")) == 1) == (largest_utilisation(case) > 0.5) for case in cases)
    worst = next(case for case in root.iter("testcase") if case.attrib["name"] == "R2N_toe_plate")
    assert worst[0].attrib["type"] == "limit"
    assert worst[0].text is not None
    for fact in ("governing point: ", "curve: peak-stress-opening", "change: +20 %"):
        assert fact in worst[0].text
    assert "R2N\\_toe\\_plate" in (design / "gate-report" / "welds.md").read_text()


def largest_utilisation(case: ET.Element) -> float:
    """Of all stations of a line: of the governing one, and of those that are not judged."""
    text = "".join(case.itertext())
    judged = re.findall(r"^utilisation: (\S+)$", text, re.MULTILINE)
    others = re.findall(r"stations not judged (?:grew from \S+ to|reach a utilisation of) (\S+)", text)
    assert judged
    return max(float(found) for found in (*judged, *others))


def test_loosened_rule_is_stopped_and_shown(design: Path) -> None:
    path = design / "checks" / "bracket.json"
    example = json.loads(path.read_text())
    example["request"]["target"]["damage_limit"] = 0.6
    path.write_text(json.dumps(example))
    run = shell(design, "sh pipeline.sh")
    assert run.returncode == 1
    assert "bracket.json: rules changed: target.damage_limit 0.5 -> 0.6" in run.stdout
    accepted = "toeline gate checks --baseline checks/accepted.json --accept checks/bracket.json --because tried"
    assert shell(design, accepted).returncode == 0
    run = shell(design, "sh pipeline.sh")
    assert (run.returncode, "accepted because tried" in run.stdout) == (0, True)


def test_growth_within_the_allowance_passes(design: Path) -> None:
    load_up(design, 1.019)
    assert shell(design, "sh pipeline.sh").returncode == 0


def test_service_calculates_when_its_address_is_given(design: Path) -> None:
    with Server(Settings()) as url:
        run = shell(design, "sh pipeline.sh", TOELINE_URL=url)
    assert run.returncode == 0, run.stderr


def test_refused_file_is_told_apart(design: Path) -> None:
    (design / "checks" / "broken.json").write_text("{")
    run = shell(design, "sh pipeline.sh")
    assert run.returncode == 2
    assert "was refused" in run.stderr


def test_story_of_readme_ends_with_a_stopped_change(design: Path) -> None:
    """From a clone to a stopped change: the commands as they stand there."""
    text = README.read_text(encoding="utf-8")
    story = text[text.index("## From a clone to a stopped change") :].split("```")[1].removeprefix("sh\n")
    (design / "openapi_examples").symlink_to(README.parent / "openapi_examples")
    shutil.rmtree(design / "checks")
    lines = [line.removeprefix("bash .ci/with-venv ") for line in story.strip().splitlines()]
    changed = next(place for place, line in enumerate(lines) if line.startswith("sed "))
    assert lines[changed + 1].endswith("# exit code 1")
    ready = shell(design, "\n".join(lines[: changed + 1]))
    assert ready.returncode == 0, ready.stderr
    stopped = shell(design, lines[changed + 1])
    assert stopped.returncode == 1
    assert stopped.stdout.splitlines()[0].startswith("bracket.json, ")
    assert "is above the limit 1" in stopped.stdout
    folder = next(line for line in lines if line.startswith("D=")).split(";")[0]
    assert shell(design, "\n".join([folder, *lines[changed + 2 :]])).returncode == 0
    assert (design / "bracket.html").exists()


def test_hosted_runner_steps_of_shell(design: Path, tmp_path: Path) -> None:
    steps = re.findall(r"^ +run: (.+)$", (HERE / "pipeline.yml").read_text(), re.MULTILINE)
    install, *others = steps
    assert install.startswith("python -m pip install")
    load_up(design, 1.2)
    summary = tmp_path / "summary.md"
    codes = [shell(design, step, GITHUB_STEP_SUMMARY=str(summary)).returncode for step in others]
    assert codes == [1, 0]
    assert summary.read_text().startswith("## Weld gate: failed")


def test_hosted_runner_file_is_plain_yaml() -> None:
    """No tabs, steps as list entries, every step runs or uses something."""
    text = (HERE / "pipeline.yml").read_text()
    assert "\t" not in text
    steps = re.split(r"^      - ", text, flags=re.MULTILINE)[1:]
    assert len(steps) == 6
    assert all(("run: " in step) != ("uses: " in step) for step in steps)


@pytest.mark.parametrize("name", ["pipeline.sh", "pipeline.yml"])
def test_the_guide_quotes_the_pipelines(name: str) -> None:
    assert (HERE / name).read_text() in GUIDE.read_text(encoding="utf-8")

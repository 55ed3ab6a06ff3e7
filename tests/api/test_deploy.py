"""What an operator is given: locked packages, a bill of them, and configuration that names what there is."""

from __future__ import annotations

import json
import re
import runpy
import tomllib
from dataclasses import fields
from email.message import Message
from importlib.metadata import Distribution, distributions
from pathlib import Path
from typing import Any, cast

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from service.deploy import sbom
from service.http.settings import Settings

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "service" / "deploy"
EXTRAS = ("report", "fast", "mesh", "metrics", "tracing", "units")
LOCK = (DEPLOY / "requirements.txt").read_text()
PINS = re.findall(r"^(\S+)==(\S+)(?: ; (.*?))? \\\n((?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)", LOCK, re.MULTILINE)


def test_every_package_is_locked_with_its_hashes_and_no_place_to_get_it_from() -> None:
    named = re.findall(r"^[a-z].*$", LOCK, re.MULTILINE)
    assert len(PINS) == len(named) > 50
    assert "://" not in LOCK


@pytest.mark.parametrize("part", ["", *EXTRAS])
def test_the_lock_holds_what_the_project_asks_for(part: str) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = project["optional-dependencies"][part] if part else project["dependencies"]
    for line in asked:
        requirement = Requirement(line)
        found = [version for name, version, _, _ in PINS if name == canonicalize_name(requirement.name)]
        assert found, f"{requirement.name}: make the lock again (DEVELOPERS, Security)"
        assert all(requirement.specifier.contains(version, prereleases=True) for version in found)


def test_a_configuration_names_settings_that_there_are() -> None:
    known = {f"TOELINE_{field.name.upper()}" for field in fields(Settings)}
    known |= {name for path in ROOT.glob("service/**/*.py") for name in re.findall("TOELINE_[A-Z_]+", path.read_text())}
    for name in ("nginx.conf", "orchestrator.yaml"):
        used = set(re.findall("TOELINE_[A-Z_]+", (DEPLOY / name).read_text()))
        assert used
        assert used <= known


def test_an_orchestrator_asks_for_paths_that_there_are() -> None:
    manifest = (DEPLOY / "orchestrator.yaml").read_text()
    assert set(re.findall(r"path: (/health/\w+)", manifest)) == {"/health/live", "/health/ready"}
    for rule in ("readOnlyRootFilesystem: true", "runAsNonRoot: true", "allowPrivilegeEscalation: false", "@sha256:"):
        assert rule in manifest


class Found:
    """A distribution as the standard library shows it."""

    def __init__(self, name: str, version: str, *stated: tuple[str, str]) -> None:
        self.version, self.metadata = version, Message()
        self.metadata["Name"] = name
        for key, value in stated:
            self.metadata[key] = value


def bill(*found: Found) -> Any:
    return sbom.bill(cast("list[Distribution]", found))


def test_a_bill_lists_each_package_once_with_version_and_licence() -> None:
    found = bill(
        Found("Some_Thing", "2.0", ("License", "MIT License\n\nlong text")),
        Found("some.thing", "2.0", ("License", "MIT License")),
        Found("toeline", "1.0"),
        Found("b", "1", ("License-Expression", "BSD-3-Clause"), ("License", "BSD")),
        Found("c", "1", ("Classifier", "Topic :: Text"), ("Classifier", "License :: OSI Approved :: MIT License")),
        Found("d", "1", ("License", " ")),
    )
    assert found["metadata"]["component"]["purl"] == "pkg:pypi/toeline@1.0"
    assert found["metadata"]["component"]["type"] == "application"
    told = [(part["purl"], part.get("licenses")) for part in found["components"]]
    assert told == [
        ("pkg:pypi/b@1", [{"license": {"name": "BSD-3-Clause"}}]),
        ("pkg:pypi/c@1", [{"license": {"name": "MIT License"}}]),
        ("pkg:pypi/d@1", None),
        ("pkg:pypi/some-thing@2.0", [{"license": {"name": "MIT License"}}]),
    ]


def test_a_bill_of_a_clone_names_the_service_all_the_same() -> None:
    assert bill()["metadata"]["component"] == {"type": "application", "name": "toeline"}


def test_the_bill_of_this_environment_is_the_same_each_time(capsys: pytest.CaptureFixture[str]) -> None:
    assert sbom.__file__ is not None
    runpy.run_path(sbom.__file__, run_name="__main__")
    first = capsys.readouterr().out
    sbom.main()
    assert capsys.readouterr().out == first
    names = {part["name"] for part in json.loads(first)["components"]}
    assert {"numpy", "fastapi"} <= names
    assert len(names) <= len(list(distributions()))

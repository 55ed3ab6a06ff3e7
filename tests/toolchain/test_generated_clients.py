"""Clients that general-purpose generators make of the OpenAPI document: every operation, a check answered."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from service.http.openapi import description
from service.http.settings import Settings
from service.topics.registry import load
from tests.api.conftest import Server

pytestmark = pytest.mark.toolchain

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"
OPTIONAL = "--default-non-nullable=false"  # what has a default may be left out of a request
UNREACHABLE = "the generator cannot be fetched on this machine"

PYTHON = """
import json, sys
from made import Client
from made.api.check import post_check
from made.models import CheckRequest
url, file = sys.argv[1:]
given = json.load(open(file))["request"]
request = CheckRequest.from_dict(given)
assert request.to_dict() == given
found = post_check.sync(client=Client(base_url=url), body=request)
print(found.answer.verdict, found.answer.utilisation)
"""

TYPESCRIPT = """
import createClient from "openapi-fetch";
import type { paths, components } from "./schema.js";

declare const process: { argv: string[] };
type Request = components["schemas"]["CheckRequest"];
const client = createClient<paths>({ baseUrl: process.argv[2] });
const line: Request["lines"][number] = {
  name: "toe",
  notch: { kind: "toe", opening_angle_deg: 135, notch_size_mm: 8 },
  mesh: { element: "brick8", element_size_mm: 2 },
  position_mm: [0],
  cases: { pull: { peaks_mpa: { opening: [10] } } },
} as Request["lines"][number];
const factors = { pull: { maximum: 1, minimum: 0 } };
const body = { lines: [line], loading: { kind: "constant", factors, cycles: 1000000 } } as Request;
const { data, error } = await client.POST("/v1/check", { body });
if (!data || typeof data === "string") throw new Error(JSON.stringify(error));
const verdict: "pass" | "fail" | "undecided" = data.answer.verdict;
console.log(verdict);
"""


def run(command: list[str], where: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=where, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> Path:
    load()
    file = tmp_path_factory.mktemp("document") / "openapi.json"
    file.write_text(json.dumps(description()), encoding="utf-8")
    return file


def operations(document: Path) -> list[dict[str, Any]]:
    paths = json.loads(document.read_text(encoding="utf-8"))["paths"]
    return [operation for item in paths.values() for operation in item.values()]


def test_a_generated_python_client_has_every_operation_and_is_answered(document: Path, tmp_path: Path) -> None:
    assert run([sys.executable, "-m", "venv", "generator"], tmp_path).returncode == 0
    python = tmp_path / "generator" / ("Scripts" if os.name == "nt" else "bin") / "python"
    fetched = run([str(python), "-m", "pip", "install", "--quiet", "openapi-python-client"], tmp_path)
    if fetched.returncode:
        pytest.skip(UNREACHABLE)
    command = [str(python), "-m", "openapi_python_client", "generate", "--meta", "none"]
    made = run([*command, "--path", str(document), "--output-path", "made"], tmp_path)
    assert made.returncode == 0, made.stdout + made.stderr
    names = {file.stem for file in (tmp_path / "made" / "api").glob("*/*.py")}
    assert {operation["operationId"] for operation in operations(document)} <= names
    with Server(Settings()) as url:
        done = run([str(python), "-c", PYTHON, url, str(EXAMPLE)], tmp_path)
    answer = json.loads(EXAMPLE.read_text(encoding="utf-8"))["response"]["answer"]
    assert done.stdout.split() == [answer["verdict"], str(answer["utilisation"])], done.stderr


def test_generated_typescript_is_sound_and_is_answered(document: Path, tmp_path: Path) -> None:
    npm, node = shutil.which("npm"), shutil.which("node")
    if npm is None or node is None:
        pytest.skip("no node and npm on this machine")
    (tmp_path / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    fetched = run([npm, "install", "--silent", "openapi-typescript", "openapi-fetch", "typescript@5"], tmp_path)
    if fetched.returncode:
        pytest.skip(UNREACHABLE)
    tools = tmp_path / "node_modules" / ".bin"
    made = run([str(tools / "openapi-typescript"), str(document), "-o", "schema.d.ts", OPTIONAL], tmp_path)
    assert made.returncode == 0, made.stderr
    (tmp_path / "check.ts").write_text(TYPESCRIPT, encoding="utf-8")
    strict = ["--strict", "--target", "es2022", "--module", "nodenext", "--moduleResolution", "nodenext"]
    compiled = run([str(tools / "tsc"), *strict, "--lib", "es2022,dom", "check.ts"], tmp_path)
    assert compiled.returncode == 0, compiled.stdout
    with Server(Settings()) as url:
        done = run([node, "check.js", url], tmp_path)
    assert done.stdout.strip() == "pass", done.stderr

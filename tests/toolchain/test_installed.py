"""What a user's environment gets: the packages fatcore and toeline, and no package called service."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.toolchain

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with the distribution as it is installed, built from the files that git knows."""
    source, target = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("site")
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    for name in filter(None, names.decode().split("\0")):
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_bytes((ROOT / name).read_bytes())
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(target), "."]
    made = subprocess.run(command, cwd=source, capture_output=True, text=True, check=False)
    if "Could not find a version that satisfies the requirement setuptools" in made.stderr:
        pytest.skip("the build tools cannot be fetched on this machine")
    assert made.returncode == 0, made.stderr
    with zipfile.ZipFile(next(target.glob("*.whl"))) as wheel:
        wheel.extractall(target)
    return target


def run(installed: Path, code: str, beside: Path) -> str:
    command = [sys.executable, "-c", f"import sys; sys.path[:0] = [{str(installed)!r}]\n{code}"]
    done = subprocess.run(command, cwd=beside, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_packages_are_fatcore_and_toeline_only(installed: Path) -> None:
    packages = {path.name for path in installed.iterdir() if (path / "__init__.py").exists()}
    assert packages == {"fatcore", "toeline"}
    assert (installed / "toeline" / "py.typed").exists()
    assert (installed / "toeline" / "http" / "static" / "index.html").exists()
    templates = {path.name for path in (ROOT / "service" / "report" / "templates").iterdir()}
    assert {path.name for path in (installed / "toeline" / "report" / "templates").iterdir()} == templates


def test_a_report_is_made_from_the_installed_templates(installed: Path, tmp_path: Path) -> None:
    example = ROOT / "openapi_examples" / "check" / "one-toe-constant.json"
    code = f"from toeline.cli import main; raise SystemExit(main(['report', {str(example)!r}, '-o', 'page.html']))"
    run(installed, code, tmp_path)
    assert (tmp_path / "page.html").read_text(encoding="utf-8").endswith("</html>")


def test_a_folder_called_service_beside_a_script_hides_nothing(installed: Path, tmp_path: Path) -> None:
    (tmp_path / "service").mkdir()
    (tmp_path / "service" / "__init__.py").write_text("raise RuntimeError('not ours')")
    code = """
sys.path[:0] = [""]
from toeline import AsyncClient, Client, create_app
from toeline.cli import main
raise SystemExit(main(["curves", "peak-stress-opening"]))
"""
    shown = run(installed, code, tmp_path)
    assert "peak-stress-opening" in shown

"""What a user's environment gets: the packages fatcore and toeline, and no package called service."""

from __future__ import annotations

import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.toolchain

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the files that git knows."""
    source, target = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    for name in filter(None, names.decode().split("\0")):
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_bytes((ROOT / name).read_bytes())
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(target), "."]
    made = subprocess.run(command, cwd=source, capture_output=True, text=True, check=False)
    if "Could not find a version that satisfies the requirement setuptools" in made.stderr:
        pytest.skip("the build tools cannot be fetched on this machine")
    assert made.returncode == 0, made.stderr
    return next(target.glob("*.whl"))


@pytest.fixture(scope="module")
def installed(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with the packages of the wheel."""
    target = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(built) as wheel:
        wheel.extractall(target)
    return target


def run(installed: Path, code: str, beside: Path) -> str:
    command = [sys.executable, "-c", f"import sys; sys.path[:0] = [{str(installed)!r}]\n{code}"]
    done = subprocess.run(command, cwd=beside, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def environment(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A virtual environment with the wheel in it; what the wheel needs is that of this one."""
    place = tmp_path_factory.mktemp("environment")
    venv.create(place, with_pip=False, symlinks=True)
    python = place / "bin" / "python"
    (site,) = place.glob("lib/python*/site-packages")
    paths = [path for path in sys.path if path.endswith("site-packages")]
    (site / "needed.pth").write_text("\n".join(paths), encoding="utf-8")
    command = [sys.executable, "-m", "pip", "--python", str(python), "install", "--quiet", "--no-deps", "--no-index"]
    done = subprocess.run([*command, str(built)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return place


def test_what_the_demo_suggests_works_in_an_empty_folder(environment: Path, tmp_path: Path) -> None:
    def called(words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(words, shell=True, cwd=tmp_path, capture_output=True, text=True, check=False)

    first = called(f"{environment}/bin/toeline demo")
    assert first.returncode == 0, first.stderr
    lines = first.stdout.split("Where to go from here:\n")[1].splitlines()
    *commands, last = [line.strip() for line in lines if not line.startswith("  #")]
    assert len(commands) == 3
    for command in commands:
        done = called(command)
        assert done.returncode == 0, done.stderr
    assert "PASS" in done.stdout
    assert last == f"{environment}/bin/toeline serve"
    with subprocess.Popen([*last.split(), "--port", "0"], cwd=tmp_path, stderr=subprocess.PIPE, text=True) as served:
        assert served.stderr is not None
        assert any("Uvicorn running" in line for line in served.stderr)
        served.terminate()


def test_packages_are_fatcore_and_toeline_only(installed: Path) -> None:
    packages = {path.name for path in installed.iterdir() if (path / "__init__.py").exists()}
    assert packages == {"fatcore", "toeline"}
    assert (installed / "toeline" / "py.typed").exists()
    assert (installed / "toeline" / "http" / "static" / "index.html").exists()
    for folder in ("report", "pages"):
        templates = {path.name for path in (ROOT / "service" / folder / "templates").iterdir()}
        assert {path.name for path in (installed / "toeline" / folder / "templates").iterdir()} == templates


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

"""Rules of the house: floors, purity of the core, complete __all__, glossary, sources, layout."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from pydantic import BaseModel

from fatcore import quantities, sources, tables
from fatcore._resources import names
from fatcore.outcome import Outcome
from service import registry

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "service",
    "fatcore",
    "tests",
    "openapi_examples",
    "Dockerfile",
}
GROUND = {
    "errors",
    "require",
    "findings",
    "sources",
    "quantities",
    "outcome",
    "plausible",
    "published",
    "_resources",
}
MAY_USE: dict[str, set[str]] = {
    **dict.fromkeys(GROUND, GROUND),
    "tables": GROUND,
    "stress": GROUND | {"tables"},
    "curves": GROUND | {"tables"},
    "spectrum": GROUND | {"tables", "curves"},
    "cracks": GROUND | {"tables", "stress", "curves"},
    "check": GROUND | {"tables", "stress", "curves", "spectrum", "cracks"},
}
PACKAGES = {"numpy", "scipy", "numba", "fatcore"}
IMPURE = {"logging", "os", "time", "datetime", "random", "socket", "subprocess", "pathlib", "io"}


def python_files(package: str) -> list[Path]:
    return sorted((ROOT / package).rglob("*.py"))


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


CORE = python_files("fatcore")
SERVICE = python_files("service")


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports(path: Path) -> list[str]:
    found: list[str] = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_core_imports_go_down_the_floors_only(path: Path) -> None:
    own = path.relative_to(ROOT / "fatcore").parts[0].removesuffix(".py")
    if own == "__init__":
        return
    for imported in imports(path):
        first, *rest = imported.split(".")
        if first == "fatcore" and rest[0] != own:
            assert rest[0] in MAY_USE[own], f"{own} may not use {imported}"


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_core_is_pure(path: Path) -> None:
    for imported in imports(path):
        first = imported.partition(".")[0]
        assert first in PACKAGES or first in sys.stdlib_module_names, imported
        assert first not in IMPURE, imported
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert called not in {"print", "open", "input"}, called
            assert not (called.endswith("default_rng") and not node.args), "unseeded random numbers"
            assert not re.match(r"np\.random\.(?!default_rng|Generator|SeedSequence)", called), called


def test_core_reaches_no_web_package() -> None:
    code = (
        "import sys, pkgutil, fatcore\n"
        "for found in pkgutil.walk_packages(fatcore.__path__, 'fatcore.'): __import__(found.name)\n"
        "print(*sys.modules)"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert not {"fastapi", "starlette", "pydantic", "httpx", "uvicorn"} & set(loaded.stdout.split())


@pytest.mark.parametrize("path", [*CORE, *SERVICE], ids=name_of)
def test_all_is_complete_and_importable(path: Path) -> None:
    module = importlib.import_module(module_name(path)) if path.name != "__main__.py" else None
    if module is None:
        return
    listed = module.__all__
    assert all(hasattr(module, name) for name in listed)
    defined = {
        node.name
        for node in tree(path).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
    }
    if path.is_relative_to(ROOT / "fatcore"):
        assert defined <= set(listed), defined - set(listed)


@pytest.mark.parametrize("path", SERVICE, ids=name_of)
def test_service_uses_only_public_names_of_the_core(path: Path) -> None:
    for imported in imports(path):
        if imported.startswith("fatcore"):
            assert not any(part.startswith("_") and part != "__version__" for part in imported.split("."))


@pytest.mark.parametrize("path", [*CORE, *SERVICE], ids=name_of)
def test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


def test_top_level_is_the_fixed_list() -> None:
    tracked = subprocess.run(
        ["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False
    ).stdout
    top = {line.partition("/")[0] for line in tracked.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def public_functions(module: ModuleType) -> list[Any]:
    members = [getattr(module, name) for name in module.__all__]
    return [m for m in members if inspect.isfunction(m) and m.__module__ == module.__name__]


def public_classes(module: ModuleType) -> list[Any]:
    members = [getattr(module, name) for name in module.__all__]
    return [m for m in members if inspect.isclass(m) and m.__module__ == module.__name__]


TOPIC_FILES = [
    path
    for path in CORE
    if len(path.relative_to(ROOT / "fatcore").parts) > 1 and not re.match(r"_(?!_init)", path.name)
]


@pytest.mark.parametrize("path", TOPIC_FILES, ids=name_of)
def test_every_public_name_is_in_the_glossary(path: Path) -> None:
    module = importlib.import_module(module_name(path))
    glossary = quantities.all_quantities()
    used = {name for f in public_functions(module) for name in inspect.signature(f).parameters}
    for kind in public_classes(module):
        if is_dataclass(kind):
            used |= {f.name for f in fields(kind)} - {f.name for f in fields(Outcome)}
    missing = {name for name in used if not name.startswith("_")} - set(glossary)
    assert not missing, sorted(missing)


def models() -> list[type[BaseModel]]:
    found: dict[str, type[BaseModel]] = {}

    def visit(annotation: Any) -> None:
        is_model = inspect.isclass(annotation) and issubclass(annotation, BaseModel)
        if is_model and annotation.__name__ not in found:
            found[annotation.__name__] = annotation
            for field in annotation.model_fields.values():
                visit(field.annotation)
        for part in getattr(annotation, "__args__", ()):
            visit(part)

    for calculation in registry.load().values():
        visit(calculation.request)
        visit(calculation.answer)
    return list(found.values())


def test_every_json_key_is_in_the_glossary() -> None:
    used = {name for model in models() for name in model.model_fields}
    assert not used - set(quantities.all_quantities()), sorted(used - set(quantities.all_quantities()))


def test_glossary_units_are_those_of_the_suffixes() -> None:
    for name, entry in quantities.all_quantities().items():
        announced = quantities.unit_of_name(name)
        assert entry.meaning
        if announced is not None and entry.unit:  # no unit: not a number, like list_cycles
            assert entry.unit == announced, name


@pytest.mark.parametrize("path", [*CORE, *SERVICE], ids=name_of)
def test_every_source_key_is_registered(path: Path) -> None:
    known = sources.all_sources()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.keyword) and node.arg == "source" and isinstance(node.value, ast.Constant):
            assert node.value.value in known or node.value.value is None, node.value.value
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and path in CORE:
            for line in re.findall(r"^\s*Source\s*:(.*)", ast.get_docstring(node) or "", re.MULTILINE):
                for key in re.findall(r"\[([a-z0-9][a-z0-9.-]+)\]", line):
                    assert key in known, f"{node.name}: {key}"


def test_every_table_names_its_source_and_revision() -> None:
    folders = ("curves", "stress", "spectrum", "cracks")
    listed = [name for folder in folders for name in tables.table_names(folder)]
    assert len(listed) > 10
    for name in listed:
        assert re.fullmatch(r"rev \d+ sha256:[0-9a-f]{16}", tables.fingerprint(name))


def test_every_source_has_a_citation() -> None:
    for entry in sources.all_sources().values():
        assert len(entry.citation) > 10, entry.key
    assert names("sources")

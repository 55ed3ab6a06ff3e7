"""Rules of the house: layers, purity of the core, glossary, sources, layout."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import subprocess
import sys
import tomllib
from dataclasses import fields, is_dataclass
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from pydantic import BaseModel

from fatcore import quantities, sources, tables
from fatcore._resources import names
from fatcore.outcome import Outcome
from service.topics import registry

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
    "alike",
    "errors",
    "require",
    "bounds",
    "findings",
    "sources",
    "quantities",
    "outcome",
    "plausible",
    "figures",
    "_resources",
    "_exports",
}
MAY_USE: dict[str, set[str]] = {
    **dict.fromkeys(GROUND, GROUND),
    "tables": GROUND,
    "stress": GROUND | {"tables"},
    "curves": GROUND | {"tables"},
    "spectrum": GROUND | {"tables", "curves"},
    "cracks": GROUND | {"tables", "stress", "curves"},
    "trials": GROUND | {"tables", "curves", "cracks"},
    "check": GROUND | {"tables", "stress", "curves", "spectrum", "cracks"},
    "verification": GROUND | {"tables", "stress", "curves", "spectrum", "cracks", "trials", "check"},
}
# folders beside each other: the ones that a folder may use
_CRACKS = "fatcore.cracks."
_SPECTRUM = "fatcore.spectrum."
_TRIALS = "fatcore.trials."
ROOMS: dict[str, set[str]] = {
    **{
        _CRACKS + name: {_CRACKS + other for other in below}
        for name, below in {
            "intensity": (),
            "driving": (),
            "configurations": ("intensity", "driving"),
            "fracture": ("driving", "configurations"),
            "growth": ("intensity", "driving", "configurations", "fracture"),
            "scatter": ("driving", "configurations", "growth"),
        }.items()
    },
    **{
        _SPECTRUM + name: {_SPECTRUM + other for other in below}
        for name, below in {
            "counting": (),
            "damage": ("counting",),
            "random": ("counting", "damage"),
            "multiaxial": ("counting", "damage"),
        }.items()
    },
    _TRIALS + "sn": set(),
    _TRIALS + "length": set(),
    _TRIALS + "growth": {_TRIALS + "sn"},
    _TRIALS + "position": {_TRIALS + "sn"},
    "fatcore.check.strength": set(),
    "fatcore.check.findings": {"fatcore.check.strength"},
    "service.units": set(),
    "service.base": {"service.units"},
    "service.topics": {"service.base"},
    "service.comparison": {"service.units", "service.base", "service.topics"},
    "service.pool": {"service.base"},
    "service.policy": {"service.base", "service.topics", "service.files"},
    "service.report": {"service.base", "service.topics", "service.comparison"},
    "service.lines": {"service.base", "service.topics"},
    "service.pages": {"service.base", "service.topics", "service.comparison", "service.report"},
    "service.access": {"service.base", "service.topics", "service.pool"},
    "service.http": {
        "service.units",
        "service.base",
        "service.topics",
        "service.access",
        "service.comparison",
        "service.policy",
        "service.pool",
        "service.report",
        "service.pages",
    },
    "service.client": {"service.base", "service.topics"},
    "service.jobs": {"service.base"},
    "service.files": {"service.base"},
    "service.batch": {
        "service.base",
        "service.comparison",
        "service.files",
        "service.client",
        "service.http",
        "service.jobs",
    },
    "service.gate": {
        "service.units",
        "service.files",
        "service.jobs",
        "service.base",
        "service.topics",
        "service.comparison",
        "service.report",
        "service.lines",
        "service.client",
    },
    "service.reproduce": {
        "service.base",
        "service.topics",
        "service.comparison",
        "service.http",
        "service.client",
        "service.batch",
        "service.gate",
        "service.jobs",
        "service.files",
    },
    "service.commands": {
        "service.units",
        "service.reproduce",
        "service.files",
        "service.base",
        "service.http",
        "service.topics",
        "service.access",
        "service.comparison",
        "service.report",
        "service.lines",
        "service.client",
        "service.batch",
        "service.gate",
        "service.jobs",
        "service.policy",
    },
}
PACKAGES = {"annotated_types", "numpy", "scipy", "numba", "fatcore"}
IMPURE = {"logging", "os", "time", "datetime", "random", "socket", "subprocess", "pathlib", "io"}


def python_files(package: str) -> list[Path]:
    return sorted((ROOT / package).rglob("*.py"))


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


CORE = python_files("fatcore")
SERVICE = python_files("service")


# what gives numbers a form of its own, and why
OWN_FORMS = {
    "fatcore/curves/standards/": "labels of classes, which name curves",
    "fatcore/figures.py": "the one place",
    "fatcore/stress/section/joint.py": "a number, no text",
    "fatcore/verification/": "names of cases",
    "service/base/progress.py": "a bar that is wiped",
    "service/gate/alike/": "what is compared by its digits",
    "service/gate/check_rules.py": "what is compared by its digits",
    "service/gate/load_reach.py": "what is compared by its digits",
    "service/http/metrics.py": "for a program",
    "service/lines/directions.py": "what is compared by its digits",
    "service/mesh/med.py": "names in a file",
    "service/report/pictures/": "axes and markup of pictures",
}


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> list[str]:
    """Every name that a file imports, dotted from the root, relative ones too."""
    found: list[str] = []
    package = path.relative_to(ROOT).parts[:-1]
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            source = ".".join([*above, *([node.module] if node.module else [])])
            found += [f"{source}.{alias.name}" for alias in node.names]
    return found


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


MODULES = {module_name(path): path for path in (*CORE, *SERVICE)}


@cache
def imported_modules(module: str) -> frozenset[str]:
    """Modules of the tree that a module imports, inside functions too."""
    parts = (name if name in MODULES else name.rpartition(".")[0] for name in imports(MODULES[module]))
    return frozenset(part for part in parts if part in MODULES and part != module)


def room_of(module: str) -> str:
    """Folder of a module, as far down as ROOMS knows it."""
    parts = name_of(MODULES[module]).removesuffix(".py").split("/")
    names = [".".join(parts[:end]) for end in range(len(parts), 0, -1)]
    return next((name for name in names if name in ROOMS), names[0])


@pytest.mark.uncounted
@pytest.mark.parametrize("path", [*CORE, *SERVICE], ids=name_of)
def test_numbers_get_their_digits_in_one_place(path: Path) -> None:
    if any(name_of(path).startswith(place) for place in OWN_FORMS):
        return
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            form = ast.unparse(node.format_spec)
            assert not re.search(r"[gfeG%]['\"]$", form), f"line {node.lineno}: {form}; take fatcore.figures"


@pytest.mark.uncounted
def test_no_modules_import_each_other_in_a_circle() -> None:
    order: list[str] = []
    sorter = TopologicalSorter({module: imported_modules(module) for module in MODULES})
    order.extend(sorter.static_order())  # CycleError names the modules of a circle
    assert len(order) == len(MODULES)


@pytest.mark.parametrize("module", [m for m in MODULES if room_of(m) in ROOMS])
def test_imports_go_down_the_rooms_only(module: str) -> None:
    own = room_of(module)
    for imported in imported_modules(module):
        other = room_of(imported)
        if other in ROOMS and other != own and other.rpartition(".")[0] == own.rpartition(".")[0]:
            assert other in ROOMS[own], f"{module} may not use {imported}"


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_core_imports_go_down_the_layers_only(path: Path) -> None:
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
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert not {"fastapi", "starlette", "pydantic", "httpx", "uvicorn"} & set(loaded.stdout.split())


@pytest.mark.parametrize("path", SERVICE, ids=name_of)
def test_service_uses_only_public_names_of_the_core(path: Path) -> None:
    for imported in imports(path):
        if imported.startswith("fatcore"):
            assert not any(part.startswith("_") and part != "__version__" for part in imported.split("."))


@pytest.mark.parametrize("path", [*CORE, *SERVICE], ids=name_of)
def test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


# a private copy for the processes of one server, which nobody else writes
WRITERS = ("service/files/", "service/access/hangup.py")


@pytest.mark.parametrize("path", [path for path in SERVICE if not name_of(path).startswith(WRITERS)], ids=name_of)
def test_files_are_written_in_one_place(path: Path) -> None:
    """Locked, beside the old one, to the disk, then in its place: service/files knows how."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert not re.search(r"\.(write_text|write_bytes)$|^os\.replace$|FileIO$", called), called
            modes = [each.value for each in node.args if isinstance(each, ast.Constant)] if "open" in called else []
            assert not any(isinstance(mode, str) and re.fullmatch("[rbt+]*[wax+][bt+]*", mode) for mode in modes)


def test_top_level_is_the_fixed_list() -> None:
    tracked = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False).stdout
    top = {line.partition("/")[0] for line in tracked.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def is_own(module: ModuleType, name: str, member: Any) -> bool:
    """Whether a module defines a public name itself."""
    return member.__module__ == module.__name__ and not name.startswith("_")


def public_functions(module: ModuleType) -> list[Any]:
    return [m for name, m in vars(module).items() if inspect.isfunction(m) and is_own(module, name, m)]


def public_classes(module: ModuleType) -> list[Any]:
    return [m for name, m in vars(module).items() if inspect.isclass(m) and is_own(module, name, m)]


# shared inside the core: arrays of a formula rather than quantities of a user
INNER = {
    "cracks/columns.py",
    "cracks/configurations/configuration.py",
    "cracks/configurations/width.py",
    "cracks/growth/integration/integrate.py",
    "cracks/intensity/limits.py",
    "cracks/intensity/wide_plate.py",
    "curves/segments.py",
    "spectrum/counting/kernels.py",
    "trials/growth/law.py",
    "trials/growth/pooled.py",
    "trials/length/reading.py",
    "trials/strength.py",
    "trials/sn/bounds.py",
    "trials/sn/factors.py",
    "trials/sn/likelihood.py",
}
TOPIC_FILES = [
    path
    for path in CORE
    if len(inside := path.relative_to(ROOT / "fatcore").parts) > 1
    and not re.match(r"_(?!_init)", path.name)
    and "/".join(inside) not in INNER
    and inside[0] != "verification"
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
    folders = ("curves", "stress", "spectrum", "cracks", "trials")
    listed = [name for folder in folders for name in tables.table_names(folder)]
    assert len(listed) > 10
    for name in listed:
        assert re.fullmatch(r"rev \d+ sha256:[0-9a-f]{16}", tables.fingerprint(name))


def test_every_source_has_a_citation() -> None:
    for entry in sources.all_sources().values():
        assert len(entry.citation) > 10, entry.key
    assert names("sources")


def test_the_installation_lists_every_package() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    folders = (path.parent.relative_to(ROOT).parts for path in MODULES.values() if path.name == "__init__.py")
    installed = {"service": listed["package-dir"].keys() - {"fatcore"}, "fatcore": {"fatcore"}}
    expected = {".".join([*installed[first], *rest]) for first, *rest in folders}
    assert set(listed["packages"]) == expected


FRONT_DOORS = ("fatcore", *(f"fatcore.{topic}" for topic in ("stress", "curves", "spectrum", "cracks", "check")))


@pytest.mark.parametrize("package", FRONT_DOORS)
def test_a_front_door_exports_what_its_stub_says(package: str) -> None:
    module = importlib.import_module(package)
    assert module.__all__ == dir(module)
    for name in module.__all__:
        assert getattr(module, name).__name__ == name
    with pytest.raises(AttributeError, match="nothing_such"):
        _ = module.nothing_such


def test_the_front_door_of_the_core_has_the_names_of_its_topics() -> None:
    held = {name for package in FRONT_DOORS[1:] for name in importlib.import_module(package).__all__}
    assert held < set(importlib.import_module("fatcore").__all__)
    assert len(held) < 80

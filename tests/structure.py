"""The shape of the tree in figures: python -m tests.structure [ROOT ...], a column for each root."""

from __future__ import annotations

import ast
import statistics
import sys
from collections import Counter
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

PACKAGES = ("fatcore", "service")


def modules(root: Path) -> dict[str, Path]:
    """Path of every module of the packages by its dotted name."""
    found = {}
    for path in (path for package in PACKAGES for path in (root / package).rglob("*.py")):
        parts = path.relative_to(root).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imported(name: str, tree: ast.Module, known: dict[str, Path]) -> Iterator[str]:
    """Modules of the packages that a module imports."""
    package = name.split(".") if known[name].name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            source = ".".join([*above, *([node.module] if node.module else [])])
            for each in node.names:
                full = f"{source}.{each.name}"
                yield full if full in known else source


def cycles(known: dict[str, Path], trees: dict[str, ast.Module]) -> int:
    """Circles of imports, found and cut one after the other."""
    graph = {n: {i for i in imported(n, t, known) if i in known and i != n} for n, t in trees.items()}
    for count in range(1000):
        try:
            list(TopologicalSorter(graph).static_order())
        except CycleError as error:
            circle = error.args[1]
            graph[circle[1]] = graph[circle[1]] - {circle[0]}
        else:
            return count
    return 1000


def repeated_models(trees: dict[str, ast.Module]) -> int:
    """Models of the service that write down at least four fifths of a core class or argument list again."""
    core = [names for name, tree in trees.items() if name.startswith("fatcore") for names in declared(tree)]
    models = [names for name, tree in trees.items() if name.startswith("service.topics") for names in fields(tree)]
    return sum(
        any(len(model & one) >= 0.8 * len(model) and len(model & one) >= 0.5 * len(one) for one in core)
        for model in models
        if len(model) >= 2
    )


def fields(tree: ast.Module) -> Iterator[set[str]]:
    """Names of the fields that each class writes down; the tags of a union are no fields."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            names = {n.target.id for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)}
            yield names - {"kind", "rule"}


def declared(tree: ast.Module) -> Iterator[set[str]]:
    """Names that core classes and functions declare, those of their evidence apart."""
    yield from (names for names in fields(tree) if names)
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield {arg.arg for arg in (*node.args.args, *node.args.kwonlyargs)}


def places(root: Path) -> str:
    """How many places each kind of addition touches, by the table of DEVELOPERS.md."""
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line.strip("| ").split(" | ") for line in text.partition("| addition |")[2].splitlines()[2:]]
    counted = {row[0]: row[1].count(";") + 1 for row in rows if len(row) == 2}
    return ", ".join(f"{name} {count}" for name, count in counted.items()) or "not listed"


def figures(root: Path) -> dict[str, str]:
    """What is counted, by its name."""
    known = modules(root)
    named = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in known.items()}
    trees = list(named.values())
    bodies = [n for t in trees for n in ast.walk(t) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    lengths = sorted((node.end_lineno or 0) - node.lineno + 1 for node in bodies)
    top = [node for tree in trees for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    folders = Counter(path.parent.relative_to(root).as_posix() for path in known.values())
    tests = list((root / "tests").rglob("*.py"))
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in (*known.values(), *tests)}
    largest = folders.most_common(1)[0]
    return {
        "files of fatcore, service, tests": " + ".join(
            str(sum(path.is_relative_to(root / part) for path in lines)) for part in (*PACKAGES, "tests")
        ),
        "lines of fatcore, service, tests": " + ".join(
            str(sum(n for path, n in lines.items() if path.is_relative_to(root / part)))
            for part in (*PACKAGES, "tests")
        ),
        "public functions and classes": str(sum(not node.name.startswith("_") for node in top)),
        "function length: median, 90 %, longest": ", ".join(
            str(round(value)) for value in (statistics.median(lengths), lengths[int(0.9 * len(lengths))], lengths[-1])
        ),
        "largest folder": f"{largest[0]}: {largest[1]}",
        "folders of more than 12 files": str(sum(count > 12 for count in folders.values())),
        "models that repeat a core class": str(repeated_models(named)),
        "circles of imports": str(cycles(known, named)),
        "places touched": places(root),
    }


if __name__ == "__main__":
    columns = [figures(Path(root)) for root in sys.argv[1:] or ["."]]
    for name in columns[0]:
        sys.stdout.write(f"{name:<40} " + "  |  ".join(f"{column[name]:<24}" for column in columns) + "\n")

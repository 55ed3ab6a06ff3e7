"""Every code of a finding that the source says, read from the calls without running them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SAID_WITH = {"note": "note", "caution": "caution", "outside": "outside"}
MODES = ("opening", "sliding", "tearing")
# values that a name takes which is no constant of a module, by the name; a code is built with it
VALUES = {
    "mode": MODES,
    "what": ("knees", "slopes"),
    "part": ("below", "between", "above"),
}
# functions that say the code they are given: their name, and the place of the code among the arguments
HANDED_ON = {"_doubts": 1, "reported": 1}
OF_MODES = "fatcore/stress/peak/elements.py"  # a mode that it calls `outside` is a caution where it is small
HOME = "fatcore/findings.py"


@dataclass(frozen=True)
class Said:
    """A code with the severity it is said with, and the module that says it."""

    code: str
    severity: str
    module: str


@cache
def modules() -> dict[str, ast.Module]:
    """Every module of both packages by its path."""
    paths = [path for root in ("fatcore", "service") for path in sorted((ROOT / root).rglob("*.py"))]
    return {str(path.relative_to(ROOT)): ast.parse(path.read_text(encoding="utf-8")) for path in paths}


@cache
def constants() -> dict[str, str]:
    """Strings that modules give to names in capitals; one name is one string."""
    found: dict[str, str] = {}
    for name, value in _assigned():
        assert found.get(name, value) == value, f"{name} is two different codes"
        found[name] = value
    return found


def _assigned() -> Iterator[tuple[str, str]]:
    named = {each.id for each in _codes_by_name()}
    for tree in modules().values():
        for each in tree.body:
            if isinstance(each, ast.Assign):
                for target in each.targets:
                    yield from ((name, text) for name, text in _pairs(target, each.value) if name in named)


def _codes_by_name() -> Iterator[ast.Name]:
    for tree in modules().values():
        for call in _calls(tree):
            code = _code(call)
            inside = [] if code is None else [each for each in ast.walk(code) if isinstance(each, ast.Name)]
            yield from (each for each in inside if each.id.isupper())


def _pairs(target: ast.expr, value: ast.expr) -> Iterator[tuple[str, str]]:
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, other in zip(target.elts, value.elts, strict=True):
            yield from _pairs(one, other)
    elif isinstance(target, ast.Name) and isinstance(value, ast.Constant) and isinstance(value.value, str):
        yield target.id, value.value


def said() -> Iterator[Said]:
    """Every code that a call says, with its severity; limits come from `limits`."""
    for module, tree in modules().items():
        if module == HOME:
            continue
        yield from _said_in(module, tree)


def _said_in(module: str, tree: ast.Module) -> Iterator[Said]:
    for call in _calls(tree):
        for severity, words in _said(call, _code(call), module):
            yield from (Said(word, severity, module) for word in words)


def _calls(tree: ast.Module) -> Iterator[ast.Call]:
    """Calls of the functions that say a finding, of `Finding` and of `replace` with another severity."""
    for each in ast.walk(tree):
        if not isinstance(each, ast.Call):
            continue
        name = _name(each.func)
        again = name == "replace" and any(word.arg == "severity" for word in each.keywords)
        if name in SAID_WITH or name == "Finding" or again:
            yield each


def _name(function: ast.expr) -> str:
    return function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")


def _code(call: ast.Call) -> ast.expr | None:
    named = next((word.value for word in call.keywords if word.arg == "code"), None)
    return named if named is not None or _name(call.func) == "replace" else next(iter(call.args), None)


def _said(call: ast.Call, code: ast.expr | None, module: str) -> Iterator[tuple[str, list[str]]]:
    where = f"{module}:{call.lineno}"
    assert code is not None, f"{where}: another severity is another code"
    severity = next((word.value for word in call.keywords if word.arg == "severity"), None)
    if severity is None:
        yield SAID_WITH[_name(call.func)], _words(code, where)
        return
    for one, other in zip(_branches(severity), _branches(code), strict=True):
        assert isinstance(one, ast.Constant), f"{where}: the severity is written where the code is"
        yield str(one.value), _words(other, where)


def _branches(value: ast.expr) -> list[ast.expr]:
    """Both values of `a if x else b`; code and severity are chosen alike."""
    return [value.body, value.orelse] if isinstance(value, ast.IfExp) else [value]


def _words(code: ast.expr, where: str) -> list[str]:
    if isinstance(code, ast.Constant):
        return [str(code.value)]
    if isinstance(code, ast.JoinedStr):
        words = [""]
        for part in code.values:
            inner = part.value if isinstance(part, ast.FormattedValue) else part
            words = [word + end for word in words for end in _words(inner, where)]
        return words
    if isinstance(code, ast.Name) and code.id in constants():
        return [constants()[code.id]]
    if isinstance(code, ast.Name) and code.id in VALUES:
        return list(VALUES[code.id])
    if isinstance(code, ast.Name) and code.id == "code":
        return list(_handed_on(where.split(":")[0]))
    if ast.unparse(code) == "finding.field":
        return list(MODES)
    if ast.unparse(code) == "finding.code":
        return [each.code for each in _said_in(OF_MODES, modules()[OF_MODES]) if each.severity == "outside"]
    raise AssertionError(f"{where}: what codes can {ast.unparse(code)} be?")


def _handed_on(module: str) -> Iterator[str]:
    """Codes that are given to a function of this module which says them."""
    defined = {each.name for each in ast.walk(modules()[module]) if isinstance(each, ast.FunctionDef)}
    for name, tree in modules().items():
        for call in (each for each in ast.walk(tree) if isinstance(each, ast.Call)):
            function = _name(call.func)
            if function in HANDED_ON and function in defined and (name == module or function == "reported"):
                yield from _words(call.args[HANDED_ON[function]], f"{name}:{call.lineno}")


def aliases() -> Iterator[str]:
    """Places where a function that says a finding is used without a call: its code is then not seen."""
    for module, tree in modules().items():
        called = {id(each.func) for each in ast.walk(tree) if isinstance(each, ast.Call)}
        imported = {
            alias.name
            for each in tree.body
            if isinstance(each, ast.ImportFrom) and each.module == "fatcore.findings"
            for alias in each.names
        }
        for each in ast.walk(tree):
            if isinstance(each, ast.Name) and each.id in imported & set(SAID_WITH) and id(each) not in called:
                yield f"{module}:{each.lineno}"

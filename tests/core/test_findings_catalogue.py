"""The catalogue of findings holds every code that the source says, with its one severity, and no other."""

from __future__ import annotations

import ast
import json
import pkgutil
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import asdict
from functools import cache
from importlib import import_module
from typing import Any

import pytest

import fatcore
from fatcore import _resources
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.errors import UnknownError
from fatcore.findings import Limit, catalogue, finding_kind
from service.base.envelope import evaluate
from service.topics.registry import load
from tests.finding_calls import ROOT, Said, aliases, modules, said

TOPICS = ("general", "stress", "curves", "spectrum", "cracks", "trials", "check")  # the lowest first
RENAMED = {"allowable_range_mpa": "service/topics/spectrum/routes.py"}  # name of a limit that a route gives


def limits() -> Iterator[Said]:
    """Codes of every `Limit`: those that modules and families hold, and the names written in calls."""
    for name, module in [*_held(), *_written(), *RENAMED.items()]:
        yield Said(f"{name.replace('_', '-')}-outside", "outside", module)


def _held() -> Iterator[tuple[str, str]]:
    for each in pkgutil.walk_packages(fatcore.__path__, "fatcore."):
        for value in vars(import_module(each.name)).values():
            held = value if isinstance(value, tuple | list) else (value,)
            yield from ((one.name, each.name.replace(".", "/")) for one in held if isinstance(one, Limit))
    for family in FAMILIES.values():
        yield from ((one.name, "fatcore/cracks") for one in family.limits)


def _written() -> Iterator[tuple[str, str]]:
    for module, tree in modules().items():
        for call in (each for each in ast.walk(tree) if isinstance(each, ast.Call)):
            if getattr(call.func, "id", None) == "Limit" and isinstance(call.args[0], ast.Constant):
                yield str(call.args[0].value), module


@cache
def every_code() -> dict[str, set[tuple[str, str]]]:
    """Severity and module of each code that can be said."""
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for each in [*said(), *limits()]:
        found[each.code].add((each.severity, each.module))
    return found


@pytest.mark.uncounted
def test_a_finding_is_said_where_its_code_and_severity_stand() -> None:
    assert not list(aliases())


@pytest.mark.uncounted
def test_the_catalogue_holds_every_code_that_is_said_and_no_other() -> None:
    spoken, listed = set(every_code()), set(catalogue())
    assert spoken - listed == set(), "said, but not in fatcore/data/findings"
    assert listed - spoken == set(), "in fatcore/data/findings, but never said"


def test_each_code_is_said_with_the_one_severity_of_the_catalogue() -> None:
    wrong = {
        code: sorted(places)
        for code, places in every_code().items()
        if {severity for severity, _ in places} != {catalogue()[code].severity}
    }
    assert not wrong


def test_a_code_stands_in_the_lowest_topic_that_says_it() -> None:
    def topic(module: str) -> str:
        named = [part.removesuffix(".py") for part in module.split("/") if part.removesuffix(".py") in TOPICS]
        return named[0] if named else TOPICS[0]

    wrong = {
        code: entry.topic
        for code, entry in catalogue().items()
        if entry.topic != min((topic(module) for _, module in every_code()[code]), key=TOPICS.index)
    }
    assert not wrong


@pytest.mark.parametrize("name", _resources.names("findings"))
def test_each_file_is_sorted_by_code(name: str) -> None:
    codes = list(_resources.read_toml(name))
    assert codes == sorted(codes)


def test_a_meaning_is_one_sentence() -> None:
    one = re.compile(r"(?:[A-Z]|averaging_error)(?:[^.]|\.(?! ))*[^.]\.")
    assert not [each.code for each in catalogue().values() if not one.fullmatch(each.meaning)]


def test_each_code_stands_in_one_file() -> None:
    files = [_resources.read_toml(name) for name in _resources.names("findings")]
    assert sum(map(len, files)) == len(catalogue())


def test_an_unknown_code_is_refused() -> None:
    with pytest.raises(UnknownError):
        finding_kind("nothing-like-it")
    assert finding_kind("mesh-too-coarse").severity == "outside"


def test_the_service_lists_the_catalogue() -> None:
    listed = json.loads(evaluate(load()["GET", "findings"], {}, strings=True).content())["answer"]["finding_kinds"]
    assert listed == [asdict(entry) for entry in catalogue().values()]


def _findings(value: Any) -> Iterator[dict[str, Any]]:
    """Everything within an answer that looks like a finding."""
    if isinstance(value, dict):
        if {"code", "severity", "message"} <= set(value):
            yield value
        for each in value.values():
            yield from _findings(each)
    elif isinstance(value, list):
        for each in value:
            yield from _findings(each)


def test_the_answers_of_all_examples_hold_codes_of_the_catalogue_with_its_severity() -> None:
    seen = set()
    for path in sorted((ROOT / "openapi_examples").rglob("*.json")):
        for each in _findings(json.loads(path.read_text(encoding="utf-8")).get("response")):
            assert catalogue()[each["code"]].severity == each["severity"], path.name
            seen.add(each["code"])
    assert len(seen) > 80


def test_a_meaning_ends_with_what_to_do_behind_its_one_semicolon() -> None:
    """Pages show the two apart."""
    parts = {each.code: each.meaning.split("; ") for each in catalogue().values()}
    assert [code for code, part in parts.items() if len(part) != 2 or not all(part)] == []

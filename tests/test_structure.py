"""The shape of the tree stays what it was brought to: rooms of a size to look through, nothing declared twice."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tests.structure import figures


@cache
def counted() -> dict[str, str]:
    return figures(Path(__file__).parents[1])


def test_models_of_the_service_do_not_repeat_the_core() -> None:
    """The ten left are of the wire alone by meaning, though their names are those of a core class."""
    assert int(counted()["models that repeat a core class"]) <= 10


def test_folders_can_be_looked_through_and_nothing_imports_in_a_circle() -> None:
    assert int(counted()["largest folder"].rpartition(": ")[2]) <= 15
    assert counted()["circles of imports"] == "0"


def test_functions_stay_short() -> None:
    median, most, longest = map(int, counted()["function length: median, 90 %, longest"].split(", "))
    assert median <= 8
    assert most <= 21
    assert longest <= 84  # a public one with its docstring


def test_an_addition_touches_few_places() -> None:
    touched = dict(each.rsplit(" ", 1) for each in counted()["places touched"].split(", "))
    most = {"curve": 2, "family of cracks": 4, "route": 3, "finding": 2, "picture": 2}
    assert {name: int(touched[name]) for name in most} == most

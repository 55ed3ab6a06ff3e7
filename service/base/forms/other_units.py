"""Requests in other units, and answers in the units that they ask for, around the models of a calculation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, cast

from pydantic import PrivateAttr, ValidationError, create_model

from fatcore.errors import FatcoreError
from fatcore.findings import Finding, note

from ...units.answer import in_units
from ...units.kinds import UnitsMissingError
from ...units.named import KnownNames
from ...units.request import Stated, in_core_units
from ..common import Strict
from ..problems import Problem, from_core, from_validation, pointer

OF_UNITS = frozenset({"units-converted", "units-of-answer"})  # codes of how an answer is written
NOT_INSTALLED = "urn:toeline:units-not-installed"


def request_in_core_units(model: type[Strict], data: Any, *, strings: bool) -> Strict | None:
    """The request of data that state other units, None where no key states one.

    Raises : Problem 422 with the pointers of what was given, 503 without the package that knows the units
    """
    found = _converted(model, data)
    if found is None:
        return None
    content, stated = found
    kept = _stating(model)
    try:
        request: Strict = kept.model_validate_strings(content) if strings else kept.model_validate(content)
    except ValidationError as error:
        raise as_given(from_validation(error, content, model), stated) from error
    request._stated = stated  # type: ignore[attr-defined]
    return request


def answer_in_core_units(model: type[Strict], data: Mapping[str, Any]) -> Mapping[str, Any]:
    """The data of an answer whose keys may state other units, in those of the calculation.

    Raises : Problem 422 for a quantity that is given twice or is no number, 503 without the package that knows units
    """
    found = _converted(model, data)
    content: Mapping[str, Any] = data if found is None else found[0]
    return content


def _converted(model: type[Strict], data: Any) -> tuple[Any, Stated] | None:
    try:
        return in_core_units(model, data)
    except UnitsMissingError as error:
        raise Problem(503, str(error), kind=NOT_INSTALLED, title="Optional extra not installed") from error
    except FatcoreError as error:
        raise from_core(error) from error


@cache
def _stating(model: type[Strict]) -> Any:
    """The same model, whose requests remember what they state of units."""
    kept: Any = {"__base__": model, "__module__": model.__module__, "__doc__": model.__doc__}
    return cast(Any, create_model)(model.__name__, _stated=(Stated, PrivateAttr()), **kept)


def of_quantities(names: Iterable[str]) -> KnownNames:
    """Annotation of a mapping whose keys may be these names of quantities, so that they may be in other units too."""
    return KnownNames(frozenset(names))


def stated_in(request: Strict) -> Stated | None:
    """What a request states of units, None for one in MPa and mm."""
    private = request.__pydantic_private__  # of the models of `_stating` alone
    return None if private is None else private["_stated"]


def as_given(problem: Problem, stated: Stated) -> Problem:
    """The problem with the names that the caller gave in its pointers."""
    places = [(pointer(stated.as_given(_steps(where))), message) for where, message in problem.errors]
    return Problem(
        problem.status, problem.detail, places, kind=problem.kind, title=problem.title, headers=problem.headers
    )


def _steps(where: str) -> list[str | int]:
    words = [each.replace("~1", "/").replace("~0", "~") for each in where.split("/")[1:]]
    return [int(each) if each.isdecimal() else each for each in words]


def findings_of(stated: Stated) -> list[Finding]:
    """What was converted, and what stays in the units of the calculation."""
    found = []
    if stated.names:
        text = f"given in other units and converted to those of the calculation: {', '.join(stated.words)}"
        found.append(note("units-converted", text, field=stated.words[0]))
    if stated.wish:
        listed = ", ".join(f"{kind.replace('_', ' ')} in {unit.ending}" for kind, unit in stated.wish.items())
        text = (
            f"as data (JSON, CSV, a single value) the answer has {listed}; findings, tables of the command line, "
            "reports, and what has no unit in its name, such as the constants of curves and laws, stay in MPa and mm"
        )
        found.append(note("units-of-answer", text, field="units"))
    return found


def shown_answer(model: type[Strict], answer: Strict, stated: Stated) -> dict[str, Any] | None:
    """The answer in the units that are asked for, None where none are; Problem where they do not fit."""
    if not stated.wish:
        return None
    try:
        return in_units(model, answer.model_dump(mode="json"), stated.wish)
    except FatcoreError as error:
        raise from_core(error) from error

"""Validates a check request made from a table, with errors that point into the map."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from fatcore.check.line import WeldLine, mesh_remarks, select_judged_stations
from fatcore.check.strength.making import strength_of
from fatcore.errors import FatcoreError, InputError, at
from fatcore.outcome import Outcome

from ..base.problems import Problem, from_core, from_validation, pointer
from ..topics.check.models import CheckRequest
from ..topics.check.routes import lines_and_loading
from ..topics.check.settings import OWN, settings_of, target_of
from ..topics.check.words import descriptions_of

Doubt = tuple[str, str]  # name of the line, what is doubtful

RULE_KEYS = {
    "/notch/opening_angle_deg": "opening_angle_deg",
    "/notch/notch_size_mm": "notch_size_mm",
    "/mesh/element": "element",
    "/mesh/element_size_mm": "element_size_mm",
    "/mesh/constants": "constants",
}
SAME_KEYS = ("exclude_ends_mm", "exclude_ends_reason", "closed", "average_over")
CHOSEN = (  # of the weights, what the map chose
    "own-constant",
    "own-constant-below-scatter",
    "poisson-ratio-outside",
    "control-radius-far",
)
RULE_WORDS = ("plate_normal", "weld_direction", "weld_towards_mm", "opening_angle_deg")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSource:
    """Where a line of the request comes from: its name in the table, its rule in the map."""

    name: str
    rule: int

    @contextmanager
    def located(self) -> Iterator[None]:
        """Core errors raised inside as a Problem that points at the rule and names the line."""
        try:
            yield
        except FatcoreError as error:
            where = pointer(error.path)
            if error.path[:1] != ("table",):
                where = self.pointer(where)
            raise self._problem(from_core(error), where) from error

    def _problem(self, problem: Problem, where: str) -> Problem:
        message = f"line {self.name!r}: {problem.detail}"
        return Problem(problem.status, message, [(where, message)], kind=problem.kind)

    def pointer(self, inside: str) -> str:
        """Pointer into the map of a location inside the line of the request."""
        for start, key in RULE_KEYS.items():
            if inside.startswith(start):
                return pointer(["lines", self.rule, key]) + inside.removeprefix(start)
        first = inside.partition("/")[2].partition("/")[0]
        if first in OWN:
            return pointer(["lines", self.rule]) + inside
        steps = [first] if first in (*SAME_KEYS, *RULE_WORDS) else []
        return pointer(["lines", self.rule, *steps])


def guard_request(request: Mapping[str, Any], sources: Sequence[LineSource]) -> tuple[Doubt, ...]:
    """Refuses what the check itself would refuse before it counts a cycle.

    sources : of every line of the request
    Returns : cautions and limits left that the lines themselves show
    Raises  : Problem 422 whose pointers refer to the map
    """
    try:
        model = CheckRequest.model_validate(request)
        return _guard(model)
    except ValidationError as error:
        raise _move_path(from_validation(error, request, CheckRequest), sources) from error
    except FatcoreError as error:
        raise _move_path(from_core(error), sources) from error


def _guard(request: CheckRequest) -> tuple[Doubt, ...]:
    lines, loading = lines_and_loading(request)
    descriptions_of(request)
    settings, target = settings_of(request), target_of(request)
    bases = []
    for index, line in enumerate(lines):
        with at("lines", index):
            used = settings[index]
            _, base = strength_of(line, used.resistance, target, used.material, used.condition, request.coefficients)
            bases.append(base)
            select_judged_stations(line)
        for case in loading.names():
            if case not in line.cases:
                raise InputError(f"line {line.name!r} has no load case {case!r}, which is loaded", "loading")
    pairs = zip(lines, bases, strict=True)
    return tuple((line.name, text) for line, base in pairs for text in _doubts(line, base))


def _doubts(line: WeldLine, base: Outcome) -> list[str]:
    chosen = [finding for finding in base.findings if finding.code in CHOSEN]
    found = [*line.remarks, *mesh_remarks(line), *chosen]
    return [f"{f.severity}: {f.message} [{f.code}]" for f in found if f.severity != "note"]


def _move_path(problem: Problem, sources: Sequence[LineSource]) -> Problem:
    """The problem with pointers into the map instead of the request."""
    errors = [_location_in_map(where, message, sources) for where, message in problem.errors]
    return Problem(problem.status, problem.detail, list(dict.fromkeys(errors)), kind=problem.kind)


def _location_in_map(where: str, message: str, sources: Sequence[LineSource]) -> tuple[str, str]:
    head, _, rest = where.removeprefix("/lines/").partition("/")
    if where.startswith("/lines/") and head.isdigit():
        source = sources[int(head)]
        return source.pointer(f"/{rest}"), f"line {source.name!r}: {message}"
    return f"/request{where}", message

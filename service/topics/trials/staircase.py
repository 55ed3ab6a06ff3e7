"""POST /v1/trials/staircase: the endurance limit from tests whose level follows failure and survival."""

from __future__ import annotations

from typing import Any

from fatcore.trials.staircase import StaircaseOutcome, evaluate_staircase

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, request_of
from .tables import Table, csv_body, flags, guard_columns, numbers

_ROWS = 10_000


@request_of(evaluate_staircase, rows=_ROWS)
class StaircaseRequest(Derived):
    """Tests of a staircase in the order in which they were made."""


@answer_of(StaircaseOutcome)
class StaircaseAnswer(Strict):
    """Mean and scatter of the strength by counts and by maximum likelihood."""


def _table(table: Table, rest: dict[str, Any]) -> dict[str, Any]:
    columns = ("test_level_mpa", "specimen_failed")
    guard_columns(table, columns, columns)
    level, failed = numbers(table, columns[0]), flags(table, columns[1])
    return {**rest, "test_level_mpa": level, "specimen_failed": failed}


@post(
    "trials/staircase",
    StaircaseRequest,
    StaircaseAnswer,
    revision=2,
    summary="Staircase test",
    bodies={"text/csv": csv_body(_table)},
)
def staircase(request: StaircaseRequest) -> Reply:
    """Mean, scatter and lower limit of the strength at the life to which the tests ran, and the next level."""
    return reply(StaircaseAnswer, request.to_core())

"""POST /v1/trials/growth-rate: rates, laws and thresholds from cracked specimens."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from fatcore.bounds import Number
from fatcore.cracks.driving.law import Stage
from fatcore.cracks.driving.tested import RatesTested
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.trials.growth.evaluation import evaluate_growth
from fatcore.trials.growth.outcome import (
    FittedLaw,
    GrowthRateOutcome,
    GrowthTest,
    LawForUse,
    PooledLaw,
    TestedSpecimen,
    TwoStageLaw,
)
from fatcore.trials.growth.rate import MOST_READINGS
from fatcore.trials.growth.specimen import GrowthSpecimen

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, request_of
from ...base.document import Titled
from ..cracks.models import PARAMETERS
from .tables import Table, csv_body, guard_columns, numbers, refused


@request_of(GrowthSpecimen, rows=MOST_READINGS)
class SpecimenInput(Derived):
    """A crack of a family under one cycle; loads of the parameters are those at the top of the cycle."""

    parameters: Annotated[dict[str, Number | str], PARAMETERS] = Field(default={}, max_length=30)


@request_of(GrowthTest, rows=MOST_READINGS)
class GrowthTestInput(Derived):
    """Readings of one specimen."""


@request_of(evaluate_growth, rows=200)
class GrowthRateRequest(Derived, Titled):
    """Growth tests of one material."""


@answer_of(Stage)
class StageAnswer(Strict):
    """One straight line of a law."""

    coefficient: float


@answer_of(Distribution)
class DistributionAnswer(Strict):
    """A random factor, as a scatter calculation takes it."""


@answer_of(FittedLaw)
class FittedLawAnswer(Strict):
    """A straight law with its scatter and limits."""


@answer_of(TwoStageLaw)
class TwoStageAnswer(Strict):
    """Two straight lines that meet."""


@answer_of(TestedSpecimen)
class TestedSpecimenAnswer(Strict):
    """Rates of one specimen, one entry a rate, and its law."""


@answer_of(PooledLaw)
class PooledAnswer(Strict):
    """All specimens together."""


@answer_of(RatesTested)
class RatesTestedAnswer(Strict):
    """The tests behind a law."""


@answer_of(LawForUse)
class LawAnswer(Strict):
    """Constants in the form in which a growth calculation takes them."""


@answer_of(GrowthRateOutcome)
class GrowthRateAnswer(Strict):
    """Growth tests evaluated."""


_COLUMNS = ("size_mm", "cycles", "load_factor")


def _table(table: Table, rest: dict[str, Any]) -> dict[str, Any]:
    """Readings of one specimen; the query holds the specimen as JSON, its name, reduction and confidence."""
    guard_columns(table, _COLUMNS, _COLUMNS[:2])
    if "tests" in rest:
        raise refused("the table itself gives the test", "/tests")
    columns = {name: numbers(table, name) for name in table}
    loads = {"load_factor": columns.pop("load_factor")} if "load_factor" in columns else {}
    specimen = rest.pop("specimen", None)
    specimen = {**specimen, **loads} if isinstance(specimen, dict) else specimen
    kept = {name: rest.pop(name) for name in ("name", "shedding") if name in rest}
    return {**rest, "tests": [{**kept, "specimen": specimen, **columns}]}


@post(
    "trials/growth-rate",
    GrowthRateRequest,
    GrowthRateAnswer,
    revision=2,
    summary="Growth rates of specimens",
    bodies={"text/csv": csv_body(_table)},
)
def growth_rate(request: GrowthRateRequest) -> Reply:
    """Rates from readings of crack size, range of stress intensity by the family of the specimen, laws with their
    bounds, thresholds, and specimens together."""
    return reply(GrowthRateAnswer, request.to_core())

"""POST /v1/trials/crack-length: crack sizes from potential drop or compliance, both ways, and initiation."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field

from fatcore.errors import at
from fatcore.outcome import Outcome
from fatcore.trials.length.compliance import compliances_of_lengths, lengths_from_compliance
from fatcore.trials.length.form import PotentialForm
from fatcore.trials.length.initiation import InitiationOutcome, find_initiation
from fatcore.trials.length.potential import lengths_from_potential, potentials_of_lengths
from fatcore.trials.length.reading import MOST_READINGS, CrackLengthOutcome

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, request_of
from .tables import Table, csv_body, guard_columns, numbers, refused


@request_of(PotentialForm)
class FormInput(Derived):
    """How the potential of a specimen depends on its crack."""


@request_of(lengths_from_potential, rows=MOST_READINGS)
class FromPotential(Derived):
    """Crack sizes from potentials."""

    kind: Literal["from-potential"]


@request_of(potentials_of_lengths, rows=MOST_READINGS)
class ToPotential(Derived):
    """Ratios of potentials at crack sizes."""

    kind: Literal["to-potential"]


@request_of(lengths_from_compliance, rows=MOST_READINGS)
class FromCompliance(Derived):
    """Crack sizes of a compact specimen from its compliance."""

    kind: Literal["from-compliance"]


@request_of(compliances_of_lengths, rows=MOST_READINGS)
class ToCompliance(Derived):
    """Compliance of a compact specimen at crack sizes."""

    kind: Literal["to-compliance"]


@request_of(find_initiation, rows=MOST_READINGS)
class Initiation(Derived):
    """When a crack begins by its potential."""

    kind: Literal["initiation"]


_Readings = FromPotential | ToPotential | FromCompliance | ToCompliance | Initiation


class CrackLengthRequest(Strict):
    """Readings of one specimen, and which way they are read."""

    readings: Annotated[_Readings, Discriminator("kind"), Field(description="readings by the way they are read")]


@answer_of(CrackLengthOutcome)
class SizesAnswer(Strict):
    """Size and reading, one entry a reading."""


@answer_of(InitiationOutcome)
class InitiationAnswer(Strict):
    """The first reading from which all stay risen."""


class CrackLengthAnswer(Strict):
    """Sizes, or the moment of initiation; the other is null."""

    sizes: SizesAnswer | None = Field(description="size and reading of each reading")
    initiation: InitiationAnswer | None = Field(description="when the crack began")


_COLUMNS = ("potential_v", "reference_probe_v", "temperature_celsius", "compliance_mm_per_n", "size_mm", "cycles")


def _table(table: Table, rest: dict[str, Any]) -> dict[str, Any]:
    """Readings of one specimen by their columns; the query holds the way they are read and what it needs."""
    guard_columns(table, _COLUMNS, ())
    if "readings" in rest:
        raise refused("the table itself gives the readings", "/readings")
    return {"readings": {**rest, **{name: numbers(table, name) for name in table}}}


@post(
    "trials/crack-length",
    CrackLengthRequest,
    CrackLengthAnswer,
    revision=2,
    summary="Crack sizes from readings",
    bodies={"text/csv": csv_body(_table)},
)
def crack_length(request: CrackLengthRequest) -> Reply:
    """Crack sizes of a specimen from potential drop or compliance, the readings of crack sizes, or the moment at
    which the potential stays risen."""
    with at("readings"):
        found: Outcome = request.readings.to_core()
    began = isinstance(request.readings, Initiation)
    return reply(CrackLengthAnswer, found, sizes=None if began else found, initiation=found if began else None)

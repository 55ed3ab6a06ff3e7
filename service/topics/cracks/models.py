"""Cracks, stress, ends and load sharing as requests, and their way to the core."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, StringConstraints

from fatcore.bounds import Number, Positive
from fatcore.cracks.configurations.function_crack import FunctionCrack, family_crack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.intensity.families import FAMILIES

from ...base.derive import Derived, call, request_of
from ...base.forms.other_units import of_quantities

MAX_ROWS = 10_000
PARAMETERS = of_quantities(parameter.name for each in FAMILIES.values() for parameter in each.parameters)
MAX_MEMBERS = 100

Word = Annotated[str, StringConstraints(max_length=100)]
Values = Annotated[list[Number], Field(min_length=2, max_length=MAX_ROWS)]


@request_of(SurfaceCrack)
class SurfaceRequest(Derived):
    """Semi-elliptical crack at a plate surface; with a footprint at the toe of a weld."""

    kind: Literal["surface"]


@request_of(EdgeCrack)
class EdgeRequest(Derived):
    """Straight crack from one edge of a plate, ends free unless sharing holds them."""

    kind: Literal["edge"]


@request_of(CentreCrack)
class CentreRequest(Derived):
    """Crack through the thickness in the middle of a plate."""

    kind: Literal["centre"]


class ModeColumns(Derived):
    """Stress intensity by mode over the sizes of a table."""

    opening: Values | None = None
    sliding: Values | None = None
    tearing: Values | None = None

    def to_core(self) -> dict[str, list[float]]:
        """The columns that are given."""
        return self.model_dump(exclude_none=True)


@request_of(IntensityTable, omit=("aspect_ratio",))
class TableRequest(Derived):
    """Stress intensity over crack size, for load factor 1, from the user's own measurement or simulation."""

    kind: Literal["table"]
    start_mm: Positive = Field(description="crack size at the start")
    k_mpa_sqrt_mm: ModeColumns

    def to_core(self) -> TabledCrack:
        """The table and the crack size at the start."""
        return TabledCrack(crack_size_mm=self.start_mm, table=call(IntensityTable, self))


class FamilyRequest(Derived):
    """A crack of any family that grows in one size; parameters hold the stresses for load factor 1.

    Where the size of the family is an angle, start_mm and largest_mm are half the length along the arc.
    """

    kind: Literal["family"]
    family: Word
    start_mm: Positive
    largest_mm: Positive
    parameters: Annotated[dict[Word, Number | Word], PARAMETERS]

    def to_core(self) -> FunctionCrack:
        """The stress intensity as a function of the one size."""
        return family_crack(self.family, self.start_mm, self.largest_mm, self.parameters)


Crack = Annotated[SurfaceRequest | EdgeRequest | CentreRequest | TableRequest | FamilyRequest, Discriminator("kind")]
PlateCrack = Annotated[SurfaceRequest | EdgeRequest | CentreRequest, Discriminator("kind")]


@request_of(Stress, rows=MAX_ROWS)
class StressRequest(Derived):
    """Stress in the uncracked section for load factor 1: membrane and bending, or a path from the surface.

    Static stress lasts at any load factor: residual stress, dead load.
    """


@request_of(Strength)
class MaterialRequest(Derived):
    """Strength and toughness of the material."""


@request_of(EndCriteria)
class EndRequest(Derived):
    """What ends growth besides the configuration itself, whichever comes first."""


@request_of(Member)
class MemberRequest(Derived):
    """An intact path beside the cracked member."""


@request_of(Sharing, rows=MAX_MEMBERS)
class SharingRequest(Derived):
    """What surrounds the cracked member and takes load from it."""

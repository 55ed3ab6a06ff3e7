"""Cracks, stress, ends and load sharing as requests, and their way to the core."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, StringConstraints

from fatcore.cracks.configurations.function_crack import FunctionCrack, family_crack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.errors import at

from ...base.common import NonNegative, Number, Positive, Strict

MAX_ROWS = 10_000

Word = Annotated[str, StringConstraints(max_length=100)]
Rows = Annotated[list[Positive], Field(min_length=2, max_length=MAX_ROWS)]
Values = Annotated[list[Number], Field(min_length=2, max_length=MAX_ROWS)]


class SurfaceRequest(Strict):
    """Semi-elliptical crack at a plate surface; with a footprint at the toe of a weld."""

    kind: Literal["surface"]
    depth_mm: Positive
    half_length_mm: Positive
    thickness_mm: Positive
    half_width_mm: Positive | None = None
    toe_footprint_mm: Positive | None = None
    toe_form: Literal["plane", "solid"] | None = Field(
        default=None, description="of the toe, needs toe_footprint_mm; null is plane"
    )


class EdgeRequest(Strict):
    """Straight crack from one edge of a plate, ends free unless sharing holds them."""

    kind: Literal["edge"]
    depth_mm: Positive
    width_mm: Positive
    thickness_mm: Positive | None = Field(default=None, description="needed with sharing")
    form: Literal["accurate", "handbook"] = "accurate"


class CentreRequest(Strict):
    """Crack through the thickness in the middle of a plate."""

    kind: Literal["centre"]
    half_length_mm: Positive
    width_mm: Positive | None = None
    thickness_mm: Positive | None = Field(default=None, description="needed with sharing")


class KColumns(Strict):
    """Stress intensity by mode for load factor 1."""

    opening: Values | None = None
    sliding: Values | None = None
    tearing: Values | None = None


class TableRequest(Strict):
    """Stress intensity over crack size from the user's own measurement or simulation."""

    kind: Literal["table"]
    start_mm: Positive = Field(description="crack size at the start")
    crack_size_mm: Rows = Field(description="crack sizes of the table, ascending")
    k_mpa_sqrt_mm: KColumns


class FamilyRequest(Strict):
    """A crack of any family that grows in one size; parameters hold the stresses for load factor 1.

    Where the size of the family is an angle, start_mm and largest_mm are half the length along the arc.
    """

    kind: Literal["family"]
    family: Word
    start_mm: Positive
    largest_mm: Positive
    parameters: dict[Word, Number | Word]


Crack = Annotated[SurfaceRequest | EdgeRequest | CentreRequest | TableRequest | FamilyRequest, Discriminator("kind")]
PlateCrack = Annotated[SurfaceRequest | EdgeRequest | CentreRequest, Discriminator("kind")]


class StressRequest(Strict):
    """Stress in the uncracked section for load factor 1: membrane and bending, or a path from the surface.

    Static stress lasts at any load factor: residual stress, dead load.
    """

    membrane_mpa: Number = 0.0
    bending_mpa: Number = 0.0
    distance_mm: list[Number] = Field(default=[], max_length=MAX_ROWS)
    stress_mpa: list[Number] = Field(default=[], max_length=MAX_ROWS)
    element_size_mm: Positive | None = Field(
        default=None, description="element size of the model that a path comes from, at the notch"
    )
    static_membrane_mpa: Number = 0.0
    static_bending_mpa: Number = 0.0


class MaterialRequest(Strict):
    """Strength and toughness of the material."""

    yield_strength_mpa: Positive
    ultimate_strength_mpa: Positive
    toughness_mpa_sqrt_mm: Positive
    youngs_modulus_mpa: Positive = 206000.0


class EndRequest(Strict):
    """What ends growth besides the body itself, whichever comes first."""

    depth_mm: Positive | None = None
    half_length_mm: Positive | None = None
    toughness_mpa_sqrt_mm: Positive | None = None
    yield_strength_mpa: Positive | None = None
    strength: MaterialRequest | None = None
    line: Literal["continuous", "plateau", "older"] | None = Field(
        default=None, description="failure assessment line, needs strength; null is continuous"
    )
    stiffness_ratio: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    cycles: Positive | None = None
    grow_through: bool = False


class MemberRequest(Strict):
    """An intact path beside the cracked member."""

    axial_stiffness_n_per_mm: Positive
    rotational_stiffness_nmm: NonNegative = 0.0
    offset_mm: Number = 0.0


class SharingRequest(Strict):
    """What surrounds the cracked member and takes load from it."""

    length_mm: Positive
    youngs_modulus_mpa: Positive = 206000.0
    poisson_ratio: Annotated[float, Field(ge=0.0, lt=0.5)] = 0.3
    plane: Literal["stress", "strain"] = "strain"
    members: list[MemberRequest] = Field(default=[], max_length=100)
    series_axial_stiffness_n_per_mm: Positive | None = None
    series_rotational_stiffness_nmm: Positive | None = None
    grips: Literal["rigid", "free", "flexible"] = Field(
        description="what holds the joint against turning; no default, since none is on the safe side"
    )
    grip_stiffness_nmm: Positive | None = None
    control: Literal["force", "displacement", "spring"] = "force"
    drive_stiffness_n_per_mm: Positive | None = None


def crack_from(request: Any) -> SurfaceCrack | EdgeCrack | CentreCrack | TabledCrack | FunctionCrack:
    """The cracked body of the core; errors carry the path `crack`."""
    values = request.model_dump(exclude={"kind"})
    with at("crack"):
        if isinstance(request, SurfaceRequest):
            return SurfaceCrack(**values)
        if isinstance(request, EdgeRequest):
            return EdgeCrack(**values)
        if isinstance(request, CentreRequest):
            return CentreCrack(**values)
        if isinstance(request, TableRequest):
            columns = {k: v for k, v in values["k_mpa_sqrt_mm"].items() if v is not None}
            return TabledCrack(crack_size_mm=request.start_mm, table=IntensityTable(request.crack_size_mm, columns))
        return family_crack(request.family, request.start_mm, request.largest_mm, request.parameters)


def stress_from(request: StressRequest) -> Stress:
    """The stress of the core; errors carry the path `stress`."""
    values = request.model_dump(exclude={"distance_mm", "stress_mpa"})
    with at("stress"):
        return Stress(distance_mm=tuple(request.distance_mm), stress_mpa=tuple(request.stress_mpa), **values)


def strength_from(request: MaterialRequest, *path: str) -> Strength:
    """The strength of the core; errors carry the path."""
    with at(*path):
        return Strength(**request.model_dump())


def end_from(request: EndRequest) -> EndCriteria:
    """The end of the core; errors carry the path `end`."""
    values = request.model_dump(exclude={"strength"})
    strength = None if request.strength is None else strength_from(request.strength, "end", "strength")
    with at("end"):
        return EndCriteria(strength=strength, **values)


def sharing_from(request: SharingRequest | None) -> Sharing | None:
    """The sharing of the core; errors carry the path `sharing`."""
    if request is None:
        return None
    with at("sharing"):
        members = tuple(Member(**member.model_dump()) for member in request.members)
        return Sharing(members=members, **request.model_dump(exclude={"members"}))

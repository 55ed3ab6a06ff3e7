"""Models of the stress-intensity route: a family by name, a stress path, a table; and the families."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from fatcore.bounds import Number, Positive
from fatcore.cracks.configurations.intensity_table import IntensityTable, TabledOutcome
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.weight_function.intensity import POINTS
from fatcore.findings import Limit

from ...base.common import Strict
from ...base.derive import Derived, answer_of, request_of
from .models import PARAMETERS, ModeColumns, Word

MAX_SIZES = 10_000
MAX_ROWS = 2_000

Sizes = Annotated[list[Positive], Field(min_length=1, max_length=MAX_SIZES)]
Numbers = Annotated[list[Number], Field(min_length=1, max_length=MAX_SIZES)]
Rows = Annotated[list[Number], Field(min_length=1, max_length=MAX_ROWS)]
Lengths = Annotated[Positive | Sizes, Field(description="one value for all cracks, or one for each")]


class NamedFamilyRequest(Strict):
    """Cracks of one family; GET cracks/families lists what each needs."""

    kind: Literal["family"]
    family: Word = Field(description="name of the family", json_schema_extra={"enum": [*sorted(FAMILIES)]})
    crack_size_mm: Sizes = Field(description="crack sizes [mm]; degrees for the family whose size is an angle")
    parameters: Annotated[dict[Word, Number | Numbers | Word], PARAMETERS] = Field(
        description="its other arguments by name: one value for all sizes, or one for each"
    )

    @classmethod
    def without_unit(cls, data: Mapping[str, Any]) -> tuple[str, ...]:
        """The size, where it is an angle: no unit of length fits it."""
        chosen = FAMILIES.get(str(data.get("family")))
        return () if chosen is None or chosen.size.endswith("_mm") else ("crack_size_mm",)


class PathRequest(Strict):
    """Cracks under a stress through the thickness: points of a path, or a polynomial.

    Written out, since a length is one value for all cracks or one for each.
    """

    kind: Literal["path"]
    point: Word = Field(
        default="deepest",
        description="point of a semi-ellipse, or another kind of crack",
        json_schema_extra={"enum": list(POINTS)},
    )
    distance_mm: Rows | None = Field(default=None, description="distances from the mouth, from 0 and ascending")
    stress_mpa: Rows | None = Field(default=None, description="stress of the uncracked body at them")
    coefficients_mpa: Annotated[list[Number], Field(min_length=1, max_length=20)] | None = Field(
        default=None, description="instead of points: stress = sum of c_n (distance / reference)^n"
    )
    reference_mm: Positive | None = Field(default=None, description="reference length of the polynomial")
    depth_mm: Sizes = Field(description="crack depths; half lengths of a centre crack")
    half_length_mm: Lengths | None = Field(default=None, description="half surface lengths of a semi-ellipse")
    thickness_mm: Lengths | None = Field(default=None, description="thickness; of an edge crack the plate width")
    half_width_mm: Lengths | None = Field(default=None, description="half plate width; null is wide")


@request_of(IntensityTable)
class TabledRequest(Derived):
    """A table from the user's own crack simulation, read at other sizes."""

    kind: Literal["table"]
    k_mpa_sqrt_mm: ModeColumns
    at_mm: Sizes = Field(description="sizes to read at")


def _tag(value: Any) -> str:
    """The branch of a crack; not a word of the request, so that pointers leave it out."""
    return f"kind {value.get('kind') if isinstance(value, dict) else getattr(value, 'kind', None)}"


Crack = Annotated[
    Annotated[NamedFamilyRequest, Tag("kind family")]
    | Annotated[PathRequest, Tag("kind path")]
    | Annotated[TabledRequest, Tag("kind table")],
    Discriminator(_tag, custom_error_type="kind", custom_error_message="kind must be family, path or table"),
]


class IntensityRequest(Strict):
    """Which cracks, in one of three forms."""

    crack: Crack


@answer_of(TabledOutcome, omit=("crack_size_mm",))
class IntensityAnswer(Strict):
    """Stress intensities, one for each crack; null for modes that the form does not give."""


class FamiliesRequest(Strict):
    """Filter of the families."""

    text: Word | None = Field(default=None, description="part of the name or title")


class ParameterItem(Strict):
    """One argument of a family."""

    name: str
    meaning: str
    unit: str
    role: Literal["length", "angle", "load", "choice"]
    needed: bool
    default: float | str | None
    choices: list[str]


@answer_of(Limit)
class LimitItem(Strict):
    """One validity limit of a family; null is open."""


class FamilyItem(Strict):
    """One family of cracks."""

    name: str
    title: str
    size: str
    parameters: list[ParameterItem]
    limits: list[LimitItem]


class FamiliesAnswer(Strict):
    """The families that fit."""

    families: list[FamilyItem]

"""What a policy file holds."""

from __future__ import annotations

from typing import Annotated, Any

from annotated_types import Ge, Le
from pydantic import Field, StringConstraints

from fatcore.bounds import NonNegative, Positive, Probability
from fatcore.curves.curve import Curve
from fatcore.curves.user_defined import user_defined_curve
from fatcore.stress.mean_stress import Condition
from fatcore.stress.notch.fields import OpeningAngle
from fatcore.stress.peak.elements import Element

from ..base.common import Strict
from ..base.derive import Derived, call, request_of
from ..topics.cracks.law import LawRequest
from ..topics.curves.models import CurveId

MOST_ENTRIES = 500
_WORD = StringConstraints(min_length=1, max_length=100, pattern=r"^\S(.*\S)?$")
Word = Annotated[str, _WORD]
CurveName = Annotated[str, StringConstraints(max_length=100, pattern=r"^[\w.-]+$")]  # it may stand in a URL
Words = Annotated[list[Word], Field(max_length=MOST_ENTRIES)]
Origin = Annotated[str, StringConstraints(min_length=3, max_length=300)]
Factor = Annotated[float, Ge(1.0), Le(10.0)]


@request_of(user_defined_curve, omit=("name", "origin"), rows=20)
class PolicyCurve(Derived):
    """A curve of the company, by its name in the file; its origin must be said."""

    origin: Origin

    def named(self, name: str) -> Curve:
        """The curve of the core."""
        made: Curve = call(user_defined_curve, self, name=name)
        return made


class PolicyLaw(LawRequest):
    """A growth law of the company, by its name in the file: stages in their unit system, and where they come from."""

    name: None = Field(default=None, exclude=True)
    origin: Origin


class ElementConstants(Strict):
    """Element constants that the company calibrated with its own mesher and solver, for notches between two angles."""

    element: Element
    opening: Positive | None = None
    sliding: Positive | None = None
    tearing: Positive | None = None
    lowest_angle_deg: OpeningAngle
    highest_angle_deg: OpeningAngle
    origin: Origin


class Floors(Strict):
    """What no request may undercut: the least or the largest value of each."""

    damage_limit: Annotated[Positive | None, Field(le=1.0, description="largest permissible damage sum")] = None
    survival_probability: Annotated[Probability | None, Field(description="least share of survivors")] = None
    confidence: Annotated[Probability | None, Field(description="least confidence of limits of tests")] = None
    partial_factor: Annotated[Factor | None, Field(description="least partial factor on strength")] = None
    load_factor: Annotated[Positive | None, Field(description="least factor on loads")] = None
    inspections: Annotated[int | None, Field(ge=1, le=100, description="least number of inspections")] = None
    detection_probability: Annotated[
        Probability | None, Field(description="least probability at which a size counts as found, by a published curve")
    ] = None
    hysteresis_threshold_mpa: Annotated[NonNegative | None, Field(description="largest threshold of counting")] = None
    exclude_ends_mm: Annotated[NonNegative | None, Field(description="largest length left out at ends of lines")] = None


class Allowed(Strict):
    """What requests may choose, by patterns (* stands for any letters); what is left out is not restricted.

    Curves and laws of the policy itself are always allowed. Where curves (laws) are listed, requests may not bring
    their own unless own_curves (own_laws) says so.
    """

    curves: Words | None = None
    own_curves: bool | None = None
    laws: Words | None = None
    own_laws: bool | None = None
    conditions: Annotated[list[Condition], Field(min_length=1, max_length=2)] | None = None
    corrections: Words | None = None
    elements: list[Element] | None = None
    own_element_constants: bool | None = None
    below_knee: Words | None = None
    residue: Words | None = None
    variable_sets: Words | None = None
    retardation: bool | None = None
    choices: dict[Word, Words] = Field(
        default={}, max_length=MOST_ENTRIES, description="words of any other field of a request, by its name"
    )


class Defaults(Strict):
    """What is taken where a request leaves it out."""

    damage_limit: Positive | None = None
    survival_probability: Probability | None = None
    partial_factor: Factor | None = None
    load_factor: Positive | None = None
    condition: Condition | None = None
    opening_curve: CurveId | None = None
    shear_curve: CurveId | None = None
    inspections: Annotated[int, Ge(1), Le(100)] | None = None


class PolicyFile(Strict):
    """The whole file."""

    name: Word
    version: Word
    curves: dict[CurveName, PolicyCurve] = Field(default={}, max_length=MOST_ENTRIES)
    laws: dict[Word, PolicyLaw] = Field(default={}, max_length=MOST_ENTRIES)
    element_constants: list[ElementConstants] = Field(default=[], max_length=MOST_ENTRIES)
    defaults: Defaults = Defaults()
    floors: Floors = Floors()
    allowed: Allowed = Allowed()


def given(model: Strict) -> dict[str, Any]:
    """The fields of a part that say something."""
    return {name: value for name, value in model if value is not None}

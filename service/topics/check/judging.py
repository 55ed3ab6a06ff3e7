"""What a line is judged by, for a whole check or for a line of it: curves, material; and words for a reader."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fatcore.check.line import Material
from fatcore.check.strength.resistance import Resistance

from ...base.common import Strict
from ...base.derive import Derived, request_of
from ..curves.models import CurveRef
from ..curves.resistance import Corrections, Environment

Label = Annotated[str, Field(min_length=1, max_length=100)]
Description = Annotated[str, Field(min_length=1, max_length=500)]


class Described(Strict):
    """Words for a reader, repeated in the answer and the report; no number depends on them."""

    name: Label | None = Field(default=None, description="name for a reader")
    description: Description | None = None


class CurvesChoice(Derived):
    """What moves and corrects every curve of a check besides the target."""

    environment: Environment = None
    corrections: Corrections = Field(default=[])


@request_of(Resistance, omit=("curve", "interaction", "amplitude", "shear_corrections"))
class BiaxialityCurves(CurvesChoice):
    """Pair of peak-stress curves, chosen by biaxiality; between the bounds the lower life governs."""

    rule: Literal["biaxiality"] = "biaxiality"
    opening_curve: CurveRef = "peak-stress-opening"
    shear_curve: CurveRef = "peak-stress-shear"


@request_of(Resistance, omit=("lower", "upper", "amplitude", "shear_corrections"))
class FixedCurves(CurvesChoice):
    """One curve, or one each for normal and shear stress with their interaction."""

    rule: Literal["fixed"]
    curve: CurveRef
    shear_curve: CurveRef | None = None


CurvesInput = Annotated[BiaxialityCurves | FixedCurves, Field(discriminator="rule")]


@request_of(Material)
class CheckMaterial(Derived):
    """Material; the radius may be left out for structural-steel, aluminium-alloy, austenitic-steel."""

    description: Description | None = None

"""What a line is judged by, for a whole check or for a line of it: curves, material; and words for a reader."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fatcore.check.line import Material
from fatcore.check.strength.resistance import Resistance

from ...base.derive import Derived, request_of
from ..curves.models import CurveRef
from ..curves.resistance import Corrections, Environment
from ..described import Description


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

"""Combined normal and shear stress spectra by the published interaction sums, from their damage sums."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fatcore import tables
from fatcore.bounds import NonNegative, guarded
from fatcore.curves.curve import Curve
from fatcore.errors import UnknownError
from fatcore.outcome import Outcome, evidence

COMBINED_TABLE = "stress/interaction"  # exponents and comparison values, one table for both topics

InteractionForm = Literal["en-1993-1-9", "iiw-2016", "en-13001-3-1"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CombinedDamage(Outcome):
    """Interaction of a normal and a shear spectrum.

    interaction_sum    : sum of the terms over the comparison value [-], at most 1 passes
    normal_utilisation : equivalent range over the range of the curve at the same cycles, on first slopes [-]
    shear_utilisation  : the same of the shear spectrum [-]
    """

    interaction_sum: float
    normal_utilisation: float
    shear_utilisation: float


@guarded
def combined_damage(
    normal_damage: NonNegative,
    shear_damage: NonNegative,
    normal_curve: Curve,
    shear_curve: Curve,
    *,
    form: InteractionForm = "en-1993-1-9",
    proportional: bool = False,
    material: str = "steel",
) -> CombinedDamage:
    """Interaction sum of two spectra counted each on its own curve.

    normal_damage, shear_damage : over the whole life
    form         : of the table; `iiw-2016` needs proportional and material
    proportional : both stresses rise and fall together and the principal directions stand still
    Returns      : outcome; the utilisation of a spectrum is its damage to the power 1 / (first slope). With
                   the slopes as exponents the sum is simply the sum of the two damages
    Raises       : UnknownError for an unknown material
    Source       : [interaction-en-1993-1-9], [interaction-iiw-2016], [interaction-en-13001-3-1]
    """
    entry = tables.load(COMBINED_TABLE)["form"][form]
    slopes = normal_curve.slopes[0], shear_curve.slopes[0]
    normal, shear = normal_damage ** (1.0 / slopes[0]), shear_damage ** (1.0 / slopes[1])
    exponents = entry.get("normal_exponent", slopes[0]), entry.get("shear_exponent", slopes[1])
    limit = 1.0
    if "limit" in entry:
        if material not in entry["limit"]:
            raise UnknownError("material", material, entry["limit"], "material")
        limit = entry["limit"][material]["proportional" if proportional else "non-proportional"]
    return CombinedDamage(
        interaction_sum=(normal ** exponents[0] + shear ** exponents[1]) / limit,
        normal_utilisation=normal,
        shear_utilisation=shear,
        **evidence(sources=(entry["source"], normal_curve.source, shear_curve.source), tables=(COMBINED_TABLE,)),
    )

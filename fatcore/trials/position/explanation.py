"""How much of the distance of tests from a design curve the sharing of load explains."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import figure, rounded_down
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.trials.position.position import PositionOutcome

_AGREE = 2.0  # factor of life within which a calculation of growth agrees with tests [common practice]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharingExplanation(Outcome):
    """Life of tests beside that of the mean line of a curve, and what load sharing makes of it.

    tests_life_factor     : geometric mean over the failures of their life over that of the mean line
    life_extension_factor : of the growth calculation, life with sharing over life without
    unexplained_factor    : of the first over the second
    """

    tests_life_factor: float
    life_extension_factor: float
    unexplained_factor: float


@guarded
def explain_by_sharing(
    position: PositionOutcome, curve: Curve, failed: NDArray[np.bool_], life_extension_factor: Positive
) -> SharingExplanation:
    """The factor of life that the tests show over the mean line of a curve, beside the one of load sharing.

    failed : which tests failed, (n,)
    Raises : NotCoveredError for a curve without survival probability, InputError for failures below its cut-off
    Source : [linear-models]
    """
    if curve.survival_probability is None:
        raise NotCoveredError(
            f"curve {curve.id!r} states no survival probability: nothing tells its mean line", "curve"
        )
    factors = position.life_factor[failed]
    if (factors <= 0.0).any():
        raise InputError("tests failed where the curve has no damage: nothing to compare", "curve")
    to_mean = (curve.deviations(curve.survival_probability) - curve.deviations(0.5)) * curve.scatter()
    shown = 10.0 ** (float(np.log10(factors).mean()) - to_mean)
    left = shown / life_extension_factor
    return SharingExplanation(
        tests_life_factor=shown,
        life_extension_factor=life_extension_factor,
        unexplained_factor=left,
        **evidence(findings=[_told(shown, life_extension_factor, left)], sources=["linear-models", curve.source]),
    )


def _told(shown: float, extension: float, left: float) -> Finding:
    text = (
        f"the tests live {rounded_down(shown)} times as long as the mean line, load sharing makes the growth "
        f"{rounded_down(extension)}"
        f" times as long: a factor of {figure(left)} is left"
    )
    if abs(math.log(left)) > math.log(_AGREE):
        return caution("sharing-does-not-explain", text, field="growth")
    return note("sharing-explains", text, field="growth")

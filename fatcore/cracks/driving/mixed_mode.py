"""Cracks under mixed loading: where they turn to, and the stress intensity that drives them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, get_args

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike, NDArray

from fatcore.bounds import NumberColumn, PoissonRatio, guarded
from fatcore.cracks.columns import side_by_side
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.tables import load

USES_POISSON = "of tanaka, energy and largest, no other criterion uses it; null is 0.3"
BoolArray = NDArray[np.bool_]
Criterion = Literal["largest", "tangential-stress", "tanaka", "energy", "richard"]
CRITERIA: tuple[Criterion, ...] = get_args(Criterion)
SOURCES: dict[str, str] = {
    "largest": "largest-criterion",
    "tangential-stress": "erdogan-sih-1963",
    "tanaka": "tanaka-1974",
    "energy": "irwin-energy",
    "richard": "richard-mixed-mode",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedModeOutcome(Outcome):
    """Direction and driving force of a crack under mixed loading, one value per load state.

    kink_angle_deg  : turn about the crack front, from straight ahead; sign opposite to the sliding mode
    twist_angle_deg : turn about the growth direction (0 unless the criterion covers the tearing mode)
    effective_mpa_sqrt_mm : equivalent opening-mode stress intensity
    open            : False where the opening mode is not positive and the crack faces touch
    """

    kink_angle_deg: FloatArray
    twist_angle_deg: FloatArray
    effective_mpa_sqrt_mm: FloatArray
    open: BoolArray


def kink_angle_deg(opening_mpa_sqrt_mm: ArrayLike, sliding_mpa_sqrt_mm: ArrayLike) -> FloatArray:
    """Direction of the largest tangential stress in front of a crack; fast, checks nothing.

    opening_mpa_sqrt_mm, sliding_mpa_sqrt_mm : K_I (negative counts as closed, 0) and K_II, scalar or array
    Returns : angle [deg], -70.53 to 70.53; negative for positive sliding; 0 without sliding
    Source  : [erdogan-sih-1963]
    >>> round(float(kink_angle_deg(1.0, 1.0)), 3)
    -53.13
    """
    opening = np.maximum(np.asarray(opening_mpa_sqrt_mm, dtype=np.float64), 0.0)
    sliding = np.asarray(sliding_mpa_sqrt_mm, dtype=np.float64)
    # the same as [K_I - sqrt(K_I^2 + 8 K_II^2)] / (4 K_II), without the 0/0 at K_II = 0
    root = opening + np.sqrt(opening * opening + 8.0 * sliding * sliding)
    tangent = np.divide(-2.0 * sliding, root, out=np.zeros(np.shape(root)), where=root > 0.0)
    return np.asarray(np.rad2deg(2.0 * np.arctan(tangent)) + 0.0)


def tangential_stress_intensity(opening_mpa_sqrt_mm: ArrayLike, sliding_mpa_sqrt_mm: ArrayLike) -> FloatArray:
    """Equivalent opening-mode intensity in the direction of `kink_angle_deg`; fast, checks nothing.

    Arguments as `kink_angle_deg`.
    Returns : [MPa√mm], >= 0
    Source  : [erdogan-sih-1963]
    """
    opening = np.maximum(np.asarray(opening_mpa_sqrt_mm, dtype=np.float64), 0.0)
    sliding = np.asarray(sliding_mpa_sqrt_mm, dtype=np.float64)
    angle = np.deg2rad(kink_angle_deg(opening, sliding))
    half = np.cos(0.5 * angle)
    return np.asarray(half * (opening * half * half - 1.5 * sliding * np.sin(angle)))


@guarded
def effective_intensity(
    opening_mpa_sqrt_mm: ArrayLike,
    sliding_mpa_sqrt_mm: ArrayLike,
    tearing_mpa_sqrt_mm: ArrayLike = 0.0,
    *,
    criterion: Criterion = "largest",
    poisson_ratio: PoissonRatio = 0.3,
) -> FloatArray:
    """Equivalent opening-mode intensity (or range) of three modes; the columns are not checked.

    opening, sliding, tearing : K_I (negative counts as 0), K_II, K_III [MPa√mm], scalars or arrays
    criterion     : largest (of the other four), tangential-stress (leaves the tearing mode out), tanaka,
                    energy, richard
    poisson_ratio : [-], used by tanaka and energy
    Returns       : [MPa√mm], >= 0
    Raises        : UnknownError for another criterion, InputError for an impossible Poisson's ratio
    Source        : [erdogan-sih-1963], [tanaka-1974], [irwin-energy], [richard-mixed-mode]
    >>> float(effective_intensity(0.0, 0.0, 1.0).round(4))
    1.8386
    """
    opening = np.maximum(np.asarray(opening_mpa_sqrt_mm, dtype=np.float64), 0.0)
    sliding, tearing = (np.asarray(mode, dtype=np.float64) for mode in (sliding_mpa_sqrt_mm, tearing_mpa_sqrt_mm))
    modes = opening, sliding, tearing
    if criterion == "largest":
        values = [_by(name, *modes, poisson_ratio) for name in CRITERIA if name != "largest"]
        return np.asarray(np.max(np.broadcast_arrays(*values), axis=0))
    return _by(criterion, *modes, poisson_ratio)


def richard_kink_angle_deg(
    opening_mpa_sqrt_mm: ArrayLike, sliding_mpa_sqrt_mm: ArrayLike, tearing_mpa_sqrt_mm: ArrayLike = 0.0
) -> FloatArray:
    """Kink angle by the quadratic fit in the share of the sliding mode.

    Arguments : K_I (negative counts as 0), K_II, K_III [MPa√mm]
    Returns   : angle [deg], sign opposite to the sliding mode
    Source    : [richard-mixed-mode]
    """
    share = _share(sliding_mpa_sqrt_mm, opening_mpa_sqrt_mm, sliding_mpa_sqrt_mm, tearing_mpa_sqrt_mm)
    table = load("cracks/mixed_mode")["richard"]
    angle = table["kink_linear_deg"] * share - table["kink_square_deg"] * share * share
    return np.asarray(-np.sign(sliding_mpa_sqrt_mm) * angle + 0.0)


def twist_angle_deg(
    opening_mpa_sqrt_mm: ArrayLike, sliding_mpa_sqrt_mm: ArrayLike, tearing_mpa_sqrt_mm: ArrayLike
) -> FloatArray:
    """Twist angle by the quadratic fit in the share of the tearing mode.

    Arguments : K_I (negative counts as 0), K_II, K_III [MPa√mm]
    Returns   : angle [deg], sign opposite to the tearing mode
    Source    : [richard-mixed-mode]
    """
    share = _share(tearing_mpa_sqrt_mm, opening_mpa_sqrt_mm, sliding_mpa_sqrt_mm, tearing_mpa_sqrt_mm)
    table = load("cracks/mixed_mode")["richard"]
    angle = table["twist_linear_deg"] * share - table["twist_square_deg"] * share * share
    return np.asarray(-np.sign(tearing_mpa_sqrt_mm) * angle + 0.0)


@guarded
def find_direction(
    opening_mpa_sqrt_mm: NumberColumn,
    sliding_mpa_sqrt_mm: NumberColumn,
    tearing_mpa_sqrt_mm: NumberColumn | None = None,
    *,
    criterion: Criterion = "largest",
    poisson_ratio: Annotated[PoissonRatio | None, doc(USES_POISSON)] = None,
) -> MixedModeOutcome:
    """Direction and driving force of a crack under three modes.

    Arguments as `effective_intensity` (a Poisson's ratio of None is 0.3); scalars and arrays broadcast. With
    `largest` the twist is that of the fit (richard), the kink that of the largest tangential stress.
    Raises : as there; InputError where the criterion leaves out a tearing mode that exceeds the other two, or
             has no use for a Poisson's ratio
    """
    if poisson_ratio is not None and criterion in ("tangential-stress", "richard"):
        raise InputError(f"the criterion {criterion} does not use a Poisson's ratio", "poisson_ratio")
    opening, sliding, tearing = side_by_side(
        opening_mpa_sqrt_mm=opening_mpa_sqrt_mm,
        sliding_mpa_sqrt_mm=sliding_mpa_sqrt_mm,
        tearing_mpa_sqrt_mm=tearing_mpa_sqrt_mm,
    )
    effective = effective_intensity(
        opening,
        sliding,
        tearing,
        criterion=criterion,
        poisson_ratio=0.3 if poisson_ratio is None else poisson_ratio,
    )
    by_fit = criterion == "richard"
    twists = criterion in ("largest", "richard")
    kink = richard_kink_angle_deg(opening, sliding, tearing) if by_fit else kink_angle_deg(opening, sliding)
    twist = twist_angle_deg(opening, sliding, tearing) if twists else np.zeros(opening.shape)
    findings = [*tearing_findings(criterion, np.maximum(opening, 0.0), sliding, tearing)]
    if (opening <= 0.0).any():
        message = "the opening mode is not positive: the crack faces touch, their friction is left out"
        findings.append(caution("crack-closed", message, field="opening_mpa_sqrt_mm"))
    if criterion in ("largest", "tanaka", "energy"):
        message = "the criterion gives no direction; the kink angle is that of the largest tangential stress"
        message += ", the twist angle that of the fit" if criterion == "largest" else ""
        findings.append(note("direction-by-tangential-stress", message, source="erdogan-sih-1963"))
    return MixedModeOutcome(
        kink_angle_deg=kink,
        twist_angle_deg=twist,
        effective_mpa_sqrt_mm=effective,
        open=opening > 0.0,
        **evidence(
            findings=findings,
            sources=criterion_sources(criterion),
            tables=["cracks/mixed_mode"],
        ),
    )


def criterion_sources(criterion: Criterion) -> tuple[str, ...]:
    """Publications behind a criterion and its direction."""
    keys = [*SOURCES.values()] if criterion == "largest" else [SOURCES[criterion]]
    return tuple(dict.fromkeys([*keys, SOURCES["tangential-stress"]]))


def tearing_findings(
    criterion: Criterion, opening: FloatArray, sliding: FloatArray, tearing: FloatArray
) -> tuple[Finding, ...]:
    """What a criterion without the tearing mode leaves out, for intensities or ranges side by side.

    Raises : InputError where the tearing mode exceeds both others
    """
    size = np.abs(tearing)
    if criterion != "tangential-stress" or not (size > 0.0).any():
        return ()
    if (size > np.maximum(opening, np.abs(sliding))).any():
        text = "tangential-stress leaves the tearing mode out, which exceeds the others here: take largest"
        raise InputError(text, "criterion")
    message = "the largest tangential stress does not see the tearing mode; take another criterion"
    return (caution("tearing-left-out", message, field="tearing_mpa_sqrt_mm"),)


def _share(part: ArrayLike, opening: ArrayLike, sliding: ArrayLike, tearing: ArrayLike) -> FloatArray:
    total = np.maximum(opening, 0.0) + np.abs(sliding) + np.abs(tearing)
    part, total = np.broadcast_arrays(np.abs(part), total)
    return np.asarray(np.divide(part, total, out=np.zeros(np.shape(total)), where=total > 0.0))


def _by(
    criterion: Criterion, opening: FloatArray, sliding: FloatArray, tearing: FloatArray, poisson_ratio: float
) -> FloatArray:
    if criterion == "tangential-stress":
        return tangential_stress_intensity(opening, sliding) + 0.0 * tearing
    if criterion == "richard":
        return _richard(opening, sliding, tearing)
    if criterion == "energy":
        return np.sqrt(opening**2 + sliding**2 + tearing**2 / (1.0 - poisson_ratio))
    table = load("cracks/mixed_mode")["tanaka"]
    shear = table["sliding"] * sliding**4 + table["tearing"] * tearing**4 / (1.0 - poisson_ratio)
    return np.asarray((opening**4 + shear) ** 0.25)


def _richard(opening: FloatArray, sliding: FloatArray, tearing: FloatArray) -> FloatArray:
    table = load("cracks/mixed_mode")["richard"]
    shear = (table["sliding"] * sliding) ** 2 + (table["tearing"] * tearing) ** 2
    return np.asarray(0.5 * (opening + np.sqrt(opening * opening + 4.0 * shear)))

"""Fracture and collapse of a cracked section: failure assessment diagram."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from fatcore.bounds import NonNegativeColumn, Positive, guard, guarded
from fatcore.cracks.columns import side_by_side
from fatcore.cracks.driving.mixed_mode import SOURCES, Criterion, effective_intensity, tearing_findings
from fatcore.errors import InputError, NotCoveredError
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.plausible import intensity_doubts, modulus_doubts, toughness_doubts, yield_doubts
from fatcore.require import FloatArray
from fatcore.tables import load

Line = Literal["continuous", "plateau", "older"]
_TABLE = "cracks/fracture"
BEYOND, _LARGEST_RESERVE = 1.0, 1e60
OPENING_ONLY = "the primary stress intensity was taken as that of the opening mode, without shear"
CRITERION = "how modes are combined; null is the largest of all criteria"


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What the material bears: yield and tensile strength, Young's modulus, fracture toughness."""

    yield_strength_mpa: Positive
    ultimate_strength_mpa: Positive
    toughness_mpa_sqrt_mm: Positive
    youngs_modulus_mpa: Positive = 206000.0

    def __post_init__(self) -> None:
        guard(self)
        if self.ultimate_strength_mpa < self.yield_strength_mpa:
            raise InputError("the tensile strength is less than the yield strength", "ultimate_strength_mpa")

    def doubts(self) -> tuple[Finding, ...]:
        """Figures that look like another unit."""
        modulus = modulus_doubts(self.youngs_modulus_mpa, "youngs_modulus_mpa")
        return (*yield_doubts(self.yield_strength_mpa), *toughness_doubts(self.toughness_mpa_sqrt_mm), *modulus)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FractureOutcome(Outcome):
    """Position of each state in the failure assessment diagram.

    load_ratio_to_yield : reference stress over yield strength, Lr
    fracture_ratio      : driving force over toughness with the interaction term, Kr
    allowed_ratio       : the assessment line at Lr
    reserve_factor      : factor on the primary load at which the state meets the line (None: never)
    acceptable          : True on or inside the line and its end at collapse
    """

    load_ratio_to_yield: FloatArray
    fracture_ratio: FloatArray
    allowed_ratio: FloatArray
    interaction_term: FloatArray
    reserve_factor: tuple[float | None, ...]
    acceptable: NDArray[np.bool_]


def collapse_limit(strength: Strength) -> float:
    """Largest Lr: mean of yield and tensile strength over yield strength.

    Source : [bs-7910-2013]
    """
    sum_mpa = strength.yield_strength_mpa + strength.ultimate_strength_mpa
    return sum_mpa / (2.0 * strength.yield_strength_mpa)


@guarded
def assessment_line(
    load_ratio_to_yield: NonNegativeColumn, strength: Strength, line: Line = "continuous"
) -> FloatArray:
    """Allowed fracture ratio over the load ratio to yield.

    load_ratio_to_yield : reference stress over yield strength [-], scalar or array
    strength : of the material
    line     : continuous (no yield plateau), plateau, older (revision 3 form)
    Returns  : [-], 0 beyond `collapse_limit`
    Source   : [bs-7910-2013], older [r6-revision-3]
    """
    ratio = np.asarray(load_ratio_to_yield, dtype=np.float64)
    return np.where(ratio <= collapse_limit(strength), _open_line(ratio, strength, line), 0.0)


def interaction_term(lr: ArrayLike, k_primary: ArrayLike, k_secondary: ArrayLike) -> FloatArray:
    """Addition to the fracture ratio for secondary stress (residual, thermal) that acts with primary stress.

    lr          : reference stress over yield strength [-]
    k_primary, k_secondary : stress intensities [MPa√mm]; negative secondary counts as 0
    Returns     : rho [-], >= 0
    Raises      : NotCoveredError when chi = Ks Lr / Kp exceeds 4
    Source      : [jcss-pmc-3]
    """
    rho = _interaction(lr, k_primary, k_secondary)
    if np.isinf(rho).any():
        message = "the interaction of primary and secondary stress is given up to chi = 4 only"
        raise NotCoveredError(message, "k_secondary_mpa_sqrt_mm")
    return rho


def _interaction(lr: ArrayLike, k_primary: ArrayLike, k_secondary: ArrayLike) -> FloatArray:
    """The same; infinite where chi exceeds 4."""
    data = load(_TABLE)["interaction"]
    ratio, primary, secondary = np.broadcast_arrays(
        np.asarray(lr, dtype=np.float64), k_primary, np.maximum(k_secondary, 0.0)
    )
    chi = np.divide(secondary * ratio, primary, out=np.zeros(ratio.shape), where=primary > 0.0)
    acting = chi * (ratio < data["none_from"])
    first = data["linear"] * acting ** data["linear_power"] - data["square"] * acting**2
    first = first + data["fifth"] * acting**5
    fading = np.clip(data["slope"] * (data["none_from"] - ratio), 0.0, 1.0)
    return np.asarray(np.where(acting > data["chi_max"], np.inf, first * fading))


@guarded
def assess_fracture(
    k_primary_mpa_sqrt_mm: Annotated[NonNegativeColumn, doc("of the opening mode")],
    reference_stress_mpa: NonNegativeColumn,
    strength: Strength,
    *,
    k_secondary_mpa_sqrt_mm: NonNegativeColumn | None = None,
    k_sliding_mpa_sqrt_mm: Annotated[NonNegativeColumn | None, doc("of the sliding mode")] = None,
    k_tearing_mpa_sqrt_mm: Annotated[NonNegativeColumn | None, doc("of the tearing mode")] = None,
    criterion: Annotated[Criterion | None, doc(CRITERION)] = None,
    line: Line = "continuous",
) -> FractureOutcome:
    """Places states of a crack in the failure assessment diagram.

    k_primary_mpa_sqrt_mm, reference_stress_mpa : of the primary load, arrays or scalars that broadcast
    k_secondary_mpa_sqrt_mm : of residual and thermal stress
    k_sliding_mpa_sqrt_mm, k_tearing_mpa_sqrt_mm, criterion : shear modes, and how they are combined
    Raises : as `interaction_term` and `tearing_findings`; InputError for a criterion without shear modes
    """
    opening, reference, secondary, sliding, tearing = side_by_side(
        k_primary_mpa_sqrt_mm=k_primary_mpa_sqrt_mm,
        reference_stress_mpa=reference_stress_mpa,
        k_secondary_mpa_sqrt_mm=k_secondary_mpa_sqrt_mm,
        k_sliding_mpa_sqrt_mm=k_sliding_mpa_sqrt_mm,
        k_tearing_mpa_sqrt_mm=k_tearing_mpa_sqrt_mm,
    )
    several = k_sliding_mpa_sqrt_mm is not None or k_tearing_mpa_sqrt_mm is not None
    if criterion is not None and not several:
        raise InputError("a criterion has a meaning only with several modes", "criterion")
    primary, by_mode = opening, [note("opening-mode-only", OPENING_ONLY)]
    if several:
        primary, by_mode = _combine_modes(criterion or "largest", opening, sliding, tearing)
    small = intensity_doubts(primary, "primary stress intensity", "k_primary_mpa_sqrt_mm")
    lr, rho, kr = _position(primary, reference, secondary, strength)
    allowed = assessment_line(lr, strength, line)
    reserve = [_reserve(*state, strength, line) for state in zip(primary, reference, secondary, strict=True)]
    return FractureOutcome(
        load_ratio_to_yield=lr,
        fracture_ratio=kr,
        allowed_ratio=allowed,
        interaction_term=rho,
        reserve_factor=tuple(reserve),
        acceptable=(kr <= allowed) & (lr <= collapse_limit(strength)),
        **evidence(
            findings=[*_findings(line, strength), *by_mode, *small],
            sources=_sources(line, secondary),
            tables=[_TABLE],
        ),
    )


def line_excess(k: FloatArray, reference_mpa: FloatArray, strength: Strength, line: Line) -> FloatArray:
    """Kr over the assessment line less 1 for primary load; large beyond the collapse limit."""
    lr, kr = reference_mpa / strength.yield_strength_mpa, np.maximum(k, 0.0) / strength.toughness_mpa_sqrt_mm
    lr = np.minimum(lr, 1e6)
    unlimited = _open_line(lr, strength, line)
    with np.errstate(divide="ignore"):
        by_line = kr / np.maximum(unlimited, 1e-12) - 1.0
    return np.maximum(by_line, lr / collapse_limit(strength) - 1.0)


def lasting_excess(
    k: FloatArray,
    k_lasting: ArrayLike,
    reference_mpa: FloatArray,
    reference_with_lasting_mpa: FloatArray,
    strength: Strength,
    line: Line,
) -> FloatArray:
    """Kr over the line less 1 when a part of the stress lasts: as primary and as secondary, the worse decides.

    k, reference_mpa : of the load that cycles; k_lasting : of the lasting stress
    reference_with_lasting_mpa : of both together
    """
    lasting = np.maximum(k_lasting, 0.0)
    primary = line_excess(k + np.asarray(k_lasting), reference_with_lasting_mpa, strength, line)
    if not lasting.any():
        return primary
    lr, acting = reference_mpa / strength.yield_strength_mpa, np.maximum(k, 0.0)
    rho = _interaction(lr, acting, lasting)
    secondary = line_excess(acting + lasting + rho * strength.toughness_mpa_sqrt_mm, reference_mpa, strength, line)
    # beyond what the source covers a crack counts as critical
    return np.maximum(primary, np.where(np.isinf(rho), BEYOND, secondary))


def _position(
    primary: FloatArray, reference: FloatArray, secondary: FloatArray, strength: Strength
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Load ratio to yield, interaction term, fracture ratio."""
    lr = reference / strength.yield_strength_mpa
    rho = interaction_term(lr, primary, secondary)
    return lr, rho, (primary + secondary) / strength.toughness_mpa_sqrt_mm + rho


def _reserve(primary: float, reference: float, secondary: float, strength: Strength, line: Line) -> float | None:
    """Factor on the primary load that brings the state onto the line; 0 when secondary stress alone is too much."""

    def excess(factor: float) -> float:
        state = (np.array([factor * primary]), np.array([factor * reference]), np.array([secondary]))
        lr, _, kr = _position(*state, strength)
        return max(float(kr[0] - _open_line(lr, strength, line)[0]), float(lr[0]) / collapse_limit(strength) - 1.0)

    if secondary > strength.toughness_mpa_sqrt_mm:
        return 0.0
    if primary == 0.0 and reference == 0.0:
        return None
    high = 1.0
    while excess(high) < 0.0:
        high *= 2.0
        if high > _LARGEST_RESERVE:
            raise InputError("no factor brings so small a load onto the line", "k_primary_mpa_sqrt_mm")
    return float(brentq(excess, 0.0, high, xtol=1e-12))


def _open_line(lr: FloatArray, strength: Strength, line: Line) -> FloatArray:
    return _older(lr) if line == "older" else _two_parts(lr, strength, line)


def _older(lr: FloatArray) -> FloatArray:
    data = load(_TABLE)["older"]
    falling = data["floor"] + data["rise"] * np.exp(-data["decay"] * lr ** data["power"])
    return np.asarray((1.0 - data["square"] * lr * lr) * falling)


def _two_parts(lr: FloatArray, strength: Strength, line: Line) -> FloatArray:
    below = _below_yield(np.minimum(lr, 1.0), strength, line)
    at_yield = _plateau_end(strength) if line == "plateau" else _below_yield(np.array(1.0), strength, line)
    n = load(_TABLE)["continuous"]["hardening"]
    n = n * (1.0 - strength.yield_strength_mpa / strength.ultimate_strength_mpa)
    power = (n - 1.0) / (2.0 * n) if n > 0.0 else -np.inf
    beyond = at_yield * np.maximum(lr, 1.0) ** power
    reached = lr >= 1.0 if line == "plateau" else lr > 1.0
    return np.asarray(np.where(reached, beyond, below))


def _below_yield(lr: FloatArray, strength: Strength, line: Line) -> FloatArray:
    data = load(_TABLE)["continuous"]
    elastic = np.asarray((1.0 + data["square"] * lr * lr) ** -0.5)
    if line == "plateau":
        return elastic
    mu = data["mu_per_strain"] * strength.youngs_modulus_mpa / strength.yield_strength_mpa
    mu = min(mu, data["mu_max"])
    return np.asarray(elastic * (data["floor"] + data["rise"] * np.exp(-mu * lr ** data["power"])))


def _plateau_end(strength: Strength) -> FloatArray:
    data = load(_TABLE)["plateau"]
    strain = data["strain"] * (1.0 - data["strain_per_mpa"] * strength.yield_strength_mpa)
    if strain <= 0.0:
        message = "the length of the yield plateau is given for yield strengths below 1000 MPa"
        raise NotCoveredError(message, "yield_strength_mpa")
    stretch = 1.0 + strength.youngs_modulus_mpa * strain / strength.yield_strength_mpa
    return np.asarray((stretch + 1.0 / (2.0 * stretch)) ** -0.5)


def _combine_modes(
    criterion: Criterion, opening: FloatArray, sliding: FloatArray, tearing: FloatArray
) -> tuple[FloatArray, list[Finding]]:
    """Equivalent intensity of the opening mode, and what is said of it."""
    left_out = tearing_findings(criterion, opening, sliding, tearing)
    message = f"modes were combined by the criterion {criterion}"
    combined = note("modes-combined", message, field="criterion", source=SOURCES[criterion])
    return effective_intensity(opening, sliding, tearing, criterion=criterion), [combined, *left_out]


def _findings(line: Line, strength: Strength) -> list[Finding]:
    found = [note("assessment-line", f"failure assessment with the {line} line", field="line")]
    found += strength.doubts()
    older = caution("older-line", "this line comes from a withdrawn edition", field="line", source="r6-revision-3")
    return [*found, older] if line == "older" else found


def _sources(line: Line, secondary: FloatArray) -> list[str]:
    first = "r6-revision-3" if line == "older" else "bs-7910-2013"
    return [first, "jcss-pmc-3"] if (secondary > 0.0).any() else [first]

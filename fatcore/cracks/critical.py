"""Critical size of a crack under its largest load, by the failure assessment line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.cracks._body import reference_mpa
from fatcore.cracks.bodies import CentreCrack, EdgeCrack, SurfaceCrack
from fatcore.cracks.fracture import Line, Strength, assess, critical_size_mm
from fatcore.cracks.stressing import Stress, Stressed
from fatcore.findings import caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray

__all__ = ["CriticalOutcome", "find_critical"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CriticalOutcome(Outcome):
    """Smallest crack that meets the assessment line.

    critical_mm : depth (half length of a centre crack) at a constant shape; None when none is critical
    critical_half_length_mm : half surface length there (None for straight cracks)
    load_ratio_to_yield, fracture_ratio : position on the line there, None without a critical size
    """

    critical_mm: float | None
    critical_half_length_mm: float | None
    load_ratio_to_yield: float | None
    fracture_ratio: float | None


def find_critical(
    crack: SurfaceCrack | EdgeCrack | CentreCrack,
    stress: Stress,
    strength: Strength,
    *,
    maximum: float = 1.0,
    line: Line = "continuous",
) -> CriticalOutcome:
    """Grows a crack in its shape until it meets the assessment line.

    crack    : body; its first size says where the search starts, its shape is kept
    stress   : for load factor 1; its lasting part counts as secondary stress (residual)
    strength : of the material; maximum : largest load factor; line : assessment line
    Raises   : as `fracture.assess`
    Source   : [bs-7910-2013], interaction [jcss-pmc-3]
    """
    stressed = Stressed(crack, stress, None)
    depth, length = crack.start()
    shape = length / depth
    last = min(crack.largest()[0], crack.largest()[1] / shape) * (1.0 - 1e-9)
    last = last if np.isfinite(last) else 1e6 * depth

    def state(size: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        sizes = np.array([size]), np.array([size * shape])
        unit = stressed.unit(*sizes, np.zeros((0, 1)))
        static = np.max(unit.static, axis=0) if np.ndim(unit.static) else np.zeros(1)
        membrane, bending = (np.array([maximum * part]) for part in stressed.parts)
        reference = reference_mpa(crack, *sizes, membrane, bending)
        return np.max(maximum * unit.opening, axis=0), reference, static

    def excess(size: float) -> float:
        primary, reference, secondary = state(size)
        placed = assess(primary, reference, strength, k_secondary_mpa_sqrt_mm=secondary, line=line)
        allowed = float(placed.allowed_ratio[0])
        return float(placed.fracture_ratio[0]) / allowed - 1.0 if allowed > 0.0 else 1.0

    found = critical_size_mm(excess, depth, last)
    notes = [note("constant-shape", "the crack was enlarged in its shape", field="critical_mm")]
    if found is not None and found <= depth:
        notes.append(caution("critical-at-start", "the crack is critical as it is", field="critical_mm"))
    if found is None:
        notes.append(note("not-critical", "no crack inside the body meets the line", field="critical_mm"))
    placed = None
    if found is not None:
        primary, reference, secondary = state(found)
        placed = assess(primary, reference, strength, k_secondary_mpa_sqrt_mm=secondary, line=line)
    keys = ["weight-universal-1991", "weight-surface-1991"] if stress.dist_mm else []
    return CriticalOutcome(
        critical_mm=found,
        critical_half_length_mm=found * shape if found is not None and crack.two_lengths else None,
        load_ratio_to_yield=None if placed is None else float(placed.load_ratio_to_yield[0]),
        fracture_ratio=None if placed is None else float(placed.fracture_ratio[0]),
        **evidence(
            findings=notes,
            sources=["bs-7910-2013", *crack.sources, *keys],
            tables=[*crack.tables, "cracks/fracture"],
        ),
    )

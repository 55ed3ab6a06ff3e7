"""Critical size of a crack under its largest load, by the failure assessment line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from fatcore.bounds import Number, guarded
from fatcore.cracks.configurations.configuration import reference_mpa, width_findings
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import (
    BY_STRENGTH,
    Stress,
    Stressed,
    lasting_stress,
    path_findings,
    residual_doubts,
)
from fatcore.cracks.fracture.assessment import (
    FractureOutcome,
    Line,
    Strength,
    assess_fracture,
    lasting_excess,
    line_excess,
)
from fatcore.figures import figure
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.plausible import intensity_doubts
from fatcore.require import FloatArray, positive

# intensity of load and of lasting stress, points x 1; reference stress without and with the lasting stress
State = tuple[FloatArray, FloatArray, FloatArray, FloatArray]
LOADED, WITHOUT_LASTING, UNLOADED = range(3)


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


def critical_size_mm(
    excess: Callable[[float], float], smallest_mm: float, largest_mm: float, *, steps: int = 64
) -> float | None:
    """First size at which an excess (Kr over the line less 1, K over toughness less 1, ...) is not negative.

    excess      : function of the size [mm]
    smallest_mm, largest_mm : where to look, > 0; steps : scan, so that the first of several roots is found
    Returns     : size [mm], or None when none up to the largest; smallest_mm when critical from the start
    """
    sizes = np.geomspace(positive("smallest_mm", smallest_mm), positive("largest_mm", largest_mm), steps)
    if excess(float(sizes[0])) >= 0.0:
        return float(sizes[0])
    for low, high in pairwise(sizes):
        if excess(float(high)) >= 0.0:
            return float(brentq(excess, float(low), float(high), xtol=1e-13 * float(high), rtol=1e-13))
    return None


@guarded
def find_critical_size(
    crack: SurfaceCrack | EdgeCrack | CentreCrack,
    stress: Stress,
    strength: Strength,
    *,
    maximum: Number = 1.0,
    line: Line = "continuous",
) -> CriticalOutcome:
    """Grows a crack in its shape until it meets the assessment line.

    crack    : its first size says where the search starts, its shape is kept
    stress   : for load factor 1; its lasting part counts as primary, as secondary stress, not at all, and
               without the load; the worst decides
    strength : of the material; maximum : largest load factor; line : assessment line
    Raises   : as `fracture.assess`
    Source   : [bs-7910-2013], interaction [jcss-pmc-3]
    """
    stressed = Stressed(crack, stress, None)
    depth, length = crack.start()
    shape = length / depth
    last = min(crack.largest()[0], crack.largest()[1] / shape) * (1.0 - 1e-9)
    last = last if np.isfinite(last) else 1e6 * depth

    def states(size: float) -> list[State]:
        """Loaded, loaded without the lasting stress, which may fade, and unloaded with it, where it opens the crack."""
        sizes = np.array([size]), np.array([size * shape])
        unit = stressed.unit(*sizes, np.zeros((0, 1)))
        lasting = stress.static_membrane_mpa, stress.static_bending_mpa
        nothing = np.zeros_like(unit.opening)

        def reference(factor: float, share: float) -> FloatArray:
            parts = [factor * part + share * more for part, more in zip(stressed.parts, lasting, strict=True)]
            return reference_mpa(crack, *sizes, *(np.array([part]) for part in parts))

        load, k_lasting, alone = maximum * unit.opening, nothing + unit.static, reference(maximum, 0.0)
        opens = float((k_lasting > 0.0).any())  # faces that are pressed together carry what presses them
        return [
            (load, k_lasting, alone, reference(maximum, 1.0)),
            (load, nothing, alone, alone),
            (nothing, k_lasting, reference(0.0, 0.0), reference(0.0, opens)),
        ]

    def excesses(size: float) -> list[float]:
        return [float(lasting_excess(*each, strength, line).max()) for each in states(size)]

    found = critical_size_mm(lambda size: max(excesses(size)), depth, last)
    at_first, decides = states(depth), int(np.argmax(excesses(found or last)))
    notes = [note("constant-shape", "the crack was enlarged in its shape", field="critical_mm")]
    if found is not None and found <= depth:
        notes.append(caution("critical-at-start", "the crack is critical as it is", field="critical_mm"))
    if found is None:
        notes.append(note("not-critical", "no crack inside the body meets the line", field="critical_mm"))
    if not (at_first[LOADED][0] > 0.0).any():
        message = "this load factor closes the crack: where the other end of the cycle opens it, give that one"
        notes.append(caution("load-closes-crack", message, field="maximum"))
    notes += [*strength.doubts(), *width_findings(crack), *lasting_stress(stress)]
    notes += intensity_doubts(at_first[LOADED][0], "stress intensity of the load at the first size", "stress")
    notes += residual_doubts([BY_STRENGTH], at_first[LOADED][1], takes_stress=True)
    if decides == WITHOUT_LASTING:
        message = "the lasting stress makes a crack less critical: it was left out, since it may fade"
        notes.append(caution("lasting-stress-not-credited", message, field="static_membrane_mpa"))
    if found is not None and decides == UNLOADED:
        loaded = critical_size_mm(lambda size: max(excesses(size)[:UNLOADED]), depth, last)
        notes.append(_unloaded_decides(found, loaded))
    notes += path_findings(stress, crack.wall_mm if stress.distance_mm else 0.0, found or last)
    placed = None if found is None else _place(*states(found)[decides], strength, line)
    keys = ["weight-universal-1991", "weight-surface-1991"] if stress.distance_mm else []
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


def _unloaded_decides(found_mm: float, loaded_mm: float | None) -> Finding:
    of_load = "no crack inside the body is" if loaded_mm is None else f"one of {figure(loaded_mm)} mm would be"
    message = (
        f"the unloaded state decides: the lasting stress alone makes a crack of {figure(found_mm)} mm critical, under"
        f" the load {of_load}"
    )
    return caution("unloaded-state-decides", message, field="critical_mm")


def _place(
    k: FloatArray,
    k_lasting: FloatArray,
    reference: FloatArray,
    with_lasting: FloatArray,
    strength: Strength,
    line: Line,
) -> FractureOutcome:
    """The state on the line, in the way in which the lasting stress decides."""
    together = np.maximum((k + k_lasting).max(axis=0), 0.0)
    as_primary = float(line_excess(together, with_lasting, strength, line)[0])
    if as_primary >= float(lasting_excess(k, k_lasting, reference, with_lasting, strength, line).max()):
        return assess_fracture(together, with_lasting, strength, line=line)
    worst = int(np.argmax(lasting_excess(k, k_lasting, reference, with_lasting, strength, line)[:, 0]))
    return assess_fracture(
        np.maximum(k[worst], 0.0),
        reference,
        strength,
        k_secondary_mpa_sqrt_mm=np.maximum(k_lasting[worst], 0.0),
        line=line,
    )

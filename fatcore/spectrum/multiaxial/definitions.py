"""How much the definition of a cycle matters under load that is not proportional."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.curves.curve import Curve
from fatcore.figures import figure
from fatcore.findings import Finding, caution
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.damage.below_knee import BelowKnee, below_knee_curve
from fatcore.spectrum.damage.linear import equivalent_range
from fatcore.spectrum.multiaxial.modes import Definition, ModeCycles, mode_cycles
from fatcore.spectrum.multiaxial.path import MAX_PATH_POINTS, PathTooLongError
from fatcore.spectrum.multiaxial.superposition import PROPORTIONAL_LIMIT, proportionality

Counted = tuple[FloatArray, FloatArray]

DIFFERENCE_TO_REPORT = 0.05  # relative difference in damage [toeline-mode-cycles]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DefinitionComparison(Outcome):
    """Damage of one pass by each definition of a cycle.

    damage               : by definition [-]; path is missing when the history has too many points for it
    equivalent_range_mpa : constant range of the same damage at reference_cycles on the first slope [MPa]
    largest_definition   : the one with the most damage; definitions_differ: by more than 5 % in damage
    proportionality      : second over first singular value of the weighted modes [-]
    """

    damage: dict[str, float]
    equivalent_range_mpa: dict[str, float]
    reference_cycles: float
    largest_definition: str
    definitions_differ: bool
    proportionality: float


def weighted_range(counted: ModeCycles, weights: ArrayLike) -> FloatArray:
    """Equivalent range of every cycle: root of the sum of the squared weighted ranges of the modes [MPa]."""
    squares = np.square(counted.range_mpa * np.asarray(weights, dtype=np.float64))
    result: FloatArray = np.sqrt(squares.sum(axis=1))
    return result


def count_by_definition(history_mpa: ArrayLike, weights: ArrayLike, residue: Residue) -> dict[str, Counted]:
    """Equivalent ranges [MPa] and counts by every definition; path is missing where it takes too many points.

    Arguments and errors as in `compare_definitions`
    """
    found: dict[str, Counted] = {}
    names: tuple[Definition, ...] = ("governing", "independent", "path")
    for name in names:
        try:
            cycles = mode_cycles(history_mpa, weights, residue=residue, definition=name)
        except PathTooLongError:
            continue
        found[name] = (weighted_range(cycles, weights), cycles.count)
    return found


def damage_by_definition(counted: Mapping[str, Counted], curve: Curve, below_knee: BelowKnee) -> dict[str, float]:
    """Damage of one pass of cycles from `count_by_definition` [-]."""
    used = below_knee_curve(curve, below_knee)
    return {name: float((count * used.damage_per_cycle(ranges)).sum()) for name, (ranges, count) in counted.items()}


def compare_definitions(
    history_mpa: ArrayLike,
    weights: ArrayLike,
    curve: Curve,
    *,
    residue: Residue = "closed",
    below_knee: BelowKnee = "as-curve",
    reference_cycles: float = 1.0,
    counted: Mapping[str, Counted] | None = None,
) -> DefinitionComparison:
    """Damage by all definitions of `modes`, on the root of the sum of the squared weighted ranges.

    history_mpa : (modes, samples) [MPa]; weights: (modes) [-]
    counted     : by `count_by_definition`, where they were counted already
    Returns     : outcome; a caution when the damages differ by more than 5 %
    Raises      : as `mode_cycles`
    """
    cycles = count_by_definition(history_mpa, weights, residue) if counted is None else counted
    damage = damage_by_definition(cycles, curve, below_knee)
    largest = max(damage, key=lambda name: damage[name])
    differ = damage[largest] > (1.0 + DIFFERENCE_TO_REPORT) * min(damage.values())
    weighted = np.asarray(weights, dtype=np.float64)[:, None] * np.atleast_2d(history_mpa)
    share = proportionality(weighted)
    return DefinitionComparison(
        damage=damage,
        equivalent_range_mpa={
            name: float(equivalent_range(value, reference_cycles, curve)) for name, value in damage.items()
        },
        reference_cycles=reference_cycles,
        largest_definition=largest,
        definitions_differ=differ,
        proportionality=share,
        **evidence(
            findings=_findings(damage, largest, differ, share),
            sources=("toeline-mode-cycles", "toeline-proportionality", curve.source),
        ),
    )


def _findings(damage: dict[str, float], largest: str, differ: bool, share: float) -> list[Finding]:
    found = []
    if differ:
        listed = ", ".join(f"{name} {figure(value)}" for name, value in damage.items())
        found.append(
            caution(
                "cycle-definitions-differ",
                f"the load is not proportional and the damage depends on what counts as a cycle ({listed}); "
                f"'{largest}' gives the most, and no definition is confirmed for this joint by tests",
                field="definition",
                source="toeline-mode-cycles",
            )
        )
    if share > PROPORTIONAL_LIMIT:
        found.append(
            caution(
                "not-proportional",
                f"the stress modes do not follow each other (ratio of singular values {figure(share)})",
                field="proportionality",
                source="toeline-proportionality",
            )
        )
    if "path" not in damage:
        found.append(
            caution(
                "path-count-left-out",
                f"the path-dependent count takes at most {MAX_PATH_POINTS} corner points and was left out",
                field="definition",
                source="path-dependent-2010",
            )
        )
    return found

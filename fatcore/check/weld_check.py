"""The whole job: weld lines under a loading, judged against curves, to one verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fatcore.check import remarks
from fatcore.check.definitions import compared_definitions
from fatcore.check.line import WeldLine
from fatcore.check.loading import Loading
from fatcore.check.resistance import Resistance, Target, strength_of
from fatcore.check.stations import Governing, Progress, assess
from fatcore.check.strength import Strength
from fatcore.curves.damage_limits import DamageLimit
from fatcore.errors import InputError, at
from fatcore.findings import Finding
from fatcore.outcome import Evidence, Outcome, evidence
from fatcore.require import FloatArray

__all__ = ["CheckOutcome", "LineOutcome", "Material", "Verdict", "check_lines"]

Verdict = Literal["pass", "fail", "undecided"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Material of the joint, as far as the peak stress method needs it."""

    name: str = "structural-steel"
    poisson_ratio: float = 0.3
    control_radius_mm: float = 0.28


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineOutcome(Outcome):
    """Results along one weld line, arrays (n,).

    equivalent_stress_mpa : largest equivalent range of the loading, with the load factor
    biaxiality_ratio      : of that cycle, inf where nothing opens
    damage                : over all repeats; life_cycles: cycles until the damage limit, inf without damage
    utilisation, governing_index, curve, verdict : at the governing station of the line
    allowable_stress_mpa  : of the largest cycle there, None where it has no equivalent range
    """

    name: str
    position_mm: FloatArray
    equivalent_stress_mpa: FloatArray
    biaxiality_ratio: FloatArray
    damage: FloatArray
    life_cycles: FloatArray
    governing_index: int
    utilisation: float
    allowable_stress_mpa: float | None
    curve: str
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckOutcome(Outcome):
    """Verdict over all lines; the single values are those of the governing point.

    life_repeats   : passes of the loading until the damage limit, None without damage
    damage_limit   : permissible damage sum that was used
    factor_to_limit: factor on all loads that just passes, the inverse of the utilisation
    """

    verdict: Verdict
    governing_line: int
    equivalent_stress_mpa: float
    biaxiality_ratio: float | None
    curve: str
    life_cycles: float | None
    life_repeats: float | None
    damage: float
    damage_limit: float
    utilisation: float
    allowable_stress_mpa: float | None
    factor_to_limit: float | None
    lines: tuple[LineOutcome, ...]


def check_lines(
    lines: Sequence[WeldLine],
    loading: Loading,
    resistance: Resistance,
    target: Target,
    *,
    material: Material | None = None,
    condition: Literal["as-welded", "stress-relieved"] = "as-welded",
    coefficients: str = "exact",
    progress: Progress | None = None,
) -> CheckOutcome:
    """Checks weld lines under one loading.

    lines        : at least one, names differ; loading: its load cases must exist in every line
    resistance   : which curves; target: repeats, survival probability, damage limit, factors
    condition    : stress-relieved counts the load ratio of each mode, as-welded every range in full
    coefficients : energy coefficients of the peak stress weights, exact or published-fit
    progress     : told the number of stations that were just finished
    Raises       : InputError with the path of the input at fault, UnknownError for curves and elements
    """
    _guard_names(lines)
    with at("target"):
        limited = target.limit(resistance)
    given = material or Material()
    outcomes, strengths = [], []
    for position, line in enumerate(lines):
        with at("lines", position):
            strength, base = strength_of(line, resistance, target, given, condition, coefficients)
        outcomes.append(
            _line_outcome(position, line, loading, strength, target, limited, base, resistance, progress)
        )
        strengths.append(strength)
    worst = int(np.argmax([outcome.utilisation for outcome in outcomes]))
    curve = next(curve for curve in strengths[worst].curves if curve.id == outcomes[worst].curve)
    station = outcomes[worst].governing_index
    compared = compared_definitions(
        lines[worst], loading, strengths[worst], station, curve, target.load_factor
    )
    doubtful = [line.name for line in outcomes if line.verdict == "undecided" and line is not outcomes[worst]]
    found = [
        *remarks.of_loading(loading, lines),
        *remarks.of_condition(lines, condition),
        *remarks.of_target(resistance, target),
        *remarks.of_undecided(doubtful),
    ]
    return _overall(outcomes, worst, target, limited, evidence(*outcomes, compared, limited, findings=found))


def _guard_names(lines: Sequence[WeldLine]) -> None:
    if not lines:
        raise InputError("give at least one line", "lines")
    seen: set[str] = set()
    for position, line in enumerate(lines):
        if line.name in seen:
            raise InputError(f"two lines are called {line.name!r}", "lines", position, "name")
        seen.add(line.name)


def _line_outcome(
    position: int,
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    target: Target,
    limited: DamageLimit,
    base: Outcome,
    resistance: Resistance,
    progress: Progress | None,
) -> LineOutcome:
    passes = target.repeats
    allowed = limited.damage_limit / passes
    with at("lines", position):
        state, best = assess(
            line, loading, strength, allowed=allowed, load_factor=target.load_factor, progress=progress
        )
    life = _quotient(state.cycles * limited.damage_limit, state.damage)
    found = remarks.of_line(line, state, strength, best, base, resistance, float(life[best.index]))
    equivalent = state.equivalent_mpa
    return LineOutcome(
        name=line.name,
        position_mm=np.asarray(line.position_mm, dtype=np.float64),
        equivalent_stress_mpa=equivalent,
        biaxiality_ratio=state.ratio,
        damage=state.damage * passes,
        life_cycles=life,
        governing_index=best.index,
        utilisation=best.utilisation,
        allowable_stress_mpa=_allowable(float(equivalent[best.index]), best.utilisation),
        curve=strength.curves[int(state.curve_index[best.index])].id,
        verdict=_verdict(best, remarks.touching(found, state, best.index)),
        **evidence(findings=found, sources=base.sources, tables=base.tables),
    )


def _allowable(equivalent_mpa: float, utilisation: float) -> float | None:
    # pure shear judged beside a normal stress has no range of its own here: no number rather than a zero
    return equivalent_mpa / utilisation if equivalent_mpa > 0.0 and utilisation > 0.0 else None


def _quotient(numerator: FloatArray, denominator: FloatArray) -> FloatArray:
    endless = np.full(numerator.shape, np.inf)
    np.divide(numerator, denominator, out=endless, where=denominator > 0.0)
    return endless


def _verdict(best: Governing, doubts: Sequence[Finding]) -> Verdict:
    if doubts:
        return "undecided"
    return "pass" if best.utilisation <= 1.0 else "fail"


def _overall(
    outcomes: list[LineOutcome], worst: int, target: Target, limited: DamageLimit, ground: Evidence
) -> CheckOutcome:
    line = outcomes[worst]
    at_point = line.governing_index
    damage, ratio = float(line.damage[at_point]), float(line.biaxiality_ratio[at_point])
    life = float(line.life_cycles[at_point])
    return CheckOutcome(
        verdict=line.verdict,
        governing_line=worst,
        equivalent_stress_mpa=float(line.equivalent_stress_mpa[at_point]),
        biaxiality_ratio=ratio if np.isfinite(ratio) else None,
        curve=line.curve,
        life_cycles=life if np.isfinite(life) else None,
        life_repeats=limited.damage_limit * target.repeats / damage if damage > 0.0 else None,
        damage=damage,
        damage_limit=limited.damage_limit,
        utilisation=line.utilisation,
        allowable_stress_mpa=line.allowable_stress_mpa,
        factor_to_limit=1.0 / line.utilisation if line.utilisation > 0.0 else None,
        lines=tuple(outcomes),
        **ground,
    )

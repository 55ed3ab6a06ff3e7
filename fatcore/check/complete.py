"""The complete check: weld lines under a loading, judged against curves, to one verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Annotated

import numpy as np
from annotated_types import Len
from numpy.typing import NDArray

from fatcore.bounds import UnboundedColumn, VectorArray, guarded
from fatcore.check.findings import choices
from fatcore.check.findings import lines as remarks
from fatcore.check.findings.cycle_definitions import compare_cycle_definitions, deciding_definitions
from fatcore.check.findings.entries import entries_deciding
from fatcore.check.findings.sizes import of_cases
from fatcore.check.findings.validity import find_touched_stations, leaves_open
from fatcore.check.findings.yardstick import Measured, measure, yardstick_of
from fatcore.check.line import Material, WeldLine, guard_line
from fatcore.check.loading import Loading
from fatcore.check.stations import Governing, LineState, Progress, assess, first_largest
from fatcore.check.strength.making import StrengthMaker
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import Strength
from fatcore.check.verdict import Verdict, check_verdict, find_deciding_lines, line_verdict
from fatcore.cracks.driving.ranges import Condition
from fatcore.curves.limits.damage_limits import DamageLimit
from fatcore.curves.resistance import CurveResistance
from fatcore.errors import FatcoreError, InputError, at
from fatcore.findings import Finding
from fatcore.outcome import Evidence, Outcome, evidence
from fatcore.require import FloatArray
from fatcore.stress.notch.energy_coefficients import CoefficientChoice

STEEL = Material()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineOutcome(Outcome):
    """Results along one weld line, arrays (n,).

    equivalent_stress_mpa : largest equivalent range of the loading, with the load factor
    biaxiality_ratio      : of that cycle, inf where nothing opens
    damage                : over all repeats; life_cycles: cycles until the damage limit, inf without damage
    damage_limit          : permissible damage sum of the curves of this line
    utilisation           : 1 / (factor on all loads at which the damage just reaches the limit)
    judged                : whether a station takes part in the verdict
    governing_index, governing_utilisation, curve : judged station with the largest utilisation
    allowable_stress_mpa  : of the largest cycle there, None where it has no equivalent range
    largest_unjudged_utilisation, largest_unjudged_damage : None when all stations are judged
    exclude_ends_reason   : as given
    """

    name: str
    position_mm: FloatArray
    coordinates_mm: VectorArray | None
    node_id: tuple[int, ...] | None
    equivalent_stress_mpa: FloatArray
    biaxiality_ratio: UnboundedColumn
    damage: FloatArray
    damage_limit: float
    life_cycles: UnboundedColumn
    utilisation: FloatArray
    judged: NDArray[np.bool_]
    governing_index: int
    governing_utilisation: float
    allowable_stress_mpa: float | None
    largest_unjudged_utilisation: float | None
    largest_unjudged_damage: float | None
    exclude_ends_reason: str | None
    curve: str
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckOutcome(Outcome):
    """Verdict over all lines; the single values are those of the governing point.

    deciding_lines : names of the lines that make the verdict, none on a pass
    life_repeats   : passes of the loading until the damage limit, None without damage
    damage_limit   : permissible damage sum that was used
    factor_to_limit: factor on all loads that just passes on the design curve, the inverse of the utilisation
    """

    verdict: Verdict
    deciding_lines: tuple[str, ...]
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


@guarded
def check_lines(
    lines: Annotated[Sequence[WeldLine], Len(1)],
    loading: Loading,
    resistance: Resistance,
    target: Target,
    *,
    material: Material = STEEL,
    condition: Condition = "as-welded",
    coefficients: CoefficientChoice = "exact",
    progress: Progress | None = None,
) -> CheckOutcome:
    """Checks weld lines under one loading.

    lines        : names differ; loading: its load cases must exist in every line
    resistance   : which curves; target: repeats, survival probability, damage limit, factors
    condition    : stress-relieved counts the load ratio of each mode, as-welded every range in full
    coefficients : energy coefficients of the peak stress weights
    progress     : called with the number of stations that were just finished
    Raises       : InputError with the path of the input at fault, UnknownError for curves and elements
    """
    guard_names(lines)
    with at("target"):
        limited = target.limit(resistance)
    held = _held(target, resistance)
    chosen = (*choices.of_target(target), *evidence(limited, *held)["findings"])
    yardstick = yardstick_of(loading, resistance, target, limited, held)

    maker = partial(StrengthMaker, material=material, condition=condition, coefficients=coefficients, loading=loading)
    asked = maker(resistance=resistance, target=target, held=held)
    whole = maker(resistance=yardstick.resistance, target=yardstick.target)
    bases = []
    for position, line in enumerate(lines):
        with at("lines", position):
            bases.append(asked.of(line))
            guard_line(line, loading.names())
    strengths = [strength for strength, _ in bases]
    assessed = assess(
        dict(enumerate(lines)),
        loading,
        dict(enumerate(strengths)),
        allowed=limited.damage_limit / target.repeats,
        damage_limit=limited.damage_limit,
        load_factor=target.load_factor,
        progress=progress,
    )
    measured = measure(lines, assessed, strengths, limited, yardstick, lambda place: whole.of(lines[place])[0])
    outcomes = [
        _line_outcome(line, *assessed[place], *bases[place], target, limited, resistance, measured[place], chosen)
        for place, line in enumerate(lines)
    ]
    worst = first_largest(np.array([outcome.governing_utilisation for outcome in outcomes]))
    curve = next(curve for curve in strengths[worst].curves if curve.id == outcomes[worst].curve)
    station = outcomes[worst].governing_index
    compared = compare_cycle_definitions(
        lines[worst], loading, strengths[worst], station, curve, load_factor=target.load_factor
    )
    passing = {place: each.used_share for place, each in measured.items() if outcomes[place].verdict == "pass"}
    aims = [each.strength for each in measured.values()]
    allowed, factor = yardstick.damage_limit / target.repeats, target.load_factor
    deciding, left = deciding_definitions(lines, yardstick.loading, aims, passing, allowed=allowed, load_factor=factor)
    judged = {place: outcomes[place].judged for place in passing}
    counted = entries_deciding(lines, loading, aims, passing, judged, allowed=allowed, load_factor=factor)
    for place in (*deciding, *counted):
        outcomes[place] = replace(outcomes[place], verdict="undecided")
    doubtful = [line.name for line in outcomes if line.verdict == "undecided" and line is not outcomes[worst]]
    found = [
        *choices.of_loading(loading, lines, target),
        *remarks.of_condition(lines, condition),
        *choices.of_target(target),
        *choices.of_passes(target, loading, measured[worst].cycles),
        *remarks.of_undecided(doubtful),
        *of_cases(lines, loading, target.load_factor),
        *deciding.values(),
        *counted.values(),
        *left,
    ]
    return _overall(outcomes, worst, target, limited, evidence(*outcomes, compared, limited, *held, findings=found))


def _held(target: Target, resistance: Resistance) -> tuple[CurveResistance, ...]:
    """The curves at the target; errors about corrections point at the curves, others at the target."""
    try:
        return target.held(resistance)
    except FatcoreError as error:
        error.path = ("curves" if error.path[:1] == ("corrections",) else "target", *error.path)
        raise


def guard_names(lines: Sequence[WeldLine]) -> None:
    """InputError where two lines have one name."""
    seen: set[str] = set()
    for position, line in enumerate(lines):
        if line.name in seen:
            raise InputError(f"two lines are called {line.name!r}", "lines", position, "name")
        seen.add(line.name)


def _line_outcome(
    line: WeldLine,
    state: LineState,
    best: Governing,
    strength: Strength,
    base: Outcome,
    target: Target,
    limited: DamageLimit,
    resistance: Resistance,
    measured: Measured,
    chosen: Sequence[Finding],
) -> LineOutcome:
    passes = target.repeats
    life = _quotient(state.cycles * limited.damage_limit, state.damage)
    found = remarks.of_line(line, state, strength, best, base, resistance, target, measured.utilisation)
    found += measured.findings
    equivalent = state.equivalent_mpa
    touched = find_touched_stations((*found, *chosen), state)
    return LineOutcome(
        name=line.name,
        position_mm=np.asarray(line.position_mm, dtype=np.float64),
        coordinates_mm=line.coordinates_mm,
        node_id=line.node_id,
        equivalent_stress_mpa=equivalent,
        biaxiality_ratio=state.ratio,
        damage=state.damage * passes,
        damage_limit=limited.damage_limit,
        life_cycles=life,
        utilisation=state.utilisation,
        judged=state.judged,
        governing_index=best.index,
        governing_utilisation=best.utilisation,
        allowable_stress_mpa=_allowable(float(equivalent[best.index]), best.utilisation),
        curve=strength.curves[int(state.curve_index[best.index])].id,
        largest_unjudged_utilisation=_largest_unjudged(state, state.utilisation),
        largest_unjudged_damage=_largest_unjudged(state, state.damage * passes),
        exclude_ends_reason=line.exclude_ends_reason,
        verdict=line_verdict(
            state.utilisation,
            state.judged,
            touched,
            left_open=leaves_open((*found, *chosen), state, best.index),
            reasoned=line.exclude_ends_reason is not None,
        ),
        **evidence(findings=found, sources=base.sources, tables=base.tables),
    )


def _allowable(equivalent_mpa: float, utilisation: float) -> float | None:
    # pure shear judged beside a normal stress has no range of its own here: no number rather than a zero
    return equivalent_mpa / utilisation if equivalent_mpa > 0.0 and utilisation > 0.0 else None


def _quotient(numerator: FloatArray, denominator: FloatArray) -> FloatArray:
    infinite = np.full(numerator.shape, np.inf)
    with np.errstate(over="ignore"):  # a life beyond the numbers is infinite
        np.divide(numerator, denominator, out=infinite, where=denominator > 0.0)
    return infinite


def _largest_unjudged(state: LineState, values: FloatArray) -> float | None:
    return None if state.judged.all() else float(values[~state.judged].max())


def _overall(
    outcomes: list[LineOutcome], worst: int, target: Target, limited: DamageLimit, ground: Evidence
) -> CheckOutcome:
    line = outcomes[worst]
    at_point = line.governing_index
    damage, ratio = float(line.damage[at_point]), float(line.biaxiality_ratio[at_point])
    life = float(line.life_cycles[at_point])
    verdicts = {outcome.name: outcome.verdict for outcome in outcomes}
    verdict = check_verdict(verdicts.values())
    return CheckOutcome(
        verdict=verdict,
        deciding_lines=find_deciding_lines(verdicts, verdict),
        governing_line=worst,
        equivalent_stress_mpa=float(line.equivalent_stress_mpa[at_point]),
        biaxiality_ratio=ratio if np.isfinite(ratio) else None,
        curve=line.curve,
        life_cycles=life if np.isfinite(life) else None,
        life_repeats=limited.damage_limit * target.repeats / damage if damage > 0.0 else None,
        damage=damage,
        damage_limit=limited.damage_limit,
        utilisation=line.governing_utilisation,
        allowable_stress_mpa=line.allowable_stress_mpa,
        factor_to_limit=1.0 / line.governing_utilisation if line.governing_utilisation > 0.0 else None,
        lines=tuple(outcomes),
        **ground,
    )

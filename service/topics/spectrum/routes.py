"""Routes of the topic spectrum: counted cycles, damage sums, random stress, long-term and standard
spectra.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from fatcore.check.verdict import damage_verdict
from fatcore.curves.curve import Curve
from fatcore.curves.limits.beyond_tests import sum_findings
from fatcore.curves.limits.limits_of_use import limit_of_use_findings, use_findings
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting import count as counting
from fatcore.spectrum.counting import levels, matrix
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.counting.history import gate, refuse_nothing_counted
from fatcore.spectrum.damage import shapes
from fatcore.spectrum.damage.judging import judge_choices
from fatcore.spectrum.damage.left_out import gate_findings, relative_damage, rule_findings, turn_findings
from fatcore.spectrum.damage.long_term import long_term_damage
from fatcore.spectrum.damage.weibull import expected_damage
from fatcore.spectrum.random.damage import any_curve_rates, random_damage
from fatcore.spectrum.random.findings import agreement_findings

from ...base.common import MAX_POINTS, Reply, get, post, reply
from ...base.derive import call
from ...base.units import unit_findings
from ...base.unused import refuse_unused
from ..costs import damage_cost, flat
from ..curves.resistance import limit_from, resisting_from
from . import models
from .bodies import csv_body, npy_body
from .damage import assess
from .sample_tables import refused


def _one_history(data: dict[str, Any], rows: FloatArray, _: list[str]) -> None:
    if len(rows) != 1:
        raise refused(f"name one column, not {len(rows)}", "/columns")
    data["history_mpa"] = rows[0]


def _history_or_modes(data: dict[str, Any], rows: FloatArray, names: list[str]) -> None:
    if len(rows) == 1 and "weights" not in data:
        data["history_mpa"] = rows[0]
    else:
        data["modes_mpa"] = dict(zip(names, rows, strict=True))


@post(
    "spectrum/cycles",
    models.CyclesRequest,
    models.CyclesAnswer,
    revision=3,
    summary="Count cycles of a history",
    bodies={"application/x-npy": npy_body(_one_history), "text/csv": csv_body(_one_history)},
)
def cycles(request: models.CyclesRequest) -> Reply:
    """Cycles of a stress history by rainflow or another rule, with the order in which they close, classes of
    range, a range-mean matrix and level crossings. Large histories may be sent as NPY or CSV bodies, with the
    rest of the request in the query."""
    _refuse_unused(request)
    values = np.asarray(request.history_mpa, dtype=np.float64)
    found, left = _counted(values, request)
    if found.count.size == 0 and left.size < 2:
        refuse_nothing_counted(values, request.hysteresis_threshold_mpa)
    if request.list_cycles and found.count.size > MAX_POINTS:
        raise InputError(f"{found.count.size} cycles are too many to list: set this to false", "list_cycles")
    listed = found if request.list_cycles else _none_of(found)
    names = ("range_mpa", "mean_mpa", "count", "start_index", "end_index", "closing_index")
    table, basis = _classes(found, request)
    peaks = _peaks(values, request)
    return reply(
        models.CyclesAnswer,
        Outcome(**evidence(basis, *([peaks] if peaks else []), findings=_left_out(values, found, request))),
        **{name: getattr(listed, name) for name in names},
        total_count=found.total_count,
        largest_range_mpa=float(found.range_mpa.max(initial=0.0)),
        residue_mpa=left,
        open_range_count=_open_ranges(found, left, request),
        classes=table,
        crossings=_crossings(values, request),
        peaks=peaks,
    )


@post(
    "spectrum/damage",
    models.DamageRequest,
    models.DamageAnswer,
    revision=6,
    summary="Damage sum of a spectrum",
    cost=damage_cost,
    bodies={
        "application/x-npy": npy_body(_history_or_modes, several=True),
        "text/csv": csv_body(_history_or_modes, several=True),
    },
)
def damage(request: models.DamageRequest) -> Reply:
    """Linear damage sum of a history, of several stress modes over time, or of blocks, on a design curve;
    which
    ranges do the damage, and the constant range that would do the same."""
    return assess(request)


@post(
    "spectrum/random", models.RandomRequest, models.RandomAnswer, revision=5, summary="Random stress", cost=flat(0.006)
)
def random_stress(request: models.RandomRequest) -> Reply:
    """Damage of Gaussian, stationary stress from its one-sided spectral density by narrow-band and broad-band
    formulas, with bandwidth measures and crossing rates."""
    held = resisting_from(request)
    curve = held.corrected
    limit = limit_from(request, curve, "variable")
    found = call(random_damage, request, curve=curve, damage_limit=limit)

    def whole(on: Curve) -> float:
        return max(call(random_damage, request, curve=on, damage_limit=limit).damage.defined())

    least, most = min(found.damage.defined()), max(found.damage.defined())
    findings = [
        *use_findings(curve, found.largest_range_mpa, request.yield_strength_mpa, judged=True),
        *sum_findings(curve, lambda on: any_curve_rates(found.bandwidth, on)),
        *agreement_findings(least, most, limit.damage_limit),
        *judge_choices(most, limit, held, whole, own_form=True),
    ]
    judged = replace(found, **evidence(held, found, findings=findings))
    return reply(models.RandomAnswer, judged, verdict=damage_verdict(least, limit.damage_limit, judged.findings))


@post(
    "spectrum/long-term",
    models.LongTermRequest,
    models.LongTermAnswer,
    revision=6,
    summary="Long term",
    cost=flat(0.006),
)
def long_term(request: models.LongTermRequest) -> Reply:
    """Damage of Weibull distributed stress ranges in closed form, and the largest range the limit allows."""
    held = resisting_from(request)
    curve = held.corrected
    limit = limit_from(request, curve, "variable")
    found = call(long_term_damage, request, curve=curve, damage_limit=limit)

    def whole(on: Curve) -> float:
        return call(long_term_damage, request, curve=on, damage_limit=limit).damage

    largest, yielding = found.range_exceeded_once_mpa, request.yield_strength_mpa
    allowed = found.allowable_range_mpa * (largest / request.largest_range_mpa)
    use = (
        *use_findings(curve, largest, yielding, judged=True),
        *limit_of_use_findings(curve, allowed, yielding, "allowable_range_mpa"),
        *sum_findings(curve, lambda on: expected_damage(on, found.scale_mpa, request.shape_exponent)),
    )
    findings = [
        *(_in_cycles(finding, found.cycles) for finding in use),
        *judge_choices(found.damage, limit, held, whole, own_form=True),
    ]
    judged = replace(found, **evidence(held, found, findings=findings))
    return reply(
        models.LongTermAnswer, judged, verdict=damage_verdict(found.damage, limit.damage_limit, judged.findings)
    )


def _in_cycles(finding: Finding, cycles: float) -> Finding:
    """What was compared with the limit of use: ranges as they are exceeded once in the cycles gone through,
    not in those in which the distribution happens to be written down."""
    if finding.value is None:
        return finding
    text = f"{finding.message}; as exceeded once in {as_given(cycles)} cycles: {figure(finding.value)} MPa"
    return replace(finding, message=text)


@post("spectrum/steps", models.StepsRequest, models.StepsAnswer, revision=2, summary="Standard spectrum")
def steps(request: models.StepsRequest) -> Reply:
    """A standard cumulative spectrum in the eight steps of the block programme, all cycles kept."""
    return reply(models.StepsAnswer, call(shapes.step_spectrum, request))


@get("spectrum/crane-class", models.CraneRequest, models.CraneAnswer, revision=2, summary="Crane classes")
def crane_class(request: models.CraneRequest) -> Reply:
    """Stress history parameter and class of a crane part from its classes of load spectrum and cycles."""
    return reply(models.CraneAnswer, call(shapes.crane_class, request))


def _counted(values: FloatArray, request: models.CyclesRequest) -> tuple[Cycles, FloatArray]:
    """Cycles with indices of the given history, and the residue of the four-point rule."""
    none = np.empty(0)
    if request.hysteresis_threshold_mpa > 0.0:
        kept = gate(values, request.hysteresis_threshold_mpa)
        found, left = _counted(values[kept], request.model_copy(update={"hysteresis_threshold_mpa": 0.0}))
        return found.at_samples(kept), left
    if request.rule == "four-point":
        counted = counting.four_point(values)
        return counted.counted, counted.residue_mpa
    if request.rule == "range-pair":
        return counting.range_pair(values), none
    if request.rule == "simple-range":
        return levels.simple_ranges(values), none
    return counting.rainflow(values, request.residue), none


def _open_ranges(found: Cycles, left: FloatArray, request: models.CyclesRequest) -> int:
    """Ranges that closed no cycle; the rule of simple ranges closes none and leaves none open."""
    if request.rule == "four-point":
        return max(0, left.size - 1)
    return 0 if request.rule == "simple-range" else int((found.count < 1.0).sum())


def _refuse_unused(request: models.CyclesRequest) -> None:
    if request.rule != "rainflow":
        refuse_unused(request, "residue", because=f"the rule {request.rule} has no choice of it")
    if request.range_edges_mpa is not None:
        refuse_unused(request, "classes", because="range_edges_mpa state the classes")
    if request.levels_mpa is None and not request.list_peaks:
        refuse_unused(request, "reference_mpa", because="neither levels nor peaks are counted")


def _left_out(values: FloatArray, found: Cycles, request: models.CyclesRequest) -> tuple[Finding, ...]:
    """What threshold, residue and rule take from the damage, on the slope of the request."""
    closed = counting.rainflow(values, "closed")
    unit = float(closed.range_mpa.max())
    damage = relative_damage(found, request.slope, unit)
    findings = (*turn_findings(values), *unit_findings(request.unit_stated))
    if request.hysteresis_threshold_mpa > 0.0:
        open_gate = _counted(values, request.model_copy(update={"hysteresis_threshold_mpa": 0.0}))[0]
        whole = relative_damage(open_gate, request.slope, unit)
        findings += gate_findings(damage, whole, request.hysteresis_threshold_mpa)
    name = request.rule if request.rule != "rainflow" else f"residue {request.residue}"
    if name != "residue closed":
        findings += rule_findings(damage, relative_damage(closed, request.slope, unit), name, request.slope)
    return findings


def _none_of(found: Cycles) -> Cycles:
    return found.chosen(np.zeros(found.count.size, dtype=np.bool_))


def _classes(found: Cycles, request: models.CyclesRequest) -> tuple[dict[str, Any], Outcome]:
    largest = float(found.range_mpa.max(initial=0.0))
    edges = request.range_edges_mpa or matrix.round_edges(largest, request.classes)
    table = matrix.range_classes(found, edges, slope=request.slope)
    content = {
        "range_edges_mpa": table.range_edges_mpa,
        "range_mpa": table.range_mpa,
        "count": table.count,
        "cumulative_count": np.cumsum(table.count[::-1])[::-1],
        "classing_error": table.classing_error,
        "mean_edges_mpa": request.mean_edges_mpa,
        "matrix": None,
    }
    if request.mean_edges_mpa is not None:
        content["matrix"] = matrix.range_mean_matrix(found, edges, request.mean_edges_mpa).count
    return content, Outcome(**evidence(table))


def _crossings(values: FloatArray, request: models.CyclesRequest) -> FloatArray | None:
    if request.levels_mpa is None:
        return None
    return levels.level_crossings(values, request.levels_mpa, request.reference_mpa)


def _peaks(values: FloatArray, request: models.CyclesRequest) -> levels.PeakCount | None:
    """Peaks of the history behind the threshold."""
    if not request.list_peaks:
        return None
    kept = values[gate(values, request.hysteresis_threshold_mpa)]
    if kept.size > MAX_POINTS:
        raise InputError(f"{kept.size} peaks and valleys are too many to list: set this to false", "list_peaks")
    return levels.peak_count(kept, request.reference_mpa)

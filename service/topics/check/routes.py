"""POST /v1/check: weld lines from a finite-element model under a loading, to one verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from fatcore.check import complete as weld_check
from fatcore.check.line import Material, WeldLine, stations_inside
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.damage_limits import Amplitude
from fatcore.curves.resistance import in_environment
from fatcore.errors import InputError, at
from fatcore.findings import Finding
from fatcore.outcome import evidence
from fatcore.require import FloatArray, one_length
from fatcore.stress.peak.line_evaluation import NODE_ABOVE_MEAN, peaks_as_given, peaks_from_tensors

from ...base import progress
from ...base.common import Reply, post, reply
from ...base.derive import call
from ..curves.models import curve_from
from ..curves.resistance import corrections_from
from ..stress.columns import stack_columns
from ..stress.models import TensorInput
from . import growth as check_growth
from . import remarks
from .locations import guard_directions, place_columns, station_place
from .models import (
    CaseInput,
    CheckAnswer,
    CheckRequest,
    CurvesChoice,
    HistoryLoadingInput,
    LineInput,
)

MAX_WORK = 2_000_000_000  # stations times samples, over all lines

STATION_COLUMNS = (
    "position_mm",
    "equivalent_stress_mpa",
    "biaxiality_ratio",
    "damage",
    "life_cycles",
    "utilisation",
    "judged",
)


def station_table(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    """Every station of every line as one table, for text/csv; verdict is that of the line."""
    columns = ("line", "index", *STATION_COLUMNS, "verdict", "curve", "damage_limit", "check_verdict")
    table: dict[str, list[Any]] = {name: [] for name in columns}
    for line in answer["lines"]:
        size = len(line["position_mm"])
        table["line"] += [line["name"]] * size
        table["index"] += range(size)
        for name in STATION_COLUMNS:
            table[name] += line[name]
        for name in ("verdict", "curve"):
            table[name] += [line[name]] * size
        table["damage_limit"] += [answer["damage_limit"]] * size
        table["check_verdict"] += [answer["verdict"]] * size
    return table | place_columns(answer["lines"])


@post(
    "check",
    CheckRequest,
    CheckAnswer,
    revision=3,
    summary="The whole weld check",
    csv=station_table,
)
def check(request: CheckRequest) -> Reply:
    """Peak stresses of weld lines to equivalent stress, governing point, curve, damage, life and verdict."""
    lines, loading = lines_and_loading(request)
    target = target_of(request)
    outcome = weld_check.check_lines(
        lines,
        loading,
        resistance_of(request),
        target,
        material=material_of(request),
        condition=request.condition,
        coefficients=request.coefficients,
        progress=progress.listener(sum(len(line.position_mm) for line in lines)),
    )
    worst = outcome.lines[outcome.governing_line]
    point = {
        "line": worst.name,
        "index": worst.governing_index,
        "position_mm": float(worst.position_mm[worst.governing_index]),
        **station_place(worst),
    }
    growth, outcome = check_growth.grow_crack(request, lines, loading, target, outcome)
    return reply(
        CheckAnswer,
        replace(outcome, **evidence(outcome, remarks.of_inputs(request))),
        governing=point,
        growth=growth,
    )


def lines_and_loading(request: CheckRequest) -> tuple[list[WeldLine], Loading]:
    """The lines and the loading of the core; InputError with the path of what they refuse."""
    lines = [weld_line(position, line) for position, line in enumerate(request.lines)]
    with at("loading"):
        loading: Loading = request.loading.to_core()
    _guard_work(lines, loading)
    return lines, loading


def weld_line(position: int, line: LineInput) -> WeldLine:
    """The line of the core; paths of errors start at lines/position."""
    with at("lines", position):
        guard_directions(line)
        read = {name: _case(line, name, case) for name, case in line.cases.items()}
        return WeldLine(
            name=line.name,
            position_mm=np.array(line.position_mm),
            cases={name: stresses for name, (stresses, _) in read.items()},
            basis=line.basis,
            notch=None if line.notch is None else line.notch.to_core(),
            mesh=None if line.mesh is None else line.mesh.to_core(),
            closed=line.closed,
            exclude_ends_mm=line.exclude_ends_mm,
            exclude_ends_reason=line.exclude_ends_reason,
            coordinates_mm=None if line.coordinates_mm is None else np.array(line.coordinates_mm),
            node_id=None if line.node_id is None else tuple(line.node_id),
            # every case has the same geometry: a remark counts once a line
            remarks=(
                *dict.fromkeys(finding for _, found in read.values() for finding in found),
                *remarks.of_absent(line),
            ),
        )


def _case(line: LineInput, name: str, case: CaseInput) -> tuple[FloatArray, tuple[Finding, ...]]:
    with at("cases", name):
        given = [key for key in ("tensors_mpa", "peaks_mpa", "normal_mpa") if getattr(case, key) is not None]
        if case.shear_mpa is not None and "normal_mpa" not in given:
            given.append("normal_mpa")
        allowed = {"tensors_mpa", "peaks_mpa"} if line.basis == "peak-stress" else {"normal_mpa"}
        if len(given) != 1 or given[0] not in allowed:
            wanted = "tensors_mpa or peaks_mpa" if line.basis == "peak-stress" else "normal_mpa, shear_mpa"
            raise InputError(f"the {line.basis} basis takes {wanted} and nothing else")
        if case.tensors_mpa is not None:
            return _tensor_case(line, name, case.tensors_mpa)
        if case.peaks_mpa is not None:
            given_peaks = stack_columns("peaks_mpa", case.peaks_mpa.model_dump())
            return given_peaks, peaks_as_given(line.average_over)
        return _plain_case(case), peaks_as_given(line.average_over)


def _tensor_case(line: LineInput, name: str, columns: TensorInput) -> tuple[FloatArray, tuple[Finding, ...]]:
    if line.tangent is None or line.bisector is None:
        raise InputError("tensors need the tangent and the bisector of the line", "tensors_mpa")
    inside = stations_inside(line.position_mm, line.exclude_ends_mm, line.closed)
    peaks, found = peaks_from_tensors(
        stack_columns("tensors_mpa", columns.model_dump()),
        line.tangent,
        line.bisector,
        closed=line.closed,
        average_over=line.average_over,
        element=None if line.mesh is None else line.mesh.element,
        judged=inside,
    )
    return peaks, tuple(
        replace(f, message=f"load case {name}: {f.message}") if f.code == NODE_ABOVE_MEAN else f for f in found
    )


def _plain_case(case: CaseInput) -> FloatArray:
    columns = {"normal_mpa": case.normal_mpa, "shear_mpa": case.shear_mpa}
    size = one_length(**{name: column for name, column in columns.items() if column is not None})
    return np.column_stack([np.zeros(size) if column is None else column for column in columns.values()])


def _steps(loading: Loading) -> int:
    if isinstance(loading, HistoryLoading):
        return len(next(iter(loading.channels.values())))
    return len(loading.blocks)


def _guard_work(lines: list[WeldLine], loading: Loading) -> None:
    stations = sum(len(line.position_mm) for line in lines)
    steps = _steps(loading)
    if stations * steps > MAX_WORK:
        text = f"stations times samples may reach {MAX_WORK:g}, here {stations * steps:g}; split the request"
        raise InputError(text, "loading")


def resistance_of(request: CheckRequest) -> Resistance:
    """The curves of the request as their source gives them."""
    amplitude: Amplitude = "constant" if request.loading.kind == "constant" else "variable"
    curves = request.curves
    with at("curves"):
        curve, corrections = _curve(curves, "opening_curve" if curves.rule == "biaxiality" else "curve", amplitude)
        shear, shear_corrections = _curve(curves, "shear_curve", amplitude) if curves.shear_curve else (None, ())
        return call(
            Resistance,
            curves,
            curve=curve,
            shear_curve=shear,
            corrections=corrections,
            shear_corrections=shear_corrections,
            amplitude=amplitude,
        )


def _curve(curves: CurvesChoice, name: str, amplitude: Amplitude) -> tuple[Curve, tuple[Correction, ...]]:
    with at(name):
        plain = curve_from(getattr(curves, name), loading=amplitude)
    there = in_environment(plain, curves.environment)
    return there, tuple(corrections_from(curves.corrections, there, bonus=False))


def material_of(request: CheckRequest) -> Material:
    """The material of the core; where a line needs the control radius, the published one stands for none."""
    with at("material"):
        material: Material = request.material.to_core()
        return material.with_radius() if remarks.needs_radius(request) else material


def target_of(request: CheckRequest) -> Target:
    """What is to be reached; repeats of a history multiply those of the target."""
    passes = request.loading.repeats if isinstance(request.loading, HistoryLoadingInput) else 1.0
    return call(Target, request.target, repeats=request.target.repeats * passes)

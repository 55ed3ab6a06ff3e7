"""A weld line as a request, and its way to the core."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from fatcore.bounds import Number, Positive
from fatcore.check.findings.absent_components import absent_findings
from fatcore.check.line import MODES, WeldLine, stations_inside
from fatcore.cracks.driving.ranges import Condition
from fatcore.errors import InputError, at
from fatcore.findings import Finding, with_code
from fatcore.require import FloatArray, one_length
from fatcore.stress.peak.line_evaluation import NODE_ABOVE_MEAN, peaks_as_given, peaks_of_cases
from fatcore.stress.weld_lines.frame import NotchFrame, guard_rows, notch_frame
from fatcore.stress.weld_lines.stations import guard_gaps, guard_tangents, station_steps

from ...base.common import Strict
from ...base.derive import Derived, call, request_of
from ..stress.columns import stack_columns
from ..stress.models import PeakInput, TensorInput
from .judging import CheckMaterial, CurvesInput

_MAX_STATIONS = 20_000
MAX_CASES = 64
_Code = Annotated[str, Field(min_length=1, max_length=64)]
_Message = Annotated[str, Field(min_length=1, max_length=1000)]

Column = Annotated[list[Number], Field(min_length=1, max_length=_MAX_STATIONS)]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Vectors = Annotated[list[Vector], Field(min_length=1, max_length=_MAX_STATIONS)]


class CaseInput(Strict):
    """Stresses of one unit load case: tensors, or peaks, or normal and shear stress."""

    tensors_mpa: TensorInput | None = None
    peaks_mpa: PeakInput | None = None
    normal_mpa: Column | None = None
    shear_mpa: Column | None = None


class UnitLoad(Strict):
    """Label of the unit load for the report; factors multiply the stresses as they are given."""

    value: Positive
    unit: Annotated[str, Field(min_length=1, max_length=16)]


@request_of(WeldLine, omit=("remarks",), rows=_MAX_STATIONS)
class LineInput(Derived):
    """One weld line; stations in order along it."""

    cases: dict[str, CaseInput] = Field(min_length=1, max_length=MAX_CASES)
    unit_load: UnitLoad | None = None
    tangent: Vectors | None = None
    bisector: Vectors | None = None
    average_over: Literal[1, 3] = 1
    mesh_doubts: Annotated[
        dict[_Code, Annotated[list[_Message], Field(min_length=1, max_length=100)]],
        Field(max_length=100, description="of the mesh that the line is from: findings by code"),
    ] = Field(default_factory=dict)
    curves: CurvesInput | None = Field(default=None, description="of this line; null takes those of the check")
    condition: Condition | None = Field(default=None, description="of this line; null takes that of the check")
    material: CheckMaterial | None = Field(default=None, description="of this line; null takes that of the check")

    def to_core(self) -> WeldLine:
        """The line with the stresses of its cases, and the findings on how they were read."""
        position_mm = np.array(self.position_mm)
        coordinates_mm = None if self.coordinates_mm is None else np.array(self.coordinates_mm)
        frame = _frame(self, position_mm, coordinates_mm)
        read = _cases(self, frame)
        made = call(
            WeldLine,
            self,
            position_mm=position_mm,
            coordinates_mm=coordinates_mm,
            cases={name: stresses for name, (stresses, _) in read.items()},
            # every case has the same geometry: a remark counts once a line
            remarks=(
                *dict.fromkeys(each for _, found in read.values() for each in found),
                *_absent(self),
                *_mesh_doubts(self),
            ),
        )
        if frame is not None:
            along = np.stack(frame.along, axis=1)
            guard_tangents(along, position_mm=position_mm, coordinates_mm=coordinates_mm, closed=self.closed)
        return made


def _mesh_doubts(line: LineInput) -> list[Finding]:
    with at("mesh_doubts"):
        return [
            with_code(code, message, field="mesh_doubts")
            for code, messages in line.mesh_doubts.items()
            for message in messages
        ]


def _frame(line: LineInput, position_mm: FloatArray, coordinates_mm: FloatArray | None) -> NotchFrame | None:
    """The frame of all cases; refuses directions that nothing uses, or that contradict each other or the stations."""
    given = [name for name in ("tangent", "bisector") if getattr(line, name) is not None]
    if given and all(case.tensors_mpa is None for case in line.cases.values()):
        raise InputError(f"{given[0]}: only with tensors_mpa", given[0])
    if line.average_over == 3:
        steps = station_steps(position_mm, coordinates_mm)
        assert steps is not None
        guard_gaps(steps)
    if line.tangent is None or line.bisector is None:
        return None
    one_length(position_mm=position_mm, tangent=line.tangent)
    return notch_frame(np.array(line.tangent), np.array(line.bisector))


_Read = tuple[FloatArray, tuple[Finding, ...]]


def _cases(line: LineInput, frame: NotchFrame | None) -> dict[str, _Read]:
    """Stresses of every case and the findings on how they were read, in the order of the request."""
    tensors: dict[str, FloatArray] = {}
    read: dict[str, _Read] = {}
    for name, case in line.cases.items():
        with at("cases", name):
            _guard_kind(line, case)
            if case.tensors_mpa is not None:
                if frame is None:
                    raise InputError("tensors need the tangent and the bisector of the line", "tensors_mpa")
                tensors[name] = stack_columns("tensors_mpa", dict(case.tensors_mpa))
                guard_rows(tensors[name], frame)
            elif case.peaks_mpa is not None:
                given = stack_columns("peaks_mpa", dict(case.peaks_mpa))
                read[name] = given, peaks_as_given(line.average_over)
            else:
                read[name] = _plain_case(case), peaks_as_given(line.average_over)
    if frame is not None and tensors:
        read |= _tensor_cases(line, tensors, frame)
    return {name: read[name] for name in line.cases}


def _guard_kind(line: LineInput, case: CaseInput) -> None:
    given = [key for key in ("tensors_mpa", "peaks_mpa", "normal_mpa") if getattr(case, key) is not None]
    if case.shear_mpa is not None and "normal_mpa" not in given:
        given.append("normal_mpa")
    allowed = {"tensors_mpa", "peaks_mpa"} if line.basis == "peak-stress" else {"normal_mpa"}
    if len(given) != 1 or given[0] not in allowed:
        wanted = "tensors_mpa or peaks_mpa" if line.basis == "peak-stress" else "normal_mpa, shear_mpa"
        raise InputError(f"the {line.basis} basis takes {wanted} and nothing else")


def _tensor_cases(line: LineInput, tensors: Mapping[str, FloatArray], frame: NotchFrame) -> dict[str, _Read]:
    inside = stations_inside(line.position_mm, line.exclude_ends_mm, line.closed, line.symmetric_ends)
    peaks, found = peaks_of_cases(
        np.stack(list(tensors.values())),
        frame,
        closed=line.closed,
        average_over=line.average_over,
        element=None if line.mesh is None else line.mesh.element,
        judged=inside,
        symmetric_ends=line.symmetric_ends,
    )
    return {
        name: (stresses, tuple(_of_case(name, finding) for finding in told))
        for name, stresses, told in zip(tensors, peaks, found, strict=True)
    }


def _of_case(name: str, finding: Finding) -> Finding:
    if finding.code != NODE_ABOVE_MEAN:
        return finding
    return replace(finding, message=f"load case {name}: {finding.message}")


def _plain_case(case: CaseInput) -> FloatArray:
    columns = {"normal_mpa": case.normal_mpa, "shear_mpa": case.shear_mpa}
    size = one_length(**{name: column for name, column in columns.items() if column is not None})
    return np.column_stack([np.zeros(size) if column is None else column for column in columns.values()])


def _absent(line: LineInput) -> tuple[Finding, ...]:
    """Findings on components that cases without tensors leave out."""
    given = {}
    for name, case in line.cases.items():
        if case.tensors_mpa is None:
            columns = case if case.peaks_mpa is None else case.peaks_mpa
            given[name] = {key for key, column in columns if column is not None}
        else:
            given[name] = set(MODES)
    angle = line.notch.opening_angle_deg if line.basis == "peak-stress" and line.notch else None
    return absent_findings(given, angle)

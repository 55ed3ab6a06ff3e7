"""A weld line: stations in order, and what each unit load case does there."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le, Len, doc
from numpy.typing import ArrayLike, NDArray

from fatcore.bounds import Name, NonNegative, NumberArray, PoissonRatio, Positive, VectorArray, guard
from fatcore.errors import InputError, at
from fatcore.findings import Finding, note
from fatcore.require import LONGEST_REASON, SHORTEST_REASON, FloatArray, finite, one_length, other_length, reason
from fatcore.stress.material_names import Family, guard_family
from fatcore.stress.materials import control_radius_of
from fatcore.stress.notch.fields import OpeningAngle
from fatcore.stress.peak.elements import Element
from fatcore.stress.peak.mesh_pattern import pattern_findings
from fatcore.stress.peak.peak_weights import kind_findings
from fatcore.stress.weld_lines.scale import scale_findings
from fatcore.stress.weld_lines.stations import ON_FAITH, guard_stations, mesh_size_findings, station_steps
from fatcore.stress.weld_lines.symmetric_ends import LineEnd, guard_symmetric_ends

Basis = Literal["peak-stress", "structural", "effective-notch", "nominal"]
MODES = ("opening", "sliding", "tearing")
_COORDINATES = "places of the stations; their chords must agree with position_mm"
_SYMMETRIC = "ends of the line on a plane of symmetry, start and end, beyond which it goes on as its mirror image"
_NodeIds = Annotated[tuple[Annotated[int, Ge(0), Le(2**53)], ...], Len(1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Material of the joint, as far as the peak stress method needs it.

    control_radius_mm : None is the published one of the name; material_family: None is what the name says
    Raises            : InputError where the name says another metal than the family
    """

    name: Name = "structural-steel"
    poisson_ratio: PoissonRatio = 0.3
    control_radius_mm: Positive | None = None
    material_family: Family | None = None

    def __post_init__(self) -> None:
        guard(self)
        if self.material_family is not None:
            guard_family(self.name, self.material_family)

    def with_radius(self) -> Material:
        """The same with its control radius; UnknownError for a name that has no published one."""
        radius = self.control_radius_mm
        return self if radius is not None else replace(self, control_radius_mm=control_radius_of(self.name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """Notch of a line: opening angle, and the reference length of the mesh rule (None: not judged)."""

    kind: Literal["toe", "root"]
    opening_angle_deg: OpeningAngle
    notch_size_mm: Positive | None = None

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Elements along a line; constants by mode override the table.

    elements_around : that share a node of the line in a section across it; None: unknown
    """

    element: Element
    element_size_mm: Positive
    constants: Mapping[str, float | None] | None = None
    elements_around: Annotated[int, Ge(1), Le(1000)] | None = None

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeldLine:
    """Stations of one weld line and the stress components of each unit load case.

    position_mm      : along the line, ascending, (n,)
    cases            : by load case, (n, m) [MPa]; m = 3 peaks (opening, sliding, tearing) on the peak-stress
                       basis, else 2 (normal, shear)
    exclude_ends_mm  : stations nearer than this to an end of an open line are shown but not judged
    exclude_ends_reason : why; without one a station left out that is over the limit makes the line undecided
    symmetric_ends   : ends that lie on a plane of symmetry, so that they are no ends
    remarks          : findings on how the stresses were read
    """

    name: Name
    position_mm: NumberArray
    cases: Annotated[Mapping[str, FloatArray], Len(1)]
    basis: Basis = "peak-stress"
    notch: Notch | None = None
    mesh: Mesh | None = None
    closed: bool = False
    exclude_ends_mm: NonNegative = 0.0
    exclude_ends_reason: Annotated[str, Len(SHORTEST_REASON, LONGEST_REASON)] | None = None
    symmetric_ends: Annotated[tuple[LineEnd, ...], Len(0, 2), doc(_SYMMETRIC)] = ()
    coordinates_mm: Annotated[VectorArray | None, doc(_COORDINATES)] = None
    node_id: Annotated[_NodeIds | None, doc("numbers of the nodes, shown in the answer")] = None
    remarks: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        guard(self)
        stations = one_length(position_mm=self.position_mm)
        if self.exclude_ends_reason is not None and self.exclude_ends_mm <= 0.0:
            raise InputError("a reason, but no exclude_ends_mm that leaves out anything", "exclude_ends_reason")
        if self.exclude_ends_reason is not None:
            reason("exclude_ends_reason", self.exclude_ends_reason)
        guard_symmetric_ends(self.symmetric_ends, self.closed)
        guard_stations(position_mm=self.position_mm, coordinates_mm=self.coordinates_mm, closed=self.closed)
        self._guard_nodes(stations)
        for case, stresses in self.cases.items():
            with at("cases", case):
                if finite("stresses", stresses).shape[0] != stations:
                    raise InputError(f"the line has {stations} stations, this case {stresses.shape[0]}")

    def _guard_nodes(self, stations: int) -> None:
        if self.node_id is None:
            return
        if len(self.node_id) != stations:
            raise InputError(other_length("node_id", len(self.node_id), stations), "node_id")
        if len(set(self.node_id)) != stations:
            raise InputError("a node is listed twice", "node_id")


def mesh_remarks(line: WeldLine) -> tuple[Finding, ...]:
    """What stations and notch say about mesh size and angle, where the stress depends on them."""
    if line.basis != "peak-stress":
        unused = line.mesh is not None or line.notch is not None
        text = f"the {line.basis} basis uses neither notch nor mesh"
        return (note("mesh-not-used", text, field="mesh"),) if unused else ()
    if line.mesh is None or line.notch is None:
        return ()
    steps = station_steps(line.position_mm, line.coordinates_mm)
    return (
        *kind_findings(line.notch.kind, line.notch.opening_angle_deg),
        *pattern_findings(line.mesh.element, line.notch.opening_angle_deg, line.mesh.elements_around),
        *scale_findings(line.mesh.element_size_mm, line.notch.notch_size_mm, steps),
        # a verdict rests on it here
        *(
            replace(finding, code=f"{ON_FAITH}-in-check", severity="caution") if finding.code == ON_FAITH else finding
            for finding in mesh_size_findings(line.mesh.element_size_mm, steps, line.mesh.element)
        ),
    )


def guard_line(line: WeldLine, names: tuple[str, ...]) -> None:
    """InputError when the line lacks one of the named cases, or no station of it is left to be judged."""
    _guard_cases(line, names)
    select_judged_stations(line)


def _guard_cases(line: WeldLine, names: tuple[str, ...]) -> None:
    for name in names:
        if name not in line.cases:
            raise InputError(f"line {line.name!r} has no load case {name!r}, which is loaded", "cases")


def case_matrix(line: WeldLine, names: tuple[str, ...]) -> FloatArray:
    """Stresses of the named cases, (n, m, k); InputError when the line lacks one of them."""
    _guard_cases(line, names)
    return np.stack([np.asarray(line.cases[name], dtype=np.float64) for name in names], axis=-1)


def select_judged_stations(line: WeldLine) -> NDArray[np.bool_]:
    """True where a station takes part in the verdict; InputError when none is left."""
    inside = stations_inside(line.position_mm, line.exclude_ends_mm, line.closed, line.symmetric_ends)
    if not inside.any():
        raise InputError("no station is left after excluding the ends", "exclude_ends_mm")
    return inside


def stations_inside(
    position_mm: ArrayLike, exclude_ends_mm: float, closed: bool, symmetric_ends: Collection[LineEnd] = ()
) -> NDArray[np.bool_]:
    """True where a station is not nearer to an end of an open line than the length left out.

    symmetric_ends : those that are no ends
    """
    position = np.asarray(position_mm, dtype=np.float64)
    if closed or exclude_ends_mm <= 0.0:
        return np.ones(position.size, dtype=np.bool_)
    least = exclude_ends_mm - 1e-9
    start = (position - position[0] >= least) | ("start" in symmetric_ends)
    end = (position[-1] - position >= least) | ("end" in symmetric_ends)
    return np.asarray(start & end)

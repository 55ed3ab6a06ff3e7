"""POST /v1/check: weld lines from a finite-element model under a loading, to one verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field

from fatcore.check import weld_check
from fatcore.check.line import Mesh, Notch, WeldLine, peaks_of_tensors
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.resistance import Resistance, Target
from fatcore.errors import InputError, at
from fatcore.require import FloatArray, one_length
from service import progress
from service.common import NonNegative, Number, Positive, Probability, Reply, Strict, post, reply
from service.curves import CurveRef, curve_from

__all__ = ["CheckAnswer", "CheckRequest", "check"]

MAX_LINES = 1_000
MAX_STATIONS = 20_000
MAX_CASES = 64
MAX_BLOCKS = 10_000
MAX_SAMPLES = 5_000_000
MAX_WORK = 2_000_000_000  # stations times samples, over all lines

Column = Annotated[list[Number], Field(min_length=1, max_length=MAX_STATIONS)]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Vectors = Annotated[list[Vector], Field(min_length=1, max_length=MAX_STATIONS)]
Name = Annotated[str, Field(min_length=1, max_length=200)]


class MaterialInput(Strict):
    """Material of the joint."""

    name: Name = "structural-steel"
    poisson_ratio: Annotated[float, Field(ge=0.0, lt=0.5)] = 0.3
    control_radius_mm: Positive = 0.28


class NotchInput(Strict):
    """Notch of a line; size_mm is the reference length of the mesh rule."""

    kind: Literal["toe", "root"]
    opening_angle_deg: Annotated[float, Field(ge=0.0, lt=180.0)]
    size_mm: Positive | None = None


class ConstantsInput(Strict):
    """Own element constants by mode."""

    opening: Positive | None = None
    sliding: Positive | None = None
    tearing: Positive | None = None


class MeshInput(Strict):
    """Elements along the line."""

    element: Literal["quad4", "brick8", "tet10", "tet4", "own"]
    size_mm: Positive
    constants: ConstantsInput | None = None


class TensorColumns(Strict):
    """Nodal stress tensors of the corner nodes, one column a component."""

    xx: Column
    yy: Column
    zz: Column
    xy: Column
    yz: Column
    zx: Column


class PeakColumns(Strict):
    """Signed peaks in the local frame; a mode that is left out counts zero."""

    opening: Column
    sliding: Column | None = None
    tearing: Column | None = None


class CaseInput(Strict):
    """Stresses of one unit load case: tensors, or peaks, or normal and shear stress."""

    tensors_mpa: TensorColumns | None = None
    peaks_mpa: PeakColumns | None = None
    normal_mpa: Column | None = None
    shear_mpa: Column | None = None


class UnitLoad(Strict):
    """Label of the unit load for the report; factors multiply the stresses as they are given."""

    value: Positive
    unit: Annotated[str, Field(min_length=1, max_length=16)]


class LineInput(Strict):
    """One weld line; stations in order along it."""

    name: Name
    basis: Literal["peak-stress", "structural", "effective-notch", "nominal"] = "peak-stress"
    notch: NotchInput | None = None
    mesh: MeshInput | None = None
    position_mm: Column
    unit_load: UnitLoad | None = None
    exclude_ends_mm: NonNegative = 0.0
    cases: dict[str, CaseInput] = Field(min_length=1, max_length=MAX_CASES)
    tangent: Vectors | None = None
    bisector: Vectors | None = None
    closed: bool = False
    average_over: Literal[1, 3] = 1


class StateInput(Strict):
    """Factor of a load case at the two ends of a cycle."""

    max: Number
    min: Number


Factors = Annotated[dict[str, StateInput], Field(min_length=1, max_length=MAX_CASES)]


class ConstantLoadingInput(Strict):
    """Cycling between two load states: every case's max together, every case's min together."""

    kind: Literal["constant"]
    factors: Factors
    cycles: Positive


class BlockInput(Strict):
    """One block of constant cycling."""

    factors: Factors
    cycles: Positive


class BlocksLoadingInput(Strict):
    """Blocks of constant cycling, one pass."""

    kind: Literal["blocks"]
    blocks: list[BlockInput] = Field(min_length=1, max_length=MAX_BLOCKS)


class HistoryLoadingInput(Strict):
    """Channels sampled together; superposed on the stresses before anything is counted."""

    kind: Literal["history"]
    channels: dict[str, Annotated[list[Number], Field(min_length=2, max_length=MAX_SAMPLES)]] = Field(
        min_length=1, max_length=MAX_CASES
    )
    repeats: Positive = 1.0
    residue: Literal["closed", "half"] = "closed"
    cycles: Literal["governing", "independent", "path"] = "governing"


LoadingInput = Annotated[
    ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput, Field(discriminator="kind")
]


class TargetInput(Strict):
    """What is to be reached; survival_probability null leaves the curves as their source gives them."""

    repeats: Positive = 1.0
    survival_probability: Probability | None = None
    damage_limit: Positive = 1.0
    load_factor: Positive = 1.0
    resistance_factor: Positive = 1.0


class BiaxialityCurves(Strict):
    """Pair of peak-stress curves, chosen by biaxiality; between the bounds the lower life governs."""

    rule: Literal["biaxiality"] = "biaxiality"
    lower: NonNegative = 0.05
    upper: NonNegative = 0.5
    opening_curve: CurveRef = "peak-stress-opening"
    shear_curve: CurveRef = "peak-stress-shear"


class FixedCurves(Strict):
    """One curve, or one each for normal and shear stress with their interaction."""

    rule: Literal["fixed"]
    curve: CurveRef
    shear_curve: CurveRef | None = None
    interaction: Literal["damage-sum", "quadratic-proportional", "quadratic-non-proportional"] = "damage-sum"


class CheckRequest(Strict):
    """Weld lines with the stresses of unit load cases, a loading, a target, and the curves."""

    title: Annotated[str, Field(max_length=300)] = ""
    material: MaterialInput = MaterialInput()
    condition: Literal["as-welded", "stress-relieved"] = "as-welded"
    coefficients: Literal["exact", "published-fit"] = "exact"
    lines: list[LineInput] = Field(min_length=1, max_length=MAX_LINES)
    loading: LoadingInput
    target: TargetInput = TargetInput()
    curves: Annotated[BiaxialityCurves | FixedCurves, Field(discriminator="rule")] = BiaxialityCurves()


class GoverningPoint(Strict):
    """Where a crack will start first."""

    line: str
    index: int
    position_mm: float


class LineAnswer(Strict):
    """Results along one line; the single values are those of its governing station."""

    name: str
    position_mm: list[float]
    equivalent_stress_mpa: list[float]
    biaxiality_ratio: list[float | None]
    damage: list[float]
    life_cycles: list[float | None]
    governing_index: int
    utilisation: float
    allowable_stress_mpa: float | None
    curve: str
    verdict: Literal["pass", "fail", "undecided"]


class CheckAnswer(Strict):
    """Verdict and governing point over all lines."""

    verdict: Literal["pass", "fail", "undecided"]
    governing: GoverningPoint
    equivalent_stress_mpa: float
    biaxiality_ratio: float | None
    curve: str
    life_cycles: float | None
    life_repeats: float | None
    damage: float
    utilisation: float
    allowable_stress_mpa: float | None
    factor_to_limit: float | None
    lines: list[LineAnswer]


STATION_COLUMNS = ("position_mm", "equivalent_stress_mpa", "biaxiality_ratio", "damage", "life_cycles")


def station_table(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    """Every station of every line as one table, for text/csv."""
    table: dict[str, list[Any]] = {"line": [], "index": [], **{name: [] for name in STATION_COLUMNS}}
    for line in answer["lines"]:
        size = len(line["position_mm"])
        table["line"] += [line["name"]] * size
        table["index"] += range(size)
        for name in STATION_COLUMNS:
            table[name] += line[name]
    return table


@post("check", CheckRequest, CheckAnswer, revision=1, summary="The whole weld check", csv=station_table)
def check(request: CheckRequest) -> Reply:
    """Peak stresses of weld lines to equivalent stress, governing point, curve, damage, life and verdict."""
    lines = [_line(position, line) for position, line in enumerate(request.lines)]
    with at("loading"):
        loading = _loading(request.loading)
    _guard_work(lines, loading)
    outcome = weld_check.check_lines(
        lines,
        loading,
        _resistance(request),
        _target(request),
        material=weld_check.Material(**request.material.model_dump()),
        condition=request.condition,
        coefficients=request.coefficients,
        progress=progress.listener(sum(len(line.position_mm) for line in lines)),
    )
    worst = outcome.lines[outcome.governing_line]
    point = {
        "line": worst.name,
        "index": worst.governing_index,
        "position_mm": float(worst.position_mm[worst.governing_index]),
    }
    shown = [{name: getattr(line, name) for name in LineAnswer.model_fields} for line in outcome.lines]
    return reply(CheckAnswer, outcome, governing=point, lines=shown)


def _line(position: int, line: LineInput) -> WeldLine:
    with at("lines", position):
        notch, mesh = line.notch, line.mesh
        constants = None if mesh is None or mesh.constants is None else mesh.constants.model_dump()
        return WeldLine(
            name=line.name,
            position_mm=np.array(line.position_mm),
            cases={name: _case(line, name, case) for name, case in line.cases.items()},
            basis=line.basis,
            notch=None if notch is None else Notch(**notch.model_dump()),
            mesh=None
            if mesh is None
            else Mesh(element=mesh.element, size_mm=mesh.size_mm, constants=constants),
            closed=line.closed,
            exclude_ends_mm=line.exclude_ends_mm,
        )


def _case(line: LineInput, name: str, case: CaseInput) -> FloatArray:
    with at("cases", name):
        given = [key for key in ("tensors_mpa", "peaks_mpa", "normal_mpa") if getattr(case, key) is not None]
        if case.shear_mpa is not None and "normal_mpa" not in given:
            given.append("normal_mpa")
        allowed = {"tensors_mpa", "peaks_mpa"} if line.basis == "peak-stress" else {"normal_mpa"}
        if len(given) != 1 or given[0] not in allowed:
            wanted = "tensors_mpa or peaks_mpa" if line.basis == "peak-stress" else "normal_mpa, shear_mpa"
            raise InputError(f"the {line.basis} basis takes {wanted} and nothing else")
        if case.tensors_mpa is not None:
            return _tensor_case(line, case.tensors_mpa)
        if case.peaks_mpa is not None:
            with at("peaks_mpa"):
                return _stacked(case.peaks_mpa.model_dump())
        return _stacked({"normal_mpa": case.normal_mpa, "shear_mpa": case.shear_mpa})


def _tensor_case(line: LineInput, columns: TensorColumns) -> FloatArray:
    if line.tangent is None or line.bisector is None:
        raise InputError("tensors need the tangent and the bisector of the line", "tensors_mpa")
    tensors = columns.model_dump()
    with at("tensors_mpa"):
        one_length(**tensors)
    return peaks_of_tensors(
        np.column_stack(list(tensors.values())),
        line.tangent,
        line.bisector,
        closed=line.closed,
        average_over=line.average_over,
    )


def _stacked(columns: dict[str, list[float] | None]) -> FloatArray:
    given = {name: column for name, column in columns.items() if column is not None}
    size = one_length(**given)
    zero = np.zeros(size)
    return np.column_stack([given.get(name, zero) for name in columns])


def _loading(loading: ConstantLoadingInput | BlocksLoadingInput | HistoryLoadingInput) -> Loading:
    if isinstance(loading, ConstantLoadingInput):
        return BlockLoading(blocks=(_block(loading.factors, loading.cycles),))
    if isinstance(loading, BlocksLoadingInput):
        return BlockLoading(blocks=tuple(_block(block.factors, block.cycles) for block in loading.blocks))
    channels = {name: np.array(values) for name, values in loading.channels.items()}
    return HistoryLoading(channels=channels, residue=loading.residue, definition=loading.cycles)


def _block(factors: Mapping[str, StateInput], cycles: float) -> Block:
    states = {name: LoadState(max=state.max, min=state.min) for name, state in factors.items()}
    return Block(factors=states, cycles=cycles)


def _guard_work(lines: list[WeldLine], loading: Loading) -> None:
    stations = sum(len(line.position_mm) for line in lines)
    if isinstance(loading, HistoryLoading):
        steps = len(next(iter(loading.channels.values())))
    else:
        steps = len(loading.blocks)
    if stations * steps > MAX_WORK:
        text = f"stations times samples may reach {MAX_WORK:g}, here {stations * steps:g}; split the request"
        raise InputError(text, "loading")


def _resistance(request: CheckRequest) -> Resistance:
    amplitude: Literal["constant", "variable"] = (
        "constant" if request.loading.kind == "constant" else "variable"
    )
    curves = request.curves
    with at("curves"):
        if isinstance(curves, BiaxialityCurves):
            return Resistance(
                rule="biaxiality",
                curve=_curve("opening_curve", curves.opening_curve, amplitude),
                shear_curve=_curve("shear_curve", curves.shear_curve, amplitude),
                lower=curves.lower,
                upper=curves.upper,
            )
        shear = curves.shear_curve
        return Resistance(
            rule="fixed",
            curve=_curve("curve", curves.curve, amplitude),
            shear_curve=None if shear is None else _curve("shear_curve", shear, amplitude),
            interaction=curves.interaction,
        )


def _curve(name: str, given: Any, amplitude: Literal["constant", "variable"]) -> Any:
    with at(name):
        return curve_from(given, loading=amplitude)


def _target(request: CheckRequest) -> Target:
    passes = request.loading.repeats if isinstance(request.loading, HistoryLoadingInput) else 1.0
    target = request.target
    return Target(
        repeats=target.repeats * passes,
        survival_probability=target.survival_probability,
        damage_limit=target.damage_limit,
        load_factor=target.load_factor,
        resistance_factor=target.resistance_factor,
    )

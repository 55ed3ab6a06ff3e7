"""A stress-life curve of the user, from points or from intercepts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Annotated, Unpack

from annotated_types import Len, doc

from fatcore.alike import alike
from fatcore.bounds import NonNegative, Number, Positive, Probability, Slope, guarded
from fatcore.curves._joining import check_branches, range_on, step_segments
from fatcore.curves.corrections.survival import ScatterIndex, UpperSurvival, scatter_of_index
from fatcore.curves.curve import Curve, Head
from fatcore.curves.standards import catalogue
from fatcore.curves.tested import LivesTested
from fatcore.errors import InputError
from fatcore.figures import as_given, figure

_LARGEST_MISMATCH = 0.005  # relative in range: more than printed constants leave by rounding


@guarded
def user_defined_curve(
    *,
    name: Annotated[str, Len(1, 100), doc("what the answer calls the curve")] = "own",
    origin: Annotated[str, Len(0, 300), doc("where the figures come from; repeated in the answer")] = "",
    stress_kind: Annotated[str, Len(0, 300), doc("the stress it is meant for")] = "own",
    range_mpa: Annotated[Sequence[Positive], doc("ranges of points on the line, falling [MPa]")] = (),
    life_cycles: Annotated[Sequence[Positive], doc("lives of those points, rising [cycles]")] = (),
    log10_constants: Annotated[
        Sequence[Number], doc("log10 of the constant of each branch, from high to low range")
    ] = (),
    slopes: Annotated[Sequence[Slope], doc("inverse slope of each branch")] = (),
    knee_cycles: Annotated[Sequence[Positive] | None, doc("lives where branches meet [cycles]")] = None,
    step_at_knee: Annotated[
        bool, doc("branches of log10_constants hold as printed, with the step at knee_cycles")
    ] = False,
    cut_off_cycles: Annotated[Positive | None, doc("life beyond which a range does no damage [cycles]")] = None,
    survival_probability: Annotated[Probability | None, doc("of the line as given")] = None,
    sd_log10_cycles: Annotated[NonNegative | None, doc("standard deviation of log10 life about the line")] = None,
    scatter_index: Annotated[
        ScatterIndex | None, doc("instead of the deviation: strength at low over strength at high survival")
    ] = None,
    scatter_index_survival: Annotated[
        UpperSurvival, doc("the high survival between which the index is stated; 0.977: two deviations")
    ] = 0.977,
    tested: Annotated[LivesTested | None, doc("tests behind a fitted curve, as its evaluation gives them")] = None,
) -> Curve:
    """The curve of one of three forms; figures that its form does not use are refused, never ignored.

    one point        : range_mpa and life_cycles of length 1, slopes, knee_cycles for several slopes
    several points   : range_mpa falling and life_cycles rising; slopes follow
    intercepts       : log10_constants and slopes; branches join at knee_cycles, else where they cross; there
                       they may differ by rounding (0.5 % in range), or by a step that is meant: with
                       step_at_knee both branches hold as printed, and the lower life counts at the step
    Raises           : InputError naming the field at fault; also where the curve bears an id of the catalogue
    """
    _guard_name(name)
    curve = _shape(
        range_mpa,
        life_cycles,
        log10_constants,
        slopes,
        knee_cycles,
        cut_off_cycles,
        step_at_knee=step_at_knee,
        id=name,
        source="own-curve",
        title=origin,
        stress_kind=stress_kind,
        material="",
        survival_probability=survival_probability,
        survival_definition="as the user states it",
        sd_log10_cycles=sd_log10_cycles,
    )
    if tested is not None:
        curve = replace(curve, tested=tested)
    if scatter_index is None:
        return curve
    if sd_log10_cycles is not None:
        raise InputError("give scatter_index or sd_log10_cycles, not both", "scatter_index")
    scatter = scatter_of_index(scatter_index, curve.slopes[0], upper_survival=scatter_index_survival)
    return replace(curve, sd_log10_cycles=scatter)


def _shape(
    range_mpa: Sequence[float],
    life_cycles: Sequence[float],
    log10_constants: Sequence[float],
    slopes: Sequence[float],
    knee_cycles: Sequence[float] | None,
    cut_off_cycles: float | None,
    *,
    step_at_knee: bool,
    **head: Unpack[Head],
) -> Curve:
    with _as_given(knee_cycles, several=len(range_mpa) > 1):
        if log10_constants:
            _refuse_unused("intercepts", range_mpa=range_mpa, life_cycles=life_cycles)
            return _of_intercepts(
                log10_constants, slopes, knee_cycles, cut_off_cycles, step_at_knee=step_at_knee, **head
            )
        if step_at_knee:
            raise InputError("a step stands between branches of log10_constants", "step_at_knee")
        if not range_mpa or len(range_mpa) != len(life_cycles):
            raise InputError("give points (range_mpa, life_cycles) or log10_constants", "range_mpa")
        _guard_cut_off(life_cycles, cut_off_cycles)
        if len(range_mpa) > 1:
            _refuse_unused("several points", slopes=slopes, knee_cycles=knee_cycles or ())
            return Curve.from_points(
                range_mpa=range_mpa, life_cycles=life_cycles, cut_off_cycles=cut_off_cycles, **head
            )
        if not slopes:
            raise InputError("one point needs slopes", "slopes")
        return Curve.from_point(
            range_mpa=range_mpa[0],
            cycles=life_cycles[0],
            slopes=slopes,
            knee_cycles=knee_cycles or (),
            cut_off_cycles=cut_off_cycles,
            **head,
        )


def _of_intercepts(
    log10_constants: Sequence[float],
    slopes: Sequence[float],
    knee_cycles: Sequence[float] | None,
    cut_off_cycles: float | None,
    *,
    step_at_knee: bool,
    **head: Unpack[Head],
) -> Curve:
    joints: tuple[int, ...] = ()
    if step_at_knee:
        if not knee_cycles:
            raise InputError("a step needs the life of the knee at which it stands", "step_at_knee")
        log10_constants, slopes, joints = step_segments(log10_constants, slopes, knee_cycles)
        knee_cycles = None
    elif knee_cycles is not None:
        _guard_joint(log10_constants, slopes, knee_cycles)
    curve = Curve.from_intercepts(
        log10_constants=log10_constants,
        slopes=slopes,
        knee_cycles=knee_cycles,
        cut_off_cycles=cut_off_cycles,
        **head,
    )
    return replace(curve, joints=joints)


@contextmanager
def _as_given(knee_cycles: Sequence[float] | None, *, several: bool) -> Iterator[None]:
    """Errors about what follows from the figures point at the figures it follows from."""
    knees = "range_mpa" if several else "slopes" if knee_cycles is None else "knee_cycles"
    names = {"knees_mpa": knees, "cut_off_mpa": "cut_off_cycles"}
    try:
        yield
    except InputError as error:
        error.path = (*(names.get(str(step), step) for step in error.path[:1]), *error.path[1:])
        raise


def _guard_cut_off(life_cycles: Sequence[float], cut_off_cycles: float | None) -> None:
    """InputError for a cut-off before the curve's own points, which it would make infinite."""
    if cut_off_cycles is not None and cut_off_cycles < max(life_cycles):
        raise InputError(
            f"a cut-off at {as_given(cut_off_cycles)} cycles would make the own point at "
            f"{as_given(max(life_cycles))} cycles infinite",
            "cut_off_cycles",
        )


def _guard_joint(log10_constants: Sequence[float], slopes: Sequence[float], knee_cycles: Sequence[float]) -> None:
    """InputError when branches differ at a knee by more than rounding of printed constants leaves."""
    check_branches(log10_constants, slopes, knee_cycles)
    for index, life in enumerate(knee_cycles):
        above, below = (range_on(log10_constants[branch], slopes[branch], life) for branch in (index, index + 1))
        if abs(below / above - 1.0) > _LARGEST_MISMATCH:
            raise InputError(
                f"at {as_given(life)} cycles the branches give {figure(above)} MPa and {figure(below)} MPa: "
                "leave the knee "
                "out and they meet where they cross, or say that the step is meant (step_at_knee)",
                "knee_cycles",
                index,
            )


def _guard_name(name: str) -> None:
    """An answer names a curve by its id alone: one of the user must not look like one of a document."""
    if alike(name, catalogue.all_ids()) is not None:
        raise InputError(f"{name.strip()!r} is a curve of the catalogue: choose another name", "name")


def _refuse_unused(form: str, **figures: Sequence[float]) -> None:
    for name, given in figures.items():
        if given:
            raise InputError(f"a curve from {form} has no use for {name}", name)

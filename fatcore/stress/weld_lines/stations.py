"""Stations of a line: whether positions, coordinates, tangents and mesh size tell the same story."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray, finite, one_length, positive
from fatcore.stress.weld_lines.geometry import CLOSING_GAP, angles_deg, is_loop, median

_CHORD_SHARE = 0.02  # an arc of 40 deg is 2 % longer than its chord; two printed decimals of 1 mm are 1 %
_OFF_CHORD_DEG = 10.0  # beyond half the turn of the line, which a tangent makes with the chords beside it
_GAP_FACTOR = 3.0  # neighbours in a mesh of one size are not so unevenly spaced
_UNCLOSED_SHARE = 0.1  # of the length: directions at corners lead that far astray, not farther
ON_FAITH = "mesh-size-on-faith"
_PLANE_ELEMENTS = ("quad4",)
# mesh size and spacing of the nodes; 1.9, since edges come out a little shorter than the size asked for: half
# the size, the usual slip between two meshes of one part, must not stay below the limit
_DOUBTFUL_FACTOR, _WRONG_FACTOR = 1.3, 1.9
# size below the spacing, which lowers the stress: a line cut into a whole number of elements, two or more, is
# off by 1.25 at most
_LOWERING_FACTOR = _DOUBTFUL_FACTOR


def station_steps(position_mm: ArrayLike | None, coordinates_mm: ArrayLike | None) -> FloatArray | None:
    """Distances of neighbouring stations [mm], of the coordinates where they are given; None without either.

    position_mm : along the line, ascending, (n,); coordinates_mm : (n, 3)
    Raises      : InputError for positions that do not ascend, wrong shapes
    """
    if coordinates_mm is not None:
        chords = np.linalg.norm(np.diff(_coordinates(coordinates_mm), axis=0), axis=1)
        if (chords <= 0.0).any():
            raise InputError("two stations beside each other lie at one place", "coordinates_mm")
        return np.asarray(chords)
    if position_mm is None:
        return None
    steps = np.diff(finite("position_mm", position_mm))
    if (steps <= 0.0).any():
        raise InputError("position_mm must ascend", "position_mm")
    return steps


def guard_stations(
    *,
    position_mm: ArrayLike | None = None,
    coordinates_mm: ArrayLike | None = None,
    tangent: ArrayLike | None = None,
    closed: bool = False,
) -> None:
    """Refuses positions, coordinates, tangents and a stated loop that contradict each other.

    Without coordinates the tangents are followed from station to station to see whether the line closes.

    position_mm : along the line, ascending, (n,); coordinates_mm : (n, 3); tangent : (n, 3) [-]
    Raises      : InputError for columns of unequal length, steps more than 2 % off the chords, a tangent away
                  from the line, a loop that is none or is not said to be one
    """
    given = {"position_mm": position_mm, "coordinates_mm": coordinates_mm, "tangent": tangent}
    one_length(**{name: column for name, column in given.items() if column is not None})
    steps = station_steps(position_mm, None)
    if coordinates_mm is not None:
        points, chords = _coordinates(coordinates_mm), station_steps(None, coordinates_mm)
        if steps is not None and chords is not None:
            _guard_chords(steps, chords)
        if len(points) > 1:
            is_loop(points, closed)
    if tangent is not None:
        guard_tangents(tangent, position_mm=position_mm, coordinates_mm=coordinates_mm, closed=closed)


def guard_tangents(
    tangent: ArrayLike, *, position_mm: ArrayLike | None, coordinates_mm: ArrayLike | None, closed: bool
) -> None:
    """The part of `guard_stations` that is about tangents, of stations that agree with each other."""
    directions = finite("tangent", tangent)
    if coordinates_mm is not None:
        _guard_along(directions, _coordinates(coordinates_mm), closed)
    elif position_mm is not None:
        _guard_walk(np.diff(finite("position_mm", position_mm)), directions, closed)


def guard_gaps(steps_mm: ArrayLike) -> None:
    """Refuses a gap between stations: another line under the same name, or another order of the nodes.

    steps_mm : distances of neighbouring stations [mm]
    Raises   : InputError where a step is more than three times the median, and three times one beside it
    """
    steps = finite("steps_mm", steps_mm)
    if steps.size < 3:
        return
    beside = np.minimum(np.append(steps[1:], np.inf), np.insert(steps[:-1], 0, np.inf))
    gaps = steps > _GAP_FACTOR * np.maximum(median(steps), beside)
    if gaps.any():
        index = int(np.argmax(gaps))
        raise InputError(
            f"stations {index} and {index + 1} lie {figure(steps[index])} mm apart, the median is"
            f" {figure(median(steps))} mm: two lines under one name, or nodes in another order",
            "position_mm",
        )


def mesh_size_findings(
    element_size_mm: float, steps_mm: ArrayLike | None, element: str | None = None
) -> tuple[Finding, ...]:
    """What the distances of the corner nodes say about the mesh size that the weights rest on.

    element_size_mm  : average element size given to the mesher [mm]
    steps_mm : distances of neighbouring stations [mm]; None or empty: nothing is known
    element  : of the line; stations of the plane quad4 are sections, whose distance is no element
    Returns  : `outside` for a size above 1.9 times the median distance, or below 1/1.3 of it, where the
               stress gets smaller; a caution above 1.3 times it, and where single distances differ by more
               than 1.9; a note where nothing can be compared
    """
    steps = np.zeros(0) if steps_mm is None else positive("steps_mm", steps_mm)
    if steps.size == 0 or element in _PLANE_ELEMENTS:
        why = "no distance of nodes along the line to compare it with"
        message = f"mesh size {as_given(element_size_mm)} mm taken on faith: {why}"
        return (note(ON_FAITH, message, field="mesh"),)
    spacing = median(steps)
    factor = max(element_size_mm / spacing, spacing / element_size_mm)
    if factor > _DOUBTFUL_FACTOR * (1.0 + 1e-9):
        return (_mismatch(element_size_mm, spacing, factor),)
    return _uneven(element_size_mm, steps)


def _mismatch(element_size_mm: float, spacing_mm: float, factor: float) -> Finding:
    lowering = spacing_mm > element_size_mm
    allowed = _LOWERING_FACTOR if lowering else _WRONG_FACTOR
    wrong = factor > allowed * (1.0 + 1e-9)
    limit = allowed if wrong else _DOUBTFUL_FACTOR
    return Finding(
        code="mesh-size-not-spacing" if wrong else "mesh-size-doubtful",
        severity="outside" if wrong else "caution",
        message=(
            f"mesh size {as_given(element_size_mm)} mm, but the stations are {figure(spacing_mm)} mm apart (median),"
            f" more than a factor of {as_given(limit)}{', which lowers the stress' if lowering else ''}: corner nodes"
            " only, all of them, lengths in mm"
        ),
        field="mesh",
        value=spacing_mm,
        low=element_size_mm / limit,
        high=element_size_mm * limit,
    )


def _uneven(element_size_mm: float, steps: FloatArray) -> tuple[Finding, ...]:
    factors = np.maximum(steps / element_size_mm, element_size_mm / steps)
    count = int(np.count_nonzero(factors > _WRONG_FACTOR * (1.0 + 1e-9)))
    if count == 0:
        return ()
    worst = steps[int(np.argmax(factors))]
    message = (
        f"mesh size {as_given(element_size_mm)} mm holds in the middle, but {count} of {steps.size} distances of"
        f" stations differ by more than a factor of {as_given(_WRONG_FACTOR)}, the worst is {figure(worst)} mm"
    )
    return (caution("mesh-size-uneven", message, field="mesh"),)


def _coordinates(coordinates_mm: ArrayLike) -> FloatArray:
    points = finite("coordinates_mm", coordinates_mm)
    if points.ndim != 2 or points.shape[1] != 3:
        raise InputError("coordinates_mm must be (n, 3)", "coordinates_mm")
    return points


def _guard_chords(steps: FloatArray, chords: FloatArray) -> None:
    if steps.size == 0:
        return
    off = np.abs(steps - chords) > _CHORD_SHARE * np.maximum(chords, median(chords))
    if off.any():
        index = int(np.argmax(off))
        raise InputError(
            f"stations {index} and {index + 1} are {figure(steps[index], 6)} mm apart by position_mm,"
            f" {figure(chords[index], 6)} mm by their coordinates",
            "coordinates_mm",
            index + 1,
        )


def _guard_along(tangent: FloatArray, points: FloatArray, closed: bool) -> None:
    """Each tangent within 10 deg of the chords beside it, beyond half the turn of the line there."""
    if len(points) < 2:
        return
    chords = np.diff(np.vstack([points, points[0]]) if closed else points, axis=0)
    chords /= np.maximum(np.linalg.norm(chords, axis=1, keepdims=True), 1e-300)
    before = np.roll(chords, 1, axis=0) if closed else np.vstack([chords[0], chords])
    after = chords if closed else np.vstack([chords, chords[-1]])
    half = angles_deg(before, after) / 2.0
    if not closed and len(half) > 2:
        half[0], half[-1] = half[1], half[-2]
    unit = _unit_tangent(tangent)
    # a line may run against its tangents as long as all of it does: signs of shear turn, ranges do not
    sign = 1.0 if float(np.sum(unit * (before + after))) >= 0.0 else -1.0
    off = np.minimum(angles_deg(sign * unit, before), angles_deg(sign * unit, after)) - half
    if (off > _OFF_CHORD_DEG).any():
        index = int(np.argmax(off))
        raise InputError(
            f"the tangent of station {index} stands {figure(off[index] + half[index])} deg off the line through"
            " the coordinates",
            "tangent",
            index,
        )


def _unit_tangent(tangent: FloatArray) -> FloatArray:
    length = np.linalg.norm(tangent, axis=1, keepdims=True)
    if (length == 0.0).any():
        raise InputError("tangent holds a vector without a usable length", "tangent")
    return np.asarray(tangent / length)


def _guard_walk(steps: FloatArray, tangent: FloatArray, closed: bool) -> None:
    if steps.size < 3:
        return
    unit = _unit_tangent(tangent)
    walked = (unit[1:] + unit[:-1]) / 2.0 * steps[:, np.newaxis]
    gap, near = float(np.linalg.norm(walked.sum(axis=0))), max(median(steps), steps[0], steps[-1])
    if closed and gap > CLOSING_GAP * near + _UNCLOSED_SHARE * steps.sum():
        raise InputError(f"the line is said to be closed, but its tangents lead {figure(gap)} mm away", "closed")
    if not closed and gap <= CLOSING_GAP * near:
        raise InputError("the line is said to be open, but its tangents lead back to its start", "closed")

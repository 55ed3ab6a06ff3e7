"""Local frame of a weld line: peak stresses of the three modes from nodal tensors, and their smoothing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray, finite

_REFUSED_DEG = 10.0  # farther from a right angle the vectors are mixed up, not rounded
_SHOWN_DEG = 1.0
_TURN_DEG = 91.0  # a corner of a weld turns by a right angle; more from one node to the next is a sign lost
# Besides turning with the line a bisector twists with the surface, at most by half its curvature (geodesic
# torsion of a tube): 10 deg from node to node needs a radius below three elements
_TWIST_DEG = 10.0


def local_normal(tangent: ArrayLike, bisector: ArrayLike) -> FloatArray:
    """Unit normal of the bisector plane, tangent x bisector; opening stress acts along it.

    tangent, bisector : directions (n, 3) [-], any length; tangent along the line, bisector into the material
    Returns           : unit vectors (n, 3) [-]
    Raises            : InputError for wrong shapes, zero vectors, more than 10 deg off a right angle
    """
    return np.asarray(np.stack(_frame(tangent, bisector).normal).T)


def peak_components(tensors_mpa: ArrayLike, tangent: ArrayLike, bisector: ArrayLike) -> FloatArray:
    """Signed peak stresses of the three modes from nodal stress tensors on a notch line.

    With normal n = tangent x bisector: opening n.S.n, sliding bisector.S.n, tearing tangent.S.n. A bisector
    that is not quite square to the tangent is turned into the plane across the tangent.

    tensors_mpa       : nodal stresses (n, 6) [MPa], order xx, yy, zz, xy, yz, zx
    tangent, bisector : directions (n, 3) [-], any length
    Returns           : opening, sliding, tearing (n, 3) [MPa]
    Raises            : InputError for wrong shapes, zero vectors, more than 10 deg off a right angle
    Source            : [peak-stress-3d-tetrahedra-2018] local frame
    """
    return _components(_frame(tangent, bisector), tensors_mpa)


def notch_frame(tangent: ArrayLike, bisector: ArrayLike) -> NotchFrame:
    """The local frame of stations in order along the line.

    tangent, bisector : directions (n, 3) [-], any length
    Raises            : InputError as `peak_components` and `guard_turning`
    """
    frame = _frame(tangent, bisector)
    _guard_turns(frame)
    return frame


def peaks_along(tensors_mpa: ArrayLike, frame: NotchFrame) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Peaks as of `peak_components` of stations in order along the line, with the findings on their frame.

    tensors_mpa : nodal stresses (n, 6), or of several load cases (k, n, 6) [MPa], order xx, yy, zz, xy, yz, zx
    Returns     : opening, sliding, tearing (n, 3) or (k, n, 3) [MPa]; findings of `frame_findings`
    Raises      : InputError for wrong shapes
    Source      : [peak-stress-3d-tetrahedra-2018] local frame
    """
    return _components(frame, tensors_mpa), _square_findings(frame)


def guard_rows(tensors_mpa: ArrayLike, frame: NotchFrame) -> FloatArray:
    """Tensors as an array; InputError for wrong shapes, and for other rows than the frame has stations."""
    stress = finite("tensors_mpa", tensors_mpa)
    if stress.ndim < 2 or stress.shape[-1] != 6 or stress.shape[-2] == 0:
        raise InputError("tensors_mpa must have 6 columns and at least one row", "tensors_mpa")
    rows, stations = stress.shape[-2], len(frame.off_deg)
    if rows != stations:
        raise InputError(f"tensors_mpa has {rows} rows where {stations} were expected", "tensors_mpa")
    return stress


def _components(frame: NotchFrame, tensors_mpa: ArrayLike) -> FloatArray:
    stress = guard_rows(tensors_mpa, frame)
    x, y, z = frame.normal
    xx, yy, zz, xy, yz, zx = np.moveaxis(stress, -1, 0)
    traction = (xx * x + xy * y + zx * z, xy * x + yy * y + yz * z, zx * x + yz * y + zz * z)
    axes = (frame.normal, frame.across, frame.along)
    return np.stack([_dot(axis, traction) for axis in axes], axis=-1)


def frame_findings(tangent: ArrayLike, bisector: ArrayLike) -> tuple[Finding, ...]:
    """A caution when a bisector stands more than 1 deg off the plane across its tangent.

    tangent, bisector : directions (n, 3) [-], any length
    Raises            : InputError as `peak_components`
    """
    return _square_findings(_frame(tangent, bisector))


def _square_findings(frame: NotchFrame) -> tuple[Finding, ...]:
    off = frame.off_deg
    count = int(np.count_nonzero(off > _SHOWN_DEG))
    if count == 0:
        return ()
    worst = f"bisector up to {figure(off.max())} deg off the plane across the tangent"
    message = f"{worst} at {count} nodes; turned into it"
    return (caution("frame-not-square", message, field="bisector"),)


def guard_turning(tangent: ArrayLike, bisector: ArrayLike) -> None:
    """Refuses directions that turn round from one station to the next.

    Signed sliding and tearing peaks would turn with them, and their mean over neighbours would vanish.

    tangent, bisector : directions (n, 3) [-], any length, in order along the line
    Raises            : InputError at the station where a tangent turns by more than a right angle, or where
                        the bisector turns by more than 10 deg beyond the tangent
    """
    notch_frame(tangent, bisector)


def _guard_turns(frame: NotchFrame) -> None:
    turn = _turns_deg(frame.along)
    _refuse_turn("tangent", turn, turn > _TURN_DEG, "orient all of them along the line")
    twist = _turns_deg(frame.across)
    over = twist > turn + _TWIST_DEG
    _refuse_turn("bisector", twist, over, f"the line itself turns by {figure(_first(turn, over))} deg")


def _turns_deg(vectors: Vectors) -> FloatArray:
    x, y, z = vectors
    cosine = x[1:] * x[:-1] + y[1:] * y[:-1] + z[1:] * z[:-1]
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def _first(values: FloatArray, where: NDArray[np.bool_]) -> float:
    return float(values[int(np.argmax(where))]) if where.any() else 0.0


def _refuse_turn(name: str, turn_deg: FloatArray, over: NDArray[np.bool_], why: str) -> None:
    if over.any():
        index = int(np.argmax(over))
        raise InputError(
            f"{name} turns by {figure(turn_deg[index])} deg between stations {index} and {index + 1}: {why}",
            name,
            index + 1,
        )


def moving_average(
    peaks_mpa: ArrayLike, closed: bool, images: tuple[FloatArray | None, FloatArray | None] = (None, None)
) -> FloatArray:
    """Mean of each signed peak over three adjacent corner nodes of a line.

    peaks_mpa : stresses (n, ...) [MPa] in order along the line
    closed    : the line is a loop, so that its first and last node are neighbours
    images    : peaks of the node beyond the first and beyond the last one, where a plane of symmetry has them
    Returns   : means [MPa], same shape; at an open end over the two nodes that exist
    Raises    : InputError for an empty line, for a loop of fewer than three nodes
    Source    : [peak-stress-3d-tetrahedra-2018]
    """
    peaks = finite("peaks_mpa", peaks_mpa)
    count = len(peaks) if peaks.ndim else 0
    if count == 0 or (closed and count < 3):
        raise InputError("a line needs nodes, a closed line at least three", "peaks_mpa")
    if closed:
        return np.asarray((np.roll(peaks, 1, axis=0) + peaks + np.roll(peaks, -1, axis=0)) / 3.0)
    total, share = peaks.copy(), np.ones(count)
    total[1:] += peaks[:-1]
    total[:-1] += peaks[1:]
    share[1:] += 1.0
    share[:-1] += 1.0
    for node, image in zip((0, -1), images, strict=True):
        if image is not None:
            total[node] += image
            share[node] += 1.0
    return np.asarray(total / share.reshape(-1, *([1] * (peaks.ndim - 1))))


Vectors = tuple[FloatArray, FloatArray, FloatArray]


class NotchFrame(NamedTuple):
    """Unit normal, in-plane direction and tangent, each as columns x, y, z, and how far the bisector was off."""

    normal: Vectors
    across: Vectors
    along: Vectors
    off_deg: FloatArray


def _frame(tangent: ArrayLike, bisector: ArrayLike) -> NotchFrame:
    along, rough = _unit("tangent", tangent), _unit("bisector", bisector)
    off = _deviation_deg(along, rough)
    if (off > _REFUSED_DEG).any():
        raise InputError("bisector stands more than 10 deg off the plane across the tangent", "bisector")
    normal = _cross(along, rough)
    length = np.sqrt(_dot(normal, normal))
    normal = (normal[0] / length, normal[1] / length, normal[2] / length)
    return NotchFrame(normal, _cross(normal, along), along, off)


def _unit(name: str, vectors: ArrayLike) -> Vectors:
    x, y, z = _columns(name, vectors, 3).T
    length = np.sqrt(x * x + y * y + z * z)
    if not ((length > 0.0) & np.isfinite(length)).all():
        raise InputError(f"{name} holds a vector without a usable length", name)
    return x / length, y / length, z / length


def _columns(name: str, rows: ArrayLike, width: int) -> FloatArray:
    array = finite(name, rows)
    if array.ndim != 2 or array.shape[1] != width or len(array) == 0:
        raise InputError(f"{name} must have {width} columns and at least one row", name)
    return array


def _deviation_deg(along: Vectors, rough: Vectors) -> FloatArray:
    if len(along[0]) != len(rough[0]):
        raise InputError(f"bisector has {len(rough[0])} rows where {len(along[0])} were expected", "bisector")
    return np.asarray(np.degrees(np.arcsin(np.clip(np.abs(_dot(along, rough)), 0.0, 1.0))))


def _dot(a: Vectors, b: Vectors) -> FloatArray:
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


def _cross(a: Vectors, b: Vectors) -> Vectors:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]

"""Whether lengths of a line are millimetres by their size, or look like metres or inches."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, outside
from fatcore.require import positive

# Bounds are our own choice, from what the method is for: it spares meshes as fine as the control radius of
# 0.28 mm (steel). The weight falls with the mesh size: metres or inches make the stress too small.
_USUAL_MESH_MM = 0.28
_LEAST_MESH_MM = 0.056  # a fifth of it
_USUAL_RATIO, _LARGEST_RATIO = 50.0, 200.0  # size over mesh size; the finest that any constant asks for is 14
_SHORTEST_LINE_MM = 1.0  # 100 mm of weld in metres are 0.1
# what 12 mm of mesh, 25 mm of plate and 250 mm of weld become in inches
_INCHES_MESH, _INCHES_SIZE, _INCHES_LINE = 0.5, 1.0, 10.0


def scale_findings(
    element_size_mm: float, notch_size_mm: float | None, steps_mm: ArrayLike | None = None
) -> tuple[Finding, ...]:
    """At most one finding on lengths that hardly are millimetres, though they may agree with each other.

    element_size_mm : average element size [mm]; notch_size_mm: reference length of the mesh rule [mm], None
                      unknown
    steps_mm     : distances of neighbouring stations [mm]; None or empty: nothing is known
    Returns      : `outside` for a mesh below 0.056 mm, a size of more than 200 elements, a line below 1 mm; a
                   caution for a mesh below 0.28 mm, a size of more than 50 elements, and where all lengths
                   together look like inches
    Raises       : InputError for a length not above zero

    >>> [finding.severity for finding in scale_findings(0.001, 0.01)]
    ['outside']
    """
    mesh = float(positive("element_size_mm", element_size_mm))
    ratio = None if notch_size_mm is None else float(positive("notch_size_mm", notch_size_mm)) / mesh
    length = 0.0 if steps_mm is None else float(np.sum(positive("steps_mm", steps_mm)))
    wrong = [
        *([f"mesh size {as_given(mesh)} mm, below {as_given(_LEAST_MESH_MM)} mm"] if mesh < _LEAST_MESH_MM else []),
        *_finer(ratio, _LARGEST_RATIO),
        *([f"a line of {as_given(length)} mm"] if 0.0 < length < _SHORTEST_LINE_MM else []),
    ]
    if wrong:
        return (outside("lengths-not-millimetres", _text(wrong), field="mesh"),)
    doubtful = [
        *([f"mesh size {as_given(mesh)} mm, below {as_given(_USUAL_MESH_MM)} mm"] if mesh < _USUAL_MESH_MM else []),
        *_finer(ratio, _USUAL_RATIO),
        *_like_inches(mesh, notch_size_mm, length),
    ]
    return (caution("lengths-perhaps-not-millimetres", _text(doubtful), field="mesh"),) if doubtful else ()


def _finer(ratio: float | None, most: float) -> list[str]:
    if ratio is None or ratio <= most * (1.0 + 1e-9):
        return []
    return [f"the notch's size holds {against(ratio, most)} elements, more than {as_given(most)}"]


def _like_inches(mesh_mm: float, notch_size_mm: float | None, length_mm: float) -> list[str]:
    if notch_size_mm is None or not (
        mesh_mm < _INCHES_MESH and notch_size_mm < _INCHES_SIZE and 0.0 < length_mm < _INCHES_LINE
    ):
        return []
    return [
        f"mesh {as_given(mesh_mm)}, size {as_given(notch_size_mm)} and line {figure(length_mm)} mm are small together"
    ]


def _text(parts: list[str]) -> str:
    return f"{'; '.join(parts)}: lengths are millimetres; metres or inches give a stress that is too small"

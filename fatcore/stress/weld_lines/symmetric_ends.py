"""Ends of a weld line on a plane of symmetry, beyond which the line goes on as its mirror image."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal

import numpy as np

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.findings import Finding, outside
from fatcore.require import FloatArray

LineEnd = Literal["start", "end"]
LINE_ENDS: tuple[LineEnd, ...] = ("start", "end")
NOT_SYMMETRIC = "plane-not-symmetric"
_CLEAR = 0.3  # of the other part: coarse meshes do not make the vanishing part quite vanish [own choice]
_SEEN = 0.05  # of the largest peak on the line: smaller peaks tell nothing [own choice]
_SIGNS = np.array([1.0, 1.0, -1.0])  # opening and sliding are even, tearing is odd


def guard_symmetric_ends(symmetric_ends: Collection[str], closed: bool) -> None:
    """Refuses ends of a loop, and an end that is named twice."""
    if closed and symmetric_ends:
        raise InputError("a closed line has no ends", "symmetric_ends")
    if len(set(symmetric_ends)) < len(symmetric_ends):
        raise InputError("an end is named twice", "symmetric_ends")


def images_beyond(
    peaks_mpa: FloatArray, symmetric_ends: Collection[LineEnd]
) -> tuple[tuple[FloatArray | None, FloatArray | None], tuple[Finding, ...]]:
    """Peaks of the node beyond either end, the mirror image of the one beside it, with what speaks against a plane.

    Under a symmetric load tearing vanishes on the plane and changes its sign across it; under an
    antisymmetric one opening and sliding do. Which of the two a load case is shows on the plane.
    peaks_mpa : opening, sliding, tearing (n, 3) [MPa], n >= 2
    Source    : [independent-geometry]
    """
    found = [_image(peaks_mpa, end) if end in symmetric_ends else (None, None) for end in LINE_ENDS]
    return (found[0][0], found[1][0]), tuple(finding for _, finding in found if finding is not None)


def _image(peaks: FloatArray, end: LineEnd) -> tuple[FloatArray, Finding | None]:
    on_plane, beside = (peaks[0], peaks[1]) if end == "start" else (peaks[-1], peaks[-2])
    even, odd = float(np.hypot(on_plane[0], on_plane[1])), float(abs(on_plane[2]))
    least, most = sorted((even, odd))
    signs = _SIGNS if even >= odd else -_SIGNS
    if least <= max(_CLEAR * most, _SEEN * float(np.abs(peaks).max())):
        return signs * beside, None
    message = (
        f"at the {end}, said to lie on a plane of symmetry, opening and sliding are {figure(even)} MPa and tearing"
        f" {figure(odd)} MPa, of which one vanishes on such a plane"
    )
    return signs * beside, outside(NOT_SYMMETRIC, message, field="symmetric_ends")

"""What ends the growth of a crack: a size, yield or fracture of the ligament, loss of stiffness, a number
of cycles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.cracks.bodies import CentreCrack
from fatcore.cracks.body import Body, reference_mpa
from fatcore.cracks.fracture import Line, Strength, line_excess
from fatcore.cracks.loading import Drive
from fatcore.cracks.stressing import Stressed
from fatcore.errors import InputError
from fatcore.require import FloatArray, positive, within

__all__ = ["End", "end_excess"]


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """Where growth ends, whichever comes first; the body itself (thickness, width, end of a table) always
    does.

    depth_mm, half_length_mm : sizes
    toughness_mpa_sqrt_mm    : largest stress intensity reaches it
    yield_strength_mpa       : reference stress of the ligament reaches it
    strength, line           : state meets the failure assessment line
    stiffness_ratio          : stiffness of the joint over its value without crack falls to it (with sharing)
    cycles                   : number of cycles
    go_on_through            : a surface crack that reaches the far side goes on as a through crack
    """

    depth_mm: float | None = None
    half_length_mm: float | None = None
    toughness_mpa_sqrt_mm: float | None = None
    yield_strength_mpa: float | None = None
    strength: Strength | None = None
    line: Line = "continuous"
    stiffness_ratio: float | None = None
    cycles: float | None = None
    go_on_through: bool = False

    def __post_init__(self) -> None:
        names = ("depth_mm", "half_length_mm", "toughness_mpa_sqrt_mm", "yield_strength_mpa", "cycles")
        for name in names:
            if getattr(self, name) is not None:
                positive(name, getattr(self, name))
        if self.stiffness_ratio is not None:
            within("stiffness_ratio", self.stiffness_ratio, 0.0, 1.0, open_low=True, open_high=True)

    def checked_for(self, stressed: Stressed) -> None:
        """InputError when an end has no meaning for the body."""
        if self.stiffness_ratio is not None and stressed.sharing is None:
            raise InputError("an end by stiffness needs sharing", "stiffness_ratio")
        by_stress = self.yield_strength_mpa is not None or self.strength is not None
        if by_stress and stressed.body.carries_stress:
            raise InputError(
                "a crack given by its stress intensity has no ligament stress", "yield_strength_mpa"
            )
        endless = not np.isfinite(stressed.body.largest()).any()
        bounds = (self.depth_mm, self.half_length_mm, self.toughness_mpa_sqrt_mm, self.strength, self.cycles)
        if endless and all(bound is None for bound in bounds):
            raise InputError("a crack in a wide plate needs an end: a size, a toughness or cycles", "end")


def end_excess(
    end: End,
    stressed: Stressed,
    drive: Drive,
    sizes: tuple[FloatArray, FloatArray],
    cycles: FloatArray,
    added: FloatArray,
) -> dict[str, FloatArray]:
    """Functions that pass zero upward where growth ends, by reason, at n states.

    sizes : depth, half length (alike for one length); cycles; added : compliance (3 x n)
    """
    depth, length = sizes
    found = _size_excess(end, stressed.body, depth, length)
    if end.cycles is not None:
        found["cycles"] = cycles / end.cycles - 1.0
    if end.toughness_mpa_sqrt_mm is not None:
        found["fracture"] = _largest(stressed, drive, sizes, added) / end.toughness_mpa_sqrt_mm - 1.0
    if end.yield_strength_mpa is not None:
        found["ligament-yield"] = _reference(stressed, drive, sizes, added) / end.yield_strength_mpa - 1.0
    if end.strength is not None:
        largest = _largest(stressed, drive, sizes, added)
        reference = _reference(stressed, drive, sizes, added)
        found["failure-assessment"] = line_excess(largest, reference, end.strength, end.line)
    state = stressed.state(added) if end.stiffness_ratio is not None else None
    if state is not None:
        found["stiffness"] = np.asarray(end.stiffness_ratio) - state.stiffness_ratio
    return found


def _size_excess(end: End, body: Body, depth: FloatArray, length: FloatArray) -> dict[str, FloatArray]:
    largest_depth, largest_length = body.largest()
    found = {body.end_reasons[0]: np.log(depth / largest_depth)}
    if body.two_lengths and np.isfinite(largest_length):
        found[body.end_reasons[1]] = np.log(length / largest_length)
    through = isinstance(body, CentreCrack)
    if end.depth_mm is not None and not through:
        found["size"] = np.log(depth / end.depth_mm)
    if end.half_length_mm is not None and (body.two_lengths or through):
        found["length"] = np.log(length / end.half_length_mm)
    return found


def _largest(
    stressed: Stressed, drive: Drive, sizes: tuple[FloatArray, FloatArray], added: FloatArray
) -> FloatArray:
    return np.asarray(drive.largest(stressed.unit(*sizes, added)).max(axis=0))


def _reference(
    stressed: Stressed, drive: Drive, sizes: tuple[FloatArray, FloatArray], added: FloatArray
) -> FloatArray:
    """Largest reference stress over both ends of the loading."""
    membrane, bending = stressed.stresses(sizes[0], added)
    static = stressed.stress.static_membrane_mpa, stressed.stress.static_bending_mpa
    values = [
        reference_mpa(stressed.body, *sizes, factor * membrane + static[0], factor * bending + static[1])
        for factor in (drive.loading.maximum.max(), drive.loading.minimum.min())
    ]
    return np.maximum(*values)

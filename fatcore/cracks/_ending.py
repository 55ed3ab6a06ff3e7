"""Functions that pass zero upward where growth ends."""

from __future__ import annotations

import numpy as np

from fatcore.cracks._body import Body, reference_mpa
from fatcore.cracks._vanishing import SHARE, VANISHES, falling_drive
from fatcore.cracks.bodies import CentreCrack
from fatcore.cracks.ends import End
from fatcore.cracks.fracture import lasting_excess
from fatcore.cracks.loading import Drive
from fatcore.cracks.stressing import Stressed
from fatcore.require import FloatArray

__all__ = ["Ending"]


class Ending:
    """The ends of one body: functions that pass zero upward where growth ends."""

    def __init__(self, end: End, stressed: Stressed, drive: Drive) -> None:
        self.end, self.stressed, self.drive = end, stressed, drive
        self.falling = falling_drive(stressed)

    def excess(
        self, sizes: tuple[FloatArray, FloatArray], cycles: FloatArray, added: FloatArray
    ) -> dict[str, FloatArray]:
        """By reason, at n states.

        sizes : depth, half length (alike for one length); cycles; added : compliance (3 x n)
        """
        end, stressed, drive = self.end, self.stressed, self.drive
        found = _size_excess(end, stressed.body, *sizes)
        if self.falling is not None:
            found[VANISHES] = self.falling.excess(stressed.unit(*sizes, added), sizes[0])
        if end.cycles is not None:
            found["cycles"] = cycles / end.cycles - 1.0
        if end.toughness_mpa_sqrt_mm is not None:
            found["fracture"] = _largest(stressed, drive, sizes, added) / end.toughness_mpa_sqrt_mm - 1.0
        if end.yield_strength_mpa is not None:
            found["ligament-yield"] = _reference(stressed, drive, sizes, added) / end.yield_strength_mpa - 1.0
        if end.strength is not None:
            unit = stressed.unit(*sizes, added)
            found["failure-assessment"] = lasting_excess(
                drive.largest(unit) - unit.static,
                unit.static,
                _reference(stressed, drive, sizes, added, lasting=0.0),
                _reference(stressed, drive, sizes, added),
                end.strength,
                end.line,
            ).max(axis=0)
        state = stressed.state(added) if end.stiffness_ratio is not None else None
        if state is not None:
            found["stiffness"] = np.asarray(end.stiffness_ratio) - state.stiffness_ratio
        return found

    def at_rest(self, reason: str, depth_mm: float) -> str:
        """What a stop means: a crack that comes to rest on the way to zero driving force is not at rest."""
        falls = self.falling is not None and self.falling.share == SHARE and depth_mm > self.falling.peak_mm
        return VANISHES if reason == "arrest" and falls else reason


def _size_excess(end: End, body: Body, depth: FloatArray, length: FloatArray) -> dict[str, FloatArray]:
    largest_depth, largest_length = body.largest()
    found = {body.end_reasons[0]: np.log(depth / largest_depth)}
    if body.two_lengths and np.isfinite(largest_length):
        found[body.end_reasons[1]] = np.log(length / largest_length)
    through = isinstance(body, CentreCrack)
    if end.depth_mm is not None and not through:
        found["size"] = np.log(depth / end.depth_mm)
    if end.half_length_mm is not None:
        found["length"] = np.log(length / end.half_length_mm)
    return found


def _largest(
    stressed: Stressed, drive: Drive, sizes: tuple[FloatArray, FloatArray], added: FloatArray
) -> FloatArray:
    return np.asarray(drive.largest(stressed.unit(*sizes, added)).max(axis=0))


def _reference(
    stressed: Stressed,
    drive: Drive,
    sizes: tuple[FloatArray, FloatArray],
    added: FloatArray,
    lasting: float = 1.0,
) -> FloatArray:
    """Largest reference stress over both ends of the loading; lasting is a factor on the lasting stress."""
    membrane, bending = stressed.stresses(sizes[0], added)
    stress = stressed.stress
    static = lasting * stress.static_membrane_mpa, lasting * stress.static_bending_mpa
    values = [
        reference_mpa(stressed.body, *sizes, factor * membrane + static[0], factor * bending + static[1])
        for factor in (drive.loading.maximum.max(), drive.loading.minimum.min())
    ]
    return np.maximum(*values)

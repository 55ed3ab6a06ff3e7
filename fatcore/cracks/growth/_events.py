"""Functions that pass zero upward where growth ends."""

from __future__ import annotations

import numpy as np

from fatcore.cracks.configurations.configuration import CrackConfiguration, reference_mpa
from fatcore.cracks.configurations.stress_field import Stressed
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.fracture.assessment import lasting_excess
from fatcore.cracks.growth._vanishing_drive import VANISHES, SeenForce, falling_drive
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.require import FloatArray


class Ending:
    """The ends of one crack: functions that pass zero upward where growth ends."""

    def __init__(self, end: EndCriteria, stressed: Stressed, drive: Drive) -> None:
        self.end, self.stressed, self.drive = end, stressed, drive
        self.falling = falling_drive(stressed, drive)
        self.seen = SeenForce(drive) if stressed.crack.two_lengths else None

    def meets(self, unit: UnitIntensity, depth: FloatArray, length: FloatArray) -> None:
        """Takes the states of a solved step: where two lengths grow, no size foretells the driving force."""
        if self.seen is not None:
            self.falling = self.seen.met(unit, depth, length)

    def excess(
        self,
        sizes: tuple[FloatArray, FloatArray],
        cycles: FloatArray,
        added: FloatArray,
        reason: str = VANISHES,
    ) -> dict[str, FloatArray]:
        """By reason, at n states.

        sizes  : depth, half length (alike for one length); cycles; added : compliance (3 x n)
        reason : the one that is looked for; the falling force takes a stress intensity of its own, and is
                 left out where another one is
        """
        end, stressed, drive = self.end, self.stressed, self.drive
        found = _size_excess(end, stressed.crack, *sizes)
        if self.falling is not None and reason == VANISHES:
            found[VANISHES] = self.falling.excess(drive, stressed.unit(*sizes, added), *sizes)
        if end.cycles is not None:
            found["cycles"] = cycles / end.cycles - 1.0
        if end.toughness_mpa_sqrt_mm is not None:
            found["fracture"] = _largest(stressed, drive, sizes, added) / end.toughness_mpa_sqrt_mm - 1.0
        if end.yield_strength_mpa is not None:
            found["ligament-yield"] = _reference(stressed, drive, sizes, added) / end.yield_strength_mpa - 1.0
        if end.strength is not None:
            unit = drive.credited(stressed.unit(*sizes, added))
            found["failure-assessment"] = lasting_excess(
                drive.largest(unit) - unit.static,
                unit.static,
                _reference(stressed, drive, sizes, added, lasting=(0.0,)),
                _reference(stressed, drive, sizes, added),
                end.strength,
                end.line or "continuous",
            ).max(axis=0)
        state = stressed.state(added) if end.stiffness_ratio is not None else None
        if state is not None:
            found["stiffness"] = np.asarray(end.stiffness_ratio) - state.stiffness_ratio
        return found

    def at_rest(self, reason: str, depth_mm: float) -> str:
        """What a stop means: a crack that comes to rest on the way to zero driving force is not at rest."""
        falling = None if self.seen is not None else self.falling
        falls = falling is not None and falling.turns and depth_mm**2 > falling.peak_area_mm2
        return VANISHES if reason == "arrest" and falls else reason


def _size_excess(
    end: EndCriteria, crack: CrackConfiguration, depth: FloatArray, length: FloatArray
) -> dict[str, FloatArray]:
    found = crack.end_excess(depth, length)
    if end.depth_mm is not None and "depth_mm" in crack.end_sizes:  # a through crack has left its depth behind
        found["size"] = np.log(depth / end.depth_mm)
    if end.half_length_mm is not None:
        found["length"] = np.log(length / end.half_length_mm)
    return found


def _largest(stressed: Stressed, drive: Drive, sizes: tuple[FloatArray, FloatArray], added: FloatArray) -> FloatArray:
    return np.asarray(drive.largest(stressed.unit(*sizes, added)).max(axis=0))


def _reference(
    stressed: Stressed,
    drive: Drive,
    sizes: tuple[FloatArray, FloatArray],
    added: FloatArray,
    lasting: tuple[float, ...] = (0.0, 1.0),
) -> FloatArray:
    """Largest reference stress over both ends of the loading and no load, and over factors on the lasting stress.

    Lasting stress may relax, and tension of it unloads a ligament that the cycle presses: the worse counts. Without
    load it counts where it opens the crack: faces that are pressed together carry what presses them.
    """
    membrane, bending = stressed.stresses(sizes[0], added)
    stress = stressed.stress
    static = stress.static_membrane_mpa, stress.static_bending_mpa
    values = [
        reference_mpa(
            stressed.crack, *sizes, factor * membrane + share * static[0], factor * bending + share * static[1]
        )
        for factor in (drive.loading.maximum.max(), drive.loading.minimum.min())
        for share in lasting
    ]
    if any(static) and any(lasting):
        opens = (np.asarray(stressed.unit(*sizes, added).static) > 0.0).any(axis=0)
        values.append(reference_mpa(stressed.crack, *sizes, *(np.where(opens, part, 0.0) for part in static)))
    return np.asarray(np.max(values, axis=0))

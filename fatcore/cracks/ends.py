"""What ends the growth of a crack: a size, yield or fracture of the ligament, loss of stiffness, a number
of cycles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.cracks.fracture import Line, Strength
from fatcore.cracks.stressing import Stressed
from fatcore.errors import InputError
from fatcore.require import positive, within

__all__ = ["End"]


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
        if self.line != "continuous" and self.strength is None:
            raise InputError("an assessment line has a meaning only with strength", "line")

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

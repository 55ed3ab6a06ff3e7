"""What ends the growth of a crack: a size, yield or fracture of the ligament, loss of stiffness, a number
of cycles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import doc

from fatcore.bounds import Positive, Probability, guard
from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.stress_field import Stressed
from fatcore.cracks.fracture.assessment import Line, Strength
from fatcore.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class EndCriteria:
    """Where growth ends, whichever comes first; the crack configuration (thickness, width, end of a table) always does.

    depth_mm, half_length_mm : sizes that the crack has; the one size of a table answers to either name
    toughness_mpa_sqrt_mm    : largest stress intensity reaches it
    yield_strength_mpa       : reference stress of the ligament reaches it
    strength, line           : state meets the failure assessment line (a line needs a strength; None is
                               continuous)
    stiffness_ratio          : stiffness of the joint over its value without crack falls to it (with sharing)
    cycles                   : number of cycles
    grow_through            : a surface crack that reaches the far side goes on as a through crack
    """

    depth_mm: Positive | None = None
    half_length_mm: Positive | None = None
    toughness_mpa_sqrt_mm: Positive | None = None
    yield_strength_mpa: Positive | None = None
    strength: Strength | None = None
    line: Annotated[Line | None, doc("failure assessment line, needs strength; null is continuous")] = None
    stiffness_ratio: Probability | None = None
    cycles: Positive | None = None
    grow_through: bool = False

    def __post_init__(self) -> None:
        guard(self)
        if self.line is not None and self.strength is None:
            raise InputError("an assessment line has a meaning only with strength", "line")

    @property
    def by_strength(self) -> bool:
        """True when fracture or collapse may end growth."""
        bounds = (self.toughness_mpa_sqrt_mm, self.yield_strength_mpa, self.strength)
        return any(bound is not None for bound in bounds)

    @property
    def not_looked_for(self) -> tuple[str, ...]:
        """Which of fracture and collapse no end looks for, in words."""
        found = []
        if self.toughness_mpa_sqrt_mm is None and self.strength is None:
            found.append("fracture (no toughness)")
        if self.yield_strength_mpa is None and self.strength is None:
            found.append("collapse (no yield strength)")
        return tuple(found)

    def sizes_for(self, crack: CrackConfiguration) -> None:
        """InputError for a size that the crack does not have, or two names of its one size."""
        known = crack.end_sizes
        given = [name for name in ("depth_mm", "half_length_mm") if getattr(self, name) is not None]
        for name in given:
            if name not in known:
                has = " and ".join(known) or "neither depth_mm nor half_length_mm"
                raise InputError(f"this crack has no {name}: as an end it takes {has}", name)
        if len(given) == 2 and not crack.two_lengths:
            raise InputError("both name the one size of this crack: give one of them", given[1])

    def checked_for(self, stressed: Stressed) -> None:
        """InputError when an end has no meaning for the crack."""
        if self.stiffness_ratio is not None and stressed.sharing is None:
            raise InputError("an end by stiffness needs sharing", "stiffness_ratio")
        if stressed.crack.carries_stress:
            for name in ("yield_strength_mpa", "strength"):
                if getattr(self, name) is not None:
                    raise InputError("a crack given by its stress intensity has no ligament stress", name)
        infinite = not np.isfinite(stressed.crack.largest()).any()
        bounds = (self.depth_mm, self.half_length_mm, self.toughness_mpa_sqrt_mm, self.strength, self.cycles)
        if infinite and all(bound is None for bound in bounds):
            raise InputError("a crack in a wide plate needs an end: a size, a toughness or cycles")

"""How the load ratio enters a growth law besides the choice of its constants."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le, doc

from fatcore.bounds import Positive, guard
from fatcore.cracks.driving.closure import Constraint, StressOverFlow, linear_opening, newman_opening, opening_limit
from fatcore.errors import InputError
from fatcore.findings import Limit
from fatcore.require import FloatArray

_TINY = 1e-12
CONSTRAINT = "of newman: 1 plane stress (most closure) to 3 plane strain"
STRESS_OVER_FLOW = "of newman: largest stress over flow strength"
_CONSTANTS: dict[str, tuple[str, ...]] = {
    "none": (),
    "walker": ("walker_exponent",),
    "forman": ("toughness_mpa_sqrt_mm",),
    "elber": (),
    "schijve": (),
    "newman": ("constraint", "stress_over_flow"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRatioEffect:
    """How the load ratio enters besides the choice of constants; every kind takes its own constants only.

    kind             : none | walker | forman | elber | schijve | newman
    walker_exponent  : gamma of dK / (1 - R)^(1 - gamma), 0 to 1
    toughness_mpa_sqrt_mm : K_c of C dK^m / ((1 - R) K_c - dK); the coefficient then carries one more
                            MPa√mm
    constraint, stress_over_flow : of the closure function "newman"
    Below R = 0      : walker and forman speak of R from 0 on: the range given there is the open part K_max,
                       and R counts as 0, so that the crack runs at K_max = K_c; elber, schijve and newman
                       take the whole range and find its open part themselves, see `closure`
    Raises           : InputError for a constant that the kind needs or does not take
    Source           : [walker-1970], [forman-1967], [elber-1971], [schijve-closure], [newman-1984]
    """

    kind: Literal["none", "walker", "forman", "elber", "schijve", "newman"] = "none"
    walker_exponent: Annotated[float, Ge(0.0), Le(1.0)] | None = None
    toughness_mpa_sqrt_mm: Annotated[Positive | None, doc("K_c of forman")] = None
    constraint: Annotated[Constraint | None, doc(CONSTRAINT)] = None
    stress_over_flow: Annotated[StressOverFlow | None, doc(STRESS_OVER_FLOW)] = None

    def __post_init__(self) -> None:
        guard(self)
        for name in ("walker_exponent", "toughness_mpa_sqrt_mm", "constraint", "stress_over_flow"):
            if (getattr(self, name) is None) == (name in _CONSTANTS[self.kind]):
                word = "needs" if name in _CONSTANTS[self.kind] else "does not take"
                raise InputError(f"the load ratio effect {self.kind} {word} {name}", name)

    def _number(self, name: str) -> float:
        """A constant that the kind has."""
        return float(getattr(self, name))

    @property
    def closure(self) -> bool:
        """True when the law itself finds the open part of a range, so that the whole range is given to it."""
        return self.kind in ("elber", "schijve", "newman")

    @property
    def limit(self) -> Limit | None:
        """Load ratios that the source speaks of; None without an effect."""
        if self.closure:
            return opening_limit(self.kind)
        source = {"walker": "walker-1970", "forman": "forman-1967"}.get(self.kind)
        return None if source is None else Limit("load_ratio", 0.0, 1.0, source, f"{self.kind} law")

    def range_factor(self, load_ratio: FloatArray) -> FloatArray | float:
        """Factor on the range before it enters the stages."""
        if self.kind == "walker":
            left = np.clip(1.0 - load_ratio, _TINY, 1.0)
            return np.asarray(left ** (self._number("walker_exponent") - 1.0))
        if self.kind == "newman":
            return newman_opening(load_ratio, self._number("constraint"), self._number("stress_over_flow"))
        return linear_opening(self.kind, load_ratio) if self.closure else 1.0

    def rate_divisor(self, delta_k: FloatArray, load_ratio: FloatArray) -> FloatArray:
        """What the rate of kind "forman" is divided by; zero or less means that the crack runs."""
        return (1.0 - np.maximum(load_ratio, 0.0)) * self._number("toughness_mpa_sqrt_mm") - delta_k

"""The three modes of loading a notch, and one value for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fatcore.require import FloatArray

Mode = Literal["opening", "sliding", "tearing"]
MODES: tuple[Mode, ...] = ("opening", "sliding", "tearing")


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeValues:
    """One number per mode; sliding is None where that mode is left out."""

    opening: float
    sliding: float | None
    tearing: float

    def as_array(self) -> FloatArray:
        """Opening, sliding, tearing as an array (3,); a mode left out counts zero."""
        return np.array([self.opening, self.sliding or 0.0, self.tearing])

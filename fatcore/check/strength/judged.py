"""Cycles as the curves see them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Cycles of some stations in the terms of the curves.

    equivalent_mpa, ratio, second_mpa : (s, c); ratio is the biaxiality ratio (inf without opening and on a
                                        basis that has none), second the shear range where it is judged apart
    count                             : (c,)
    """

    equivalent_mpa: FloatArray
    ratio: FloatArray
    second_mpa: FloatArray
    count: FloatArray

    def of(self, rows: Sequence[int] | slice | NDArray[np.intp]) -> Judged:
        """The cycles of some stations."""
        return Judged(
            equivalent_mpa=self.equivalent_mpa[rows],
            ratio=self.ratio[rows],
            second_mpa=self.second_mpa[rows],
            count=self.count,
        )

    def followed_by(self, other: Judged) -> Judged:
        """With the same cycles of further stations behind them."""
        return replace(
            self,
            equivalent_mpa=np.concatenate([self.equivalent_mpa, other.equivalent_mpa]),
            ratio=np.concatenate([self.ratio, other.ratio]),
            second_mpa=np.concatenate([self.second_mpa, other.second_mpa]),
        )

"""Cycles as load factors: constant cycling, or a block of entries that repeats, and what overloads do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.driving.transitions import TRANSITIONS, Transitions, transition_cycles
from fatcore.errors import InputError, UnknownError
from fatcore.require import FloatArray, finite, one_length, positive


@dataclass(frozen=True, slots=True, kw_only=True)
class Retardation:
    """How overloads slow a crack down.

    model              : wheeler (with its exponent) or willenborg (generalised when shut_off_ratio is given)
    yield_strength_mpa : for the plastic zones; zone_state : plane-stress or plane-strain zones
    """

    yield_strength_mpa: float
    model: Literal["wheeler", "willenborg"] = "wheeler"
    exponent: float = 1.5
    zone_state: Literal["plane-stress", "plane-strain"] = "plane-stress"
    shut_off_ratio: float | None = None
    threshold_mpa_sqrt_mm: float = 0.0

    def __post_init__(self) -> None:
        positive("yield_strength_mpa", self.yield_strength_mpa)
        if self.exponent < 0.0:
            raise InputError("exponent must not be negative", "exponent")
        if self.shut_off_ratio is not None and self.shut_off_ratio <= 1.0:
            raise InputError("shut_off_ratio must be greater than 1", "shut_off_ratio")


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackLoading:
    """One block of cycles that repeats: load factors on the unit stress state, in their order.

    maximum, minimum : load factors of each entry, maximum >= minimum
    count            : cycles of each entry
    retardation      : effect of the order, None leaves it out
    transitions      : added: the last entries are the cycles between the entries given, see `transitions`;
                       in-entries: the entries hold every cycle
    added_entries    : how many entries at the end were added
    """

    maximum: FloatArray
    minimum: FloatArray
    count: FloatArray
    retardation: Retardation | None = None
    transitions: Transitions = "added"
    added_entries: int = 0

    @property
    def cycles_per_block(self) -> float:
        """Cycles of the entries given in one block."""
        return float(self.count[: self.count.size - self.added_entries].sum())

    @property
    def is_constant(self) -> bool:
        """True for one entry."""
        return self.count.size == 1


def constant_loading(maximum: float = 1.0, minimum: float = 0.0) -> CrackLoading:
    """Equal cycles between two load factors; InputError for a maximum below the minimum."""
    if maximum < minimum:
        raise InputError("maximum is less than minimum", "maximum")
    return block_loading([maximum], [minimum], [1.0])


def block_loading(
    maximum: Sequence[float] | ArrayLike,
    minimum: Sequence[float] | ArrayLike,
    cycles: Sequence[float] | ArrayLike,
    retardation: Retardation | None = None,
    transitions: Transitions = "added",
) -> CrackLoading:
    """A block that repeats, entries in their order.

    maximum, minimum : load factors; cycles : number of cycles of each entry, > 0
    transitions      : added: cycles between the entries count as entries of their own (on the safe side);
                       in-entries: the entries come from a count that holds these cycles already
    Raises           : InputError for columns of different length, or a maximum below the minimum
    """
    if transitions not in TRANSITIONS:
        raise UnknownError("transitions", transitions, TRANSITIONS, "transitions")
    high, low = finite("maximum", maximum), finite("minimum", minimum)
    count = positive("cycles", cycles)
    one_length(maximum=high, minimum=low, cycles=count)
    wrong = np.flatnonzero(high < low)
    if wrong.size:
        raise InputError("maximum is less than minimum", "maximum", int(wrong[0]))
    if transitions == "in-entries":
        return CrackLoading(maximum=high, minimum=low, count=count, retardation=retardation, transitions=transitions)
    extra = transition_cycles(high, low)
    return CrackLoading(
        maximum=np.concatenate([high, extra.maximum]),
        minimum=np.concatenate([low, extra.minimum]),
        count=np.concatenate([count, extra.cycles]),
        retardation=retardation,
        added_entries=extra.cycles.size,
    )

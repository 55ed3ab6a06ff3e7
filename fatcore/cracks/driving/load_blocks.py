"""Cycles as load factors: constant cycling, or a block of entries that repeats, and what overloads do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Gt, Le, doc

from fatcore.bounds import Exponent, NonNegative, Number, NumberColumn, Positive, PositiveColumn, guard, guarded
from fatcore.cracks.driving.transitions import Transitions, transition_cycles
from fatcore.errors import InputError
from fatcore.require import FloatArray, one_length

TRANSITIONS_MEANING = "cycles between entries: added once a repeat, or held by entries that come from a count"
ShutOff = Annotated[float, Gt(1.0), Le(100.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Retardation:
    """How overloads slow a crack down.

    model              : wheeler (with its exponent) or willenborg (generalised, with a threshold, when
                         shut_off_ratio is given)
    yield_strength_mpa : for the plastic zones; zone_state : plane-stress or plane-strain zones
    """

    model: Literal["wheeler", "willenborg"]
    yield_strength_mpa: Positive
    exponent: Annotated[Exponent | None, doc("of wheeler, fitted to tests")] = None
    zone_state: Literal["plane-stress", "plane-strain"] = "plane-stress"
    shut_off_ratio: Annotated[ShutOff | None, doc("of the generalised form of willenborg")] = None
    threshold_mpa_sqrt_mm: Annotated[NonNegative | None, doc("of the generalised form")] = None

    def __post_init__(self) -> None:
        guard(self)
        wheeler, generalised = self.model == "wheeler", self.shut_off_ratio is not None
        if wheeler and generalised:
            raise InputError("the model does not use shut_off_ratio", "shut_off_ratio")
        for name, needed in (("exponent", wheeler), ("threshold_mpa_sqrt_mm", generalised)):
            if needed != (getattr(self, name) is not None):
                raise InputError(f"the model {'needs' if needed else 'does not use'} {name}", name)


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


@guarded
def constant_loading(maximum: Number = 1.0, minimum: Number = 0.0) -> CrackLoading:
    """Equal cycles between two load factors; InputError for a maximum below the minimum."""
    if maximum < minimum:
        raise InputError("maximum is less than minimum", "maximum")
    return block_loading([maximum], [minimum], [1.0])


@guarded
def block_loading(
    maximum: NumberColumn,
    minimum: NumberColumn,
    cycles: PositiveColumn,
    retardation: Retardation | None = None,
    transitions: Annotated[Transitions, doc(TRANSITIONS_MEANING)] = "added",
) -> CrackLoading:
    """A block that repeats, entries in their order.

    maximum, minimum : load factors; cycles : number of cycles of each entry, > 0
    transitions      : added: cycles between the entries count as entries of their own (on the safe side);
                       in-entries: the entries come from a count that holds these cycles already
    Raises           : InputError for columns of different length, or a maximum below the minimum
    """
    high, low, count = (np.asarray(column, dtype=np.float64) for column in (maximum, minimum, cycles))
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

"""Strengths of several lines as one, for lines that differ by nothing but the weights of the modes."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fatcore.check.strength.strength import InteractionStrength, PeakStrength, Strength
from fatcore.require import FloatArray

_SHARED = ("lower", "upper", "relieved", "rule")  # what has to agree besides the curves


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lines whose stations stand one after the other and share curves and rule.

    parts    : stations of each line by its place among all lines
    unit_mpa : stresses of the load cases at all stations, (n, m, k)
    strength : with weights of every station, (n, m)
    """

    parts: Mapping[int, slice]
    unit_mpa: FloatArray
    strength: Strength

    def weighted_mpa(self, stations: NDArray[np.intp]) -> FloatArray:
        """Stresses of the load cases at some stations, times the weights of their modes, (s, m, k) [MPa]."""
        weights = self.strength.weights
        return (weights if weights.ndim == 1 else weights[stations])[..., np.newaxis] * self.unit_mpa[stations]


def group_lines(
    units_mpa: Mapping[int, FloatArray], strengths: Mapping[int, Strength], *, together: bool
) -> list[Group]:
    """Lines of one kind together, or each apart; units_mpa: stresses of the load cases of each line, (n, m, k)."""
    kinds: dict[Hashable, list[int]] = {}
    for place in units_mpa:
        kinds.setdefault(_kind(strengths[place]) if together else place, []).append(place)
    return [_join_lines({place: units_mpa[place] for place in places}, strengths) for places in kinds.values()]


def _join_lines(units_mpa: Mapping[int, FloatArray], strengths: Mapping[int, Strength]) -> Group:
    """Lines of one kind as one."""
    sizes = [len(unit) for unit in units_mpa.values()]
    ends = np.cumsum(sizes).tolist()
    return Group(
        parts={place: slice(end - size, end) for place, size, end in zip(units_mpa, sizes, ends, strict=True)},
        unit_mpa=np.concatenate(list(units_mpa.values())),
        strength=_join([strengths[place] for place in units_mpa], sizes),
    )


def _kind(strength: Strength) -> Hashable:
    modes = strength.weights.size  # plain strengths judge peaks of three modes, or normal and shear stress
    return type(strength), modes, strength.curves, *(getattr(strength, name, None) for name in _SHARED)


def _join(strengths: Sequence[Strength], sizes: Sequence[int]) -> Strength:
    first = strengths[0]
    if len(strengths) == 1 or isinstance(first, InteractionStrength):
        return first
    bands = [one.ratio_band for one in strengths if isinstance(one, PeakStrength)]
    published = [each for each in (getattr(one, "published_weights", None) for one in strengths) if each is not None]
    return replace(  # type: ignore[type-var]
        first,
        weights=np.repeat([each.weights for each in strengths], sizes, axis=0),
        published_weights=np.repeat(published, sizes, axis=0) if published else None,
        **({"ratio_band": np.repeat(np.array(bands), sizes, axis=0)} if bands else {}),
    )

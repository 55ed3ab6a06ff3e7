"""Which changes of a number or word make a check judge more leniently, all else the same."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from fatcore.errors import FatcoreError

from ..topics.cracks.law import law_by_name
from ..topics.curves.models import named_curve

Direction = Literal["less", "more"]
# of a growing crack, by itself and as part of a check
_OF_GROWTH: dict[str, Direction] = {
    "law.stages.coefficient": "less",
    "law.stages.exponent": "less",  # stress intensities are far above 1 in either unit
    "law.threshold_mpa_sqrt_mm": "more",
    "end.depth_mm": "more",
    "end.half_length_mm": "more",
    "end.strength.toughness_mpa_sqrt_mm": "more",
    "end.strength.yield_strength_mpa": "more",
    "end.strength.ultimate_strength_mpa": "more",
    "end.toughness_mpa_sqrt_mm": "more",
    "end.yield_strength_mpa": "more",
    "crack.crack_size_mm": "less",
    "crack.start_mm": "less",
    "crack.toe_footprint_mm": "less",
    "crack.thickness_mm": "more",
    "crack.width_mm": "more",
    "crack.half_width_mm": "more",
    "loading.retardation.exponent": "more",
    "loading.retardation.shut_off_ratio": "less",
    "loading.retardation.threshold_mpa_sqrt_mm": "more",
    "loading.retardation.yield_strength_mpa": "less",
    "sharing.members.axial_stiffness_n_per_mm": "more",
    "sharing.members.rotational_stiffness_nmm": "more",
}
# what ends a life or makes a crack grow faster where it is stated, and does not where it is left out
_BOUNDS = ("end.", "growth.end.", "crack.toe_footprint_mm", "growth.crack.toe_footprint_mm")
# words from the severest to the most lenient
_ORDERS = {"below_knee": ("elementary", "reduced-slope", "as-curve", "original")}
_ADDED = ("loading.retardation", "sharing", "growth.sharing")  # what makes a life longer as soon as it is there
# of the blocks of a growing crack; 1 where less does less damage, -1 where more does
_GROWN = {"loading.maximum": 1.0, "loading.minimum": -1.0, "loading.cycles": 1.0}
_RANGES = (150.0, 300.0, 600.0, 1200.0)  # of stress intensity [MPa√mm] at which two laws are compared
# by the name of the input, without places in lists and names of the user
LOOSER: dict[str, Direction] = {
    "target.repeats": "less",
    "target.survival_probability": "less",
    "target.damage_limit": "more",
    "target.design_fatigue_factor": "less",
    "target.load_factor": "less",
    "target.resistance_factor": "less",
    "loading.repeats": "less",
    "loading.cycles": "less",
    "loading.blocks.cycles": "less",
    "lines.exclude_ends_mm": "more",
    "growth.crack.depth_mm": "less",
    "growth.crack.half_length_mm": "less",
    "repeats": "less",
    "survival_probability": "less",
    "damage_limit": "more",
    "design_fatigue_factor": "less",
    "resistance_factor": "less",
    "hysteresis_threshold_mpa": "more",
    "crack.depth_mm": "less",
    "crack.half_length_mm": "less",
    "confidence": "less",
    **{f"{part}{name}": direction for part in ("", "growth.") for name, direction in _OF_GROWTH.items()},
}
POLICY = "policy"  # without the rules of a company what they refuse is allowed
WORDS = {"condition": ("as-welded", "stress-relieved"), "lines.condition": ("as-welded", "stress-relieved")}
GONE = {"loading.blocks.cycles"}  # the whole block is gone with it
CURVES = {"curve", "opening_curve", "shear_curve"}
LIVES = (1e4, 2e6, 1e7, 1e8)  # cycles at which two curves are compared


def judges_looser(name: str, before: Any, now: Any) -> bool:
    """Whether an input that changed makes the judgement more lenient.

    name : names of the fields from the top, like target.damage_limit

    >>> judges_looser("target.damage_limit", 0.5, 0.6), judges_looser("target.repeats", 1.0, 2.0)
    (True, False)
    """
    if name in WORDS:
        return (before, now) == WORDS[name]
    if name == POLICY:
        return before is not None and now is None
    if name.rpartition(".")[2] in CURVES:
        return isinstance(before, str) and isinstance(now, str) and less_severe(before, now)
    if (now is None and name in GONE) or (before is None and now is not None and name.startswith(_ADDED)):
        return True
    if name in _ORDERS:
        return _ORDERS[name].index(now) > _ORDERS[name].index(before)
    if name in ("law.name", "growth.law.name"):
        return isinstance(before, str) and isinstance(now, str) and slower(before, now)
    if now is None and before is not None and name in LOOSER and name.startswith(_BOUNDS):
        return True
    if before is None and LOOSER.get(name) == "more" and name.endswith("threshold_mpa_sqrt_mm"):
        return True
    if name not in LOOSER or not isinstance(before, int | float) or not isinstance(now, int | float):
        return False
    return now < before if LOOSER[name] == "less" else now > before


def column_looser(name: str, before: Sequence[float], now: Sequence[float]) -> bool:
    """Whether a column of loads or counts became less: a history by its extent, ranges and counts by their sum.

    >>> column_looser("loading.channels.vertical", [0.0, 12.0], [0.0, 10.0]), column_looser("count", [5.0], [6.0])
    (True, False)
    """
    if not before or not now:
        return False
    if name in _GROWN:
        less = [_GROWN[name] * (new - old) < 0.0 for old, new in zip(before, now, strict=False)]
        return any(less) or len(now) < len(before)
    if name == "history_mpa" or name.startswith("loading.channels."):
        return max(now) - min(now) < max(before) - min(before)
    return name in {"range_mpa", "count"} and sum(now) < sum(before)


def less_severe(before: str, now: str) -> bool:
    """Whether a curve of the catalogue bears more than another one at some life, both of one quantity.

    >>> less_severe("iiw-2016-normal-steel-71", "iiw-2016-normal-steel-80")
    True
    """
    try:
        old, new = named_curve(before), named_curve(now)
        if old.quantity != new.quantity:
            return False
        return bool((new.range_mpa(LIVES) > old.range_mpa(LIVES)).any())
    except FatcoreError:  # one that the catalogue has not any more, or that has no range at such a life
        return False


def slower(before: str, now: str) -> bool:
    """Whether a published growth law is slower than another one at some range.

    >>> slower("bs7910-2013/air-upper", "bs7910-2013/air-mean"), slower("bs7910-2013/air-mean", "bs7910-2013/air-upper")
    (True, False)
    """
    try:
        old, new = law_by_name(before), law_by_name(now)
    except FatcoreError:
        return False
    return bool((new.rate_mm_per_cycle(_RANGES) < old.rate_mm_per_cycle(_RANGES) * (1.0 - 1e-9)).any())

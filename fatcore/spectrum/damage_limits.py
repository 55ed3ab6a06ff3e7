"""Permissible damage sums as the documents state them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fatcore import tables
from fatcore.errors import InputError, UnknownError
from fatcore.findings import note
from fatcore.outcome import Outcome, evidence
from fatcore.require import within

__all__ = ["DAMAGE_LIMIT_TABLE", "DamageLimit", "damage_limit", "damage_limit_names"]

DAMAGE_LIMIT_TABLE = "spectrum/damage_limits"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DamageLimit(Outcome):
    """Permissible damage sum [-] and the case it is stated for."""

    damage_limit: float
    case: str


def damage_limit_names() -> tuple[str, ...]:
    """Names of all stated limits, like 'iiw-2016/strong-mean-stress-variation'."""
    return tuple(f"{d}/{c}" for d, cases in _limits().items() for c in cases)


def damage_limit(name: str, *, design_fatigue_factor: float | None = None) -> DamageLimit:
    """The permissible damage sum of a document.

    name                  : one of `damage_limit_names`
    design_fatigue_factor : where the document divides its limit by such a factor, 1 to 10
    Raises                : UnknownError for another name, InputError for a factor where there is none,
                            outside 1 to 10, or missing
    """
    document, _, case = name.partition("/")
    if case not in _limits().get(document, {}):
        raise UnknownError("damage limit", name, damage_limit_names(), "damage_limit")
    entry = _limits()[document][case]
    limit, remark = entry["limit"], entry["case"]
    if entry.get("divided_by_factor", False) != (design_fatigue_factor is not None):
        word = "needs a" if design_fatigue_factor is None else "takes no"
        raise InputError(f"{name} {word} design fatigue factor", "design_fatigue_factor")
    if design_fatigue_factor is not None:
        limit /= float(within("design_fatigue_factor", design_fatigue_factor, 1.0, 10.0))
    found = note("damage-limit", remark, field="damage_limit", source=entry["source"])
    return DamageLimit(
        damage_limit=limit,
        case=remark,
        **evidence(findings=(found,), sources=(entry["source"],), tables=(DAMAGE_LIMIT_TABLE,)),
    )


def _limits() -> dict[str, dict[str, dict[str, Any]]]:
    limits: dict[str, dict[str, dict[str, Any]]] = tables.load(DAMAGE_LIMIT_TABLE)["limits"]
    return limits

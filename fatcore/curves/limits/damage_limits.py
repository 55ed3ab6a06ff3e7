"""Permissible damage sums: as the documents state them, and the one that holds for curves and a loading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

from annotated_types import Ge, Le, Len, doc

from fatcore import tables
from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.relief import DAMAGE_LIMIT, LARGEST_DAMAGE_LIMIT, Choice
from fatcore.curves.standards.reading import all_rows
from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import caution, note, outside
from fatcore.outcome import Outcome, evidence

_DAMAGE_LIMIT_TABLE = "curves/damage_limits"

Amplitude = Literal["constant", "variable"]
PermissibleDamage = Annotated[Positive | None, doc("permissible damage sum; null takes that of the curves' documents")]
DamageLimitRule = Annotated[
    Annotated[str, Len(1, 100)] | None, doc("document and case that state it, like iiw-2016/general")
]
DesignFatigueFactor = Annotated[
    Annotated[float, Ge(1.0), Le(10.0)] | None, doc("where the document divides its limit by one")
]

_SAME = 1e-9  # relative: a limit that misses the document's by rounding is the document's


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DamageLimit(Outcome):
    """Permissible damage sum [-] and the case it is stated for.

    stated_limit : the limit where the caller chooses none, if that is smaller [-]; a limit for curves of the
                   user's own alone, for which no document states one, is the user's to state
    milder_choice: the caller's choice of a larger one, if any
    """

    damage_limit: float
    case: str
    stated_limit: float
    milder_choice: Choice | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stated:
    limit: float
    words: str
    source: str
    divided: bool
    doubtful: bool


def damage_limit_names() -> tuple[str, ...]:
    """Names of all stated limits, like 'iiw-2016/strong-mean-stress-variation'."""
    return tuple(f"{d}/{c}" for d, cases in _table()["limits"].items() for c in cases)


def damage_limit_entry(name: str) -> Mapping[str, Any]:
    """What the table holds under one of `damage_limit_names`; UnknownError for another name."""
    document, _, case = name.partition("/")
    limits: Mapping[str, Mapping[str, Mapping[str, Any]]] = _table()["limits"]
    if case not in limits.get(document, {}):
        raise UnknownError("damage limit", name, damage_limit_names(), "damage_limit_rule")
    return limits[document][case]


@guarded
def settle_damage_limit(
    curves: Sequence[Curve],
    amplitude: Amplitude,
    *,
    damage_limit: PermissibleDamage = None,
    damage_limit_rule: DamageLimitRule = None,
    design_fatigue_factor: DesignFatigueFactor = None,
) -> DamageLimit:
    """The permissible damage sum of a calculation, with one finding that says which and from where.

    Without a choice it is 1 under constant amplitude, else what the documents of the curves state (of several
    the smallest), else a careful value of our own with a caution. A choice larger than that is a caution,
    and `outside` above 1.

    curves            : all that take part, at least one; amplitude: variable is the safe side
    damage_limit_rule : one of `damage_limit_names`, in place of damage_limit
    Raises            : UnknownError for another name, InputError for two choices, a factor where none divides
                        or missing from a rule
    """
    if damage_limit is not None and damage_limit_rule is not None:
        raise InputError("give damage_limit or damage_limit_rule, not both", "damage_limit")
    if damage_limit is not None and design_fatigue_factor is not None:
        raise InputError("a limit given as a number holds its factor already", "design_fatigue_factor")
    stated = [_standard(curve, amplitude, design_fatigue_factor) for curve in curves]
    standard = min(stated, key=lambda each: (each.limit, not each.doubtful))
    if damage_limit_rule is None:
        _guard_factor(any(each.divided for each in stated), design_fatigue_factor, "the limit of these curves")
        if damage_limit is None:
            return _settle(standard.limit, standard.words, (standard.source,), doubtful=standard.doubtful)
        found = _compare(damage_limit, "as given", standard, ())
        choice = Choice("damage_limit", f"damage_limit {as_given(damage_limit)}")
    else:
        rule = _by_name(damage_limit_rule, design_fatigue_factor)
        found = _compare(rule.limit, rule.words, standard, (rule.source,))
        choice = Choice("damage_limit_rule", f"damage_limit_rule {damage_limit_rule}")
    if found.damage_limit <= standard.limit * (1.0 + _SAME) or all(curve.table is None for curve in curves):
        return found
    return replace(found, stated_limit=standard.limit, milder_choice=choice)


def as_damage_limit(damage_limit: DamageLimit | float | None, curve: Curve) -> DamageLimit:
    """A limit that is settled already, or the one of a number or of nothing under variable amplitude."""
    if isinstance(damage_limit, DamageLimit):
        return damage_limit
    return settle_damage_limit((curve,), "variable", damage_limit=damage_limit)


def _table() -> dict[str, Any]:
    return tables.load(_DAMAGE_LIMIT_TABLE)


def _standard(curve: Curve, amplitude: Amplitude, factor: float | None) -> _Stated:
    """What holds for one curve without a choice of the user."""
    name = None if curve.table is None else all_rows()[curve.id].document.get("damage_limit")
    entry = _table()["without-document"][amplitude] if name is None else damage_limit_entry(name)
    words, divided = _words(name or curve.id, entry), entry.get("divided_by_factor", False)
    if amplitude == "constant" and not divided:
        entry = _table()["without-document"]["constant"]
        words = entry["case"]
    if divided and factor is None:
        words = f"{words}; none was given: it was taken as 1"
    return _Stated(
        limit=_divide(entry["limit"], factor if divided else None),
        words=words,
        source=entry["source"],
        divided=divided,
        doubtful=(divided and factor is None) or (name is None and amplitude == "variable"),
    )


def _by_name(name: str, factor: float | None) -> _Stated:
    entry = damage_limit_entry(name)
    divided = entry.get("divided_by_factor", False)
    if divided and factor is None:
        raise InputError(f"{name} needs a design fatigue factor", "design_fatigue_factor")
    _guard_factor(divided, factor, name)
    limit = _divide(entry["limit"], factor)
    return _Stated(limit=limit, words=_words(name, entry), source=entry["source"], divided=divided, doubtful=False)


def _guard_factor(divided: bool, factor: float | None, what: str) -> None:
    if factor is not None and not divided:
        raise InputError(f"{what} takes no design fatigue factor", "design_fatigue_factor")


def _divide(limit: float, factor: float | None) -> float:
    return limit if factor is None else limit / factor


def _words(name: str, entry: Mapping[str, Any]) -> str:
    remark = f"; {entry['remark']}" if "remark" in entry else ""
    return f"{name}: {entry['case']}{remark}"


def _compare(limit: float, origin: str, standard: _Stated, sources: Sequence[str]) -> DamageLimit:
    if limit <= standard.limit * (1.0 + _SAME):
        return _settle(limit, origin, sources, doubtful=False)
    words = f"{origin}; larger than {as_given(standard.limit)} ({standard.words})"
    return _settle(limit, words, (*sources, standard.source), doubtful=True)


def _settle(limit: float, words: str, sources: Sequence[str], *, doubtful: bool) -> DamageLimit:
    text = f"damage sums up to {as_given(limit)} pass ({words})"
    source = sources[-1] if sources else None
    if limit > LARGEST_DAMAGE_LIMIT * (1.0 + _SAME):
        text += f", above {as_given(LARGEST_DAMAGE_LIMIT)}, which no document permits"
        finding = outside(DAMAGE_LIMIT, text, field="damage_limit", source=source)
    elif doubtful:
        finding = caution("damage-limit-doubtful", text, field="damage_limit", source=source)
    else:
        finding = note("damage-limit", text, field="damage_limit", source=source)
    return DamageLimit(
        damage_limit=limit,
        case=words,
        stated_limit=limit,
        **evidence(findings=[finding], sources=sources, tables=[_DAMAGE_LIMIT_TABLE]),
    )

"""Curves and laws that tests gave, by name in another request: saved answers stand for their constants."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from ...base.problems import Problem

_CURVE_KEYS = ("curve", "shear_curve", "opening_curve")
_NO_THRESHOLD = "none"
_UPPER = "upper_law"
# what an answer gives to another request, and the keys that it stands under
_PARTS = {"trials/sn-line": ("curve", ("design_curve",)), "trials/growth-rate": ("law", ("mean_law", _UPPER))}


def fitted_parts(answer: Any, where: str) -> dict[str, dict[str, Any]]:
    """What an answer of trials/sn-line or trials/growth-rate gives, by name: a curve by the name of its series, laws
    as NAME/mean and NAME/upper by the name of the only specimen, else `pooled`.

    Raises : Problem 422 for anything else, and for a curve or law without the tests that every use is compared with
    """
    content, record, findings = _parts_of(answer)
    kind = record.get("calculation")
    if kind not in _PARTS or not isinstance(findings, list):
        raise Problem(422, f"{where} holds no answer of {' or '.join(_PARTS)}: save one with --save")
    left = {str(each.get("code")) for each in findings if _mapping(each).get("severity") == "outside"}
    if left:
        raise Problem(422, f"{where} leaves a limit of validity ({', '.join(sorted(left))}): evaluate within it first")
    form, keys = _PARTS[kind]
    found = {}
    for key in keys:
        if content.get(key, "") is None and key == _UPPER:  # one specimen has none, and says so
            continue
        part = _mapping(content.get(key))
        tested = _mapping(part.get("tested"))
        name = (part if form == "curve" else tested).get("name")
        if not tested or not isinstance(name, str):
            text = f"{where} holds no {key} with the tests behind it, with which every use is compared: it comes of"
            raise Problem(422, f"{text} revision {record.get('revision')} of {kind}, or was changed; fit it again")
        found[name] = {form: _as_request(part)}
    return found


def _parts_of(answer: Any) -> tuple[Mapping[str, Any], Mapping[str, Any], Any]:
    """Content, record and findings of an answer; empty of anything else."""
    whole = _mapping(answer)
    return _mapping(whole.get("answer")), _mapping(whole.get("record")), whole.get("findings")


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _as_request(part: Mapping[str, Any]) -> dict[str, Any]:
    given = {name: value for name, value in part.items() if value is not None}
    return {**given, "tested": {name: value for name, value in given["tested"].items() if value is not None}}


def put_fitted(data: Any, parts: Mapping[str, Mapping[str, Any]]) -> Any:
    """The request with every curve and law that goes by a name of the parts in place of the name.

    Raises : Problem 422 for a part that nothing in the request names
    """
    found, used = put_named(data, parts)
    guard_used(parts, used, "the request")
    return found


def put_named(data: Any, parts: Mapping[str, Mapping[str, Any]]) -> tuple[Any, set[str]]:
    """The request with every curve and law that it names in place of the name, and which names those are.

    Raises : Problem 422 for constants beside the name of a law
    """
    used: set[str] = set()
    return _put(data, parts, used), used


def guard_used(parts: Mapping[str, Any], used: Collection[str], where: str) -> None:
    """Problem 422 for a part that nothing names."""
    unused = [name for name in parts if not _together(name) & set(used)]
    if unused:
        raise Problem(422, f"nothing in {where} is called {' or '.join(map(repr, unused))}, which was fitted")


def _together(name: str) -> set[str]:
    """The names that one answer gives: of a law either form is enough."""
    head, _, form = name.rpartition("/")
    return {f"{head}/mean", f"{head}/upper"} if form in ("mean", "upper") else {name}


def _put(data: Any, parts: Mapping[str, Mapping[str, Any]], used: set[str]) -> Any:
    if isinstance(data, Mapping):
        return {key: _entry(str(key), value, parts, used) for key, value in data.items()}
    if isinstance(data, Sequence) and not isinstance(data, str) and data and isinstance(data[0], Mapping | list):
        return [_put(each, parts, used) for each in data]
    return data


def _entry(key: str, value: Any, parts: Mapping[str, Mapping[str, Any]], used: set[str]) -> Any:
    if key in _CURVE_KEYS and isinstance(value, str) and "curve" in parts.get(value, {}):
        used.add(value)
        return dict(parts[value]["curve"])
    if key == "law" and isinstance(value, Mapping) and "law" in parts.get(str(value.get("name")), {}):
        used.add(str(value["name"]))
        return _law(parts[str(value["name"])]["law"], value)
    if key == "law" and isinstance(value, Mapping):
        _guard_upper(str(value.get("name")), parts)
    return _put(value, parts, used)


def _law(law: Mapping[str, Any], asked: Mapping[str, Any]) -> dict[str, Any]:
    """A fitted law as it is, or without its threshold.

    Raises : Problem 422 for anything else beside its name, as with published laws
    """
    beside = {key: value for key, value in asked.items() if key != "name"}
    if beside not in ({}, {"threshold": _NO_THRESHOLD}):
        first = next(key for key in beside if (key, beside[key]) != ("threshold", _NO_THRESHOLD))
        text = f"a fitted law takes no constants or forms of one's own, like {first!r} beside {asked['name']!r}"
        raise Problem(422, text)
    left = (*beside, "threshold_mpa_sqrt_mm") if beside else ()
    return {**{key: value for key, value in law.items() if key not in left}, **beside}


def _guard_upper(name: str, parts: Mapping[str, Mapping[str, Any]]) -> None:
    """Problem 422 for the upper law of a single specimen, which has none."""
    head, _, form = name.rpartition("/")
    if form == "upper" and f"{head}/mean" in parts:
        raise Problem(422, f"{head!r} was one specimen: it has no upper law, since it says nothing of others")

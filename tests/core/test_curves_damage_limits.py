"""Permissible damage sums: each document's, and the one that holds for curves, a loading and a choice."""

from __future__ import annotations

from typing import Literal

import pytest

from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import (
    DamageLimit,
    as_damage_limit,
    damage_limit_names,
    settle_damage_limit,
)
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, UnknownError

OWN = Curve(id="own", source="own-curve", log10_constants=(12.0,), slopes=(3.0,))
IIW = catalogue.find_curve("iiw-2016-normal-steel-71")
EN = catalogue.find_curve("en-1993-1-9-2005-normal-71")
DNV = catalogue.find_curve("dnv-rp-c203-2016-d-air")
BS = catalogue.find_curve("bs-7608-1993-d")
PEAK = catalogue.find_curve("peak-stress-opening")


def told(found: DamageLimit) -> tuple[float, str, str | None]:
    (finding,) = found.findings
    end = {"note": "", "caution": "-doubtful", "outside": "-above-one"}[finding.severity]
    assert finding.code == f"damage-limit{end}"
    assert f"{found.damage_limit:g}" in finding.message
    return found.damage_limit, finding.severity, finding.source


@pytest.mark.parametrize(
    ("curves", "amplitude", "limit", "severity", "source"),
    [
        ((IIW,), "variable", 0.5, "note", "iiw-2016"),
        ((EN,), "variable", 1.0, "note", "en-1993-1-9-2005"),
        ((BS,), "variable", 1.0, "note", "bs-7608-1993"),
        ((EN, IIW), "variable", 0.5, "note", "iiw-2016"),
        ((PEAK,), "variable", 0.5, "caution", "damage-limit-unstated"),
        ((OWN,), "variable", 0.5, "caution", "damage-limit-unstated"),
        ((EN, OWN), "variable", 0.5, "caution", "damage-limit-unstated"),
        ((DNV,), "variable", 1.0, "caution", "dnv-rp-c203-2016"),
        ((EN, DNV), "variable", 1.0, "caution", "dnv-rp-c203-2016"),
        ((IIW,), "constant", 1.0, "note", "palmgren-miner"),
        ((OWN, PEAK), "constant", 1.0, "note", "palmgren-miner"),
        ((DNV,), "constant", 1.0, "caution", "dnv-rp-c203-2016"),
    ],
)
def test_without_a_choice_the_document_decides(
    curves: tuple[Curve, ...], amplitude: str, limit: float, severity: str, source: str
) -> None:
    """[iiw-2016] 0.5, [en-1993-1-9-2005] and [bs-7608-1993] 1.0, from memory; else 0.5, our choice."""
    assert told(settle_damage_limit(curves, amplitude)) == (limit, severity, source)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "severity"), [(0.3, "note"), (0.5, "note"), (0.5000001, "caution"), (1.0, "caution")]
)
def test_a_number_above_that_of_the_document_is_a_caution(given: float, severity: str) -> None:
    found = settle_damage_limit((IIW,), "variable", damage_limit=given)
    assert told(found)[:2] == (given, severity)
    assert ("0.5" in found.findings[0].message) == (given >= 0.5)
    assert told(settle_damage_limit((IIW,), "constant", damage_limit=1.0))[1] == "note"
    assert told(settle_damage_limit((IIW,), "constant", damage_limit=1.1))[1] == "outside"


def test_a_rule_of_a_document_is_named_and_compared() -> None:
    strict = settle_damage_limit((IIW,), "variable", damage_limit_rule="iiw-2016/strong-mean-stress-variation")
    assert told(strict)[:2] == (0.2, "note")
    assert "mean stress varies strongly" in strict.case
    loose = settle_damage_limit((IIW,), "variable", damage_limit_rule="bs-7608-2014/general")
    assert told(loose)[:2] == (1.0, "caution")
    assert "bs-7608-2014" in loose.sources
    names = [name for name in damage_limit_names() if not name.startswith("dnv")]
    for name in names:
        assert 0.0 < settle_damage_limit((OWN,), "variable", damage_limit_rule=name).damage_limit <= 1.0


def test_the_design_fatigue_factor_divides_where_the_document_says_so() -> None:
    """[dnv-rp-c203-2016] 1 over the factor, 1 to 10; from memory."""
    for amplitude in ("constant", "variable"):
        found = settle_damage_limit((DNV, EN), amplitude, design_fatigue_factor=4.0)  # type: ignore[arg-type]
        assert told(found) == (0.25, "note", "dnv-rp-c203-2016")
    smaller = settle_damage_limit((DNV, IIW), "variable", design_fatigue_factor=1.5)
    assert told(smaller) == (0.5, "note", "iiw-2016")
    rule = {"damage_limit_rule": "dnv-rp-c203-2016/design", "design_fatigue_factor": 3.0}
    assert settle_damage_limit((EN,), "variable", **rule).damage_limit == pytest.approx(1.0 / 3.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("curve", [IIW, EN, OWN, DNV])
@pytest.mark.parametrize("amplitude", ["constant", "variable"])
@pytest.mark.parametrize("factor", [None, 1.0, 2.0])
def test_a_missing_factor_is_named_and_doubted_only_where_the_document_divides(
    curve: Curve, amplitude: Literal["constant", "variable"], factor: float | None
) -> None:
    if curve is not DNV and factor is not None:
        return
    found = settle_damage_limit((curve,), amplitude, design_fatigue_factor=factor)
    missing = curve is DNV and factor is None
    assert ("none was given: it was taken as 1" in found.case) == missing
    unstated = curve is OWN and amplitude == "variable"
    assert (found.findings[0].severity == "caution") == (missing or unstated)


@pytest.mark.parametrize(
    ("curve", "choice", "error", "where"),
    [
        (IIW, {"damage_limit": 0.0}, InputError, "damage_limit"),
        (IIW, {"damage_limit": 0.5, "damage_limit_rule": "iiw-2016/general"}, InputError, "damage_limit"),
        (IIW, {"damage_limit_rule": "iiw-2016"}, UnknownError, "damage_limit_rule"),
        (IIW, {"damage_limit_rule": "nobody/general"}, UnknownError, "damage_limit_rule"),
        (IIW, {"design_fatigue_factor": 2.0}, InputError, "design_fatigue_factor"),
        (DNV, {"design_fatigue_factor": 0.9}, InputError, "design_fatigue_factor"),
        (DNV, {"design_fatigue_factor": 11.0}, InputError, "design_fatigue_factor"),
        (DNV, {"design_fatigue_factor": 2.0, "damage_limit": 0.5}, InputError, "design_fatigue_factor"),
        (
            DNV,
            {"design_fatigue_factor": 2.0, "damage_limit_rule": "iiw-2016/general"},
            InputError,
            "design_fatigue_factor",
        ),
        (EN, {"damage_limit_rule": "dnv-rp-c203-2016/design"}, InputError, "design_fatigue_factor"),
    ],
)
def test_choices_that_are_refused(curve: Curve, choice: dict[str, object], error: type[InputError], where: str) -> None:
    with pytest.raises(error) as caught:
        settle_damage_limit((curve,), "variable", **choice)  # type: ignore[arg-type]
    assert caught.value.path == (where,)


def test_a_settled_limit_is_taken_as_it_is() -> None:
    settled = settle_damage_limit((IIW,), "constant")
    assert as_damage_limit(settled, IIW) is settled
    assert as_damage_limit(None, IIW).damage_limit == 0.5
    assert as_damage_limit(0.2, IIW).damage_limit == 0.2

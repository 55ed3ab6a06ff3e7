"""What a comparison and a report say of policies, units and milder loads. Own expectation."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.forms.lives import without_choices
from service.base.problems import Problem
from service.base.rules.words import policy_lines
from service.commands.report import _fits
from service.comparison.compare import Answer, _results, _rules
from service.comparison.inputs import input_changes
from service.comparison.looser import column_looser
from service.comparison.older import older_answer
from service.gate.forms.markdown import _escaped
from service.topics.registry import find

POLICY = {"name": "works", "version": "2026-1", "digest": f"sha256:{'3a' * 32}"}


def side(policy: dict[str, str] | None) -> Answer:
    record: dict[str, Any] = {"version": "1", "revision": 1, "tables": {}, "policy": policy}
    return Answer(name="x", request=None, answer={}, findings=(), record=record)


@pytest.mark.parametrize(
    ("before", "now", "text"),
    [
        (None, POLICY, "rules of the company none -> works 2026-1 sha256:3a3a3a3a3a3a3a3a"),
        (
            POLICY,
            None,
            "rules of the company works 2026-1 sha256:3a3a3a3a3a3a3a3a -> none (judges more leniently)",
        ),
    ],
)
def test_a_policy_that_comes_or_goes_is_a_changed_rule(before: Any, now: Any, text: str) -> None:
    assert [change.text for change in _rules(side(before), side(now))] == [text]
    assert not list(_rules(side(now), side(now)))


def test_texts_name_a_policy_by_one_line() -> None:
    assert list(policy_lines(POLICY)) == ["rules of the company: works 2026-1 sha256:3a3a3a3a3a3a3a3a"]
    assert not list(policy_lines(None))


def test_values_that_changed_have_texts_that_differ() -> None:
    """8 MPa by way of another unit may come back as the number next to it, which is no change."""
    assert input_changes({"peaks_mpa": [8.0, 10.0, 9.0]}, {"peaks_mpa": [8.000000000000002, 10.0, 9.0]}) == []
    (change,) = input_changes({"peaks_mpa": [8.0, 10.0, 9.0]}, {"peaks_mpa": [8.0000000000002, 10.0, 9.0]})
    assert (change.before, change.now) == ("8.0, 10, 9", "8.0000000000002, 10, 9")


def test_a_life_in_service_has_its_unit() -> None:
    lives = [{"service_life": {"value": value, "asked": None, "unit": "hours"}} for value in (10.0, 20.0)]
    assert [change.text for change in _results(*lives)] == ["service life, value 10 -> 20 hours"]


@pytest.mark.parametrize(
    ("name", "before", "now", "milder"),
    [
        ("loading.maximum", [1.05, 0.5], [1.0, 0.5], True),
        ("loading.maximum", [1.0, 0.5], [1.05, 0.5], False),
        ("loading.minimum", [-0.5], [-0.2], True),
        ("loading.cycles", [10.0, 20.0], [10.0], True),
    ],
)
def test_milder_loads_of_a_growing_crack_are_marked(
    name: str, before: list[float], now: list[float], milder: bool
) -> None:
    assert column_looser(name, before, now) is milder


def test_every_life_of_a_crack_stands_without_the_choices_too() -> None:
    growth = {
        "life_cycles": 4000.0,
        "life_repeats": 40.0,
        "life_without_retardation_cycles": 1000.0,
        "service_life": {"value": 8.0, "asked": 5.0, "unit": "years"},
    }
    assert list(without_choices(growth)) == [("without retardation", "1000 cycles (10 repeats; 2 years (5 asked))")]
    assert list(without_choices({**growth, "life_cycles": None})) == [("without retardation", "1000 cycles")]


def test_an_older_answer_without_what_a_line_has_is_refused_by_name() -> None:
    record = {"calculation": "check", "revision": 1, "version": "1", "input_digest": "x", "tables": {}}
    check = find("check")
    assert check is not None
    older = {"answer": {"lines": [{"position_in": [1.0]}]}, "findings": [], "record": record}
    with pytest.raises(Problem) as refused:
        older_answer("old.json", older, check)
    assert ("/baseline/answer/lines/0/name", "name is needed") in refused.value.errors


def test_the_calculation_of_a_file_in_other_units_is_found() -> None:
    damage = find("spectrum/damage")
    assert damage is not None
    needed = {name for name, field in damage.request.model_fields.items() if field.is_required()}
    assert _fits(damage, needed | {"history_ksi", "units"})
    assert not _fits(damage, needed | {"history_furlong"})


def test_no_name_becomes_a_link_of_a_summary() -> None:
    assert _escaped("https://evil.example www.evil.example \u061c") == (
        r"https\://evil.example www\.evil.example \\u061c"
    )

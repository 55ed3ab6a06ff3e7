"""A value beside its limit stands on its side of it in every form. Own expectation."""

from __future__ import annotations

import pytest

from fatcore.figures import beside_allowed, just_passing
from service.comparison.compare import _results
from service.gate.growth import life_changes
from service.gate.result import Limits


def moved(before: dict[str, float], now: dict[str, float]) -> dict[str, tuple[str, str]]:
    return {change.pointer: (change.before, change.now) for change in _results(before, now)}


def test_a_comparison_shows_on_which_side_of_its_limit_every_result_stands() -> None:
    before = {"utilisation": 0.97, "damage": 0.913, "damage_limit": 1.0, "factor_to_limit": 1.0309}
    now = {"utilisation": 1.0004, "damage": 0.50004, "damage_limit": 0.5, "factor_to_limit": 0.9996}
    assert moved(before, now) == {
        "answer.utilisation": ("0.97", "1.0004"),
        "answer.damage": ("0.913", "0.50004"),
        "answer.damage_limit": ("1", "0.5"),
        "answer.factor_to_limit": ("1.03", "0.999"),
    }


def test_lives_and_allowed_ranges_of_a_comparison_are_rounded_down() -> None:
    found = moved(
        {"life_cycles": 4_559_990.3, "allowable_stress_mpa": 196.7},
        {"life_cycles": 998_999.6, "allowable_stress_mpa": 119.9},
    )
    assert found == {
        "answer.life_cycles": ("4,550,000", "998,000"),
        "answer.allowable_stress_mpa": ("196", "119"),
    }


@pytest.mark.parametrize(("used", "text"), [(1.0004, "1.0004"), (0.8004, "0.8004"), (0.603, "0.603")])
def test_a_gate_shows_on_which_side_of_its_limit_a_utilisation_stands(used: float, text: str) -> None:
    assert Limits(utilisation=0.8).used_text(used) == text


def test_what_just_passes_is_rounded_down() -> None:
    assert just_passing(1.6579) == "1.65"
    assert beside_allowed(119.0, 197.9) == ("119", "197")


def test_the_life_of_a_crack_in_a_gate_is_rounded_down() -> None:
    assert next(life_changes(4559.9, 5559.9, False)) == "the life of the crack is shorter: 5550 -> 4550 repeats"

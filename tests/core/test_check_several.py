"""Lines by settings of their own: the same as apart, errors with their place among all lines."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fatcore.check.complete import check_lines
from fatcore.check.several import LineSettings, check_lines_apart
from fatcore.check.strength.resistance import Target
from fatcore.errors import InputError
from tests.core.test_check_lines import PAIR, constant, line

LOAD = constant(pull=(1.0, 0.0))
BASE = LineSettings(resistance=replace(PAIR, amplitude="constant"))
LINES = [line([[100.0 + place, 0.0, 0.0]] * 3, name=f"toe {place}") for place in range(3)]


def test_lines_of_one_settings_object_are_checked_together() -> None:
    one = check_lines_apart(LINES, LOAD, [BASE] * 3, Target())
    other = check_lines(LINES, LOAD, BASE.resistance, Target())
    assert one.to_dict() == other.to_dict()


def test_equal_settings_of_several_objects_change_no_number() -> None:
    one = check_lines_apart(LINES, LOAD, [BASE, replace(BASE), replace(BASE)], Target())
    other = check_lines(LINES, LOAD, BASE.resistance, Target())
    numbers = ("utilisation", "damage", "governing_line", "verdict", "deciding_lines", "factor_to_limit", "curve")
    assert [getattr(one, name) for name in numbers] == [getattr(other, name) for name in numbers]
    assert [each.to_dict() for each in one.lines] == [each.to_dict() for each in other.lines]


def test_every_line_needs_settings() -> None:
    with pytest.raises(InputError, match="2 settings are given for 3 lines") as caught:
        check_lines_apart(LINES, LOAD, [BASE] * 2, Target())
    assert caught.value.path == ("settings",)


def test_errors_have_their_place_among_all_lines() -> None:
    bad = replace(LINES[2], cases={"push": LINES[2].cases["pull"]})
    with pytest.raises(InputError) as caught:
        check_lines_apart([*LINES[:2], bad], LOAD, [BASE, replace(BASE), replace(BASE)], Target())
    assert caught.value.path[:2] == ("lines", 2)
    with pytest.raises(InputError, match="two lines are called"):
        check_lines_apart([LINES[0], LINES[0]], LOAD, [BASE, replace(BASE)], Target())


def test_errors_of_the_target_stay_where_they_are() -> None:
    target = Target(damage_limit_rule="none/none")
    with pytest.raises(Exception, match="none") as caught:
        check_lines_apart(LINES, LOAD, [BASE, replace(BASE), BASE], target)
    assert caught.value.path[0] == "target"  # type: ignore[attr-defined]

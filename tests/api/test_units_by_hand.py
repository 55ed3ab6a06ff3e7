"""Units that names of columns state, each name with the unit that it was written for."""

from __future__ import annotations

from importlib.util import find_spec

import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.base.units import (
    find_contradiction,
    find_end_like_unit,
    find_stated_unit,
    guard_length_factor,
    guard_mpa,
    guard_stress_factor,
    reads_as_no_stress,
    unit_findings,
)
from service.units.kinds import KINDS, unit_of
from service.units.words import KNOWN, LENGTH_TO_MM, STRESS_TO_MPA


def refused(problem: Problem) -> tuple[int, tuple[tuple[str, str], ...]]:
    return problem.status, problem.errors


def test_a_number_within_a_hundredth_of_the_stated_unit_is_its_factor() -> None:
    for factor in (1.00995e3, 0.99005e3):
        guard_stress_factor("s [GPa]", factor)
    for factor in (1.01005e3, 0.98995e3):
        with pytest.raises(InputError, match="which asks for 1000, not") as caught:
            guard_stress_factor("s [GPa]", factor)
        assert caught.value.path == ("table", "stress_factor")
    with pytest.raises(InputError, match=r"which asks for 304\.8, not 1") as caught:
        guard_length_factor("s ft", 1.0)
    assert caught.value.path == ("table", "length_factor")


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("stress n per mm2", "n/mm2"),
        ("stress kn per square metre", "kn/m2"),
        ("peak lbs force per square inch", "lbf/in2"),
        ("stress n mm2", "n/mm2"),
        ("load n", "n"),
        ("x kn", "kn"),
        ("x n", None),  # one letter that may be an index
        ("strain us", "us"),
        ("stress us", None),
        ("s1 bar", "bar"),
        ("bar 1", None),
        ("s_1GPa", "gpa"),
        ("S [2]", None),
        ("S [x y]", None),
        ("S (xyz)", "xyz"),
        ("S, [2] psi", "psi"),
        ("S kN/cm²", "kn/cm2"),
        ("a/b/MPa", "mpa"),
        ("S lbf/ft2", "lbf/ft2"),
        ("S10*N/mm2", "n/mm2"),
        ("S", None),
        ("S [furlong]", "furlong"),
        ("S [top] ksi", "ksi"),
    ],
)
def test_the_unit_that_a_name_states(name: str, unit: str | None) -> None:
    assert find_stated_unit(name) == unit


@pytest.mark.parametrize("name", ["s (a) [b] {c} <d>", "s ((a))", "s [MPa]", "s"])
def test_brackets_that_close_are_no_contradiction(name: str) -> None:
    assert find_contradiction(name) is None


@pytest.mark.parametrize("name", ["s )", "s (", "s (]", "s ([)]", "s ][", "s {)"])
def test_brackets_that_do_not_close_are_one(name: str) -> None:
    assert find_contradiction(name) == "has a bracket without its other half"


def test_two_units_are_named_and_two_spellings_of_one_are_not() -> None:
    said = find_contradiction("s ksi [MPa] (psi)")
    assert said is not None
    assert sorted(said.removeprefix("states the units ").split(" and ")) == ["ksi", "mpa", "psi"]
    assert find_contradiction("s [N/mm2] (MN/m2) MPa") is None


@pytest.mark.parametrize(
    ("name", "read"),
    [
        ("strain", False),  # states a unit, and is refused for that
        ("node 12", True),
        ("12", False),
        ("", False),
        ("load", False),
        ("force", True),
        ("strain 1", True),
        ("time [s]", False),
        ("x stress", False),
    ],
)
def test_names_of_counts_places_and_other_quantities_are_no_stress(name: str, read: bool) -> None:
    assert reads_as_no_stress(name) is read


def test_a_column_in_mpa_may_state_only_that() -> None:
    for name in ("s", "s [MPa]", "s N/mm2", "s MN/m2"):
        guard_mpa(name)
    said = {
        "s ksi": "column 's ksi' states the unit ksi: stresses are taken in MPa, convert them",
        "s [furlong]": "column 's [furlong]' states the unit furlong: stresses are taken in MPa, convert them",
        "s_x10": "column 's_x10' ends like a unit (x10): stresses are taken in MPa, end it with MPa where they are",
        "s [MPa": "column 's [MPa' has a bracket without its other half: name it with one unit",
        "s [MPa] ksi": "column 's [MPa] ksi' states the units ksi and mpa: name it with one unit",
    }
    for name, message in said.items():
        with pytest.raises(Problem) as caught:
            guard_mpa(name)
        assert (caught.value.detail, refused(caught.value)) == (message, (422, (("/columns", message),)))


def test_a_unit_that_is_none_of_its_kind_is_refused_whatever_the_factor() -> None:
    for guard, name, said in (
        (guard_stress_factor, "s [furlong]", "states the unit furlong, which is none of stress"),
        (guard_stress_factor, "s [MPa", "has a bracket without its other half: name it with one unit"),
        (guard_length_factor, "s [mm", "has a bracket without its other half: name it with one unit"),
        (guard_length_factor, "s [MPa]", "states the unit mpa, which is none of length"),
        (guard_length_factor, "s [furlong]", "states the unit furlong, which is none of length"),
    ):
        with pytest.raises(InputError, match=said) as caught:
            guard(name, 1.0)
        assert caught.value.path == ("table",)
    for name in ("k_mpa_sqrt_m", "s_mpa_x10", "s [MPa] x10", "s_10mpa", "s_mpa_per_kn", "s_mpa^2", "temp_celsius"):
        for factor in (1.0, 10.0):
            with pytest.raises(InputError, match=r"ends like a unit|states the unit") as caught:
                guard_stress_factor(name, factor)
            assert caught.value.path == ("table",)
    for name in ("x_rad_per_s", "x_10mm", "x_mm_per_cycle", "x ksi", "x_mm2", "x_celsius"):
        with pytest.raises(InputError, match=r"ends like a unit|which asks for") as caught:
            guard_length_factor(name, 2.0)
    for name in ("sigma_m", "s_in", "s_s", "s45 deg"):  # the factor says what is meant
        guard_stress_factor(name, 12.0)
    guard_stress_factor("s", 12.0)
    guard_length_factor("s", 12.0)


@pytest.mark.parametrize(
    ("name", "factor"),
    [
        ("s mm", 1.0),
        ("cm s", 10.0),
        ("s m", 1e3),
        ("m s", 7.0),
        ("in s", 7.0),
        ("s [in]", 25.4),
        ('s "', 25.4),
        ("s '", 304.8),
        ("s ''", 25.4),
        ("s \u2032 ", 304.8),
        ("s \u2033 ", 25.4),
        ("s yards", 914.4),
        ("m", 7.0),
    ],
)
def test_a_length_takes_the_factor_of_the_unit_that_its_name_states(name: str, factor: float) -> None:
    guard_length_factor(name, factor)
    if factor != 7.0:
        with pytest.raises(InputError):
            guard_length_factor(name, factor * 1.02)


def test_a_table_without_a_unit_says_so() -> None:
    assert unit_findings(True) == ()
    (said,) = unit_findings(False)
    assert (said.severity, said.code, said.field) == ("note", "unit-not-stated", "history_mpa")


def test_one_list_holds_every_unit_of_the_quantities_here_and_what_it_adds() -> None:
    """Ends of names that are composed of several words are found by `per` and `sqrt`."""
    for kind in KINDS.values():
        for ending in (kind.ending[1:], *kind.others):
            found = find_end_like_unit(f"value a_{ending}") or ""
            assert found, ending
            assert STRESS_TO_MPA.get(found) is None or kind.name == "stress", ending
    assert STRESS_TO_MPA.keys() | LENGTH_TO_MM.keys() <= KNOWN
    if find_spec("pint") is not None:
        for name, factors in (("stress", STRESS_TO_MPA), ("length", LENGTH_TO_MM)):
            for ending in KINDS[name].others:
                assert float(unit_of(name, ending).factor) == pytest.approx(factors[ending], rel=1e-7)

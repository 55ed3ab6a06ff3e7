"""Look-up with corrections, own curves, and the findings that go with the numbers."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.curves import lookup
from fatcore.curves.corrections.correction import own_factor
from fatcore.curves.corrections.mean_stress import effective_range, mean_stress
from fatcore.curves.corrections.partial_factors import partial_factor
from fatcore.curves.resistance import make_resistance
from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.outcome import Outcome

EN = find_curve("en-1993-1-9-2005-normal-71")
ENERGY = find_curve("energy-density")


ALWAYS = {  # of a curve taken as its document gives it
    "curve-holds-for",
    "limit-of-use-not-compared",
    "partial-factor-not-applied",
    "survival-as-given",
    "thickness-not-corrected",
}


def codes(outcome: Outcome) -> list[str]:
    return [each.code for each in outcome.findings if each.code not in ALWAYS]


def test_life_with_an_infinite_range() -> None:
    found = lookup.curve_life(EN, stress_range_mpa=[71.0, 40.0, 10.0, 0.0])
    assert found.life_cycles[:2] == pytest.approx([2e6, 5e6 * (2 / 5) ** (5 / 3) * (71 / 40) ** 5], rel=1e-12)
    assert found.below_cutoff.tolist() == [False, False, True, True]
    assert found.damage_per_cycle[2:].tolist() == [0.0, 0.0]
    assert found.damage_per_cycle[0] == pytest.approx(5e-7)
    assert codes(found) == []
    assert float(lookup.curve_life(EN, stress_range_mpa=71.0).life_cycles) == pytest.approx(2e6)


@given(st.lists(st.floats(1e4, 9e7), min_size=1, max_size=10), st.floats(0.5, 2.0))
def test_strength_is_the_inverse_of_life(lives: list[float], factor: float) -> None:
    corrections = [own_factor("x", factor, reason="y")]
    ranges = lookup.curve_strength(EN, lives, corrections=corrections).stress_range_mpa
    assert ranges is not None
    back = lookup.curve_life(EN, stress_range_mpa=ranges, corrections=corrections)
    assert back.life_cycles == pytest.approx(lives, rel=1e-10)


@pytest.mark.parametrize(("off", "refused"), [(0.0, 0), (-0.0049, 0), (0.0049, 0), (-0.0051, 1), (0.0051, 1)])
def test_a_bonus_counts_only_for_the_range_it_was_found_for(off: float, refused: int) -> None:
    """Maximum 60 and minimum -40 MPa: a range of 100 MPa; rounding of printed stresses may miss 0.5 %."""
    corrections = [own_factor("x", 0.9, reason="y"), effective_range(60.0, -40.0)]
    settled = make_resistance(EN, corrections=corrections)
    ranges = np.array([100.0 / (1.0 + off)])

    def refusal(of: Callable[[], object]) -> tuple[str | int, ...]:
        try:
            of()
        except InputError as error:
            return error.path
        return ()

    for of in (
        lambda: lookup.curve_life(EN, stress_range_mpa=ranges, corrections=corrections),
        lambda: lookup.curve_life(settled, stress_range_mpa=ranges),
        lambda: settled.counted_mpa(ranges),
    ):
        assert refusal(of)[:2] == (("corrections", 1) if refused else ())


@pytest.mark.parametrize("steps", [(0.0, 0.0), (0.01, 0.0), (0.0, 0.01), (0.0, -0.01)])
def test_branches_of_an_own_curve_meet_at_every_knee(steps: tuple[float, float]) -> None:
    """Slopes 3, 5, 9 through 100 MPa at 1e6 cycles, the next knee at 1e7; a step is refused at its knee."""
    knees, slopes = (1e6, 1e7), (3.0, 5.0, 9.0)
    ranges = (100.0, 100.0 * 10.0 ** (-1 / 5))
    constants = [6.0 + 3.0 * math.log10(ranges[0])]
    constants.append(6.0 + 5.0 * math.log10(ranges[0] * (1.0 + steps[0])))
    second = 10.0 ** ((constants[1] - 7.0) / 5.0)
    constants.append(7.0 + 9.0 * math.log10(second * (1.0 + steps[1])))
    if not any(steps):
        made = user_defined_curve(log10_constants=constants, slopes=slopes, knee_cycles=knees)
        assert made.knee_cycles() == pytest.approx(knees)
        return
    with pytest.raises(InputError) as caught:
        user_defined_curve(log10_constants=constants, slopes=slopes, knee_cycles=knees)
    assert caught.value.path == ("knee_cycles", steps.index(max(steps, key=abs)))


def test_strength_on_the_cut_off() -> None:
    found = lookup.curve_strength(EN, [1e8 * (1 - 1e-9), 1e9])
    assert found.on_cutoff.tolist() == [False, True]
    assert found.energy_density_mj_m3 is None
    assert lookup.curve_strength(ENERGY, [1e12]).on_cutoff.tolist() == [False]


def test_short_lives_leave_the_range_of_the_curves() -> None:
    found = lookup.curve_life(EN, stress_range_mpa=[300.0, 500.0, 100.0])
    (finding,) = (each for each in found.findings if each.severity == "outside")
    assert (finding.code, finding.severity, finding.count) == ("life-cycles-outside", "outside", 1)
    assert finding.value == pytest.approx(2e6 * (71 / 500) ** 3)
    assert codes(lookup.curve_strength(EN, 9_999.0)) == ["life-cycles-outside"]
    assert codes(lookup.curve_strength(EN, 10_000.0)) == []


def test_limit_of_use() -> None:
    assert codes(lookup.curve_life(EN, stress_range_mpa=300.0, yield_strength_mpa=200.0)) == []
    assert "stress-range-mpa-outside" in codes(lookup.curve_life(EN, stress_range_mpa=301.0, yield_strength_mpa=200.0))
    unknown = lookup.curve_life(find_curve("peak-stress-shear"), stress_range_mpa=300.0, yield_strength_mpa=200.0)
    assert codes(unknown) == ["limit-of-use-unknown"]
    mine = user_defined_curve(range_mpa=[80.0], life_cycles=[2e6], slopes=[3.0])
    assert codes(lookup.curve_life(mine, stress_range_mpa=80.0, yield_strength_mpa=355.0)) == [
        "own-curve", "survival-unknown", "limit-of-use-unknown",
    ]  # fmt: skip
    with pytest.raises(InputError):
        lookup.curve_life(EN, stress_range_mpa=300.0, yield_strength_mpa=0.0)


def test_corrections_of_other_documents_are_cautioned() -> None:
    own = partial_factor("en-1993-1-9-2005", "safe-life", "high-consequence")
    other = mean_stress([0.0], "low")
    assert codes(lookup.curve_life(EN, stress_range_mpa=60.0, corrections=[own])) == ["partial-factor"]
    mixed = lookup.curve_life(EN, stress_range_mpa=60.0, corrections=[own, other])
    assert "documents-mixed" in codes(mixed)
    assert mixed.sources == ("en-1993-1-9-2005", "iiw-2016")


def test_one_factor_for_each_range() -> None:
    found = lookup.curve_life(EN, stress_range_mpa=[80.0, 80.0], corrections=[mean_stress([-1.0, 0.5], "low")])
    assert found.life_cycles == pytest.approx(EN.life_cycles([50.0, 80.0]), rel=1e-12)
    with pytest.raises(InputError) as caught:
        lookup.curve_life(EN, stress_range_mpa=[80.0, 80.0, 80.0], corrections=[mean_stress([-1.0, 0.5], "low")])
    assert caught.value.path == ("corrections", 0)


def test_energy_density() -> None:
    found = lookup.curve_life(ENERGY, energy_density_mj_m3=[0.058, 0.0])
    assert found.life_cycles[0] == pytest.approx(2e6)
    assert found.below_cutoff.tolist() == [False, True]
    strength = lookup.curve_strength(ENERGY, 2e6)
    assert strength.stress_range_mpa is None
    assert strength.energy_density_mj_m3 == pytest.approx(0.058)
    with pytest.raises(NotCoveredError):
        lookup.curve_life(ENERGY, stress_range_mpa=100.0)
    with pytest.raises(NotCoveredError):
        lookup.curve_life(EN, energy_density_mj_m3=0.1)
    with pytest.raises(NotCoveredError):
        lookup.curve_strength(ENERGY, 2e6, corrections=[own_factor("x", 0.9, reason="y")])


@pytest.mark.parametrize(
    ("figures", "name"),
    [
        ({}, "stress_range_mpa"),
        ({"stress_range_mpa": 1.0, "energy_density_mj_m3": 1.0}, "stress_range_mpa"),
        ({"stress_range_mpa": -1.0}, "stress_range_mpa"),
        ({"stress_range_mpa": 1e120}, "stress_range_mpa"),
    ],
)
def test_refused_look_ups(figures: dict[str, float], name: str) -> None:
    with pytest.raises(InputError) as caught:
        lookup.curve_life(EN, **figures)  # type: ignore[arg-type]
    assert caught.value.path == (name,)
    with pytest.raises(InputError):
        lookup.curve_life(ENERGY, energy_density_mj_m3=math.nan)


def test_a_range_beyond_numbers_is_refused() -> None:
    flat = user_defined_curve(range_mpa=[80.0], life_cycles=[2e6], slopes=[0.05])
    with pytest.raises(InputError) as caught:
        lookup.curve_strength(flat, 1e-12)
    assert caught.value.path == ("life_cycles",)
    steep = user_defined_curve(range_mpa=[80.0], life_cycles=[2e6], slopes=[20.0])
    with pytest.raises(InputError, match="no life that a number can hold") as caught:
        lookup.curve_life(steep, stress_range_mpa=1e30)
    assert caught.value.path == ("stress_range_mpa",)


def test_three_forms_of_an_own_curve() -> None:
    one = user_defined_curve(range_mpa=[100.0], life_cycles=[2e6], slopes=[3, 5], knee_cycles=[1e7], cut_off_cycles=1e9)
    ends = one.range_mpa([1e6, 1e7, 1e8]).tolist()
    several = user_defined_curve(range_mpa=ends, life_cycles=[1e6, 1e7, 1e8], cut_off_cycles=1e9)
    lines = user_defined_curve(log10_constants=one.log10_constants, slopes=[3, 5], cut_off_cycles=1e9)
    ranges = np.linspace(20.0, 300.0, 50)
    for other in (several, lines):
        assert other.life_cycles(ranges) == pytest.approx(one.life_cycles(ranges), rel=1e-10)


@pytest.mark.parametrize(
    ("figures", "name"),
    [
        ({}, "range_mpa"),
        ({"range_mpa": [100.0], "life_cycles": [1e6, 1e7], "slopes": [3]}, "range_mpa"),
        ({"range_mpa": [100.0], "life_cycles": [1e6]}, "slopes"),
        ({"range_mpa": [100.0, 50.0], "life_cycles": [1e6, 1e7], "slopes": [3]}, "slopes"),
        ({"range_mpa": [100.0, 50.0], "life_cycles": [1e6, 1e7], "knee_cycles": [3e6]}, "knee_cycles"),
        ({"log10_constants": [12.0], "slopes": [3], "range_mpa": [1.0]}, "range_mpa"),
        ({"log10_constants": [12.0], "slopes": [3], "life_cycles": [1.0]}, "life_cycles"),
        ({"log10_constants": [12.0], "slopes": [3, 5]}, "log10_constants"),
    ],
)
def test_refused_own_curves(figures: dict[str, list[float]], name: str) -> None:
    with pytest.raises(InputError) as caught:
        user_defined_curve(**figures)
    assert caught.value.path == (name,)


def test_scatter_of_an_own_curve() -> None:
    line: dict[str, Any] = {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3]}
    assert user_defined_curve(**line, sd_log10_cycles=0.3).sd_log10_cycles == 0.3
    of_index = user_defined_curve(**line, scatter_index=1.5, scatter_index_survival=0.9)
    assert of_index.sd_log10_cycles == pytest.approx(0.2061, abs=5e-5)
    with pytest.raises(InputError) as caught:
        user_defined_curve(**line, scatter_index=1.5, sd_log10_cycles=0.3)
    assert caught.value.path == ("scatter_index",)

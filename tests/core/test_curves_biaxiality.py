"""Two-curve rule: at, below and above both bounds; the longer life never wins between them; findings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.curves import biaxiality
from fatcore.curves.biaxiality import (
    damage_per_cycle,
    default_bounds,
    evaluate,
    rule_findings,
    single_curve_findings,
)
from fatcore.curves.standards.catalogue import find_curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import figure

OPENING, SHEAR = find_curve("peak-stress-opening"), find_curve("peak-stress-shear")
LOWER, UPPER = 0.05, 0.5
BELOW, ABOVE = 1.0 - 1e-12, 1.0 + 1e-12


def rule(stress: object, ratio: object, **changes: object) -> tuple[np.ndarray, np.ndarray]:
    settings = {"opening_curve": OPENING, "shear_curve": SHEAR, "lower": LOWER, "upper": UPPER}
    return damage_per_cycle(stress, ratio, **{**settings, **changes})  # type: ignore[arg-type]


def test_default_bounds() -> None:
    assert default_bounds() == (LOWER, UPPER)


@pytest.mark.parametrize(
    ("ratio", "evaluated"),
    [
        (0.0, "opening"),
        (LOWER * BELOW, "opening"),
        (LOWER, "both"),
        (LOWER * ABOVE, "both"),
        (0.2, "both"),
        (UPPER * BELOW, "both"),
        (UPPER, "both"),
        (UPPER * ABOVE, "shear"),
        (10.0, "shear"),
        (math.inf, "shear"),
    ],
)
@pytest.mark.parametrize("stress", [100.0, 300.0, 900.0])  # the two lines cross at about 550 MPa
def test_which_curve_decides(ratio: float, evaluated: str, stress: float) -> None:
    opening, shear = float(OPENING.damage_per_cycle(stress)), float(SHEAR.damage_per_cycle(stress))
    expected = {"opening": opening, "shear": shear, "both": max(opening, shear)}[evaluated]
    damage, choice = rule(stress, ratio)
    assert float(damage) == pytest.approx(expected, rel=1e-14)
    assert int(choice) == {"opening": 0, "shear": 1, "both": int(shear > opening)}[evaluated]
    assert choice.dtype == np.int8


@given(st.floats(1.0, 2000.0), st.floats(0.0, 3.0))
def test_the_shorter_life_governs_between_the_bounds(stress: float, ratio: float) -> None:
    damage = float(rule(stress, ratio)[0])
    both = [float(curve.damage_per_cycle(stress)) for curve in (OPENING, SHEAR)]
    assert damage in [pytest.approx(each, rel=1e-13) for each in both]
    if LOWER <= ratio <= UPPER:
        assert damage == pytest.approx(max(both), rel=1e-13)


@given(st.lists(st.tuples(st.floats(0.0, 1500.0), st.floats(0.0, 2.0)), min_size=1, max_size=20))
def test_order_does_not_matter_and_arrays_are_point_by_point(points: list[tuple[float, float]]) -> None:
    stress, ratio = map(np.array, zip(*points, strict=True))
    damage, choice = rule(stress, ratio)
    for index, (load, share) in enumerate(points):
        alone = rule(load, share)
        assert damage[index] == float(alone[0])
        assert choice[index] == int(alone[1])


def test_broadcasting_and_no_stress() -> None:
    damage, choice = rule([[0.0], [100.0]], [0.0, 0.2, math.inf])
    assert damage.shape == choice.shape == (2, 3)
    assert (damage[0] == 0.0).all()
    assert choice[0].tolist() == [0, 0, 1]


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"stress": -1.0}, "equivalent_mpa"),
        ({"stress": math.inf}, "equivalent_mpa"),
        ({"ratio": -0.1}, "biaxiality_ratio"),
        ({"ratio": math.nan}, "biaxiality_ratio"),
        ({"lower": -0.1}, "lower"),
        ({"lower": math.nan}, "lower"),
        ({"upper": 0.01}, "upper"),
        ({"upper": math.inf}, "upper"),
    ],
)
def test_refused(change: dict[str, float], name: str) -> None:
    figures: dict[str, object] = {"stress": 100.0, "ratio": 0.1, **change}
    with pytest.raises(InputError) as caught:
        rule(figures.pop("stress"), figures.pop("ratio"), **figures)
    assert caught.value.path == (name,)


def test_ragged_columns_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        rule([1.0, 2.0], [0.0, 0.0, 0.0])
    assert caught.value.path == ("biaxiality_ratio",)


def test_a_curve_of_energy_density_is_refused() -> None:
    with pytest.raises(NotCoveredError):
        rule(100.0, 0.1, opening_curve=find_curve("energy-density"))


def test_findings_state_ratio_bounds_curves_lives_and_what_governs() -> None:
    stress = [100.0, 120.0, 90.0, 700.0, 100.0, 80.0]
    ratio = [0.0, 0.01, 0.2, 0.3, 0.9, math.inf]
    found = evaluate(stress, ratio, opening_curve=OPENING, shear_curve=SHEAR)
    below, between, above = found.findings
    assert [each.code for each in found.findings] == [
        "biaxiality-below",
        "biaxiality-between",
        "biaxiality-above",
    ]
    assert [each.count for each in found.findings] == [2, 2, 2]
    assert all((each.low, each.high) == (LOWER, UPPER) for each in found.findings)
    assert below.value == 0.01  # the point of the shorter life
    for text in ("0.01", "0.05", "0.5", "peak-stress-opening", f"{figure(float(OPENING.life_cycles(120.0)))}"):
        assert text in below.message
    assert "peak-stress-shear" not in below.message
    assert between.value == 0.3
    for curve in (OPENING, SHEAR):
        assert f"{curve.id} gives {figure(float(curve.life_cycles(700.0)))} cycles" in between.message
    assert between.message.endswith("peak-stress-shear governs")
    assert above.value == 0.9
    assert {"biaxiality-rule", "psm-design-bands"} <= set(found.sources)
    assert found.tables == ("curves/biaxiality_rule", "curves/peak_stress")
    assert found.damage_per_cycle.tolist() == rule(stress, ratio)[0].tolist()


def test_findings_without_opening_stress_and_without_damage() -> None:
    (above,) = rule_findings(100.0, math.inf, opening_curve=OPENING, shear_curve=SHEAR, lower=LOWER, upper=UPPER)
    assert above.value is None
    assert "no opening stress" in above.message
    (below,) = evaluate(0.0, 0.0, opening_curve=OPENING, shear_curve=SHEAR, lower=0.1, upper=0.2).findings
    assert "infinite life" in below.message
    assert (below.low, below.high) == (0.1, 0.2)


def test_the_rule_has_no_jump_to_the_unsafe_side_at_noise() -> None:
    assert float(rule(200.0, 1e-9)[0]) == float(rule(200.0, 0.0)[0])
    assert biaxiality.OPENING == 0
    assert biaxiality.SHEAR == 1


def test_only_curves_of_the_pair_are_held_against_the_rule() -> None:
    (alone,) = single_curve_findings(OPENING, 100.0, math.inf, 1.0)
    assert alone.code == "opening-curve-for-shear"
    assert single_curve_findings(find_curve("iiw-2016-normal-steel-90"), 100.0, math.inf, 1.0) == ()

"""Curves: exact inverses, knees and cut-off at and beside, invariances, refused figures."""

from __future__ import annotations

import math
import tracemalloc

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fatcore.curves._joining import step_segments
from fatcore.curves.curve import Curve
from fatcore.errors import InputError, NotCoveredError

BELOW, ABOVE = 1.0 - 1e-12, 1.0 + 1e-12


def category_71() -> Curve:
    return Curve.from_point(
        id="own-71", source="own-curve", range_mpa=71.0, slopes=(3, 5), knee_cycles=(5e6,), cut_off_cycles=1e8
    )


def three_branches() -> Curve:
    return Curve.from_point(id="three", source="own-curve", range_mpa=90.0, slopes=(3, 5, 9), knee_cycles=(1e7, 1e8))


curves = st.builds(
    lambda size, slopes, first, gaps, cut: Curve.from_point(
        id="any",
        source="own-curve",
        range_mpa=size,
        slopes=slopes,
        knee_cycles=list(np.cumprod([first, *gaps[: len(slopes) - 2]])) if len(slopes) > 1 else (),
        cut_off_cycles=1e13 if cut else None,
    ),
    st.floats(10.0, 700.0),
    st.lists(st.floats(1.0, 22.0), min_size=1, max_size=4),
    st.floats(1e4, 1e8),
    st.lists(st.floats(1.5, 30.0), min_size=2, max_size=2),
    st.booleans(),
)


@given(curves, st.floats(1e3, 1e12))
def test_range_and_life_are_inverses(curve: Curve, life: float) -> None:
    assert float(curve.life_cycles(curve.range_mpa(life))) == pytest.approx(life, rel=1e-11)


@given(curves, st.lists(st.floats(0.0, 1e3), min_size=2, max_size=30))
def test_life_never_rises_with_the_range(curve: Curve, ranges: list[float]) -> None:
    lives = curve.life_cycles(np.sort(ranges))
    assert (lives[1:] <= lives[:-1] * (1.0 + 1e-12)).all()


@given(curves, st.floats(0.3, 3.0), st.floats(1e3, 1e12))
def test_scaling_moves_every_range_and_no_life(curve: Curve, factor: float, life: float) -> None:
    moved = curve.scaled(factor)
    assert float(moved.range_mpa(life)) == pytest.approx(factor * float(curve.range_mpa(life)), rel=1e-11)
    assert moved.knee_cycles() == pytest.approx(curve.knee_cycles(), rel=1e-10)
    assert (moved.cut_off_cycles() is None) == (curve.cut_off_cycles() is None)
    assert (moved.cut_off_cycles() or 1.0) == pytest.approx(curve.cut_off_cycles() or 1.0, rel=1e-10)


@given(curves, st.lists(st.floats(0.0, 1e3), min_size=1, max_size=30))
def test_damage_is_the_inverse_of_life(curve: Curve, ranges: list[float]) -> None:
    lives, damage = curve.life_cycles(ranges), curve.damage_per_cycle(ranges)
    infinite = np.isinf(lives)
    assert (damage[infinite] < 1e-300).all()
    assert damage[~infinite] * lives[~infinite] == pytest.approx(1.0, rel=1e-12)


@given(curves)
def test_branches_meet(curve: Curve) -> None:
    for knee, life in zip(curve.knees_mpa, curve.knee_cycles(), strict=True):
        beside = curve.life_cycles([knee * ABOVE, knee, knee * BELOW])
        assert beside == pytest.approx(life, rel=1e-9)


@pytest.mark.parametrize("range_mpa", ["200", "90.5", "71", "40", "28.75"])
def test_against_arithmetic_of_fifty_digits(range_mpa: str) -> None:
    with mpmath.workdps(50):
        knee = mpmath.mpf(71) * (mpmath.mpf(2) / 5) ** (mpmath.mpf(1) / 3)
        load = mpmath.mpf(range_mpa)
        slope = 3 if load >= knee else 5
        expected = float(5e6 * (knee / load) ** slope)
    assert float(category_71().life_cycles(float(range_mpa))) == pytest.approx(expected, rel=1e-13)


def test_at_and_beside_the_knee() -> None:
    curve = category_71()
    (knee,) = curve.knees_mpa
    slopes = [
        -math.log(float(curve.life_cycles(high)) / float(curve.life_cycles(low))) / math.log(high / low)
        for low, high in ((knee * 1.001, knee * 1.01), (knee * 0.99, knee * 0.999))
    ]
    assert slopes == pytest.approx([3.0, 5.0], rel=1e-9)
    assert float(curve.life_cycles(knee)) == pytest.approx(5e6, rel=1e-13)


def test_at_and_beside_the_cut_off() -> None:
    curve = category_71()
    cut = curve.cut_off_mpa
    assert cut is not None
    assert float(curve.life_cycles(cut)) == pytest.approx(1e8, rel=1e-12)
    assert float(curve.life_cycles(cut * BELOW)) == math.inf
    assert float(curve.damage_per_cycle(cut * BELOW)) == 0.0
    assert float(curve.damage_per_cycle(cut)) == pytest.approx(1e-8, rel=1e-12)
    assert curve.range_mpa([1e8, 1e9, 1e20]) == pytest.approx(cut, rel=1e-13)
    assert np.isfinite(curve.life_cycles(curve.range_mpa([1e8, 1e9, 1e20]))).all()


def test_no_range_lives_for_ever_and_does_no_damage() -> None:
    for curve in (category_71(), three_branches()):
        assert float(curve.life_cycles(0.0)) == math.inf
        assert float(curve.damage_per_cycle(0)) == 0.0


def test_shapes_are_kept() -> None:
    curve = three_branches()
    for shape in ((), (0,), (3,), (2, 3), (1, 40_000)):
        ranges = np.full(shape, 60.0)
        assert curve.life_cycles(ranges).shape == shape
        assert curve.damage_per_cycle(ranges).shape == shape
        assert curve.range_mpa(np.full(shape, 1e6)).shape == shape
    assert curve.life_cycles(np.full((6, 4), 60.0)[::2, ::2]).shape == (3, 2)


def test_long_arrays_are_worked_through_in_blocks() -> None:
    curve, ranges = category_71(), np.linspace(10.0, 200.0, 50_001)
    singly = [float(curve.life_cycles(each)) for each in ranges[::5000]]
    assert curve.life_cycles(ranges)[::5000].tolist() == singly


def test_memory_stays_small() -> None:
    curve, ranges = three_branches(), np.linspace(1.0, 300.0, 400_000)
    tracemalloc.start()
    curve.life_cycles(ranges)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 2.0 * ranges.nbytes


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, -math.inf])
def test_refused_ranges_and_lives(bad: float) -> None:
    curve = category_71()
    for method, name in (
        (curve.life_cycles, "range_mpa"),
        (curve.damage_per_cycle, "range_mpa"),
        (curve.range_mpa, "life_cycles"),
    ):
        with pytest.raises(InputError) as caught:
            method([10.0, bad])
        assert caught.value.path == (name,)
    with pytest.raises(InputError):
        curve.range_mpa(0.0)


def test_a_point_on_any_branch_gives_the_same_curve() -> None:
    whole = three_branches()
    for life in (2e6, 1e7, 3e7, 1e8, 5e9):
        again = Curve.from_point(
            id="again",
            source="own-curve",
            range_mpa=float(whole.range_mpa(life)),
            cycles=life,
            slopes=(3, 5, 9),
            knee_cycles=(1e7, 1e8),
        )
        assert again.log10_constants == pytest.approx(whole.log10_constants, rel=1e-12)
        assert again.knees_mpa == pytest.approx(whole.knees_mpa, rel=1e-12)


def test_points_intercepts_and_one_point_agree() -> None:
    whole = three_branches()
    lives = [1e5, 1e7, 1e8, 1e9]
    points = Curve.from_points(
        id="points", source="own-curve", range_mpa=whole.range_mpa(lives).tolist(), life_cycles=lives
    )
    crossing = Curve.from_intercepts(
        id="crossing", source="own-curve", log10_constants=whole.log10_constants, slopes=(3, 5, 9)
    )
    for other in (points, crossing):
        assert other.slopes == pytest.approx((3, 5, 9), rel=1e-11)
        assert other.knees_mpa == pytest.approx(whole.knees_mpa, rel=1e-10)
    assert crossing.knee_mismatch == pytest.approx(0.0, abs=1e-12)


def test_later_branches_join_the_first_at_the_stated_knee() -> None:
    curve = Curve.from_intercepts(
        id="d", source="own-curve", log10_constants=(12.164, 15.606), slopes=(3, 5), knee_cycles=(1e7,)
    )
    assert curve.log10_constants[0] == 12.164
    assert curve.log10_constants[1] == pytest.approx(7 + 5 * (12.164 - 7) / 3, rel=1e-15)
    printed = 10 ** ((15.606 - 7) / 5) / 10 ** ((12.164 - 7) / 3) - 1
    assert curve.knee_mismatch == pytest.approx(abs(printed), rel=1e-9)


def test_a_curve_of_energy_density_takes_no_stress() -> None:
    curve = Curve.from_point(
        id="energy", source="own-curve", range_mpa=0.058, slopes=(1.5,), quantity="energy density range"
    )
    assert float(curve.life_cycles_of_energy(0.058)) == pytest.approx(2e6, rel=1e-12)
    assert float(curve.energy_density_mj_m3(2e6)) == pytest.approx(0.058, rel=1e-12)
    assert curve.reference_range_mpa() == pytest.approx(0.058, rel=1e-12)
    for method in (curve.life_cycles, curve.range_mpa, curve.damage_per_cycle):
        with pytest.raises(NotCoveredError, match="energy density range"):
            method(1.0)
    for method in (category_71().life_cycles_of_energy, category_71().energy_density_mj_m3):
        with pytest.raises(NotCoveredError, match="stress range"):
            method(1.0)


def point(**changes: object) -> Curve:
    figures: dict[str, object] = {
        "id": "bad", "source": "own-curve", "range_mpa": 71.0, "slopes": (3, 5), "knee_cycles": (5e6,)
    }  # fmt: skip
    return Curve.from_point(**{**figures, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"range_mpa": 0.0}, "range_mpa"),
        ({"cycles": -1.0}, "cycles"),
        ({"slopes": (3, 0)}, "slopes"),
        ({"slopes": (3,)}, "knee_cycles"),
        ({"slopes": (), "knee_cycles": ()}, "slopes"),
        ({"slopes": (3, 5, 9), "knee_cycles": (1e7, 1e6)}, "knee_cycles"),
        ({"cut_off_cycles": 5e6}, "cut_off_cycles"),
        ({"knee_cycles": (-1.0,)}, "knee_cycles"),
        ({"survival_probability": 1.0}, "survival_probability"),
        ({"sd_log10_cycles": -0.1}, "sd_log10_cycles"),
        ({"sd_log10_cycles": math.nan}, "sd_log10_cycles"),
        ({"slopes": (1e5, 5)}, "slopes"),
        ({"slopes": (100.0, 100.0), "range_mpa": 1e30}, "log10_constants"),
        ({"slopes": (1e-3, 5), "knee_cycles": (1e10,)}, "knee_cycles"),
        ({"slopes": (3, 1e-3), "cut_off_cycles": 1e9}, "cut_off_cycles"),
    ],
)
def test_refused_points(changes: dict[str, object], name: str) -> None:
    with pytest.raises(InputError) as caught:
        point(**changes)
    assert caught.value.path == (name,)


def test_refused_intercepts_and_points() -> None:
    def intercepts(constants: tuple[float, ...], slopes: tuple[float, ...]) -> None:
        Curve.from_intercepts(id="bad", source="own-curve", log10_constants=constants, slopes=slopes)

    for constants, slopes in (
        ((12.0,), (3.0, 5.0)),
        ((), ()),
        ((12.0, 12.0), (3.0, 3.0)),
        ((math.nan,), (3.0,)),
        ((12.0, 299.0), (3.0, 3.0 + 1e-9)),
    ):
        with pytest.raises(InputError):
            intercepts(constants, slopes)
    for ranges, lives in (
        ([100.0], [1e6]),
        ([100.0, 100.0], [1e5, 1e6]),
        ([100.0, 50.0], [1e6, 1e6]),
        ([100.0, 50.0, 20.0], [1e5, 1e6]),
    ):
        with pytest.raises(InputError):
            Curve.from_points(id="bad", source="own-curve", range_mpa=ranges, life_cycles=lives)


def test_a_stepped_curve_is_its_branches_with_a_joint_at_each_step_and_none_without() -> None:
    """By hand: 1e12/S^3 to 1e6 (100), down to 1e15.5/S^5 (79.43), to 1e7 (50.12), up to 1e24/S^9 (77.43)."""
    constants, slopes, joints = step_segments([12.0, 15.5, 24.0, 24.0], [3.0, 5.0, 9.0, 9.0], [1e6, 1e7, 1e8])
    assert len(slopes) == len(constants) == 6
    assert joints == (1, 3)
    assert slopes[::2] == pytest.approx((3.0, 5.0, 9.0))
    assert constants[0::2] == pytest.approx((12.0, 15.5, 24.0))
    assert (slopes[5], constants[5]) == (9.0, 24.0)  # no step: no joint
    assert slopes[1] < 1.0 < 50.0 < slopes[3]
    assert constants[1] == pytest.approx(6.0 + slopes[1] * 9.5 / 5.0)  # through the lower end of each step
    assert constants[3] == pytest.approx(7.0 + slopes[3] * 8.5 / 5.0)


def bare(**changes: object) -> Curve:
    figures: dict[str, object] = {
        "id": "bare", "source": "own-curve", "log10_constants": (12.0, 16.0), "slopes": (3.0, 5.0),
        "knees_mpa": (100.0,), "cut_off_mpa": 10.0,
    }  # fmt: skip
    return Curve(**{**figures, **changes})  # type: ignore[arg-type]


def test_a_bare_curve_is_checked_too() -> None:
    assert bare().knee_cycles() == pytest.approx((1e6,))
    for changes in (
        {"log10_constants": (12.0, 16.1)},
        {"log10_constants": (12.0,)},
        {"log10_constants": (math.inf, 16.0)},
        {"knees_mpa": (100.0, 50.0)},
        {"cut_off_mpa": 100.0},
        {"cut_off_mpa": 0.0},
        {"slopes": (-3.0, 5.0)},
        {"log10_constants": (12.0,), "slopes": (1e-3,), "knees_mpa": ()},
        {"knees_mpa": (-100.0,)},
    ):
        with pytest.raises(InputError):
            bare(**changes)


@given(st.floats(0.01, 0.99), st.floats(0.05, 0.5))
def test_survival_moves_by_the_own_scatter(probability: float, scatter: float) -> None:
    assume(probability != 0.977)  # the name of the two-deviation line
    curve = point(survival_probability=0.5, sd_log10_cycles=scatter)
    moved = curve.at_survival(probability)
    normal = float(mpmath.ncdf((math.log10(2e6) - math.log10(float(moved.life_cycles(71.0)))) / scatter))
    on_first_branch = float(moved.life_cycles(71.0)) < 5e6
    assert not on_first_branch or normal == pytest.approx(probability, abs=1e-9)
    assert moved.knee_cycles() == pytest.approx(curve.knee_cycles(), rel=1e-10)
    assert moved.survival_probability == probability or moved is curve


def test_survival_without_a_start_is_refused() -> None:
    with pytest.raises(NotCoveredError):
        point().at_survival(0.5)


def test_there_and_back_again() -> None:
    curve = point(survival_probability=0.977, sd_log10_cycles=0.2095)
    back = curve.at_survival(0.5).at_survival(0.977)
    assert back.log10_constants == pytest.approx(curve.log10_constants, rel=1e-13)
    assert curve.at_survival(0.977) is curve
    assert curve.at_survival(0.5).log10_constants[0] == pytest.approx(curve.log10_constants[0] + 2 * 0.2095, rel=1e-13)


def test_curves_of_equal_figures_are_equal_and_hashable() -> None:
    assert category_71() == category_71()
    assert len({category_71(), category_71(), three_branches()}) == 2

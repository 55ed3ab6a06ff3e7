"""Stations of a line on straight curves through round points: every column of the result worked out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.check.findings.validity import find_touched_stations
from fatcore.check.line import WeldLine
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.stations import Governing, LineState, assess
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, PlainStrength, Strength
from fatcore.curves.curve import Curve
from fatcore.findings import outside
from tests.core.test_check_bounds import state_of

POINT = 2e6  # cycles of the point that a curve goes through
Cycle = tuple[float, float, float]  # maximum, minimum, number


def through(range_mpa: float, *slopes: float, **more: Any) -> Curve:
    return Curve.from_point(
        id="own", source="peak-stress-review-2020", range_mpa=range_mpa, cycles=POINT, slopes=slopes, **more
    )


def plain(**more: Any) -> PlainStrength:
    return PlainStrength(weights=np.ones(2), curve=through(100.0, 3.0), **more)


def pair(opening_mpa: float = 100.0, shear_mpa: float = 200.0, **more: Any) -> PeakStrength:
    """Slopes 3 and 5 through these ranges, the published bounds of the ratio, weights of one."""
    given = {"weights": np.ones(3), "lower": 0.05, "upper": 0.5, "relieved": False, **more}
    return PeakStrength(opening_curve=through(opening_mpa, 3.0), shear_curve=through(shear_mpa, 5.0), **given)


def alone(line: WeldLine, loading: Loading, strength: Strength, **more: Any) -> tuple[LineState, Governing]:
    return assess({0: line}, loading, {0: strength}, **more)[0]


def found(
    stresses: Any, strength: Strength, *cycles: Cycle, allowed: float = 1.0, limit: float = 1.0, **more: Any
) -> tuple[LineState, Governing]:
    unit = np.array(stresses, dtype=float)
    basis = "nominal" if unit.shape[1] == 2 else "peak-stress"
    line = WeldLine(name="seam", basis=basis, position_mm=5.0 * np.arange(len(unit)), cases={"pull": unit})  # type: ignore[arg-type]
    blocks = [
        Block(factors={"pull": LoadState(maximum=top, minimum=bottom)}, cycles=number) for top, bottom, number in cycles
    ]
    loading = BlockLoading(blocks=tuple(blocks), transitions="in-entries")
    return alone(line, loading, strength, allowed=allowed, damage_limit=limit, **more)


def at_ratio(ratio: float, opening_mpa: float = 100.0) -> list[float]:
    """Peaks whose shear energy is this part of the opening one."""
    return [opening_mpa, 0.0, opening_mpa * ratio**0.5]


def test_every_column_of_two_blocks_on_a_slope_of_three() -> None:
    """1000 cycles of 0 to 1 and 8 cycles of -3 to 2: ranges of one and of five units."""
    stations = [[30.0, 10.0], [60.0, -20.0], [10.0, -40.0]]
    finished: list[int] = []
    state, best = found(stations, plain(), (1.0, 0.0, 1000.0), (2.0, -3.0, 8.0), allowed=0.5, progress=finished.append)
    units = np.array([0.3, 0.6, 0.1])
    damage = (1000.0 + 8.0 * 125.0) * units**3 / 2e6
    np.testing.assert_allclose(state.damage, damage, rtol=1e-12)
    np.testing.assert_allclose(state.utilisation, (damage / 0.5) ** (1.0 / 3.0), rtol=1e-12)
    np.testing.assert_allclose(state.equivalent_mpa, [150.0, 300.0, 50.0])
    np.testing.assert_allclose(state.range_mpa, [[150.0, 50.0], [300.0, 100.0], [50.0, 200.0]])
    assert state.extreme_mpa.tolist() == [90.0, 180.0, 120.0]
    assert state.cycles.tolist() == [1008.0] * 3
    assert state.severer_utilisation.tolist() == state.utilisation.tolist()
    assert state.curve_index.tolist() == [0, 0, 0]
    assert np.isinf(state.ratio).all()
    assert not state.outside_ratio.any() | state.lowered.any()
    assert finished == [3]
    assert best.index == 1
    assert best.utilisation == state.utilisation[1]
    np.testing.assert_allclose(best.cycles.equivalent_mpa, [[60.0, 300.0]])
    doubled, _ = found(stations, plain(), (1.0, 0.0, 1000.0), (2.0, -3.0, 8.0), allowed=0.5, load_factor=2.0)
    np.testing.assert_allclose(doubled.utilisation, 2.0 * state.utilisation, rtol=1e-12)


@pytest.mark.parametrize("miss", [-2e-9, -5e-10, 5e-10, 2e-9, 0.005, -0.005])
def test_a_utilisation_within_a_billionth_of_one_is_one(miss: float) -> None:
    state, _ = found([[100.0 * (1.0 + miss), 0.0]], plain(), (1.0, 0.0, POINT))
    assert state.utilisation[0] == (1.0 if abs(miss) < 1e-9 else pytest.approx(1.0 + miss, abs=1e-12))
    assert (state.utilisation[0] == 1.0) == (abs(miss) < 1e-9)


@pytest.mark.parametrize(("limit", "allowed"), [(1.0, 1.0), (1.0, 0.25), (0.5, 0.5)])
def test_cycles_of_a_life_below_ten_thousand_are_short(limit: float, allowed: float) -> None:
    """Damages of 1.25e-4, 0.9e-4 and 0.64e-4 a cycle: lives of 8000, 11111 and 15625 cycles on the mean."""
    ranges = (2e6 * np.array([1.25e-4, 0.9e-4, 0.64e-4])) ** (1.0 / 3.0) * 100.0
    stations = [[ranges[0], 0.0], [ranges[1], 0.0], [ranges[2], 0.0], [0.0, 0.0]]
    state, _ = found(stations, plain(), (1.0, 0.0, 5.0), (0.1, 0.0, 7.0), limit=limit, allowed=allowed)
    each = np.array([1.25e-4, 0.9e-4, 0.64e-4, 0.0])
    short = each * 1e4 > limit
    np.testing.assert_allclose(state.short_share, np.where(short, 5.0 * each / allowed, 0.0), rtol=1e-9)
    lives = [limit / one if is_short else np.inf for one, is_short in zip(each, short, strict=True)]
    np.testing.assert_allclose(state.short_life, lives, rtol=1e-9)


@pytest.mark.parametrize(("miss", "short"), [(-1e-9, False), (3e-10, False), (1e-9, True)])
def test_a_cycle_of_ten_thousand_is_not_short(miss: float, short: bool) -> None:
    state, _ = found([[100.0 * 200.0 ** (1.0 / 3.0) * (1.0 + miss), 0.0]], plain(), (1.0, 0.0, 5.0))
    assert (state.short_share[0] > 0.0) == short


def test_a_shear_range_of_short_life_is_seen_beside_a_small_normal_one() -> None:
    """300 MPa of shear on 80 MPa at slope 5: 1e4 cycles at 231 MPa; the normal curve has them at 585 MPa."""
    both = InteractionStrength(normal_curve=through(100.0, 3.0), shear_curve=through(80.0, 5.0), rule="damage-sum")
    state, _ = found([[10.0, 300.0], [10.0, 0.0]], both, (1.0, 0.0, 5.0))
    each = (0.1**3 + 3.75**5) / POINT
    assert state.short_life.tolist() == [pytest.approx(1.0 / each, rel=1e-9), np.inf]
    assert state.short_share.tolist() == [pytest.approx(5.0 * each, rel=1e-9), 0.0]
    assert state.extreme_mpa.tolist() == [300.0, 10.0]


def test_normal_and_shear_stress_have_no_load_ratio_to_leave() -> None:
    both = InteractionStrength(normal_curve=through(100.0, 3.0), shear_curve=through(80.0, 5.0), rule="damage-sum")
    state, _ = found([[10.0, 30.0]], both, (-1.0, -2.0, 5.0))
    assert state.outside_ratio.tolist() == [False]


@pytest.mark.parametrize("once", [1.0, 0.001])
def test_a_mode_counts_on_the_mean_by_third_powers(once: float) -> None:
    """One opening cycle of 100, four sliding ones of 50 that weigh an eighth each: two thirds to one third."""
    peaks = {"pull": [[100.0, 0.0, 0.0]], "push": [[0.0, 50.0, 0.0]]}
    cases = {name: np.array(rows) for name, rows in peaks.items()}
    line = WeldLine(name="toe", position_mm=np.zeros(1), cases=cases)
    moved, counts = LoadState(maximum=1.0, minimum=0.0), (("pull", once), ("push", 4.0 * once))
    blocks = tuple(Block(factors={name: moved}, cycles=count) for name, count in counts)
    loading = BlockLoading(blocks=blocks, transitions="in-entries")
    state, _ = alone(line, loading, pair(), allowed=once / POINT, damage_limit=1.0)
    np.testing.assert_allclose(state.shares, [[1.0, 1.0 / 3.0, 0.0]], rtol=1e-12)
    assert state.ratio[0] == 0.0
    assert state.extreme_mpa.tolist() == [0.0]
    factor = 1.0 / state.utilisation[0]
    assert factor**3 + 4.0 * (0.25 * factor) ** 5 == pytest.approx(1.0, rel=1e-9)


def test_of_the_orders_of_blocks_the_worst_counts_at_each_station() -> None:
    """0-2 and 3-1 close 0 to 3 alone; 2-0 and 3-1 close 1 to 2 as well. A second case names the ends."""
    blocks = tuple(
        Block(
            factors={"name": LoadState(maximum=1.0, minimum=0.0), "pull": LoadState(maximum=top, minimum=bottom)},
            cycles=5.0,
        )
        for top, bottom in ((0.0, 2.0), (3.0, 1.0))
    )
    pull = np.array([[100.0, 0.0], [-50.0, 0.0]])
    line = WeldLine(
        name="seam", basis="nominal", position_mm=np.array([0.0, 5.0]), cases={"name": 0.0 * pull, "pull": pull}
    )
    state, _ = alone(line, BlockLoading(blocks=blocks), plain(), allowed=1.0, damage_limit=1.0)
    whole = 2 * 5 * 8 + 27 + 1
    np.testing.assert_allclose(state.damage, [whole / POINT, whole / 8.0 / POINT], rtol=1e-12)
    assert state.cycles.tolist() == [10.0, 10.0]
    both = InteractionStrength(
        normal_curve=through(100.0, 3.0), shear_curve=through(80.0, 5.0), rule="quadratic-proportional"
    )
    state, _ = alone(line, BlockLoading(blocks=blocks), both, allowed=1.0, damage_limit=1.0)
    np.testing.assert_allclose(state.utilisation, np.array([1.0, 0.5]) * (whole / POINT) ** (1.0 / 3.0), rtol=1e-9)


@pytest.mark.parametrize(("share", "touched"), [(0.00995, False), (0.01005, True)])
def test_a_hundredth_of_the_squared_equivalent_counts(share: float, touched: bool) -> None:
    state = state_of([0.5], shares=np.array([[1.0 - share, share, 0.0]]))
    assert find_touched_stations([outside("x", "x", field="sliding")], state).tolist() == [touched]


# --- bounds of the biaxiality rule that lie elsewhere


@pytest.mark.parametrize(
    ("ratio", "opening_mpa", "shear_mpa", "alone", "with_both"),
    [
        (0.62, 100.0, 400.0, 1.62**0.5 / 4.0, 1.62**0.5),  # above 0.5, within 0.5 / 0.8
        (0.63, 100.0, 400.0, 1.63**0.5 / 4.0, 1.63**0.5 / 4.0),
        (0.041, 100.0, 50.0, 1.041**0.5, 2.0 * 1.041**0.5),  # below 0.05, within 0.05 / 1.25
        (0.039, 100.0, 50.0, 1.039**0.5, 1.039**0.5),
        (0.62, 400.0, 100.0, 1.62**0.5, 1.62**0.5),  # the other curve does less
        (0.3, 100.0, 400.0, 1.3**0.5, 1.3**0.5),
    ],
)
def test_scatter_brings_the_other_curve_as_far_as_its_band(
    ratio: float, opening_mpa: float, shear_mpa: float, alone: float, with_both: float
) -> None:
    """Two million cycles on curves through two million: the utilisation is the range over that of the curve."""
    strength = pair(opening_mpa, shear_mpa, ratio_band=(0.8, 1.25))
    stations = [at_ratio(ratio), at_ratio(0.0, 10.0), at_ratio(ratio, 50.0)]
    state, _ = found(stations, strength, (1.0, 0.0, POINT))
    np.testing.assert_allclose(state.ratio, [ratio, 0.0, ratio], rtol=1e-9)
    np.testing.assert_allclose(state.utilisation[[0, 2]], [alone, 0.5 * alone], rtol=1e-9)
    np.testing.assert_allclose(state.severer_utilisation[[0, 2]], [with_both, 0.5 * with_both], rtol=1e-9)
    assert state.severer_utilisation[1] == state.utilisation[1]


def test_without_a_band_the_bounds_are_where_they_are() -> None:
    ratios = np.array([[0.049, 0.05, 0.3, 0.5, 0.501, np.inf]])
    np.testing.assert_array_equal(pair().within_scatter(ratios, np.array([0])), ratios)


def test_the_ends_of_the_band_belong_to_it() -> None:
    """A ratio of a quarter: 0.2 over 0.8, and 0.3125 over 1.25."""
    for bounds, shear_mpa in (({"upper": 0.2}, 400.0), ({"lower": 0.3125}, 50.0)):
        state, _ = found(
            [[100.0, 0.0, 50.0]], pair(100.0, shear_mpa, ratio_band=(0.8, 1.25), **bounds), (1.0, 0.0, POINT)
        )
        assert state.ratio[0] == 0.25
        assert state.severer_utilisation[0] == pytest.approx(1.25**0.5 * 100.0 / min(shear_mpa, 100.0))
        assert state.utilisation[0] < 0.6 * state.severer_utilisation[0]


@pytest.mark.parametrize(
    ("moved", "ratio", "shear_mpa", "lowered"),
    [
        ({"lower": 0.1}, 0.07, 50.0, True),
        ({"lower": 0.1}, 0.049, 50.0, False),
        ({"lower": 0.1}, 0.11, 50.0, False),
        ({"lower": 0.1}, 0.07, 400.0, False),
        ({"upper": 0.3}, 0.4, 400.0, True),
        ({"upper": 0.3}, 0.51, 400.0, False),
        ({"upper": 0.3}, 0.29, 400.0, False),
        ({"upper": 0.3}, 0.4, 50.0, False),
        ({"lower": 0.01, "upper": 0.9}, 0.02, 50.0, False),
        ({"lower": 0.01, "upper": 0.9}, 0.8, 400.0, False),
    ],
)
def test_bounds_moved_inwards_lower_the_damage_between_old_and_new(
    moved: dict[str, float], ratio: float, shear_mpa: float, lowered: bool
) -> None:
    state, _ = found([at_ratio(ratio), at_ratio(0.0)], pair(100.0, shear_mpa, **moved), (1.0, 0.0, 10.0))
    assert state.lowered.tolist() == [lowered, False]


@pytest.mark.parametrize(("bound", "opening_mpa", "shear_mpa"), [(0.5, 100.0, 400.0), (0.05, 400.0, 100.0)])
def test_both_curves_count_at_a_bound_itself(bound: float, opening_mpa: float, shear_mpa: float) -> None:
    """A range of 100 MPa a million million times: the severer curve, through 100 MPa, decides."""
    cycle = Judged(
        equivalent_mpa=np.full((1, 1), 100.0),
        ratio=np.full((1, 1), bound),
        second_mpa=np.zeros((1, 1)),
        count=np.ones(1),
    )
    strength = pair(opening_mpa, shear_mpa)
    damage, curve = strength.damage(cycle)
    assert damage[0] == pytest.approx(1.0 / POINT)
    assert curve[0] == (0 if opening_mpa < shear_mpa else 1)
    assert strength.utilisation(cycle, damage, 1.0 / POINT)[0] == pytest.approx(1.0, rel=1e-12)


def test_the_shear_curve_is_named_where_it_does_more_than_half_of_the_damage() -> None:
    """An opening and a sliding cycle of one damage each, then more of the one or of the other."""
    same = PeakStrength(
        weights=np.ones(3),
        opening_curve=through(100.0, 3.0),
        shear_curve=through(100.0, 3.0),
        lower=0.05,
        upper=0.5,
        relieved=False,
    )
    for number, named in ((1.0, 0), (1.001, 1), (0.999, 0), (3.0, 1)):
        cycles = Judged(
            equivalent_mpa=np.full((1, 2), 80.0),
            ratio=np.array([[0.0, np.inf]]),
            second_mpa=np.zeros((1, 2)),
            count=np.array([1.0, number]),
        )
        damage, curve = same.damage(cycles)
        assert damage[0] == pytest.approx((1.0 + number) * 0.512 / POINT)
        assert curve.tolist() == [named]
        np.testing.assert_allclose(same.damage_per_cycle(cycles), np.full((1, 2), 0.512 / POINT))


# --- ways to the utilisation


def test_a_cut_off_is_the_utilisation_where_every_range_above_it_is_too_much() -> None:
    """Cut-off of 50 MPa, a thousand times the cycles that 100 MPa may have: 25 MPa is half of it, 100 twice."""
    cut = Curve(
        id="own", source="peak-stress-review-2020", log10_constants=(np.log10(2e12),), slopes=(3.0,), cut_off_mpa=50.0
    )
    strength = PlainStrength(weights=np.ones(2), curve=cut)
    state, _ = found([[100.0, 0.0], [25.0, 0.0], [0.0, 0.0]], strength, (1.0, 0.0, 1000.0 * POINT))
    np.testing.assert_allclose(state.utilisation, [2.0, 0.5, 0.0], rtol=1e-9)
    both = InteractionStrength(normal_curve=cut, shear_curve=through(100.0, 5.0), rule="damage-sum")
    state, _ = found([[100.0, 0.0], [0.0, 100.0], [0.0, 0.0]], both, (1.0, 0.0, 1000.0 * POINT))
    np.testing.assert_allclose(state.utilisation, [2.0, 1000.0**0.2, 0.0], rtol=1e-9)


def test_the_pair_looks_beyond_a_knee_of_one_of_its_curves() -> None:
    """100 million cycles: five times to the knee at 10 million with slope 3, ten times from there with slope 5."""
    bent = through(100.0, 3.0, 5.0, knee_cycles=(1e7,))
    just = 100.0 / (5.0 ** (1.0 / 3.0) * 10.0**0.2)
    for curves in ((bent, through(900.0, 5.0)), (through(900.0, 5.0), bent), (bent, bent)):
        strength = PeakStrength(
            weights=np.ones(3), opening_curve=curves[0], shear_curve=curves[1], lower=0.05, upper=0.5, relieved=False
        )
        state, _ = found([at_ratio(0.3)], strength, (1.0, 0.0, 1e8))
        assert state.utilisation[0] == pytest.approx(100.0 * 1.3**0.5 / just, rel=1e-9)


def test_a_range_too_faint_for_its_damage_keeps_its_utilisation_beside_others() -> None:
    for strength in (pair(100.0, 100.0), pair(100.0, 100.0, upper=1e9)):
        state, _ = found([[100.0, 0.0, 0.0], [0.0, 0.0, 1e-80], [0.0, 0.0, 100.0]], strength, (1.0, 0.0, POINT))
        np.testing.assert_allclose(state.utilisation, [1.0, 1e-82, 1.0], rtol=1e-9)


def test_normal_and_shear_use_add_by_squares_or_by_damages() -> None:
    """Normal 60 of 100 MPa, shear 40 of 80 MPa, at two million cycles: uses of 0.6 and 0.5."""
    curves = {"normal_curve": through(100.0, 3.0), "shear_curve": through(80.0, 5.0)}
    summed, _ = found([[60.0, 40.0]], InteractionStrength(rule="damage-sum", **curves), (1.0, 0.0, POINT))
    assert summed.damage[0] == pytest.approx(0.6**3 + 0.5**5)
    factor = 1.0 / summed.utilisation[0]
    assert (0.6 * factor) ** 3 + (0.5 * factor) ** 5 == pytest.approx(1.0, rel=1e-9)
    assert summed.curve_index.tolist() == [0]
    squared = InteractionStrength(rule="quadratic-proportional", **curves)
    assert found([[60.0, 40.0]], squared, (1.0, 0.0, POINT))[0].utilisation[0] == pytest.approx(0.61**0.5)
    assert found([[160.0, 96.0]], squared, (1.0, 0.0, POINT))[0].utilisation[0] == pytest.approx(2.0)


def test_a_station_that_rests_in_a_history_has_no_cycles() -> None:
    line = WeldLine(
        name="seam",
        basis="nominal",
        position_mm=np.array([0.0, 5.0]),
        cases={"pull": np.array([[0.0, 0.0], [50.0, 0.0]])},
    )
    loading = HistoryLoading(channels={"pull": np.array([0.0, 2.0, 0.0])})
    state, best = alone(line, loading, plain(), allowed=1.0, damage_limit=1.0)
    assert state.cycles.tolist() == [0.0, 1.0]
    assert state.damage == pytest.approx([0.0, 1.0 / POINT])
    assert state.equivalent_mpa.tolist() == [0.0, 100.0]
    assert best.index == 1


# --- load ratios of a relieved joint


@pytest.mark.parametrize(
    ("small", "share", "beyond"),
    [
        ((0.25, -0.25), 0.5, False),  # R = -1
        ((0.249, -0.251), 0.5, True),
        ((0.249, -0.251), 0.0099, False),
        ((0.249, -0.251), 0.0101, True),
        ((-0.5, -1.0), 0.5, True),  # R = 2
        ((1.5, 1.0), 0.5, False),
    ],
)
def test_cycles_beyond_the_load_ratios_count_from_a_hundredth_of_the_damage(
    small: tuple[float, float], share: float, beyond: bool
) -> None:
    """Beside one cycle of the whole range, so many of half of it that they do this share of the damage."""
    number = 8.0 * share / (1.0 - share)
    relieved = plain(relieved=True, published_weights=np.ones(2))
    state, _ = found([[80.0, 0.0], [0.008, 0.0]], relieved, (1.0, 0.0, 1.0), (*small, number))
    assert state.outside_ratio.tolist() == [beyond] * 2
    if beyond:
        low, high = min(small), max(small)
        assert state.load_ratio.tolist() == pytest.approx([low / high] * 2)
    as_welded, _ = found([[80.0, 0.0]], plain(), (1.0, 0.0, 1.0), (*small, number))
    assert not as_welded.outside_ratio.any()


@pytest.mark.parametrize(("share", "beyond"), [(0.00995, False), (0.01005, True)])
def test_the_load_ratio_of_a_cycle_matters_where_its_opening_counts(share: float, beyond: bool) -> None:
    """The only cycle, in compression: by the published weights its opening is this part of its square."""
    strength = pair(relieved=True, weights=np.array([0.5, 1.0, 1.0]), published_weights=np.array([2.0, 1.0, 1.0]))
    opening, shear = 0.5 * share**0.5, (1.0 - share) ** 0.5
    state, _ = found([[100.0 * opening, 100.0 * shear, 0.0]], strength, (-1.0, -2.0, 1e3))
    assert state.outside_ratio.tolist() == [beyond]
    assert state.shares[0] == pytest.approx([share, 1.0 - share, 0.0])


def test_exactly_a_hundredth_of_the_square_does_not_count_yet() -> None:
    peaks = [1.0, 99.0**0.5, 0.0]
    state, _ = found([peaks], pair(relieved=True), (-1.0, -2.0, 1e3))
    assert state.shares[0, 0] == 0.01
    assert state.outside_ratio.tolist() == [False]


def test_where_nothing_does_damage_no_load_ratio_is_left() -> None:
    state, _ = found([[0.0, 0.0], [80.0, 0.0]], plain(relieved=True), (1.0, 0.0, 1e3))
    assert state.outside_ratio.tolist() == [False, False]


def test_of_stations_at_rest_the_first_governs() -> None:
    line = WeldLine(name="seam", basis="nominal", position_mm=5.0 * np.arange(3), cases={"pull": np.zeros((3, 2))})
    history = HistoryLoading(channels={"pull": np.array([0.0, 1.0, 0.0])})
    _, best = alone(line, history, plain(), allowed=1.0, damage_limit=1.0)
    assert (best.index, best.utilisation) == (0, 0.0)


def test_no_range_means_no_part_in_the_square() -> None:
    state, _ = found([[0.0, 0.0, 0.0]], pair(), (1.0, 0.0, 1e3))
    assert state.shares.tolist() == [[0.0, 0.0, 0.0]]

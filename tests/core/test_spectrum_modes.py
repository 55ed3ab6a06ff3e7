"""Cycles of several modes: proportional load, definitions, engines, many stations, bad input."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fatcore.curves.curve import Curve
from fatcore.errors import InputError
from fatcore.spectrum.counting import engine, kernels
from fatcore.spectrum.counting.count import Residue, count_turning_points, rainflow
from fatcore.spectrum.counting.cycles import from_indices
from fatcore.spectrum.counting.history import turning_points
from fatcore.spectrum.multiaxial import path
from fatcore.spectrum.multiaxial._extremes import loop_ends, loop_extremes
from fatcore.spectrum.multiaxial.definitions import compare_definitions, weighted_range
from fatcore.spectrum.multiaxial.modes import Definition, ModeCycles, mode_cycles
from fatcore.spectrum.multiaxial.stations import count_stations
from fatcore.verification.spectrum.counting import circle

WEIGHTS = [1.0, 0.5, 2.0]
LINE = Curve(id="own", source="own-curve", log10_constants=(12.0,), slopes=(3.0,))
FIELDS = ("range_mpa", "minimum_mpa", "maximum_mpa", "count", "start_index", "end_index")

modes = st.integers(1, 40).flatmap(lambda size: arrays(np.float64, (3, size), elements=st.integers(-5, 5).map(float)))


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """Compiles before the first property, whose time per example is limited."""
    mode_cycles([[0.0, 2.0, 1.0, 3.0], [0.0, 1.0, 0.0, 1.0]], [1.0, 1.0])


def cubes(cycles: ModeCycles, weights: list[float] = WEIGHTS) -> float:
    return float(cycles.count @ weighted_range(cycles, weights) ** 3)


@given(arrays(np.float64, 30, elements=st.floats(-100, 100)), st.sampled_from(["half", "closed"]))
@settings(deadline=None)
def test_all_definitions_agree_under_proportional_load(process: np.ndarray, residue: Residue) -> None:
    history = np.outer([1.0, -0.5, 0.25], process)
    definitions: tuple[Definition, ...] = ("governing", "independent", "path")
    sums = [cubes(mode_cycles(history, WEIGHTS, residue=residue, definition=d)) for d in definitions]
    single = rainflow(process, residue)
    factor = np.sqrt(np.square(np.array([1.0, -0.5, 0.25]) * WEIGHTS).sum())
    exact = float(single.count @ (factor * single.range_mpa) ** 3)
    assert sums == pytest.approx([exact] * 3, rel=1e-7, abs=1e-9)


@given(modes, st.sampled_from(["half", "closed"]))
@settings(deadline=None)
def test_engines_agree_to_the_last_bit(history: np.ndarray, residue: Residue) -> None:
    with engine.using("plain"):
        plain = mode_cycles(history, WEIGHTS, residue=residue)
    with engine.using("fast"):
        fast = mode_cycles(history, WEIGHTS, residue=residue)
    for name in FIELDS:
        assert getattr(plain, name).tolist() == getattr(fast, name).tolist()


def brute_span(values: np.ndarray, first: int, second: int, level: float, whole: bool) -> tuple[float, float]:
    """Walks sample by sample from the first reversal until the governing mode is back at its stress there."""
    seen = [values[:, k] for k in range(first, second + 1)]
    if whole:
        upward = values[0, second] < level
        for k in range(second, values.shape[1] - 1):
            a, b = values[:, k], values[:, k + 1]
            if (b[0] >= level) if upward else (b[0] <= level):
                seen.append(a + (level - a[0]) / (b[0] - a[0]) * (b - a))
                break
            seen.append(b)
    return min(s[1] for s in seen), max(s[1] for s in seen)


@given(arrays(np.float64, (2, 35), elements=st.integers(-6, 6).map(float)))
def test_span_of_a_mode_over_the_loop_of_the_governing_one(history: np.ndarray) -> None:
    cycles = mode_cycles(history, [1.0, 1e-9], residue="half")
    for k in range(cycles.count.size if cycles.governing_mode == 0 else 0):
        first, second = int(cycles.start_index[k]), int(cycles.end_index[k])
        level, whole = float(history[0, first]), cycles.count[k] == 1.0
        low, high = brute_span(history, first, second, level, whole)
        assert cycles.minimum_mpa[k, 1] == pytest.approx(low, abs=1e-12)
        assert cycles.maximum_mpa[k, 1] == pytest.approx(high, abs=1e-12)
        assert cycles.range_mpa[k, 0] == abs(history[0, second] - level)


def test_a_swing_of_another_mode_inside_a_cycle_is_not_missed() -> None:
    history = np.array([[0.0, 10.0, 8.0, 9.0, 0.0], [0.0, 0.0, 7.0, 0.0, 0.0]])
    cycles = mode_cycles(history, [1.0, 1.0], residue="closed")
    assert cycles.range_mpa[-1].tolist() == [10.0, 7.0]


@pytest.mark.parametrize("name", ["plain", "fast"])
def test_extremes_and_last_sample_of_a_smooth_loop(name: engine.Engine) -> None:
    turn = np.linspace(0.0, 40.0, 4001)
    process = np.sin(turn) * np.exp(-0.02 * turn) + 0.3 * np.sin(7.3 * turn)
    points = turning_points(process)
    whole, left = count_turning_points(process, points, "half")
    cycles = from_indices(process, whole, left)
    with engine.using(name):
        last, share = loop_ends(process, points, cycles)
        low, high = loop_extremes(process, cycles, last, share)
    tall = cycles.count == 1.0
    np.testing.assert_allclose(low, cycles.minimum_mpa, atol=1e-12)
    np.testing.assert_allclose(high, cycles.maximum_mpa, atol=1e-12)
    assert ((share[tall] > 0.0) & (share[tall] <= 1.0)).all()
    assert (share[~tall] == 0.0).all()
    back = np.sign(cycles.start_mpa - cycles.end_mpa)
    assert (((process[last] - cycles.start_mpa) * back)[tall] < 0.0).all()
    assert (((process[last[tall] + 1] - cycles.start_mpa[tall]) * back[tall]) >= 0.0).all()


def test_independent_ranges_are_paired_by_rank() -> None:
    history = np.array([[0.0, 4.0, 0.0, 10.0, 0.0], [0.0, 6.0, 0.0, 2.0, 0.0]])
    cycles = mode_cycles(history, [1.0, 1.0], residue="closed", definition="independent")
    assert cycles.range_mpa.tolist() == [[10.0, 6.0], [4.0, 6.0]]  # 4 and 6 act together in the record
    assert cycles.count.tolist() == [1.0, 1.0]


def test_a_mode_without_cycles_left_rests_at_its_mean() -> None:
    history = np.array([[0.0, 4.0, 0.0, 4.0, 0.0], [1.0, 1.0, 1.0, 1.0, 1.0]])
    cycles = mode_cycles(history, [1.0, 1.0], residue="half", definition="independent")
    assert cycles.range_mpa.tolist() == [[4.0, 0.0]] * 4
    assert cycles.count.tolist() == [0.5] * 4
    assert cycles.minimum_mpa.tolist() == [[0.0, 1.0]] * 4
    still = mode_cycles([[1.0, 1.0], [2.0, 2.0]], [1.0, 1.0], definition="independent")
    assert still.count.size == 0


def test_independent_cycles_go_on_when_the_governing_mode_has_none_left() -> None:
    history = np.array([[0.0, 9.0, 9.0, 9.0, 9.0, 0.0], [0.0, 0.0, -3.0, -1.0, -2.0, 0.0]])
    cycles = mode_cycles(history, [1.0, 1.0], residue="closed", definition="independent")
    assert cycles.range_mpa.tolist() == [[9.0, 3.0], [0.0, 1.0]]
    assert cycles.maximum_mpa.tolist() == [[9.0, 0.0], [6.0, -1.0]]
    assert cycles.minimum_mpa.tolist() == [[0.0, -3.0], [6.0, -2.0]]


KNEES = Curve(
    id="own", source="own-curve", log10_constants=(7.0, 8.0), slopes=(3.0, 5.0), knees_mpa=(10.0**0.5,),
    cut_off_mpa=2.0,
)  # fmt: skip


@given(
    st.one_of(modes, arrays(np.float64, (3, 30), elements=st.floats(-9, 9, width=32))),
    st.sampled_from(["half", "closed"]),
    st.sampled_from([LINE, KNEES]),
)
@settings(deadline=None, max_examples=300)
def test_independent_never_does_less_damage_than_governing(history: np.ndarray, residue: Residue, curve: Curve) -> None:
    def damage(found: ModeCycles) -> float:
        return float(found.count @ curve.damage_per_cycle(weighted_range(found, WEIGHTS)))

    governing = mode_cycles(history, WEIGHTS, residue=residue)
    safe = mode_cycles(history, WEIGHTS, residue=residue, definition="independent")
    assert damage(safe) >= damage(governing) * (1.0 - 1e-12)
    for mode, weight in enumerate(WEIGHTS):
        alone = rainflow(history[mode], residue)
        least = float(alone.count @ curve.damage_per_cycle(weight * alone.range_mpa))
        only = float(safe.count @ curve.damage_per_cycle(weight * safe.range_mpa[:, mode]))
        assert only >= least * (1.0 - 1e-12)
        assert safe.maximum_mpa[:, mode].max(initial=-np.inf) <= max(history[mode])


def test_pairing_by_rank_alone_would_miss_what_acts_together() -> None:
    # the other mode swings once, out in one loop and back in the next: it works in both of them
    history = np.array([[0.0, 10.0, 0.0, 10.0, 0.0], [5.0, 0.0, 0.0, 5.0, 5.0]])
    assert rainflow(history[1], "closed").range_mpa.tolist() == [5.0]
    names: tuple[Definition, ...] = ("governing", "independent")
    for name in names:
        found = mode_cycles(history, [1.0, 1.0], residue="closed", definition=name)
        assert found.range_mpa.tolist() == [[10.0, 5.0], [10.0, 5.0]]


@pytest.mark.parametrize("definition", ["governing", "independent", "path"])
@pytest.mark.parametrize("residue", ["half", "closed"])
@pytest.mark.parametrize("size", [1, 5])
def test_nothing_moves(definition: Definition, residue: Residue, size: int) -> None:
    cycles = mode_cycles(np.ones((3, size)), WEIGHTS, residue=residue, definition=definition)
    assert cycles.range_mpa.shape == (0, 3)


def test_path_count_cuts_excursions_off() -> None:
    # out along x with a detour back and to the side, all in one direction
    history = np.array([[0.0, 4.0, 3.0, 3.0, 4.0, 9.0], [0.0, 0.0, 0.0, 1.0, 1.0, 0.0]])
    cycles = mode_cycles(history, [1.0, 1.0], definition="path")
    assert cycles.range_mpa.max() > 9.0
    assert cycles.count.sum() == 0.5 * cycles.count.size
    assert cycles.count.size > 1


def test_path_count_of_the_circle_does_not_depend_on_the_start() -> None:
    for shift in (0, 100, 333):
        history = np.roll(circle(90.0, 720)[:, :-1], shift, axis=1)
        cycles = mode_cycles(history, [1.0, np.sqrt(3.0)], residue="closed", definition="path")
        lengths = weighted_range(cycles, [1.0, np.sqrt(3.0)])
        assert lengths == pytest.approx([314.158, 314.158], abs=2e-3)


def test_path_count_refuses_long_histories() -> None:
    noise = np.random.default_rng(1).normal(size=(2, path.MAX_PATH_POINTS + 10))
    with pytest.raises(path.PathTooLongError):
        mode_cycles(noise, [1.0, 1.0], definition="path")
    found = compare_definitions(noise, [1.0, 1.0], LINE)
    assert "path" not in found.damage
    assert "path-count-left-out" in {finding.code for finding in found.findings}


def test_definitions_that_differ_are_reported() -> None:
    found = compare_definitions(circle(90.0, 360), [1.0, np.sqrt(3.0)], LINE, residue="closed")
    assert found.definitions_differ
    assert found.largest_definition == "path"
    assert found.damage["path"] == pytest.approx((np.pi * 100.0) ** 3 / 1e12, rel=1e-3)
    assert found.damage["independent"] == pytest.approx(200.0**3 * 2.0**1.5 / 1e12)
    codes = {finding.code for finding in found.findings}
    assert codes == {"cycle-definitions-differ", "not-proportional"}


def test_definitions_that_agree_are_not_reported() -> None:
    found = compare_definitions(np.outer([1.0, 2.0], [0.0, 5.0, -3.0, 4.0]), [1.0, 1.0], LINE)
    assert not found.definitions_differ
    assert found.findings == ()
    assert found.equivalent_range_mpa["path"] == pytest.approx(found.equivalent_range_mpa["governing"])


@pytest.mark.parametrize("residue", ["half", "closed"])
@pytest.mark.parametrize("definition", ["governing", "independent"])
def test_many_stations_are_single_stations(residue: Residue, definition: Definition) -> None:
    rng = np.random.default_rng(4)
    peaks, loads = rng.normal(size=(6, 3, 2)), rng.normal(size=(2, 200))
    peaks[2, :, 1] = 0.0
    peaks[3, :, 0] = 0.0
    peaks[4] = 0.0
    weights = rng.uniform(0.5, 2.0, size=(6, 3))
    found = list(count_stations(peaks, loads, weights, residue=residue, definition=definition))
    assert [station for station, _ in found] == list(range(6))
    for station, cycles in found:
        alone = mode_cycles(peaks[station] @ loads, weights[station], residue=residue, definition=definition)
        assert cycles.governing_mode == alone.governing_mode
        assert cycles.count.tolist() == alone.count.tolist()
        np.testing.assert_allclose(cycles.range_mpa, alone.range_mpa, rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(cycles.minimum_mpa, alone.minimum_mpa, rtol=1e-9, atol=1e-12)
        assert cycles.start_index.tolist() == alone.start_index.tolist()


def test_a_channel_that_stands_still_at_zero_does_not_matter() -> None:
    loads = np.array([[0.0, 1.0, -1.0, 0.5], [0.0, 0.0, 0.0, 0.0]])
    ((_, cycles),) = count_stations(np.ones((1, 2, 2)), loads, [1.0, 1.0])
    assert cycles.range_mpa[:, 0].tolist() == rainflow(loads[0]).range_mpa.tolist()


@pytest.mark.parametrize(
    ("history", "weights", "options", "name"),
    [
        ([[0.0, np.nan]], [1.0], {}, "history_mpa"),
        (np.ones((1, 0)), [1.0], {}, "history_mpa"),
        (np.ones((1, 1, 1)), [1.0], {}, "history_mpa"),
        ([[0.0, 1.0]], [1.0, 2.0], {}, "weights"),
        ([[0.0, 1.0]], [0.0], {}, "weights"),
        ([[0.0, 1.0]], [np.inf], {}, "weights"),
        ([[0.0, 1.0]], [1.0], {"residue": "open"}, "residue"),
        ([[0.0, 1.0]], [1.0], {"definition": "best"}, "definition"),
    ],
)
def test_bad_input(history: object, weights: object, options: dict[str, str], name: str) -> None:
    with pytest.raises(InputError) as caught:
        mode_cycles(history, weights, **options)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_many_stations_refuse_weights_of_another_shape() -> None:
    with pytest.raises(InputError) as caught:
        count_stations(np.ones((2, 3, 1)), np.ones((1, 4)), [1.0])
    assert caught.value.path == ("weights",)


@given(arrays(np.float64, (2, 30), elements=st.integers(-5, 5).map(float)))
def test_loops_give_the_same_uncompiled(history: np.ndarray) -> None:
    process, other = history
    points = turning_points(process)
    whole, left = count_turning_points(process, points, "half")
    cycles = from_indices(process, whole, left)
    last, share = loop_ends(process, points, cycles)
    low, high = loop_extremes(other, cycles, last, share)
    tall = (cycles.count == 1.0).tolist()
    ends, parts = cycles.end_index.tolist(), [0.0] * last.size
    lists = [column.tolist() for column in (process, points, cycles.start_index, cycles.closing_index)]
    kernels.loop_ends_loop(*lists, tall, ends, parts)
    assert (ends, parts) == (last.tolist(), share.tolist())
    lowest, highest = [0.0] * last.size, [0.0] * last.size
    start, skip = cycles.start_index.tolist(), [-1] * process.size
    kernels.loop_extremes_loop(other.tolist(), start, ends, parts, tall, skip, lowest, highest)
    assert (lowest, highest) == (low.tolist(), high.tolist())

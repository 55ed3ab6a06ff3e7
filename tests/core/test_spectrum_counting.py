"""Counting identities on random histories with many ties, order, engines, bad input."""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.errors import InputError
from fatcore.spectrum.counting import _one_pass, _passes, engine
from fatcore.spectrum.counting import count as counting
from fatcore.spectrum.counting.count import four_point, rainflow, range_pair
from fatcore.spectrum.counting.cycles import Cycles, from_columns
from fatcore.spectrum.counting.history import gate, largest_sample, turning_points

tied = st.lists(st.integers(-4, 4).map(float), min_size=1, max_size=60)
rough = st.lists(st.floats(-1e3, 1e3, allow_nan=False, width=32), min_size=1, max_size=60)
COLUMNS = ("range_mpa", "mean_mpa", "count", "start_index", "end_index", "closing_index")


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """Compiles before the first property, whose time per example is limited."""
    rainflow([0.0, 2.0, 1.0, 3.0])
    four_point([0.0, 2.0, 1.0, 3.0])


@pytest.fixture
def _eager_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whole-array passes also on short histories, in blocks of a few points."""
    monkeypatch.setattr(_passes, "SMALL", 4)
    monkeypatch.setattr(_passes, "BLOCK", 16)
    monkeypatch.setattr(_passes, "WORTH", 0.0)


def by_range(cycles: Cycles) -> Counter[float]:
    total: Counter[float] = Counter()
    for size, count in zip(cycles.range_mpa.tolist(), cycles.count.tolist(), strict=True):
        total[size] += count
    return total


def halves_of(points: np.ndarray) -> Counter[float]:
    total: Counter[float] = Counter()
    for size in np.abs(np.diff(points)).tolist():
        total[size] += 0.5
    return total


def smallest_first(history: list[float]) -> Counter[float]:
    """Order-free count: delete the smallest interior range that is <= both neighbours, while there is one."""
    points = np.array(history)[turning_points(history)].tolist()
    found: Counter[float] = Counter()
    while True:
        ranges = [abs(b - a) for a, b in pairwise(points)]
        between = range(1, len(ranges) - 1)
        inner = [k for k in between if ranges[k] <= min(ranges[k - 1], ranges[k + 1])]
        if not inner:
            return found + halves_of(np.array(points))
        k = min(inner, key=lambda k: ranges[k])
        found[ranges[k]] += 1
        del points[k : k + 2]


@given(st.one_of(tied, rough))
@settings(max_examples=300)
def test_three_point_is_four_point_plus_half_cycles_of_the_residue(history: list[float]) -> None:
    counted = four_point(history)
    assert by_range(rainflow(history, "half")) == by_range(counted.counted) + halves_of(counted.residue_mpa)


@given(tied)
@settings(max_examples=200)
def test_order_of_removal_does_not_matter(history: list[float]) -> None:
    assert by_range(rainflow(history, "half")) == smallest_first(history)


@given(tied)
@settings(max_examples=200)
def test_closed_count_is_four_point_of_history_plus_that_of_the_doubled_residue(history: list[float]) -> None:
    first = four_point(history)
    second = four_point(np.tile(first.residue_mpa, 2))
    assert by_range(rainflow(history, "closed")) == by_range(first.counted) + by_range(second.counted)


@given(st.one_of(tied, rough))
def test_closed_count_holds_the_whole_range_and_no_less_damage(history: list[float]) -> None:
    closed, halves = rainflow(history, "closed"), rainflow(history, "half")
    span = max(history) - min(history)
    if span == 0.0:
        assert closed.count.size == 0
        return
    assert closed.range_mpa.max() == span
    assert (closed.count == 1.0).all()
    for slope in (1, 3, 5):
        open_sum = (halves.count * (halves.range_mpa / span) ** slope).sum()
        assert (closed.range_mpa / span) ** slope @ closed.count >= open_sum * (1.0 - 1e-12)


@given(tied, st.integers(1, 6).map(float))
def test_gate_keeps_large_cycles(history: list[float], width: float) -> None:
    def large(values: np.ndarray) -> dict[float, float]:
        return {size: n for size, n in by_range(four_point(values).counted).items() if size >= width}

    assert large(np.array(history)[gate(history, width)]) == large(np.array(history))


@given(st.one_of(tied, rough))
def test_range_pair_on_a_closed_history_is_the_closed_rainflow(history: list[float]) -> None:
    first = int(np.argmax(history))
    started_at_peak = [*history[first:], *history[: first + 1]]
    assert by_range(range_pair(started_at_peak)) == by_range(rainflow(started_at_peak, "closed"))


def test_range_pair_counts_the_rest_backwards() -> None:
    found = range_pair([-2, 1, -3, 5, -1, 3, -4, 4, -2])
    assert by_range(found) == {3.0: 1, 4.0: 1, 8.0: 1, 6.0: 1}
    alone = range_pair([0.0, 3.0])
    assert (alone.range_mpa.tolist(), alone.count.tolist()) == ([3.0], [0.5])


@given(st.one_of(tied, rough), st.sampled_from(["half", "closed"]))
@settings(max_examples=200)
@pytest.mark.usefixtures("_eager_passes")
def test_engines_agree_to_the_last_bit(history: list[float], residue: counting.Residue) -> None:
    with engine.using("plain"):
        plain = rainflow(history, residue)
    with engine.using("fast"):
        fast = rainflow(history, residue)
    for name in COLUMNS:
        assert getattr(plain, name).tolist() == getattr(fast, name).tolist()


@given(st.one_of(tied, rough), st.sampled_from(["half", "closed"]), st.integers(1, 7))
@settings(max_examples=300)
def test_one_pass_by_small_blocks_is_the_loop_over_turning_points(
    history: list[float], residue: counting.Residue, block: int
) -> None:
    closed = residue == "closed"
    values = np.array(history)
    start = largest_sample(values) if closed else 0
    assert start == (int(np.argmax(np.abs(values))) if closed else 0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(_one_pass, "BLOCK", block)
        found = _one_pass.counted(values, start, closed, _one_pass.turns_loop, _one_pass.cycles_loop)
    assert found is not None
    whole, left = found
    cycles = from_columns(values, whole, left[:1] if closed else left)
    with engine.using("plain"):
        expected = rainflow(history, residue)
    for name in (*COLUMNS, "start_mpa", "end_mpa"):
        assert getattr(cycles, name).tolist() == getattr(expected, name).tolist()


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", [0, 1, 2, 5])
@pytest.mark.parametrize("name", ["plain", "fast"])
def test_no_engine_counts_what_is_not_finite(bad: float, place: int, name: engine.Engine) -> None:
    history = [1.0, 3.0, 2.0, 2.0, 5.0, 0.0]
    history[place] = bad
    for residue in ("half", "closed"):
        with engine.using(name), pytest.raises(InputError, match="history_mpa must be finite") as caught:
            rainflow(history, residue)
        assert caught.value.path == ("history_mpa",)
    loops = _one_pass.turns_loop, _one_pass.cycles_loop
    with np.errstate(invalid="ignore"):
        assert _one_pass.counted(np.array(history), 0, False, *loops) is None


@given(st.one_of(tied, rough))
@pytest.mark.usefixtures("_eager_passes")
def test_engines_agree_on_the_four_point_rule(history: list[float]) -> None:
    with engine.using("plain"):
        plain = four_point(history)
    with engine.using("fast"):
        fast = four_point(history)
    assert plain.residue_index.tolist() == fast.residue_index.tolist()
    for name in COLUMNS:
        assert getattr(plain.counted, name).tolist() == getattr(fast.counted, name).tolist()


@pytest.mark.parametrize("kind", ["noise", "ties", "walk", "rests", "steps", "growing", "nested"])
@pytest.mark.parametrize("residue", ["half", "closed"])
def test_engines_agree_on_long_histories(kind: str, residue: counting.Residue) -> None:
    rng = np.random.default_rng(5)
    size = 150_000
    sign = np.where(np.arange(size) % 2 == 0, 1.0, -1.0)
    history = {
        "noise": rng.normal(size=size),
        "ties": rng.integers(-9, 10, size).astype(float),
        "walk": np.cumsum(rng.normal(size=size)),
        "rests": np.repeat(rng.normal(size=size // 2), 2) * (rng.random(size) > 0.001),
        "steps": np.cumsum(rng.integers(-2, 3, size)) * 0.1,
        "growing": sign * np.arange(size),
        "nested": sign * np.abs(np.arange(size) - size // 2),
    }[kind]
    with engine.using("plain"):
        plain = rainflow(history, residue)
    with engine.using("fast"):
        fast = rainflow(history, residue)
    for name in COLUMNS:
        assert np.array_equal(getattr(plain, name), getattr(fast, name))


@given(st.one_of(tied, rough))
def test_order_is_that_of_closing(history: list[float]) -> None:
    cycles = rainflow(history, "half")
    assert (np.diff(cycles.closing_index) >= 0).all()
    assert (cycles.start_index < cycles.end_index).all()
    whole = cycles.count == 1.0
    assert (cycles.end_index[whole] < cycles.closing_index[whole]).all()
    assert (cycles.end_index[~whole] == cycles.closing_index[~whole]).all()
    values = np.array(history)
    expected = np.abs(values[cycles.end_index] - values[cycles.start_index])
    assert cycles.range_mpa.tolist() == expected.tolist()


@given(st.one_of(tied, rough))
def test_a_cycle_is_closed_by_the_first_return_to_its_start(history: list[float]) -> None:
    values, points = np.array(history), turning_points(history)
    cycles = rainflow(history, "half")
    for first, second, closing, count in zip(
        cycles.start_index, cycles.end_index, cycles.closing_index, cycles.count, strict=True
    ):
        if count == 1.0:
            later = points[points > second]
            size = abs(values[second] - values[first])
            back = [p for p in later if abs(values[p] - values[second]) >= size]
            side = [p for p in back if (values[p] - values[second]) * (values[first] - values[second]) > 0]
            assert closing == side[0]


@given(tied, st.data())
def test_points_between_turning_points_change_nothing(history: list[float], data: st.DataObject) -> None:
    denser: list[float] = []
    for a, b in pairwise(history):
        share = data.draw(st.sampled_from([0.0, 0.25, 0.5, 1.0]))
        denser += [a, a + share * (b - a)]
    denser.append(history[-1])
    for residue in ("half", "closed"):
        assert by_range(rainflow(denser, residue)) == by_range(rainflow(history, residue))


@given(tied, tied)
def test_damage_never_falls_when_the_history_goes_on(history: list[float], more: list[float]) -> None:
    for slope in (1, 3, 5):
        for residue in ("half", "closed"):
            shorter, longer = rainflow(history, residue), rainflow(history + more, residue)
            before, after = (float(c.count @ c.range_mpa**slope) for c in (shorter, longer))
            assert after >= before * (1.0 - 1e-12)


@given(tied)
def test_each_repeat_adds_the_closed_count(history: list[float]) -> None:
    def total(times: int) -> float:
        cycles = rainflow(np.tile(history, times), "half")
        return float(cycles.count @ cycles.range_mpa**3)

    closed = rainflow(history, "closed")
    assert total(3) - total(2) == pytest.approx(float(closed.count @ closed.range_mpa**3))


def test_huge_values_do_not_overflow() -> None:
    cycles = rainflow([0.0, 8e307, -8e307, 8e307], "half")
    assert np.isfinite(cycles.mean_mpa).all()
    assert np.isfinite(cycles.range_mpa).all()


def test_closed_indices_are_those_of_the_given_history() -> None:
    history = np.array([1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0])
    cycles = rainflow(history, "closed")
    ranges = np.abs(history[cycles.end_index] - history[cycles.start_index])
    assert cycles.range_mpa.tolist() == ranges.tolist()
    assert cycles.total_count == 4.0


@pytest.mark.parametrize("one", [[7.0], [7.0, 7.0]])
def test_a_history_that_never_moves_holds_no_cycle(one: list[float]) -> None:
    assert rainflow(one).count.size == 0
    assert rainflow(one, "closed").count.size == 0
    assert four_point(one).residue_mpa.tolist() == [7.0]
    assert range_pair(one).total_count == 0.0


def test_bad_names_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        rainflow([0.0, 1.0], "open")  # type: ignore[arg-type]
    assert caught.value.path == ("residue",)


def test_engine_can_be_chosen_and_is_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    assert engine.chosen() == "fast"
    with engine.using("plain"):
        assert engine.chosen() == "plain"
    monkeypatch.setattr(engine, "_installed", lambda: False)
    assert engine.chosen() == "plain"
    with pytest.raises(InputError), engine.using("fast"):
        pass


def test_compiler_without_a_place_for_its_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    import numba

    real = numba.njit

    def refusing(**options: bool) -> object:
        if options.get("cache"):
            raise RuntimeError("no locator available")
        return real(**options)

    monkeypatch.setattr(numba, "njit", refusing)
    doubled = engine._compile.__wrapped__(_twice)
    assert doubled(3.0) == 6.0


def _twice(value: float) -> float:
    return 2.0 * value

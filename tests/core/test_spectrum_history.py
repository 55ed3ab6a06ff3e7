"""Turning points, gate, joining and superposition: rules, limits, bad input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.errors import InputError
from fatcore.spectrum.counting.history import gate, join, repeat, turning_points
from fatcore.spectrum.multiaxial.superposition import proportionality, station_histories, superpose

small = st.lists(st.integers(-4, 4).map(float), min_size=1, max_size=40)


@pytest.mark.parametrize(
    ("history", "expected"),
    [
        ([3.0], [0]),
        ([3.0, 3.0, 3.0], [0]),
        ([1.0, 2.0], [0, 1]),
        ([1.0, 2.0, 2.0, 2.0, 1.0], [0, 1, 4]),
        ([1.0, 1.0, 2.0, 2.0], [0, 2]),
        ([0.0, 1.0, 1.0, 2.0, 0.0], [0, 3, 4]),
        ([0.0, -0.0, 1.0], [0, 2]),
        ([-1e308, 1e308, -1e308], [0, 1, 2]),
    ],
)
def test_turning_points_by_rule(history: list[float], expected: list[int]) -> None:
    assert turning_points(history).tolist() == expected


@given(small)
def test_turning_points_alternate_and_keep_the_extremes(history: list[float]) -> None:
    points = np.array(history)[turning_points(history)]
    steps = np.diff(points)
    assert (steps[1:] * steps[:-1] < 0.0).all()
    assert points.max() == max(history)
    assert points.min() == min(history)


@pytest.mark.parametrize("bad", [[], [[1.0, 2.0]], [1.0, np.nan], [np.inf, 0.0]])
def test_bad_history(bad: list[float]) -> None:
    with pytest.raises(InputError) as caught:
        turning_points(bad)
    assert caught.value.path == ("history_mpa",)


def test_gate_starts_with_the_first_large_move() -> None:
    history = [0.0, 1.0, 0.5, 4.0, 3.5, -1.0, 0.0]
    assert gate(history, 2.0).tolist() == [0, 3, 5]
    assert gate(history, 0.0).tolist() == turning_points(history).tolist()
    assert gate(history, 100.0).tolist() == [0]
    assert gate([1.0], 2.0).tolist() == [0]


@given(small, st.integers(1, 8).map(float))
def test_gated_history_moves_by_at_least_the_width(history: list[float], width: float) -> None:
    kept = gate(history, width)
    moves = np.abs(np.diff(np.array(history)[kept]))
    assert (moves >= width).all()
    assert (np.diff(kept) > 0).all()


def test_gate_refuses_a_negative_width() -> None:
    with pytest.raises(InputError, match="width_mpa"):
        gate([1.0, 2.0], -1.0)


def test_join_and_repeat() -> None:
    assert join([[1.0, 2.0], [0.0]]).tolist() == [1.0, 2.0, 0.0]
    assert repeat([1.0, 2.0], 2).tolist() == [1.0, 2.0, 1.0, 2.0]
    with pytest.raises(InputError) as caught:
        join([[1.0], []])
    assert caught.value.path[:2] == ("records_mpa", 1)
    with pytest.raises(InputError):
        join([])
    with pytest.raises(InputError):
        repeat([1.0], 0)


def test_superposition_is_linear_and_ordered() -> None:
    unit = np.array([[1.0, 2.0], [0.0, -1.0]])
    loads = np.array([[1.0, 2.0, 3.0], [0.5, 0.0, -1.0]])
    assert superpose(unit, loads).tolist() == (unit @ loads).tolist()


def test_chunks_hold_at_most_the_stated_samples() -> None:
    peaks = np.arange(30.0).reshape(5, 3, 2)
    loads = np.arange(8.0).reshape(2, 4)
    chunks = list(station_histories(peaks, loads, samples_at_once=24))
    assert [len(stress) for _, stress in chunks] == [2, 2, 1]
    whole = np.concatenate([stress for _, stress in chunks])
    np.testing.assert_allclose(whole, peaks @ loads)
    assert len(list(station_histories(peaks, loads, samples_at_once=1))) == 5


@pytest.mark.parametrize(
    ("peaks", "loads", "name"),
    [
        (np.ones((2, 3, 2)), np.ones((3, 5)), "unit_peaks_mpa"),
        (np.ones((2, 3)), np.ones((2, 5)), "unit_peaks_mpa"),
        (np.ones((2, 3, 2)), np.ones((2, 0)), "channels"),
        (np.ones((2, 3, 2)), np.ones(2), "channels"),
        (np.full((2, 3, 1), np.nan), np.ones((1, 2)), "unit_peaks_mpa"),
        (np.ones((2, 3, 1)), np.full((1, 2), np.inf), "channels"),
    ],
)
def test_superposition_names_the_bad_input(peaks: np.ndarray, loads: np.ndarray, name: str) -> None:
    with pytest.raises(InputError) as caught:
        station_histories(peaks, loads)
    assert caught.value.path == (name,)


def test_proportionality() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    assert proportionality([np.sin(turn), -0.3 * np.sin(turn)]) < 1e-7
    assert proportionality([np.sin(turn), np.cos(turn)]) == pytest.approx(1.0)
    assert proportionality([[1.0, 1.0], [2.0, 2.0]]) == 0.0
    assert proportionality([[1.0, 2.0]]) == 0.0
    with pytest.raises(InputError):
        proportionality([1.0, 2.0])

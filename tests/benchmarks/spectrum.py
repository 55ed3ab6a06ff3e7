"""Counting ten million samples, and thousands of stations, against loops over lists.

The referee of a count is the index-pointer loop of the core itself, run on a list of turning points that
were found before the clock started. Counts start from samples and give ranges and means too. All of them
take turns in one run, the least time of each counts, and results must be the same to the last bit.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum.counting import engine
from fatcore.spectrum.counting.count import count_turning_points, rainflow
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.counting.history import IndexArray, turning_points
from fatcore.spectrum.counting.kernels import three_point_loop
from fatcore.spectrum.multiaxial.stations import count_stations

SAMPLES = 10_000_000
STATIONS, MODES, CHANNELS, STATION_SAMPLES = 2_000, 3, 3, 100_000
SAMPLED_STATIONS = 200  # measured; times are scaled to all stations
LOOPED_STATIONS = 5
WEIGHTS = np.array([1.0, 0.6, 1.8])
COLUMNS = ("range_mpa", "mean_mpa", "count", "start_index", "end_index", "closing_index")
Row = tuple[str, float, float, float, float]


def seconds(work: Callable[[], Any], times: int = 3) -> tuple[float, Any]:
    """Least time of some runs, and the last result."""
    taken, result = [], None
    for _ in range(times):
        del result
        start = time.perf_counter()
        result = work()
        taken.append(time.perf_counter() - start)
    return min(taken), result


def histories() -> dict[str, FloatArray]:
    """Invented histories, seeded: white noise has the most turning points, band-limited noise is usual."""
    rng = np.random.default_rng(11)
    noise = rng.normal(size=SAMPLES)
    return {
        "white noise": noise,
        "random walk": np.cumsum(noise),
        "band-limited noise": np.convolve(noise, np.hanning(15), "same"),
    }


def list_loop(values: FloatArray) -> Callable[[], Any]:
    """The loop over a list of turning points; these are found before the clock starts, and nothing is made
    of the places that it finds.
    """
    levels = values[turning_points(values)].tolist()
    size = len(levels)

    def loop() -> tuple[int, int]:
        room = [0.0] * size, [0] * size, *([0] * (size // 2 + 1) for _ in range(3))
        return three_point_loop(levels, False, *room)

    return loop


def counted(values: FloatArray, name: engine.Engine) -> Cycles:
    """Samples to cycles with ranges and means, by one engine."""
    with engine.using(name):
        found = rainflow(values, "half")
    assert found.range_mpa.size == found.mean_mpa.size
    return found


def places(values: FloatArray, points: IndexArray) -> object:
    """Ready turning points to the places of cycles, compiled: what the loop over a list does."""
    with engine.using("fast"):
        return count_turning_points(values, points, "half")


def side_by_side(values: FloatArray, rounds: int = 5) -> tuple[float, float, float, float]:
    """Least seconds of the loop over a list, of plain and of compiled counting from samples, and of compiled
    counting from ready turning points, taken in turns.
    """
    points = turning_points(values)
    loop, best = list_loop(values), [np.inf] * 4
    for turn in range(rounds):
        if turn < 2:
            best[0] = min(best[0], seconds(loop, 1)[0])
        taken, plain = seconds(lambda: counted(values, "plain"), 1)
        best[1] = min(best[1], taken)
        taken, fast = seconds(lambda: counted(values, "fast"), 3)
        best[2] = min(best[2], taken)
        best[3] = min(best[3], seconds(lambda: places(values, points), 3)[0])
        for column in COLUMNS if turn == 0 else ():
            assert np.array_equal(getattr(plain, column), getattr(fast, column)), column
        del plain, fast
    return best[0], best[1], best[2], best[3]


def counting_rows() -> list[Row]:
    """Plain and compiled counting of each history, from samples to ranges and means.

    The loop over a list starts from ready turning points and gives places only: where the search for them,
    ranges and means are compared with it too, the row says so, and an eighth is asked for, not a tenth.
    """
    found = []
    counted(np.zeros(4), "fast")
    places(np.zeros(4), np.arange(1))
    for name, values in histories().items():
        loop, plain, fast, alone = side_by_side(values)
        title = f"{name}, 1e7 samples to cycles"
        found += [
            (f"{title}, plain, against 1.5 s", plain, 1.5, plain / 1.5, 1.0),
            (f"{title}, plain, against the bare list loop over ready turning points", plain, loop,
             plain / loop, 1.3),
            (f"{title}, compiled, against a tenth of 1.5 s", fast, 0.15, fast / 0.15, 1.0),
            (f"{name}, compiled, ready turning points to places, against that list loop", alone, loop,
             alone / loop, 0.1),
            (f"{title} (search, ranges and means included), compiled, against that list loop", fast, loop,
             fast / loop, 0.125),
        ]  # fmt: skip
    return found


def worst_rows() -> list[Row]:
    """Histories from which whole-array passes remove nothing, so that the plain count is the list loop plus
    the making of lists; the limit is wider, and the row says so.
    """
    sign = np.where(np.arange(SAMPLES // 5) % 2 == 0, 1.0, -1.0)
    size = np.arange(sign.size, dtype=np.float64)
    shapes = {"growing": sign * size, "dying": sign * size[::-1], "constant": sign}
    found = []
    for name, values in shapes.items():
        loop, plain, _, _ = side_by_side(values, 3)
        title = f"{name} swings, 2e6 samples, plain, against the bare list loop (1.6 allowed)"
        found.append((title, plain, loop, plain / loop, 1.6))
    return found


def station_model() -> tuple[FloatArray, FloatArray]:
    """Invented unit stresses and band-limited channels, seeded."""
    rng = np.random.default_rng(12)
    channels = np.array([np.convolve(rng.normal(size=STATION_SAMPLES), np.hanning(9), "same") for _ in range(CHANNELS)])
    return rng.normal(size=(STATIONS, MODES, CHANNELS)), channels


def all_cycles(unit: FloatArray, channels: FloatArray) -> int:
    """Counts every station and forgets the cycles, as a damage sum would."""
    return sum(cycles.count.size for _, cycles in count_stations(unit, channels, WEIGHTS, residue="closed"))


def straightforward(unit: FloatArray, channels: FloatArray) -> None:
    """One station as a plain loop: superpose, count the governing mode by lists, spans by slices."""
    history = unit @ channels
    governing = int(np.argmax(WEIGHTS * np.ptp(history, axis=1)))
    values = history[governing]
    points = turning_points(values)
    size, index = points.size, points.tolist()
    room: list[Any] = [[0.0] * size, [0] * size, *([0] * (size // 2 + 1) for _ in range(3))]
    number, _ = three_point_loop(values[points].tolist(), True, *room)
    for first, last in zip(room[2][:number], room[4][:number], strict=True):
        first, last = index[first], index[last]
        part = history[:, first : last + 1]
        part.max(axis=1) - part.min(axis=1)


def station_rows() -> list[Row]:
    """A bracket-size model, plain and compiled, against a plain loop over stations; and its memory."""
    unit, channels = station_model()
    scale = STATIONS / SAMPLED_STATIONS
    start = time.perf_counter()
    for station in unit[:LOOPED_STATIONS]:
        straightforward(station, channels)
    one = time.perf_counter() - start
    loop = one / LOOPED_STATIONS * STATIONS
    found = []
    for name, limit in (("plain", 60.0), ("fast", 10.0)):
        with engine.using(name):  # type: ignore[arg-type]
            all_cycles(unit[:1], channels[:, :1000])
            taken, _ = seconds(lambda: all_cycles(unit[:SAMPLED_STATIONS], channels), 2)
        total = taken * scale
        title = f"2,000 stations, 3 channels of 100,000 samples, 3 modes, {name}"
        found += [
            (f"{title}, against {limit:g} s", total, limit, total / limit, 1.0),
            (f"{title}, against a loop over stations", total, loop, total / loop, 1.0),
        ]
    return found


def memory_row() -> Row:
    """Largest resident memory of this process so far, in GiB, before the large histories are made."""
    largest = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    return ("stations: largest memory of the process [GiB], against 1 GiB", largest, 1.0, largest, 1.0)


def rows() -> list[Row]:
    """All rows; stations first, so that their memory is seen by itself."""
    stations = station_rows()
    return [*stations, memory_row(), *counting_rows(), *worst_rows()]

"""Counting ten million samples, and thousands of stations, against loops over lists.

The referee of a count is the index-pointer loop of the core itself, run on lists of turning points that were
found before the clock started; the compiled count, which gives ranges and means too, is held against that
loop
with these columns added. Results must be the same to the last bit, or the benchmark fails.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum import engine
from fatcore.spectrum._kernels import three_point_loop
from fatcore.spectrum.counting import rainflow
from fatcore.spectrum.cycles import Cycles
from fatcore.spectrum.history import turning_points
from fatcore.spectrum.many_stations import count_stations

__all__ = ["rows"]

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


def list_loop(values: FloatArray) -> tuple[float, float]:
    """Seconds of the loop over lists of turning points, alone and with the ranges and means of the cycles.

    The turning points and the room for results are made before the clock starts.
    """
    points = turning_points(values)
    level, index, size = values[points].tolist(), points.tolist(), points.size
    room: list[Any] = [[0.0] * size, [0] * size, *([0] * (size // 2 + 1) for _ in range(3))]

    def loop() -> tuple[int, int]:
        return three_point_loop(level, index, False, *room)

    alone, (cycles, _) = seconds(loop, 2)
    samples = values.tolist()
    ends = list(zip(room[2][:cycles], room[3][:cycles], strict=True))

    def columns() -> tuple[list[float], list[float]]:
        return (
            [abs(samples[second] - samples[first]) for first, second in ends],
            [0.5 * samples[first] + 0.5 * samples[second] for first, second in ends],
        )

    return alone, alone + seconds(columns, 1)[0]


def counted(values: FloatArray) -> Cycles:
    """The count with ranges and means."""
    found = rainflow(values)
    assert found.range_mpa.size == found.mean_mpa.size
    return found


def counting_rows() -> list[Row]:
    """Plain and compiled counting of each history."""
    found = []
    for name, values in histories().items():
        loop, with_columns = list_loop(values)
        with engine.using("plain"):
            plain, plain_result = seconds(lambda values=values: counted(values), 2)
        with engine.using("fast"):
            rainflow(values[:1000])
            fast, fast_result = seconds(lambda values=values: counted(values))
        for column in COLUMNS:
            assert np.array_equal(getattr(plain_result, column), getattr(fast_result, column)), column
        found += [
            (f"{name}, 1e7 samples, plain, against 1.5 s", plain, 1.5, plain / 1.5, 1.0),
            (f"{name}, plain, against the loop over lists", plain, loop, plain / loop, 1.3),
            (
                f"{name}, compiled, against that with its columns",
                fast,
                with_columns,
                fast / with_columns,
                0.1,
            ),
            (f"{name}, compiled, against 0.15 s", fast, 0.15, fast / 0.15, 1.0),
        ]
    return found


def station_model() -> tuple[FloatArray, FloatArray]:
    """Invented unit stresses and band-limited channels, seeded."""
    rng = np.random.default_rng(12)
    channels = np.array(
        [np.convolve(rng.normal(size=STATION_SAMPLES), np.hanning(9), "same") for _ in range(CHANNELS)]
    )
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
    size = points.size
    room: list[Any] = [[0.0] * size, [0] * size, *([0] * (size // 2 + 1) for _ in range(3))]
    number, _ = three_point_loop(values[points].tolist(), points.tolist(), True, *room)
    for first, last in zip(room[2][:number], room[4][:number], strict=True):
        part = history[:, first : last + 1]
        part.max(axis=1) - part.min(axis=1)


def station_rows() -> list[Row]:
    """A bracket-size model, plain and compiled, against a plain loop over stations; and its memory."""
    unit, channels = station_model()
    scale = STATIONS / SAMPLED_STATIONS
    one, _ = seconds(lambda: [straightforward(u, channels) for u in unit[:LOOPED_STATIONS]], 1)
    loop = one / LOOPED_STATIONS * STATIONS
    found = []
    for name, limit in (("plain", 60.0), ("fast", 10.0)):
        with engine.using(name):  # type: ignore[arg-type]
            all_cycles(unit[:1], channels[:, :1000])
            taken, _ = seconds(lambda: all_cycles(unit[:SAMPLED_STATIONS], channels), 1)
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
    return [*stations, memory_row(), *counting_rows()]

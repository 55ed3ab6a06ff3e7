"""What the calculations will take, estimated from their requests before they run.

The figures were read off runs of grown requests on one core [own choice]; `python -m tests.benchmarks cost` prints
estimate beside measurement. An estimate decides two things only: whether a request is answered at once or goes to a
worker process, and whether one that cannot end in time is refused before it begins. What takes longer than estimated
is ended by its deadline.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fatcore.figures import as_given

from ..base.common import Cost

_STATION_STATE_S = 1e-7  # one station under one load state or sample
_CHECK_S = 4e-3
_PATH_S = 1.3e-7  # times the square of the samples of a path-dependent count
_GROWTH_S = 0.02
_ENTRY_S = 1e-4  # one entry of a block, over the steps of one growth
_RETARDED_S = 1.4e-4  # times the square of the entries: each trip is walked
_SAMPLE_ENTRY_S = 1.2e-5  # one scattered life under one entry
_TEST_SAMPLE_S = 1e-5  # one test of one resampled series
_NODE_S = 5e-6
_ELEMENTS_A_NODE = 6.0  # of a mesh of tetrahedra


def flat(seconds: float) -> Callable[[Any], Cost]:
    """A cost that hardly depends on the request."""
    return lambda _: Cost(seconds, "", "every request of this calculation")


def check_cost(request: Any) -> Cost:
    """Stations times load states, and the growth that starts where the check governs."""
    stations = sum(len(line.position_mm) for line in request.lines)
    states = _states(request.loading)
    seconds = _CHECK_S + _STATION_STATE_S * stations * states + (_GROWTH_S if request.growth is not None else 0.0)
    return Cost(seconds, "/loading", f"{as_given(stations)} stations under {as_given(states)} load states")


def _states(loading: Any) -> int:
    if loading.kind == "history":
        return len(next(iter(loading.channels.values())))
    return len(loading.blocks) if loading.kind == "blocks" else 1


def damage_cost(request: Any) -> Cost:
    """The count of a record; one of several modes is counted along its path."""
    if request.modes_mpa is not None:
        samples = len(next(iter(request.modes_mpa.values()), []))
        return Cost(0.02 + _PATH_S * samples**2, "/modes_mpa", f"{as_given(samples)} samples of several modes")
    given = request.range_mpa if request.history_mpa is None else request.history_mpa  # an array, from a table
    samples = 0 if given is None else len(given)
    return Cost(1.5e-3 + 1e-6 * samples, "/history_mpa", f"{as_given(samples)} samples or ranges")


def growth_cost(request: Any) -> Cost:
    """Entries of the block over the growth; with retardation every trip is walked."""
    entries, retarded = _entries(request.loading)
    seconds = _GROWTH_S + _ENTRY_S * entries + (_RETARDED_S * entries**2 if retarded else 0.0)
    return Cost(seconds, "/loading", f"{as_given(entries)} entries of the block")


def _entries(loading: Any) -> tuple[int, bool]:
    if loading.kind == "constant":
        return 1, False
    return len(loading.cycles), loading.retardation is not None


def scatter_cost(request: Any) -> Cost:
    """Lives times entries of the block."""
    entries, _ = _entries(request.loading)
    work = request.samples * entries
    return Cost(0.1 + _SAMPLE_ENTRY_S * work, "/samples", f"{as_given(work)} lives times entries of the block")


def weld_lines_cost(request: Any) -> Cost:
    """Nodes of the mesh, or its elements where these are more than a mesh of its nodes has."""
    nodes = len(request.points_mm)
    elements = sum(len(block.nodes) for block in request.element_blocks)
    most = max(nodes, elements / _ELEMENTS_A_NODE)
    return Cost(0.01 + _NODE_S * most, "/points_mm", f"{as_given(nodes)} nodes, {as_given(elements)} elements")


def sn_cost(request: Any) -> Cost:
    """Tests, those of the comparison too, times resampled series, and the growth that explains them."""
    tests = sum(len(each.life_cycles) for each in (request.series, request.compare_with) if each is not None)
    seconds = 6e-3 + _TEST_SAMPLE_S * tests * (request.resamples or 0) + 1e-5 * tests
    if request.growth is not None:
        seconds += growth_cost(request.growth).seconds
    return Cost(seconds, "/resamples", f"{as_given(tests)} tests and {as_given(request.resamples or 0)} resamplings")

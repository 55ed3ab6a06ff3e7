"""Speed of crack growth: one life against a loop over its cycles, and a hundred thousand scattered lives."""

from __future__ import annotations

import time
from collections.abc import Callable
from resource import RUSAGE_CHILDREN, RUSAGE_SELF, getrusage

import numpy as np
from scipy.integrate import solve_ivp

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving import law_sets
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.scatter.monte_carlo import simulate_scatter
from fatcore.cracks.scatter.random_variables import published_variables
from fatcore.require import FloatArray

Row = tuple[str, float, float, float, float]
CRACK = SurfaceCrack(depth_mm=0.2, half_length_mm=0.4, thickness_mm=12.0, half_width_mm=60.0)
STRESS = Stress(membrane_mpa=120.0, bending_mpa=60.0)
PARIS = paris(5.21e-13, 3.0)
LAST = 8.0


def best(run: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def one_life(name: str | None = None) -> float:
    growth = PARIS if name is None else law_sets.named_law(name)
    outcome = grow(crack=CRACK, stress=STRESS, law=growth, loading=constant_loading(), end=EndCriteria(depth_mm=LAST))
    return float(outcome.life_cycles or 0.0)


def loop_over_cycles() -> int:
    """Every cycle for itself, depth and length, in plain numbers."""
    depth, length, cycles = 0.2, 0.4, 0
    while depth < LAST:
        y = surface.front_factors(depth, length, 12.0, 60.0)
        root = (3.141592653589793 * depth) ** 0.5
        deep = (y.deepest_tension * 120.0 + y.deepest_bending * 60.0) * root
        shore = (y.surface_tension * 120.0 + y.surface_bending * 60.0) * root
        depth, length = depth + 5.21e-13 * deep**3, length + 5.21e-13 * shore**3
        cycles += 1
    return cycles


def life_by_scipy() -> float:
    """The same life by a published integrator at the tolerance of ours, over the logarithm of the depth."""
    stressed = Stressed(CRACK, STRESS, None)
    drive = Drive(law=PARIS, loading=constant_loading(), condition="as-welded")

    def rates(log_depth: float, state: FloatArray) -> list[float]:
        depth, length = np.exp([log_depth]), np.exp(state[:1])
        deep, shore = np.ravel(drive.mean_rate(stressed.unit(depth, length, np.zeros((0, 1)))))
        return [float(shore / length[0] * depth[0] / deep), float(depth[0] / deep)]

    ends = np.log([CRACK.depth_mm, LAST])
    start = [np.log(CRACK.half_length_mm), 0.0]
    return float(solve_ivp(rates, ends, start, "DOP853", rtol=1e-7, atol=1e-7).y[1, -1])


def scattered() -> object:
    variables = dict(published_variables("jcss-part3"))
    return simulate_scatter(
        crack=CRACK,
        stress=STRESS,
        law=law_sets.named_law("bs7910-2013/air-mean"),
        loading=constant_loading(1.0, 0.1),
        variables=variables,
        samples=100_000,
        seed=1,
        first_size="variables",
    )


def rows() -> list[Row]:
    """Name, measured and reference seconds, their ratio, and the largest ratio that passes."""
    start = time.perf_counter()
    cycles = loop_over_cycles()
    loop = time.perf_counter() - start
    assert abs(one_life() / cycles - 1.0) < 1e-3, "the two lives must agree"
    assert abs(one_life() / life_by_scipy() - 1.0) < 1e-7, "ours and that of scipy must agree"
    quick, general = best(one_life, 50), best(life_by_scipy, 3)
    named = best(lambda: one_life("bs7910-2013/air-mean"), 50)
    many = best(scattered, 1)
    # largest process in GiB: this one, or one of its workers
    memory = max(getrusage(who).ru_maxrss for who in (RUSAGE_SELF, RUSAGE_CHILDREN)) / 2**20
    return [
        (f"surface crack, one stage, against a loop over {cycles} cycles", quick, loop, quick / loop, 0.002),
        ("surface crack, one stage, one life, against 5 ms", quick, 5e-3, quick / 5e-3, 1.0),
        ("surface crack, one stage, one life, against DOP853 of scipy", quick, general, quick / general, 0.5),
        ("surface crack, two stages with threshold, one life, against 5 ms", named, 5e-3, named / 5e-3, 1.0),
        ("100,000 scattered lives of a surface crack, against 10 s", many, 10.0, many / 10.0, 1.0),
        ("their largest process in GiB, against 1", memory, 1.0, memory, 1.0),
    ]

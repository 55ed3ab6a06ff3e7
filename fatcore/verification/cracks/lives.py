"""Checks of lives against closed forms and worked examples of textbooks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fatcore.cracks.configurations.function_crack import FunctionCrack
from fatcore.cracks.driving.closed_form import critical_crack_mm, first_crack_mm
from fatcore.cracks.driving.law import GrowthLaw, paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.fracture.critical_size import critical_size_mm
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.intensity.plate import edge
from fatcore.require import FloatArray
from fatcore.sources import Status
from fatcore.verification.case import VerificationCase

_COMPUTED = "growth-computation"
ROOT = 1000.0**0.5  # MPa√m in MPa√mm
INCH = 25.4
KSI = 6.894757293168361
KSI_SQRT_IN = KSI * INCH**0.5


def _life(first: float, last: float, intensity: Callable[[FloatArray], FloatArray], growth: GrowthLaw) -> float:
    crack = FunctionCrack(crack_size_mm=first, largest_mm=2.0 * last, intensity=intensity)
    outcome = grow(crack=crack, law=growth, loading=constant_loading(), end=EndCriteria(depth_mm=last))
    return float(outcome.life_cycles or np.inf)


def _plain(factor: float, stress: float) -> Callable[[FloatArray], FloatArray]:
    return lambda size: factor * stress * np.sqrt(np.pi * size)


def _course_intensity(size: FloatArray) -> FloatArray:
    """Edge crack in a plate of 500 mm under 50 MPa, factor as the course prints it."""
    x = np.asarray(size) / 500.0
    polynomial = np.polynomial.polynomial.polyval(x, [1.122, -1.122, -0.820, 3.768, -3.040])
    return np.asarray(50.0 * np.sqrt(np.pi * np.asarray(size)) * polynomial / np.sqrt(1.0 - 2.0 * x))


def _course_critical() -> float:
    critical = critical_size_mm(lambda size: float(_course_intensity(np.array(size))) / (24.0 * ROOT) - 1.0, 1.0, 240.0)
    return float(critical or np.inf)


def _course_life() -> float:
    critical = _course_critical()
    return _life(0.5 * critical, critical, _course_intensity, paris(3.15e-11, 3.59, "m-MPa"))


def _bar(factor: float | None) -> float:
    """Nicked bar in bending: nominal 115.2 ksi, height 0.5 in, from 0.004 in to fracture, or to 0.1 in."""
    stress, height = 115.2 * KSI, 0.5 * INCH
    law = paris(3.8e-11 * INCH / KSI_SQRT_IN**3, 3.0)
    if factor is not None:
        last = float(critical_crack_mm(73.0 * KSI_SQRT_IN, stress, factor))
        return _life(0.004 * INCH, last, _plain(factor, stress), law)

    def bending(size: FloatArray) -> FloatArray:
        return edge.stress_intensity(size, width_mm=height, bending_mpa=stress, form="handbook")

    return _life(0.004 * INCH, 0.1 * INCH, bending, law)


def _si_life(first: float, last: float, stress: float, constants: tuple[float, float], y: float = 1.0) -> float:
    return _life(first, last, _plain(y, stress), paris(*constants, "m-MPa"))


def _first_askeland() -> float:
    law = paris(1.62e-12, 3.2, "m-MPa").low[0]
    last = float(critical_crack_mm(80.0 * ROOT, 500.0))
    return 1e-3 * first_crack_mm(last, 1051200.0, 500.0, float(np.asarray(law.coefficient)), law.exponent)


Row = tuple[str, str, str, Status, str, str, Callable[[], float]]

_ROWS: tuple[Row, ...] = (
    ("closed-m3", "life from 1 to 10 mm, exponent 3", _COMPUTED, "derived", "closed form", "471388.44",
     lambda: _life(1.0, 10.0, _plain(1.0, 100.0), paris(5.21e-13, 3.0))),
    ("closed-m3-edge", "the same with factor 1.12", _COMPUTED, "derived", "closed form", "335524.98",
     lambda: _life(1.0, 10.0, _plain(1.12, 100.0), paris(5.21e-13, 3.0))),
    ("closed-m2", "the same, exponent 2", _COMPUTED, "derived", "closed form", "732935.60",
     lambda: _life(1.0, 10.0, _plain(1.0, 100.0), paris(1e-10, 2.0))),
    ("closed-m288", "the same, exponent 2.88", _COMPUTED, "derived", "closed form", "825733.88",
     lambda: _life(1.0, 10.0, _plain(1.0, 100.0), paris(5.86e-13, 2.88))),
    ("callister-critical", "critical size [mm]", "callister", "from memory", "design example", "20",
     lambda: float(critical_crack_mm(25.0 * ROOT, 100.0))),
    ("callister-life", "life [cycles]", "callister", "from memory", "design example", "5.5e6",
     lambda: _si_life(2.0, float(critical_crack_mm(25.0 * ROOT, 100.0)), 100.0, (1e-12, 3.0))),
    ("callister-life-computed", "life [cycles]", _COMPUTED, "derived", "inputs of that example", "5.485e6",
     lambda: _si_life(2.0, float(critical_crack_mm(25.0 * ROOT, 100.0)), 100.0, (1e-12, 3.0))),
    ("askeland-critical", "critical size [mm]", "askeland", "from memory", "example", "8",
     lambda: float(critical_crack_mm(80.0 * ROOT, 500.0))),
    ("askeland-first", "first size for ten years [m]", _COMPUTED, "derived", "inputs of that example",
     "1.8176e-6", lambda: _first_askeland()),
    ("shigley-life", "life of the nicked bar, factor 1.07 [cycles]", "shigley-6-6", "from memory",
     "section 6-6", "64.7e3", lambda: _bar(1.07)),
    ("shigley-life-computed", "the same", _COMPUTED, "derived", "inputs of that example", "64692",
     lambda: _bar(1.07)),
    ("shigley-life-edge", "the same with the factor of an edge crack in bending", _COMPUTED, "derived",
     "inputs of that example", "61218", lambda: _bar(None)),
    ("mit-last", "size at the toughness [mm]", "mit-3032x", "derived", "inputs of problem 3", "7.0487",
     lambda: float(critical_crack_mm(50.0 * ROOT, 300.0, 1.12))),
    ("mit-life", "life [cycles]", "mit-3032x", "derived", "inputs of problem 3", "444.39",
     lambda: _si_life(1.0, float(critical_crack_mm(50.0 * ROOT, 300.0, 1.12)), 300.0, (4.2e-10, 3.0), 1.12)),
    ("course-critical", "critical size [mm]", "course-edge-plate", "derived", "inputs of the problem",
     "57.920", _course_critical),
    ("course-life", "life from half the critical size [cycles]", "course-edge-plate", "derived",
     "inputs of the problem", "19009", _course_life),
    ("gdoutos-critical", "half crack at fracture [mm]", "gdoutos", "from memory", "example 9.1", "28.6",
     lambda: float(critical_crack_mm(60.0 * ROOT, 200.0))),
    ("gdoutos-life", "life [cycles]", _COMPUTED, "derived", "inputs of that example", "704149",
     lambda: _si_life(5.0, float(critical_crack_mm(60.0 * ROOT, 200.0)), 100.0, (0.42e-11, 3.0))),
)  # fmt: skip

CASES = tuple(
    VerificationCase(
        id=f"life-{name}",
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
    )
    for name, title, source, status, where, expected, compute in _ROWS
)

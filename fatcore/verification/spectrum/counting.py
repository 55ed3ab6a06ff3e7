"""Checks of histories, counts and cycles of several modes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from fatcore.require import FloatArray
from fatcore.sources import Status
from fatcore.spectrum.counting.count import Residue, four_point, rainflow, range_pair
from fatcore.spectrum.counting.history import gate
from fatcore.spectrum.counting.levels import level_crossings, peak_count, simple_ranges
from fatcore.spectrum.multiaxial.modes import mode_cycles
from fatcore.spectrum.multiaxial.planes import largest_principal, worst_plane
from fatcore.verification.case import VerificationCase

EXAMPLE = (-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0)  # the worked history of the standard

# range: (mean, count) of each counted cycle, half cycles and repeating history
HALVES = {"A-B": (3, -0.5, 0.5), "B-C": (4, -1.0, 0.5), "E-F": (4, 1.0, 1.0), "C-D": (8, 1.0, 0.5)}
HALVES |= {"D-G": (9, 0.5, 0.5), "G-H": (8, 0.0, 0.5), "H-I": (6, 1.0, 0.5)}
REPEATING = {3: -0.5, 4: 1.0, 7: 0.5, 9: 0.5}
CROSSINGS = {5: 1, 4: 2, 3: 3, 2: 3, 1: 4, 0: 4, -1: 4, -2: 3, -3: 2, -4: 1}
HALF_CROSSINGS = {4.5: 1, 3.5: 2, 2.5: 3, 1.5: 3, 0.5: 4, -0.5: 4, -1.5: 3, -2.5: 2, -3.5: 1}
SUMS = {("half", 3): 1094, ("closed", 3): 1163, ("half", 5): 67838, ("closed", 5): 77123}
# phase: largest principal stress, path diameter, largest normal-stress range on a plane, its angle
PHASES = {0: ("126.3763", "282.8427", "252.734", "25"), 45: ("117.8192", "261.3126", "235.637", "23")}
PHASES |= {90: ("100.0000", "200.0000", "200.000", "0")}


def _cases() -> Iterator[VerificationCase]:
    """All checks of this file."""
    yield from _half_cycles()
    yield from _repeating()
    yield from _one_parameter()
    yield from _four_point()
    yield from _power_sums()
    yield from _gates()
    yield from _out_of_phase()
    yield from _path()


def _check(
    name: str,
    where: str,
    expected: str,
    compute: Callable[[], float],
    source: str = "astm-e1049",
    status: Status = "derived",
    tolerance: float | None = None,
    why: str = "",
) -> VerificationCase:
    return VerificationCase(
        id=f"spectrum-{name}",
        title=name.replace("-", " "),
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )


def _half_cycles() -> Iterator[VerificationCase]:
    for pair, (size, mean, count) in HALVES.items():
        where = f"figure 6, pair {pair}, range {size} at mean {mean}"

        def counted(size: float = size, mean: float = mean) -> float:
            return _count_of(rainflow(EXAMPLE, "half"), size, mean)

        yield _check(f"rainflow-half-{pair.lower()}", where, f"{count}", counted, status="from memory")


def _count_of(cycles: object, size: float, mean: float) -> float:
    ranges, means, counts = (getattr(cycles, name) for name in ("range_mpa", "mean_mpa", "count"))
    return float(counts[(ranges == size) & (means == mean)].sum())


def _repeating() -> Iterator[VerificationCase]:
    for size, mean in REPEATING.items():
        where = f"figure 7, range {size} at mean {mean}"

        def counted(size: float = size, mean: float = mean) -> float:
            return _count_of(rainflow(EXAMPLE, "closed"), size, mean)

        def paired(size: float = size, mean: float = mean) -> float:
            return _count_of(range_pair((5, -1, 3, -4, 4, -2, 1, -3, 5)), size, mean)

        yield _check(f"rainflow-closed-range-{size}", where, "1.0", counted, status="from memory")
        yield _check(f"range-pair-range-{size}", f"{where}, started at the largest peak", "1.0", paired)


def _one_parameter() -> Iterator[VerificationCase]:
    for level, count in (*CROSSINGS.items(), *HALF_CROSSINGS.items()):

        def crossed(level: float = level) -> float:
            return float(level_crossings(EXAMPLE, [level])[0])

        where = "5.1, history of figure 6, reference 0"
        yield _check(f"level-crossing-{level}", where, f"{count}", crossed)
    for rank, size in enumerate(("9", "7", "4", "1")):

        def peaked(rank: int = rank) -> float:
            return float(peak_count(EXAMPLE).range_mpa[rank])

        yield _check(f"peak-pair-{rank + 1}", "history of figure 6", size, peaked, source="peak-pairing")
    simple = _check("simple-ranges", "5.2, each range half a cycle", "4.0", lambda: simple_ranges(EXAMPLE).total_count)
    yield simple


def _four_point() -> Iterator[VerificationCase]:
    def cycle() -> float:
        return _count_of(four_point(EXAMPLE).counted, 4.0, 1.0)

    def residue() -> float:
        left = four_point(EXAMPLE).residue_mpa.tolist()
        return float(left == [-2.0, 1.0, -3.0, 5.0, -4.0, 4.0, -2.0])

    yield _check("four-point-cycle", "cycle -1, 3", "1.0", cycle, source="iso-12110-2")
    yield _check("four-point-residue", "-2, 1, -3, 5, -4, 4, -2 (1: equal)", "1", residue, source="iso-12110-2")


def _power_sums() -> Iterator[VerificationCase]:
    rules: dict[str, Residue] = {"half": "half", "closed": "closed"}
    for (rule, power), total in SUMS.items():

        def summed(rule: str = rule, power: int = power) -> float:
            cycles = rainflow(EXAMPLE, rules[rule])
            return float((cycles.count * cycles.range_mpa**power).sum())

        where = f"sum of count times range^{power}, {rule}"
        yield _check(f"power-{power}-{rule}", where, f"{total}", summed, source="independent-computation")


def _gates() -> Iterator[VerificationCase]:
    for width, kept in {3.5: (1, -3, 5, -1, 3, -4, 4, -2), 4.5: (-3, 5, -4, 4, -2)}.items():

        def same(width: float = width, kept: tuple[int, ...] = kept) -> float:
            return float(np.array_equal(np.array(EXAMPLE)[gate(EXAMPLE, width)], kept))

        where = f"width {width} keeps {', '.join(map(str, kept))} (1: equal)"
        yield _check(f"gate-{width}", where, "1", same, source="independent-computation")


def circle(phase_deg: float, steps: int = 3600) -> FloatArray:
    """Normal stress 100 sin and shear stress 100/sqrt(3) sin with a lag, one period, (2, steps + 1) [MPa]."""
    turn = np.linspace(0.0, 2.0 * np.pi, steps + 1)
    return np.array([100.0 * np.sin(turn), 100.0 / np.sqrt(3.0) * np.sin(turn - np.deg2rad(phase_deg))])


def _out_of_phase() -> Iterator[VerificationCase]:
    for phase, (principal, diameter, plane, angle) in PHASES.items():

        def largest(phase: float = phase) -> float:
            return float(largest_principal(*circle(phase, 36000)).max())

        def distance(phase: float = phase) -> float:
            history = circle(phase, 720)
            points = np.array([[1.0], [np.sqrt(3.0)]]) * history
            return float(2.0 * np.linalg.norm(points, axis=0).max())  # the path is point symmetric

        def on_plane(phase: float = phase) -> float:
            return worst_plane(*circle(phase))[1]

        def at_angle(phase: float = phase) -> float:
            return worst_plane(*circle(phase))[0]

        lag = f"stress 100 sin and shear 100/sqrt(3) sin lagging {phase} deg"
        source = "independent-computation"
        yield _check(f"principal-{phase}-deg", lag, principal, largest, source=source)
        yield _check(f"path-diameter-{phase}-deg", lag, diameter, distance, source=source)
        yield _check(f"plane-range-{phase}-deg", lag, plane, on_plane, source=source)
        yield _check(f"plane-angle-{phase}-deg", lag, angle, at_angle, source=source)


def _path() -> Iterator[VerificationCase]:
    def length() -> float:
        cycles = mode_cycles(circle(90.0, 1440), [1.0, np.sqrt(3.0)], definition="path")
        return float(np.sqrt(np.square(cycles.range_mpa[0] * [1.0, np.sqrt(3.0)]).sum()))

    def number() -> float:
        return float(mode_cycles(circle(90.0, 360), [1.0, np.sqrt(3.0)], definition="path").count.sum())

    where = "circle of radius 100: two half cycles of length 100 pi"
    why = "the way is a polygon of 1440 sides"
    source = "independent-computation"
    yield _check("path-length-circle", where, "314.159", length, source=source, tolerance=1e-3, why=why)
    yield _check("path-count-circle", where, "1.0", number, source=source)


CASES = tuple(_cases())

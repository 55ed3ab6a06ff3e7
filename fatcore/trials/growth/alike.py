"""Specimens that look like one: rates or readings that two of them hardly share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations
from typing import NamedTuple, TypeVar

import numpy as np

from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray
from fatcore.trials.growth.outcome import GrowthTest, TestedSpecimen

_COPY = 0.002  # of log10 of the rate, by which readings of two specimens never agree [own choice]
_SCALED = 0.0002  # of log10 of the rate, by which rates agree but for one factor, as of multiplied cycles [own choice]
_LEAST_RATES = 4  # that agree but for one factor [own choice]
_LEAST_READINGS = 3  # on the curve of another specimen [own choice]
_BESIDE = 2.0  # times what readings lie beside the line of their neighbours: more is another curve [own choice]
_STEADY = 2.0  # factor between the rates before, within and behind a gap in one record [own choice]
_ROUNDING = 1e-12
_Data = TypeVar("_Data")


class _Record(NamedTuple):
    """Cycles and sizes of a specimen, and how far readings lie beside the line of their neighbours, see `_usual`."""

    cycles: FloatArray
    size_mm: FloatArray
    beside_mm: FloatArray


def alike_findings(tests: Sequence[GrowthTest], found: Sequence[TestedSpecimen]) -> list[Finding]:
    """What is said of specimens that are likely one; tests for the threshold are not looked at.

    tests, found : readings and rates of all
    """
    grown = [(test, each) for test, each in zip(tests, found, strict=True) if not test.shedding]
    rates = [_log10(each.rate_mm_per_cycle) for _, each in grown]
    copied, scaled = _pairs(rates, _copied), _pairs(rates, _scaled)
    joined = _pairs([_readings(test) for test, _ in grown], _of_one_curve)
    names = [each.name for _, each in grown]
    end = "one specimen under two names? The scatter between specimens comes out too small"
    said = []
    if copied:
        said.append(
            caution("near-copies", f"the rates of {_named(copied, names)} agree within 0.5 %: {end}", field="tests")
        )
    elif scaled:
        text = f"the rates of {_named(scaled, names)} are the same but for one factor: {end}"
        said.append(caution("near-copies", text, field="tests"))
    if joined:
        text = (
            f"the readings of {_named(joined, names)} lie on one curve of crack size against cycles, as of one specimen"
            " under two names: the scatter between specimens may come out too small"
        )
        said.append(caution("readings-on-one-curve", text, field="tests"))
    if _all_one([*copied, *joined], len(names)):
        text = (
            f"rates or readings of all {len(names)} specimens are as of one: nothing is left to tell of the scatter"
            " between specimens"
        )
        said.append(outside("specimens-as-one", text, field="tests"))
    return said


def _pairs(data: Sequence[_Data], alike: Callable[[_Data, _Data], bool]) -> list[tuple[int, int]]:
    return [(i, j) for i, j in combinations(range(len(data)), 2) if alike(data[i], data[j])]


def _all_one(pairs: Sequence[tuple[int, int]], size: int) -> bool:
    """Whether pairs join several specimens into one."""
    group = list(range(size))
    for one, other in pairs:
        kept, left = group[one], group[other]
        group = group if kept == left else [kept if each == left else each for each in group]
    return size > 1 and len(set(group)) == 1


def _named(pairs: Sequence[tuple[int, int]], names: Sequence[str]) -> str:
    one, other = (names[place] for place in pairs[0])
    return f"{one!r} and {other!r}" + (f", and {len(pairs) - 1} more pair(s)," if len(pairs) > 1 else "")


def _log10(rate_mm_per_cycle: FloatArray) -> FloatArray:
    """Not a number where nothing grew."""
    return np.log10(np.where(rate_mm_per_cycle > 0.0, rate_mm_per_cycle, np.nan))


def _differences(one: FloatArray, other: FloatArray) -> FloatArray:
    """Of log10 of the rates, where both grew; empty for rates in other numbers."""
    if one.shape != other.shape:
        return np.empty(0)
    apart = one - other
    return apart[np.isfinite(apart)]


def _copied(one: FloatArray, other: FloatArray) -> bool:
    apart = _differences(one, other)
    return bool(apart.size and max(apart.max(), -apart.min()) < _COPY)


def _scaled(one: FloatArray, other: FloatArray) -> bool:
    """As of readings whose cycles are multiplied."""
    apart = _differences(one, other)
    return bool(apart.size >= _LEAST_RATES and apart.max() - apart.min() < 2.0 * _SCALED)


def _readings(test: GrowthTest) -> _Record:
    cycles, size = np.asarray(test.cycles, dtype=np.float64), np.asarray(test.size_mm, dtype=np.float64)
    if len(size) < _LEAST_READINGS + 2:
        return _Record(cycles, size, np.full(2, -1.0))
    between = (cycles[1:-1] - cycles[:-2]) / (cycles[2:] - cycles[:-2])
    beside = size[1:-1] - size[:-2] - (size[2:] - size[:-2]) * between
    return _Record(cycles, size, _usual(beside))


def _of_one_curve(one: _Record, other: _Record) -> bool:
    return any(rule(*pair) for rule in (_lies_on, _goes_on) for pair in ((one, other), (other, one)))


def _lies_on(one: _Record, other: _Record) -> bool:
    """Whether readings lie as near to the curve of another specimen as its own ones do."""
    inside = slice(*np.searchsorted(one.cycles, (other.cycles[0] * (1.0 + _ROUNDING), other.cycles[-1])))
    if len(one.cycles[inside]) < _LEAST_READINGS:
        return False
    beside = one.size_mm[inside] - np.interp(one.cycles[inside], other.cycles, other.size_mm)
    if beside @ beside > len(beside) * (_BESIDE * other.beside_mm[1]) ** 2:
        return False  # most pairs end here, the median takes longer
    return bool(_usual(beside)[0] <= _BESIDE * other.beside_mm[0])


def _usual(beside_mm: FloatArray) -> FloatArray:
    """Median and root mean square: curves of two specimens part early or late."""
    return np.array([np.median(np.abs(beside_mm)), np.sqrt(np.square(beside_mm).mean())])


def _goes_on(one: _Record, other: _Record) -> bool:
    """Whether a record goes on, in cycles, size and rate, where that of another specimen ends."""
    cycles, size = other.cycles[0] - one.cycles[-1], other.size_mm[0] - one.size_mm[-1]
    if cycles <= 0.0 or size <= 0.0:
        return False
    half, other_half = len(one.size_mm) // 2, len(other.size_mm) // 2
    before = (one.size_mm[-1] - one.size_mm[-1 - half]) / (one.cycles[-1] - one.cycles[-1 - half])
    behind = (other.size_mm[other_half] - other.size_mm[0]) / (other.cycles[other_half] - other.cycles[0])
    return bool(min(before, behind) / _STEADY <= size / cycles <= max(before, behind) * _STEADY)

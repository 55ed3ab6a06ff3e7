"""Which line of before a line is that the baseline does not know by its name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.alike import as_read
from fatcore.require import FloatArray

from ..baseline import Rules, StoredLine
from .parts import same_course
from .pattern import NEAR, sorted_figures

SAME_LENGTH = 0.01  # relative
SAME_LOCATION = 0.02  # share of the length by which the ends of a line may lie elsewhere
SAME_ANGLE_DEG = 1.0
SHAPE_POINTS = 33
SAME_SHAPE = 10 * NEAR  # share of the largest figure
LIKE_SHAPE = 5 * SAME_SHAPE  # the same of a line that is checked no more, in another file


@dataclass(frozen=True, slots=True)
class Former:
    """A line of the baseline that is checked no more.

    check, name : as the baseline has it
    accepted    : its vanishing was accepted in an earlier run
    rules       : of its check
    """

    check: str
    name: str
    state: StoredLine
    accepted: bool
    rules: Rules


@dataclass(frozen=True, slots=True)
class Fit:
    """The former line that a line continues, and by what it is known."""

    former: Former
    by: str


def ends_turned(now: Sequence[str], before: Sequence[str]) -> bool | None:
    """Whether the ends of a line are exchanged; None where its coordinates do not show it.

    >>> ends_turned(["9 0 0", "5 0 0", "0 0 0"], ["0 0 0", "5 0 0", "9 0 0"])
    True
    """
    if not now or not before:
        return None
    here, there = _coordinates(now), _coordinates(before)
    span = float(np.linalg.norm(there - there[0], axis=1).max())
    straight, turned = (_apart(ends, there) <= SAME_LOCATION * span for ends in (here, here[::-1]))
    return None if straight == turned else turned


def _coordinates(rows: Sequence[str]) -> FloatArray:
    return np.array([[float(part) for part in row.split(" ")] for row in rows])


def _apart(here: FloatArray, there: FloatArray) -> float:
    return float(np.linalg.norm(here - there, axis=1).max())


class Lost:
    """Lines of any check that are checked no more, to be found by notch, length and course of the stresses."""

    def __init__(self, formers: Iterable[Former]) -> None:
        self.formers = tuple(formers)
        self.table = _Table([former.state for former in self.formers]) if self.formers else None

    def fits(self, lines: Mapping[str, StoredLine], known: Iterable[Former]) -> dict[str, Fit]:
        """The former line of each line that has one.

        known : formers that were looked at before
        """
        if self.table is None or not lines:
            return {}
        now, then = _Table(list(lines.values())), self.table
        shape, location = now.shapes_apart(then), now.same_locations(then)
        seen = {(former.check, former.name) for former in known}
        fresh = np.array([(former.check, former.name) not in seen for former in self.formers])
        fit = now.same_notch_and_length(then) & (location | (shape <= LIKE_SHAPE)) & fresh[None, :]
        cost = np.where(location, 0.0, 10.0) + np.round(shape, 3)
        pairs = _paired(fit, cost, now.used_apart(then))
        names = list(lines)
        return {
            names[row]: Fit(self.formers[column], "location" if location[row, column] else "notch, length and course")
            for row, column in pairs
        }


NOTHING_LOST = Lost(())


def fits(lines: Mapping[str, StoredLine], formers: Iterable[Former], lost: Lost = NOTHING_LOST) -> dict[str, Fit]:
    """The former line of each line that has one: by its name, by a name that reads the same, by its location.

    lines : lines by name that the baseline does not know
    lost  : lines of other checks, among which those without a former are looked for
    What is left of all is compared last by the course of the stresses alone, whatever the length.
    """
    every = list(formers)
    found = _of_the_check(lines, every)
    found |= lost.fits(_without(lines, found), every)
    used = {(fit.former.check, fit.former.name) for fit in found.values()}
    known = {(former.check, former.name): former for former in (*lost.formers, *every)}
    left = [former for name, former in known.items() if name not in used]
    return {**found, **_by_course(_without(lines, found), left)}


def _without(lines: Mapping[str, StoredLine], found: Mapping[str, Fit]) -> dict[str, StoredLine]:
    return {name: state for name, state in lines.items() if name not in found}


def _by_course(lines: Mapping[str, StoredLine], formers: Sequence[Former]) -> dict[str, Fit]:
    """Pairs of one kind of notch and angle with one course of the stresses, whole or in most of the stations."""
    if not lines or not formers:
        return {}
    now, then = _Table(list(lines.values())), _Table([former.state for former in formers])
    fit = now.same_notch(then)
    for row, column in np.argwhere(fit).tolist():
        fit[row, column] = same_course(now.patterns[row], then.patterns[column])
    pairs, names = _paired(fit, np.round(now.shapes_apart(then), 2), now.used_apart(then)), list(lines)
    return {names[row]: Fit(formers[column], "notch and course") for row, column in pairs}


def _of_the_check(lines: Mapping[str, StoredLine], formers: Iterable[Former]) -> dict[str, Fit]:
    found: dict[str, Fit] = {}
    left = list(formers)
    for key in (str, as_read):
        named = {key(former.name): former for former in left}
        for name in [name for name in lines if name not in found and key(name) in named]:
            former = named.pop(key(name), None)
            if former is not None:
                found[name] = Fit(former, "name")
                left.remove(former)
    rest = _without(lines, found)
    return {**found, **_by_location(rest, left)} if rest and left else found


def _by_location(lines: Mapping[str, StoredLine], formers: Sequence[Former]) -> dict[str, Fit]:
    """Pairs of one kind of notch, angle and length at one location, the ones most alike in their stresses first.

    Where coordinates are missing the length stands for the location; a line whose vanishing was accepted needs
    more than that: the same coordinates, or stresses of the same course.
    """
    now, then = _Table(list(lines.values())), _Table([former.state for former in formers])
    shape, location = now.shapes_apart(then), now.same_locations(then)
    unknown = ~(now.known[:, None] & then.known[None, :])
    varied = np.ptp(now.shapes, axis=1) > SAME_SHAPE  # equal figures at all stations show nothing
    alike = (shape <= SAME_SHAPE) & varied[:, None]
    accepted = np.array([former.accepted for former in formers])
    fit = now.same_notch_and_length(then)
    fit &= location | alike | (unknown & ~accepted[None, :])
    cost = np.where(location, 0.0, 10.0) + np.round(shape, 2)
    pairs, names = _paired(fit, cost, now.used_apart(then)), list(lines)
    return {
        names[row]: Fit(formers[column], "location" if location[row, column] else "notch and length")
        for row, column in pairs
    }


def _paired(fit: NDArray[np.bool_], cost: FloatArray, moved: FloatArray) -> list[tuple[int, int]]:
    """Pairs of row and column that fit, each once: the least cost first, then the least change of use."""
    order = np.lexsort((moved[fit], cost[fit]))
    found: dict[int, int] = {}
    taken: set[int] = set()
    for row, column in np.argwhere(fit)[order].tolist():
        if row not in found and column not in taken:
            found[row] = column
            taken.add(column)
    return list(found.items())


class _Table:
    """Places and stresses of lines as columns."""

    def __init__(self, states: Sequence[StoredLine]) -> None:
        self.kinds: NDArray[np.str_] = np.array([_kind(state) for state in states])
        self.angles = np.array([_angle_deg(state) for state in states])
        self.lengths = np.array([state.length_mm for state in states])
        self.used = np.array([state.utilisation for state in states])
        self.known = np.array([bool(state.ends_mm) for state in states])
        self.ends = np.array([_coordinates(state.ends_mm or ["0 0 0"] * 3) for state in states])
        self.ends[~self.known] = np.nan
        self.patterns = [state.pattern for state in states]
        self.shapes = np.array([_shape(pattern) for pattern in self.patterns])

    def same_notch(self, then: _Table) -> NDArray[np.bool_]:
        """Pairs of one kind of notch and one angle."""
        found: NDArray[np.bool_] = self.kinds[:, None] == then.kinds[None, :]
        found &= np.abs(self.angles[:, None] - then.angles[None, :]) <= SAME_ANGLE_DEG
        return found

    def same_notch_and_length(self, then: _Table) -> NDArray[np.bool_]:
        """Pairs of one kind of notch, one angle and one length."""
        longest = np.maximum(self.lengths[:, None], then.lengths[None, :])
        found = self.same_notch(then)
        found &= np.abs(self.lengths[:, None] - then.lengths[None, :]) <= SAME_LENGTH * longest
        return found

    def shapes_apart(self, then: _Table) -> FloatArray:
        """By how much the courses of pairs differ, as a share of the largest figure."""
        return np.array([np.abs(then.shapes - row).max(axis=1) for row in self.shapes])

    def same_locations(self, then: _Table) -> NDArray[np.bool_]:
        """Pairs with the same ends."""
        return np.array([_same_ends(ends, then.ends) for ends in self.ends])

    def used_apart(self, then: _Table) -> FloatArray:
        """By how much the utilisations of pairs differ."""
        apart: FloatArray = np.abs(self.used[:, None] - then.used[None, :])
        return apart


def _kind(state: StoredLine) -> str:
    notch: Any = state.rules.get("notch")
    return f"{state.rules.get('basis')} {None if notch is None else notch['kind']}"


def _angle_deg(state: StoredLine) -> float:
    notch: Any = state.rules.get("notch")
    return 0.0 if notch is None else float(notch["opening_angle_deg"])


def _shape(pattern: str) -> FloatArray:
    """The figures by size at evenly spread ranks, the largest as 1."""
    values = np.array(sorted_figures(pattern))
    scaled = values / (values[0] if values[0] > 0.0 else 1.0)
    return np.interp(np.linspace(0, 1, SHAPE_POINTS), np.linspace(0, 1, values.size), scaled)


def _same_ends(ends: FloatArray, others: FloatArray) -> NDArray[np.bool_]:
    span = np.linalg.norm(others - others[:, :1], axis=2).max(axis=1)
    straight, turned = (
        np.linalg.norm(others - way, axis=2).max(axis=1) <= SAME_LOCATION * span for way in (ends, ends[::-1])
    )
    found: NDArray[np.bool_] = straight | turned
    return found

"""Checks and lines that hold the same as another one, and so may stand in for it."""

from __future__ import annotations

import json
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from ..baseline import StoredCheck, StoredLine, digest_of_json
from ..result import Answered, CaseResult, Fault, LineResult, location, order_faults
from .course import POINTS, WERE_WITHIN, WITHIN, course_of, figures_of_courses, same_courses
from .pattern import NEAR, WERE_NEAR, near, sorted_figures

MOST_NAMES, MOST_FOUND = 3, 20
SAME_NUMBERS = "holds the same as {}; the baseline has different lines for these names"
SAME_COURSE = "has the stresses of {} but for a factor; the baseline has lines of different courses for these names"
State = TypeVar("State", bound=Hashable)
KEYS = 3  # so many of its largest figures find a line, since a few of its stations may be others


@dataclass(frozen=True, slots=True)
class _Held(Generic[State]):
    """What a check, or a line of it, holds in this run and held in the baseline; of one not run the same."""

    key: str
    line: str | None
    now: State
    before: State | None


@dataclass(frozen=True, slots=True)
class _Whole:
    """What a check rests on: stresses of its lines, loads, and the digest of its rules."""

    lines: tuple[str, ...]
    loads: tuple[float, ...]
    rules: str


class _Twins(Generic[State]):
    """Finds what became the same as another one; near linear, since only states of one size are compared."""

    def __init__(
        self,
        held: Iterable[_Held[State]],
        same: Callable[[State, State, float], bool],
        sizes: Callable[[State], Sequence[float]],
    ) -> None:
        self.same, self.sizes = same, sizes
        self.groups: dict[State, dict[State, list[_Held[State]]]] = {}
        for entry in held:
            if entry.before is not None:
                self.groups.setdefault(entry.now, {}).setdefault(entry.before, []).append(entry)
        self.states = sorted(
            ((size, at, state) for at, state in enumerate(self.groups) for size in sizes(state)),
            key=lambda found: found[:2],
        )
        self.order = [size for size, _, _ in self.states]

    def of(self, own: _Held[State]) -> list[_Held[State]]:
        """Those that hold the same now and held something else before, where this one has changed."""
        if own.before is None or self.same(own.now, own.before, NEAR):
            return []
        return list(islice(self._others(own.now, own.before), MOST_FOUND))

    def _others(self, now: State, before_this: State) -> Iterator[_Held[State]]:
        for state in self._close(now):
            for before, entries in self.groups[state].items():
                if not self.same(before, before_this, WERE_NEAR):
                    yield from entries

    def _close(self, now: State) -> dict[State, None]:
        close: dict[State, None] = {}
        for size in self.sizes(now):
            low, high = size * (1.0 - 2.0 * NEAR), size * (1.0 + 2.0 * NEAR)
            for _, _, state in self.states[bisect_left(self.order, low) : bisect_right(self.order, high)]:
                if state not in close and self.same(now, state, NEAR):
                    close[state] = None
        return close


class _CourseTwins:
    """Finds lines that took the course of another one, whatever their size."""

    def __init__(self, held: Iterable[_Held[str]]) -> None:
        pairs: dict[tuple[bytes, bytes], list[_Held[str]]] = {}
        for entry in held:
            if entry.before is not None:
                courses = (course_of(entry.now), course_of(entry.before))
                now, before = (course.round(6).tobytes() for course in courses)
                pairs.setdefault((now, before), []).append(entry)
        self.held = list(pairs.values())
        rows = np.frombuffer(b"".join(now + before for now, before in pairs)).reshape(-1, 2, POINTS)
        self.now, self.before = rows[:, 0], rows[:, 1]
        self.figures = figures_of_courses(self.now)

    def of(self, own: _Held[str]) -> list[_Held[str]]:
        """Those of the same course now and of another one before, where the course of this one has changed."""
        now, before = course_of(own.now), course_of(own.before or "0")
        if own.before is None or np.isnan(now[0]) or same_courses(now[np.newaxis], before)[0]:
            return []
        others = (entry for at in self._others(now, before) for entry in self.held[at])
        return list(islice(others, MOST_FOUND))

    def _others(self, now: FloatArray, before: FloatArray) -> NDArray[np.intp]:
        apart = np.abs(self.figures - figures_of_courses(now[np.newaxis])).max(axis=1)
        near_by = np.flatnonzero(apart <= 2.0 * WITHIN)
        near_by = near_by[same_courses(self.now[near_by], now)]
        return near_by[~same_courses(self.before[near_by], before, WERE_WITHIN)]


def find_twins(
    checks: Sequence[CaseResult], answers: Iterable[Answered], stored: Mapping[str, StoredCheck]
) -> list[CaseResult]:
    """The results in which a check, or a line of it, that became the same as another one has a fault.

    It is a fault where the baseline has two different ones for the names: one of them is judged no more.
    Files that are not in this run count as the baseline has them.
    """
    run = {answer.key: answer for answer in answers}
    lines = {(check.key, line.name): line for check in checks for line in check.lines if line.now is not None}
    held = [*_held_lines(lines, stored)]
    line_twins, course_twins = _Twins(held, _same_stresses, _largest), _CourseTwins(held)
    whole_twins = _Twins(_held_checks(run, stored), _same_check, lambda state: _largest(state.lines[0]))
    same_bytes = _same_bytes(run, stored)
    found = []
    for check in checks:
        judged = tuple(_judge_line(check.key, line, line_twins, course_twins) for line in check.lines)
        check = replace(check, lines=judged)
        if check.key in run:
            own = _Held(check.key, None, _whole(run[check.key]), _before(stored.get(check.key)))
            check = _judge_check(check, whole_twins.of(own), same_bytes[check.key])
        found.append(check)
    return found


def _held_lines(lines: Mapping[tuple[str, str], LineResult], stored: Mapping[str, StoredCheck]) -> Iterator[_Held[str]]:
    for (key, _), line in lines.items():
        yield _held_line(key, line)
    for key, check in stored.items():
        for name, state in check.lines.items():
            if (key, name) not in lines:
                yield _Held(key, name, state.pattern, state.pattern)


def _held_line(key: str, line: LineResult) -> _Held[str]:
    assert line.now is not None
    return _Held(key, line.name, line.now.pattern, None if line.before is None else line.before.pattern)


def _held_checks(run: Mapping[str, Answered], stored: Mapping[str, StoredCheck]) -> Iterator[_Held[_Whole]]:
    for key, answer in run.items():
        yield _Held(key, None, _whole(answer), _before(stored.get(key)))
    for key, check in stored.items():
        before = _before(check)
        if key not in run and before is not None:
            yield _Held(key, None, before, before)


def _whole(answer: Answered) -> _Whole:
    return _state([line.state for line in answer.lines], answer.load_figures, answer.rules)


def _before(check: StoredCheck | None) -> _Whole | None:
    if check is None or not check.lines:
        return None
    return _state(list(check.lines.values()), check.load_figures, check.rules)


def _state(lines: Sequence[StoredLine], loads: Sequence[float], rules: object) -> _Whole:
    patterns = sorted((line.pattern for line in lines), key=_rounded, reverse=True)
    text = json.dumps([rules, sorted(json.dumps(line.rules, sort_keys=True) for line in lines)])
    return _Whole(tuple(patterns), tuple(loads), digest_of_json(json.loads(text, parse_float=_six_digits)))


def _rounded(pattern: str) -> tuple[float, ...]:
    return tuple(float(f"{value:.2g}") for value in sorted_figures(pattern))


def _six_digits(text: str) -> float:
    return float(f"{float(text):.6g}")


def _largest(pattern: str) -> tuple[float, ...]:
    return tuple(dict.fromkeys(sorted_figures(pattern)[:KEYS]))


def _same_stresses(first: str, second: str, bound: float) -> bool:
    return first == second or near(sorted_figures(first), sorted_figures(second), bound)


def _same_check(first: _Whole, second: _Whole, bound: float) -> bool:
    if first.rules != second.rules or len(first.lines) != len(second.lines):
        return False
    pairs = zip(first.loads, second.loads, strict=True)
    return all(abs(one - two) <= bound * max(abs(one), abs(two)) for one, two in pairs) and all(
        _same_stresses(one, two, bound) for one, two in zip(first.lines, second.lines, strict=True)
    )


def _judge_line(key: str, line: LineResult, twins: _Twins[str], course_twins: _CourseTwins) -> LineResult:
    if line.now is None:
        return line
    own = _held_line(key, line)
    for found, text in ((twins, SAME_NUMBERS), (course_twins, SAME_COURSE)):
        others = [twin for twin in found.of(own) if (twin.key, twin.line) != (key, line.name)]
        if others:  # lines that were the same before are common in a design that is symmetric
            names = _names(str(twin.line) if twin.key == key else location(twin.key, twin.line) for twin in others)
            return replace(line, faults=order_faults([*line.faults, Fault("vanished", text.format(names))]))
    return line


def _judge_check(check: CaseResult, twins: Iterable[_Held[_Whole]], same_bytes: Sequence[str]) -> CaseResult:
    others = [twin.key for twin in twins if twin.key != check.key]
    if others:
        text = f"holds the same as {_names(others)}; the baseline has different checks for these names"
        return replace(check, faults=order_faults([*check.faults, Fault("vanished", text)]))
    notes = [f"holds the same as {_names(same_bytes)}"] if same_bytes else []
    return replace(check, notes=(*check.notes, *notes))


def _same_bytes(run: Mapping[str, Answered], stored: Mapping[str, StoredCheck]) -> dict[str, list[str]]:
    """Checks of which each gives what another one gives, title left out."""
    keys: dict[str, set[str]] = {}
    for key, check in stored.items():
        if key not in run:
            for digest in {line.request_digest for line in check.lines.values()}:
                keys.setdefault(digest, set()).add(key)
    for key, answer in run.items():
        keys.setdefault(answer.request_digest, set()).add(key)
    return {key: sorted(keys[answer.request_digest] - {key}) for key, answer in run.items()}


def _names(names: Iterable[str]) -> str:
    every = sorted(set(names))
    return ", ".join(every[:MOST_NAMES]) + (" and others" if len(every) > MOST_NAMES else "")

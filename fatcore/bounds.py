"""Bounds declared beside a field or an argument, and the one guard that holds them.

A bound stands once, as `Annotated` at the field of the core; the service derives its models from it.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, wraps
from types import UnionType
from typing import Annotated, Any, Literal, ParamSpec, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np
from annotated_types import Ge, Gt, Le, Len, Lt
from numpy.typing import ArrayLike

from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given, counted
from fatcore.require import FloatArray

LARGEST, SMALLEST = 1e30, 1e-30  # of every number in size, and of one that must not be zero
STEEPEST = 100.0  # of every exponent and slope [own choice]: those of the trade end at about 30


@dataclass(frozen=True, slots=True)
class Unbounded:
    """Mark of a number that may be infinite, such as a life; outside the core infinity is null."""


@dataclass(frozen=True, slots=True)
class Width:
    """Mark of an array of rows, (n, size)."""

    size: int

    def __call__(self, name: str, value: Any) -> None:
        """Holds it."""
        shape = np.shape(value)
        if len(shape) != 2 or shape[1] != self.size:
            raise InputError(f"{name} must have {self.size} numbers a row", name)


Name = Annotated[str, Len(1, 200)]

Number = Annotated[float, Ge(-LARGEST), Le(LARGEST)]
Positive = Annotated[float, Ge(SMALLEST), Le(LARGEST)]
NonNegative = Annotated[float, Ge(0.0), Le(LARGEST)]
Probability = Annotated[float, Gt(0.0), Lt(1.0)]  # or any other share between nothing and all
Exponent = Annotated[float, Ge(0.0), Le(STEEPEST)]
Slope = Annotated[float, Ge(SMALLEST), Le(STEEPEST)]
PoissonRatio = Annotated[float, Ge(0.0), Le(0.5)]

NumberColumn = Annotated[ArrayLike, Ge(-LARGEST), Le(LARGEST)]
PositiveColumn = Annotated[ArrayLike, Ge(SMALLEST), Le(LARGEST)]
NonNegativeColumn = Annotated[ArrayLike, Ge(0.0), Le(LARGEST)]
PositiveArray = Annotated[FloatArray, Ge(SMALLEST), Le(LARGEST)]
NonNegativeArray = Annotated[FloatArray, Ge(0.0), Le(LARGEST)]
UnboundedColumn = Annotated[FloatArray, Unbounded()]
Vectors = Annotated[ArrayLike, Width(3), Ge(-LARGEST), Le(LARGEST)]
NumberArray = Annotated[FloatArray, Ge(-LARGEST), Le(LARGEST)]
VectorArray = Annotated[FloatArray, Width(3), Ge(-LARGEST), Le(LARGEST)]

_BY_NAME = (inspect.Parameter.POSITIONAL_OR_KEYWORD, inspect.Parameter.KEYWORD_ONLY)

P = ParamSpec("P")
T = TypeVar("T")
Check = Callable[[str, Any], None]


def guard(instance: Any) -> None:
    """Holds every bound and choice declared at the fields of a dataclass; for its __post_init__.

    Raises : InputError (UnknownError for a choice) with the name of the field
    >>> @dataclass(frozen=True)
    ... class Plate:
    ...     thickness_mm: Positive
    ...     __post_init__ = guard
    >>> Plate(0.0)
    Traceback (most recent call last):
    fatcore.errors.InputError: thickness_mm must be greater than 0
    """
    owner: Any = type(instance)
    for name, check in _checks(owner):
        check(name, getattr(instance, name))


def guarded(function: Callable[P, T]) -> Callable[P, T]:
    """The function, with the bounds and choices declared at its arguments held before it runs."""
    signature = inspect.signature(function)
    places = {name: place for place, name in enumerate(signature.parameters)}
    plain = all(each.kind in _BY_NAME for each in signature.parameters.values())

    @wraps(function)
    def held(*args: P.args, **kwargs: P.kwargs) -> T:
        # binding is slow beside small checks; the call itself refuses arguments that do not fit
        given = kwargs if plain else signature.bind(*args, **kwargs).arguments
        for name, check in _checks(function):
            if name in given:
                check(name, given[name])
            elif plain and places[name] < len(args):
                check(name, args[places[name]])
        return function(*args, **kwargs)

    return held


@cache
def _checks(owner: Any) -> tuple[tuple[str, Check], ...]:
    hints = get_type_hints(owner, include_extras=True)
    found = ((name, _check(hint)) for name, hint in hints.items() if name != "return")
    return tuple((name, check) for name, check in found if check is not None)


def _check(hint: Any) -> Check | None:
    """What holds the declaration, or None when it declares no bound."""
    if get_origin(hint) in (Union, UnionType):
        return _check_union(get_args(hint))
    if get_origin(hint) is Literal:
        return _Choice(get_args(hint))
    if get_origin(hint) in (tuple, Sequence):
        inner = _check(get_args(hint)[0])
        return inner.each if isinstance(inner, _Choice) else inner
    if get_origin(hint) is Annotated:
        marks = hint.__metadata__
        return _all_of([*map(_shape, marks), _Interval.of(marks), _check(hint.__origin__)])
    return None


def _shape(mark: Any) -> Check | None:
    if isinstance(mark, Len):
        return _Length(mark.min_length, mark.max_length)
    return mark if isinstance(mark, Width) else None


def _all_of(given: Iterable[Check | None]) -> Check | None:
    checks = [check for check in given if check is not None]
    if len(checks) < 2:
        return checks[0] if checks else None

    def check(name: str, value: Any) -> None:
        for each in checks:
            each(name, value)

    return check


def _check_union(parts: Iterable[Any]) -> Check | None:
    inner = [_check(part) for part in parts if part is not type(None)]
    if len(inner) != 1 or inner[0] is None:  # several forms: the one who uses them tells them apart
        return None
    only = inner[0]

    def check(name: str, value: Any) -> None:
        if value is not None:
            only(name, value)

    return check


def _number(end: Any) -> float:
    return float(end)


@dataclass(frozen=True, slots=True)
class _Choice:
    """One of several words or numbers."""

    allowed: tuple[Any, ...]

    def __call__(self, name: str, value: Any) -> None:
        if value not in self.allowed:
            raise UnknownError(name.replace("_", " "), value, map(str, self.allowed), name)

    def each(self, name: str, values: Iterable[Any]) -> None:
        """The same of every entry."""
        for value in values:
            self(name, value)


@dataclass(frozen=True, slots=True)
class _Length:
    """So many characters of a text, or entries of anything else."""

    least: int
    most: int | None

    def __call__(self, name: str, value: Any) -> None:
        size = len(value)
        if size < self.least or (self.most is not None and size > self.most):
            kind = "character" if isinstance(value, str) else "entry"
            least = f"at least {counted(self.least, kind)}"
            allowed = least if self.most is None else f"{self.least} to {counted(self.most, kind)}"
            raise InputError(f"{name} must have {allowed}, not {size}", name)


@dataclass(frozen=True, slots=True)
class _Interval:
    """Numbers between two ends, each of which may be left out."""

    low: float
    high: float
    open_low: bool
    open_high: bool

    @classmethod
    def of(cls, marks: Iterable[Any]) -> _Interval | None:
        low, high, open_low, open_high = -np.inf, np.inf, False, False
        for mark in marks:
            match mark:
                case Gt(gt=end):
                    low, open_low = _number(end), True
                case Ge(ge=end):
                    low = _number(end)
                case Lt(lt=end):
                    high, open_high = _number(end), True
                case Le(le=end):
                    high = _number(end)
        return None if np.isinf(low) and np.isinf(high) else cls(low, high, open_low, open_high)

    def __call__(self, name: str, value: Any) -> None:
        if type(value) is float and self.low < value < self.high:
            return
        array = np.asarray(value, dtype=np.float64)
        if not array.size:
            return
        least, most = float(array.min()), float(array.max())  # either is NaN where an element is
        if not (math.isfinite(least) and math.isfinite(most)):
            raise InputError(f"{name} must be finite", name)
        too_high = most >= self.high if self.open_high else most > self.high
        if too_high or (least <= self.low if self.open_low else least < self.low):
            raise InputError(f"{name} {self._rule(most if too_high else least, too_high=too_high)}", name)

    def _rule(self, given: float, *, too_high: bool) -> str:
        if self.low == SMALLEST and given <= 0.0:
            return "must be greater than 0"
        if self.high >= LARGEST and self.low in (0.0, SMALLEST) and not too_high:
            return "must be greater than 0" if self.open_low else f"must be at least {as_given(self.low)}"
        left, right = "(" if self.open_low else "[", ")" if self.open_high else "]"
        return f"must lie in {left}{as_given(self.low)}, {as_given(self.high)}{right}"

"""Stress tensors at the nodes of a mesh, out of arrays as files hold them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray

from ..base.units import guard_given_unit, guard_stress_factor, units_of_component
from ..units.words import STRESS_TO_MPA
from .raw import Array

Component = Literal["xx", "yy", "zz", "xy", "yz", "zx"]
COMPONENTS: tuple[Component, ...] = ("xx", "yy", "zz", "xy", "yz", "zx")
_NINE = np.array([0, 4, 8, 1, 5, 6])  # of rows of 3 x 3
_ROWS = ["xx", "xy", "zx", "xy", "yy", "yz", "zx", "yz", "zz"]  # by component, as COMPONENTS calls them
_SIX, _WIDTHS = 6, (6, 9)
_NORMAL = re.compile(r"(?:|s|sig|sigma|stress)([xyz])|([xyz])(?:sigma|stress)")  # one axis: normal to it
_LETTERS = re.compile(r"(?:|s|si|sig|sigma|t|tau|stress)([xyz]{2})(?:|stress)")
_DIGITS = re.compile(r"(?:s|si|sig|sigma|t|tau|stress)(\d{2})")
_JOINED_UNIT = re.compile(r"(?<=[xyz1-3])(g|m|k|h)?pa$|(?<=[xyz1-3])[mk]?psi$|(?<=[xyz1-3])ksi$")
_TRANSPOSED = np.array([3, 7, 2])
_ASYMMETRIC = 1e-3  # of the largest stress: single precision and rounding stay below


def array_of(data: Mapping[str, Array], name: str, factor: float, elsewhere: Mapping[str, str] | None = None) -> Array:
    """An array at the nodes by its name, whose unit, where it names one, must fit the factor to MPa.

    elsewhere : arrays that lie not at the nodes, and where
    """
    if name not in data:
        if elsewhere and name in elsewhere:
            text = f"array {name!r} lies at {elsewhere[name]}, and stresses are taken at nodes: average it there"
            raise InputError(text)
        raise InputError(f"the file has no array {name!r} at its nodes; it has {', '.join(sorted(data)) or 'none'}")
    try:
        guard_stress_factor(name, factor)
    except InputError as error:  # which points at a table
        raise InputError(str(error).replace("column", "array", 1)) from error
    return data[name]


def tensors_of(
    array: Array, components: Sequence[Component] | None, wanted: NDArray[np.int64] | None = None
) -> FloatArray:
    """Tensors (n, 6), xx, yy, zz, xy, yz, zx, of an array of six numbers a node in the order of components, or nine.

    wanted : places of the nodes that must have one, all by default
    """
    width = array.shape[1] if array.ndim == 2 else 1
    if width == 9:
        held = np.nan_to_num(array)
        apart = np.abs(held[:, _NINE[3:]] - held[:, _TRANSPOSED]).max(initial=0.0)
        if apart > _ASYMMETRIC * np.abs(held).max(initial=0.0):
            raise InputError("the nine numbers of a node are no symmetric tensor")
        return finite_rows(array[:, _NINE], wanted)
    if width != 6:
        raise InputError(f"the array has {width} numbers a node where a tensor has six, or nine")
    if components is None:
        raise InputError("an array of six needs `components`, the order of its numbers: files do not agree")
    return finite_rows(array[:, [components.index(name) for name in COMPONENTS]], wanted)


def axes_of(name: str, first: int = 1, *, words_only: bool = False) -> Component | None:
    """Which component a name stands for: by two axes at its end, as letters or as numbers from `first` on, by two in
    one of its words, or by one letter of a normal stress; what stands in brackets and a unit of stress behind it do
    not count. None where it says none, or several; words_only: where none of its words is that alone, as of an array.

    >>> [axes_of(name) for name in ("SIXX", "S12", "sigma_x", "Sz", "tau_xz [MPa]", "S:yz_N/mm2", "XY avg")]
    ['xx', 'xy', 'xx', 'zz', 'zx', 'yz', 'xy']
    >>> [axes_of(name) for name in ("C1", "max", "tau_x", "0", "")]
    [None, None, None, None, None]
    >>> axes_of("S01", 0), axes_of("S22", 0)
    ('xy', 'zz')
    """
    words = _without_unit(re.findall(r"[a-z0-9]+", re.sub(r"[\[({].*", "", name.lower())))
    digits = "".join(map(str, range(first, first + 3)))
    for end in _ends(words, words_only):
        if set(end) <= set("xyz") or set(end) <= set(digits):
            axes = sorted(end.translate(str.maketrans(digits, "xyz")))
            return next(known for known in COMPONENTS if sorted(known) == axes)
    return None


def _ends(words: Sequence[str], words_only: bool) -> Iterator[str]:
    """Pairs of signs that may be axes, the surest first."""
    joined = "".join(words)
    if normal := _NORMAL.fullmatch(joined):
        yield 2 * (normal[1] or normal[2])
    for pattern in (_LETTERS, _DIGITS):
        pairs = [found[1] for word in words if (found := pattern.fullmatch(word))]
        if len(pairs) == 1:
            yield pairs[0]
    if len(joined) > 1 and not words_only:
        yield joined[-2:]


def _axes_of_all(names: Sequence[str]) -> list[Component | None]:
    """Axes counted from 1, or from 0 where every name says some only so."""
    read, from_0 = ([axes_of(name, first) for name in names] for first in (1, 0))
    return from_0 if None in read and None not in from_0 else read


def _without_unit(words: list[str]) -> list[str]:
    """Words of a name up to a unit of stress at its end, which may be written together with the last one."""
    for count in (2, 1):
        if len(words) > count and "/".join(words[-count:]) in STRESS_TO_MPA:
            return words[:-count]
    return [*words[:-1], _JOINED_UNIT.sub("", words[-1])] if words else []


def guard_components(names: Sequence[str], components: Sequence[Component] | None, width: int) -> str:
    """What the names that a file gives to the numbers of a tensor leave open of their order, in words; empty where
    every one says it, and where there are no names.

    Raises : InputError where one that can be read stands at another place than in the order stated, or of nine
             numbers in that of the rows of a tensor
    """
    if not names or width not in _WIDTHS:
        return ""
    axes = _axes_of_all(names)
    expected = list(components or axes) if width == _SIX else _ROWS
    called = f"the file calls its numbers {', '.join(names)}"
    if any(axis not in (None, other) for axis, other in zip_longest(axes, expected)):
        raise InputError(f"{called}, which is another order than {', '.join(map(str, expected))}")
    unread = [name or "(none)" for name, axis in zip(names, axes, strict=True) if axis is None]
    if not unread and len(axes) == width:
        return ""
    some = "which name" if len(unread) == len(names) else f"of which {', '.join(unread)} name"
    return f"{called}, {some} no axes" if unread else f"{called}, which are not {width}"


def guard_format(name: str, fixed: Sequence[str], components: Sequence[Component] | None) -> None:
    """InputError where the order stated is another than the format fixes for an array of six."""
    if [axes_of(each) for each in fixed] != list(components or ()):
        raise InputError(
            f"the format fixes the order of array {name!r}: {', '.join(fixed)}, which is another than "
            f"{', '.join(components or ('(none)',))}"
        )


def unread_units(name: str, components: Iterable[str], factor: float, beside: Iterable[str] = ()) -> list[str]:
    """Units that a file gives an array, in the names of its numbers or beside them, and that are not known.

    Raises : InputError for one that the factor does not turn into MPa, or of something else
    """
    given = dict.fromkeys((*beside, *(unit for each in components for unit in units_of_component(each))))
    return [unit for unit in given if unit and not guard_given_unit(unit, factor, f"array {name!r}")]


def finite_rows(array: Array, wanted: NDArray[np.int64] | None = None) -> FloatArray:
    """The rows as floats; InputError where one, of those that are wanted, holds no number."""
    values = np.asarray(array, dtype=np.float64)
    rows = np.arange(len(values)) if wanted is None else wanted
    lacking = rows[~np.isfinite(values[rows]).all(axis=1)]
    if len(lacking):
        raise InputError(f"the node at place {lacking[0]} of the file, from 0, has a stress that is no number")
    return values

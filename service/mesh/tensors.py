"""Stress tensors at the nodes of a mesh, out of arrays as files hold them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray

from ..base.units import guard_stress_factor
from .raw import Array

Component = Literal["xx", "yy", "zz", "xy", "yz", "zx"]
COMPONENTS: tuple[Component, ...] = ("xx", "yy", "zz", "xy", "yz", "zx")
_NINE = np.array([0, 4, 8, 1, 5, 6])  # of rows of 3 x 3
_ROWS = ["xx", "xy", "zx", "xy", "yy", "yz", "zx", "yz", "zz"]  # by component, as COMPONENTS calls them
_LETTERS = str.maketrans("123", "xyz")
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


def axes_of(names: Sequence[str]) -> tuple[Component, ...] | None:
    """Which component each name stands for, by the axes at its end, as letters or as numbers; None where not all do.

    >>> axes_of(["SIXX", "SIYY", "SIZZ", "SIXY", "SIXZ", "SIYZ"])
    ('xx', 'yy', 'zz', 'xy', 'zx', 'yz')
    >>> axes_of(["S11", "S22", "S33", "S12", "S23", "S13"]), axes_of(["C1", "C2"])
    (('xx', 'yy', 'zz', 'xy', 'yz', 'zx'), None)
    """
    plain = [re.sub(r"[\[({].*|[^a-z0-9]", "", name.lower()) for name in names]
    ends = ["".join(sorted(name[-2:].translate(_LETTERS))) for name in plain]
    found = [next((known for known in COMPONENTS if "".join(sorted(known)) == end), None) for end in ends]
    known = tuple(each for each in found if each is not None)
    return known if len(known) == len(names) else None


def guard_components(names: Sequence[str], components: Sequence[Component] | None, width: int) -> bool:
    """Whether the names that a file gives to its numbers say their order; InputError where they contradict the
    order stated, or of nine numbers that of the rows of a tensor."""
    axes = axes_of(names)
    if axes is None or len(axes) != width:
        return False
    expected = list(components or axes) if width == 6 else _ROWS
    if width in (6, 9) and list(axes) != expected:
        raise InputError(
            f"the file calls its numbers {', '.join(names)}, which is another order than {', '.join(expected)}"
        )
    return True


def finite_rows(array: Array, wanted: NDArray[np.int64] | None = None) -> FloatArray:
    """The rows as floats; InputError where one, of those that are wanted, holds no number."""
    values = np.asarray(array, dtype=np.float64)
    rows = np.arange(len(values)) if wanted is None else wanted
    lacking = rows[~np.isfinite(values[rows]).all(axis=1)]
    if len(lacking):
        raise InputError(f"the node at place {lacking[0]} of the file, from 0, has a stress that is no number")
    return values

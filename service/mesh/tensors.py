"""Stress tensors at the nodes of a mesh, out of arrays as files hold them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np

from fatcore.errors import InputError
from fatcore.require import FloatArray

from ..base.units import guard_stress_factor
from .raw import Array

Component = Literal["xx", "yy", "zz", "xy", "yz", "zx"]
COMPONENTS: tuple[Component, ...] = ("xx", "yy", "zz", "xy", "yz", "zx")
_NINE = np.array([0, 4, 8, 1, 5, 6])  # of rows of 3 x 3
_TRANSPOSED = np.array([3, 7, 2])
_ASYMMETRIC = 1e-3  # of the largest stress: single precision and rounding stay below


def array_of(data: Mapping[str, Array], name: str, factor: float) -> Array:
    """An array at the nodes by its name, whose unit, where it names one, must fit the factor to MPa."""
    if name not in data:
        raise InputError(f"the file has no array {name!r} at its nodes; it has {', '.join(sorted(data)) or 'none'}")
    guard_stress_factor(name, factor)
    return data[name]


def tensors_of(array: Array, components: Sequence[Component] | None) -> FloatArray:
    """Tensors (n, 6), xx, yy, zz, xy, yz, zx, of an array of six numbers a node in the order of components, or nine."""
    width = array.shape[1] if array.ndim == 2 else 1
    if width == 9:
        largest = float(np.abs(array).max(initial=0.0))
        if np.abs(array[:, _NINE[3:]] - array[:, _TRANSPOSED]).max(initial=0.0) > _ASYMMETRIC * largest:
            raise InputError("the nine numbers of a node are no symmetric tensor")
        return finite_rows(array[:, _NINE])
    if width != 6:
        raise InputError(f"the array has {width} numbers a node where a tensor has six, or nine")
    if components is None:
        raise InputError("an array of six needs `components`, the order of its numbers: files do not agree")
    return finite_rows(array[:, [components.index(name) for name in COMPONENTS]])


def guard_components(names: Sequence[str], components: Sequence[Component] | None) -> None:
    """InputError where the names of a file, which end with the axes of each number, contradict the order stated."""
    ends = ["".join(sorted(name.lower()[-2:])) for name in names]
    known = {"".join(sorted(name)) for name in COMPONENTS}
    if components is None or len(ends) != len(components) or not set(ends) <= known:
        return
    if ends != ["".join(sorted(name)) for name in components]:
        raise InputError(f"the file calls its numbers {', '.join(names)}, `components` says {', '.join(components)}")


def finite_rows(array: Array) -> FloatArray:
    """The rows as floats; InputError where one holds no number."""
    values = np.asarray(array, dtype=np.float64)
    if not np.isfinite(values).all():
        place = int(np.argmax(~np.isfinite(values).all(axis=1)))
        raise InputError(f"the node at place {place} of the file, from 0, has a stress that is no number")
    return values

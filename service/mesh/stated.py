"""What a file states of its own arrays, order of numbers and units, against what the map says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError, at
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray

from ..base.units import guard_given_unit
from ..lines.map import StressColumns
from .layout import MeshLayout, StepCase
from .raw import ArrayKey, RawMesh
from .stresses import Given, arrays_of, known_as, step_of
from .tensors import axes_of, guard_components, guard_format, unread_units


def guard_stated(raw: RawMesh, layout: MeshLayout) -> tuple[Finding, ...]:
    """What was taken on faith, since the words of the file for it are not known.

    Raises : InputError where names or units of the file contradict the map
    """
    found, fixed = [*raw.doubts, *_of_lengths(raw, layout)], False
    for case, given in layout.cases.items():
        with at("mesh", "cases", case):
            held = list(_held(raw, given))
            for array in held:
                found += _of_order(array, layout)
        for array in held:
            found += _of_units(raw, array, layout)
            fixed = fixed or bool(array.fixed)
    if layout.ignore_format_order and not fixed:
        raise InputError(
            "not used: the format fixes the order of no array that a load case takes", "mesh", "ignore_format_order"
        )
    return tuple({finding.message: finding for finding in found}.values())


class _Held(NamedTuple):
    """An array as a load case takes it: numbers a node, names of them, the order that the format fixes, and the
    component that an array of one number stands for."""

    name: str
    width: int
    components: tuple[str, ...]
    fixed: tuple[str, ...]
    stands_for: str | None


def _held(raw: RawMesh, case: Given) -> Iterator[_Held]:
    """Arrays of a load case; what is said of an array holds for its step, and is looked up there."""
    given = known_as(raw, case)
    step = step_of(raw, given) if isinstance(given, StepCase) else None
    data = raw.point_data if step is None else raw.steps[step][1]
    names = given.model_dump() if isinstance(given, StressColumns) else dict.fromkeys((None,), arrays_of(raw, given)[0])
    for component, name in names.items():
        key: ArrayKey = name if step is None else (step, name)
        array = data.get(name)
        width = array.shape[1] if array is not None and array.ndim == 2 else 1
        yield _Held(name, width, raw.components.get(key, ()), raw.fixed.get(key, ()), component)


def _of_lengths(raw: RawMesh, layout: MeshLayout) -> Iterator[Finding]:
    for unit in raw.length_unit:
        if unit and not guard_given_unit(unit, layout.length_factor, "its coordinates", length=True):
            yield caution(
                "unit-not-read",
                f"the file gives its coordinates in {unit!r}, an unknown unit: length_factor counts",
            )


def _of_order(held: _Held, layout: MeshLayout) -> Iterator[Finding]:
    _guard_component(held)
    order = ", ".join(layout.components or ()) if held.width == 6 else "rows of the tensor"
    text = guard_components(held.components, layout.components, held.width)
    if held.fixed and layout.ignore_format_order:
        ignored = f"the format fixes the order {', '.join(held.fixed)}, which the map ignores"
        yield caution("component-order-assumed", f"array {held.name!r}: {ignored}; taken as {order}")
    elif held.fixed:
        _guard_fixed(held, layout)
        return
    if text:
        yield caution("component-order-assumed", f"array {held.name!r}: {text}; taken as {order}")


def _guard_component(held: _Held) -> None:
    """InputError where an array of one number, or the file, calls it another component than the map."""
    if held.stands_for is None:
        return
    called = {name: axes_of(name, words_only=True) for name in (held.name, *held.components)}
    for name, axes in called.items():
        if axes not in (None, held.stands_for):
            raise InputError(f"array {held.name!r} stands for {held.stands_for} in the map, and {name!r} names {axes}")


def _guard_fixed(held: _Held, layout: MeshLayout) -> None:
    try:
        guard_format(held.name, held.fixed, layout.components)
    except InputError as error:
        own = "where its writer kept an order of his own, give that one and ignore_format_order = true"
        raise InputError(f"{error}; {own}") from error


def _of_units(raw: RawMesh, held: _Held, layout: MeshLayout) -> Iterator[Finding]:
    for unit in unread_units(held.name, held.components, layout.stress_factor, raw.units.get(held.name, ())):
        text = f"the file gives array {held.name!r} in {unit!r}, an unknown unit: stress_factor counts"
        yield caution("unit-not-read", text)


def alike(cases: Mapping[str, FloatArray], wanted: NDArray[np.int64]) -> tuple[Finding, ...]:
    """Load cases whose stresses are the same number by number at the nodes that count, and not zero."""
    same: dict[bytes, list[str]] = {}
    for name, tensors in cases.items():
        if tensors[wanted].any():
            same.setdefault(np.ascontiguousarray(tensors[wanted]).tobytes(), []).append(name)
    return tuple(
        caution("load-cases-alike", f"load cases {', '.join(names)} have the same stresses at every node of the lines")
        for names in same.values()
        if len(names) > 1
    )

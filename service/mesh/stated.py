"""What a file states of its own arrays, order of numbers and units, against what the map says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import at
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray

from ..base.units import guard_given_unit
from .layout import MeshLayout
from .raw import RawMesh
from .stresses import arrays_of
from .tensors import guard_components


def guard_stated(raw: RawMesh, layout: MeshLayout) -> tuple[Finding, ...]:
    """What was taken on faith, since the words of the file for it are not known.

    Raises : InputError where names or units of the file contradict the map
    """
    found = [*_of_lengths(raw, layout)]
    for case, given in layout.cases.items():
        for name in arrays_of(raw, given):
            with at("mesh", "cases", case):
                found += _of_order(raw, name, layout)
            found += _of_units(raw, name, layout)
    return tuple({finding.message: finding for finding in found}.values())


def _of_lengths(raw: RawMesh, layout: MeshLayout) -> Iterator[Finding]:
    for unit in raw.length_unit:
        if unit and not guard_given_unit(unit, layout.length_factor, "its coordinates", length=True):
            yield caution(
                "unit-not-read",
                f"the file gives its coordinates in {unit!r}, an unknown unit: length_factor counts",
            )


def _of_order(raw: RawMesh, name: str, layout: MeshLayout) -> Iterator[Finding]:
    names, array = raw.components.get(name, ()), raw.point_data.get(name)
    if array is None and raw.steps:
        array = raw.steps[0][1].get(name)
    width = array.shape[1] if array is not None and array.ndim == 2 else 1
    if names and width in (6, 9) and not guard_components(names, layout.components, width):
        order = ", ".join(layout.components or ()) if width == 6 else "rows of the tensor"
        yield caution(
            "component-order-assumed",
            f"array {name!r}: the file calls its numbers {', '.join(names)}, which name no axes; taken as {order}",
        )


def _of_units(raw: RawMesh, name: str, layout: MeshLayout) -> Iterator[Finding]:
    for unit in raw.units.get(name, ()):
        if unit and not guard_given_unit(unit, layout.stress_factor, f"array {name!r}"):
            yield caution(
                "unit-not-read", f"the file gives array {name!r} in {unit!r}, an unknown unit: stress_factor counts"
            )


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

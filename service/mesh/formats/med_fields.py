"""Fields of a MED file: at nodes and of elements at their nodes, by step, with units and names of components."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

from ..corners import node_means
from ..raw import Array, ArrayKey
from .cells import guard_names, whole, within

SOLIDS: dict[str, SolidElement] = {
    "TE4": "tet4",
    "T10": "tet10",
    "PY5": "pyramid5",
    "P13": "pyramid13",
    "PE6": "wedge6",
    "P15": "wedge15",
    "HE8": "brick8",
    "H20": "brick20",
}
_WHOLE = "MED_NO_PROFILE_INTERNAL"  # every node or element has a value
_WIDE = 16  # characters of each name and unit


def wrong(message: str) -> InputError:
    return InputError(f"not a MED file that can be read: {message}", "mesh")


def nodes_of(given: Any, name: str, count: int) -> NDArray[np.int64]:
    cells, size = int(given.attrs["NBR"]), node_count(SOLIDS[name])
    if given.size != cells * size:
        raise wrong(f"it announces {cells} cells {name}, and holds {given.size} nodes of them")
    nodes = whole(np.asarray(given[()]), wrong).reshape(cells, size, order="F") - 1
    if not within(nodes, count):
        raise wrong(f"cells {name} name nodes that there are not")
    return nodes


def text_of(given: Any) -> str:
    return (given.decode(errors="replace") if isinstance(given, bytes) else str(given)).strip("\0 ")


def words_of(given: Any) -> tuple[str, ...]:
    """Names or units, each in so many characters; none where all are blank."""
    text = given.decode(errors="replace") if isinstance(given, bytes) else str(given)
    found = tuple(text[at : at + _WIDE].strip("\0 ") for at in range(0, len(text.rstrip("\0 ")), _WIDE))
    return found if any(found) else ()


class _Step(NamedTuple):
    """A step of a field: the name of the field, its time, and the name by which its array is known."""

    of: str
    time: float
    held: Any
    name: str


@dataclass(slots=True)
class Fields:
    """Fields of a file, as they are read."""

    content: Any
    mesh: Any
    count: int
    arrays: dict[str, Array] = field(default_factory=dict)
    jumps: dict[str, FloatArray] = field(default_factory=dict)
    components: dict[ArrayKey, tuple[str, ...]] = field(default_factory=dict)
    units: dict[str, tuple[str, ...]] = field(default_factory=dict)
    elsewhere: dict[str, str] = field(default_factory=dict)
    in_part: dict[str, NDArray[np.bool_]] = field(default_factory=dict)

    def read(self) -> None:
        """Takes every step of every field."""
        guard_names(step.name for step in self._steps())
        for step in self._steps():
            corners = any(f"NOE.{kind}" in step.held for kind in SOLIDS)
            if corners and "NOE" in step.held:
                text = f"array {step.name!r} is given at the nodes and by element at its nodes: which counts?"
                raise InputError(text, "mesh")
            if "NOE" in step.held:
                self.arrays[step.name] = self._nodal(step)
            elif corners:
                values, places = self._corner_values(step)
                means, jump = node_means(values, places, self.count)
                self.arrays[step.name], self.jumps[step.name] = means, jump
                self.in_part[step.name] = np.bincount(places, minlength=self.count) < self._elements_at()
            else:
                self.elsewhere[step.name] = "elements or their points of integration"
            attributes = self.content["CHA"][step.of].attrs
            if names := words_of(attributes.get("NOM", b"")):
                self.components[step.name] = names
            if units := words_of(attributes.get("UNI", b"")):
                self.units[step.name] = units

    def series(self) -> dict[str, tuple[tuple[float, str], ...]]:
        """Times and names of the steps of each field, in the numbers that stand in these names."""
        found: dict[str, tuple[tuple[float, str], ...]] = {}
        for step in self._steps():
            found[step.of] = (*found.get(step.of, ()), (step.time, step.name))
        return found

    def _steps(self) -> Iterator[_Step]:
        for name, held in self.content["CHA"].items() if "CHA" in self.content else ():
            keys = sorted(held)
            for place, key in enumerate(keys):
                time = float(held[key].attrs.get("PDT", 0.0))
                known = name if len(keys) == 1 else f"{name}[{place}] - {as_given(time)}"
                yield _Step(name, time, held[key], known)

    def _nodal(self, step: _Step) -> Array:
        profile, held = self._only(step, "NOE")
        values = np.asarray(held["CO"][()], dtype=np.float64)
        rows = np.arange(self.count) if profile == _WHOLE else self._profile(step.name, profile, self.count)
        self._guard_counts(step, held, {len(rows), self.count}, 1)
        if not len(rows) or values.size % len(rows):
            raise InputError(f"field {step.name!r} has other values than one a node", "mesh")
        by_row = values.reshape(len(rows), -1, order="F")
        self._guard_width(step, by_row.shape[1])
        found = np.full((self.count, by_row.shape[1]), np.nan)
        found[rows] = by_row
        return found[:, 0] if found.shape[1] == 1 else found

    def _only(self, step: _Step, name: str) -> tuple[str, Any]:
        """Profile and values of a support, which may have one."""
        support = step.held[name]
        profile = text_of(support.attrs["PFL"])
        if len(support) != 1:
            raise InputError(f"field {step.name!r} has {len(support)} profiles of {name}, where one is read", "mesh")
        return profile, support[profile]

    def _guard_width(self, step: _Step, wide: int) -> None:
        stated = int(self.content["CHA"][step.of].attrs.get("NCO", wide))
        if stated != wide:
            raise InputError(f"field {step.name!r} announces {stated} components, and holds {wide}", "mesh")

    def _guard_counts(self, step: _Step, held: Any, rows: Collection[int], each: int) -> None:
        """Nodes or elements, in the profile or all of them, and values at each, where they are stated."""
        for name, fitting in (("NBR", rows), ("NGA", (each,))):
            if (stated := int(held.attrs.get(name, max(fitting)))) not in fitting:
                text = f"has other values than one a node, or one a node of its elements: {name} is {stated}"
                raise InputError(f"field {step.name!r} {text}, where it has {max(fitting)}", "mesh")

    def _elements_at(self) -> NDArray[np.int64]:
        """How many solid elements have each node."""
        kinds = [kind for kind in SOLIDS if kind in self.mesh["MAI"]]
        nodes = [nodes_of(self.mesh["MAI"][kind]["NOD"], kind, self.count).ravel() for kind in kinds]
        return np.bincount(np.concatenate(nodes), minlength=self.count)

    def _profile(self, name: str, profile: str, count: int) -> NDArray[np.int64]:
        chosen = whole(np.asarray(self.content["PROFILS"][profile]["PFL"][()]), wrong)
        if not within(chosen - 1, count) or len(np.unique(chosen)) != len(chosen):
            text = f"field {name!r}: its profile {profile!r} names nodes or elements that there are not, or one twice"
            raise InputError(text, "mesh")
        return chosen - 1

    def _corner_values(self, step: _Step) -> tuple[FloatArray, NDArray[np.int64]]:
        """Values (k, m) of solid elements at their nodes, and the place of the node of each (k,).

        A file holds one component after the other, of each the elements in turn, of each of them its nodes.
        """
        values, places = [], []
        for kind in [kind for kind in SOLIDS if f"NOE.{kind}" in step.held]:
            profile, held = self._only(step, f"NOE.{kind}")
            cells = nodes_of(self.mesh["MAI"][kind]["NOD"], kind, self.count)
            total = len(cells)
            if profile != _WHOLE:
                cells = cells[self._profile(step.name, profile, total)]
            found = np.asarray(held["CO"][()])
            self._guard_counts(step, held, {len(cells), total}, cells.shape[1])
            if not cells.size or found.size % cells.size:
                raise InputError(f"field {step.name!r} has other values than one a node of its elements", "mesh")
            values.append(np.moveaxis(found.reshape(-1, *cells.shape), 0, -1).reshape(cells.size, -1))
            places.append(cells.ravel())
            self._guard_width(step, values[-1].shape[1])
        return np.concatenate(values), np.concatenate(places)

"""The solid meshes of openapi_examples/data/stiffener, and the lines that their geometry gives.

Invented parts with real solver results; the expected lines come from the analytic geometry, not from a finder.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray

from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh

FOLDER = Path(__file__).parents[2] / "openapi_examples" / "data" / "stiffener"
MODELS = ("stiffener-tet10", "stiffener-tet10-half", "stiffener-hex8", "stiffener-hex20")
_KINDS = {"tetra10": "tet10", "hexahedron": "brick8", "hexahedron20": "brick20"}


@dataclass(frozen=True)
class ExpectedLine:
    """A line of the analytic geometry with five points (5, 3), tangents of either sign, bisectors."""

    name: str
    kind: str
    opening_deg: float
    closed: bool
    length_mm: float
    nodes: int
    points_mm: NDArray[np.float64]
    tangent: NDArray[np.float64]
    bisector: NDArray[np.float64]


def model(name: str) -> SolidMesh:
    """The mesh of a model."""
    read = meshio.read(FOLDER / f"{name}.vtu")
    return solid_mesh(read.points, [(_KINDS[block.type], block.data) for block in read.cells])


def expected(name: str) -> list[ExpectedLine]:
    """Its lines."""
    with (FOLDER / "expected.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["model"] == name]
    return [_line([row for row in rows if row["line"] == line]) for line in dict.fromkeys(row["line"] for row in rows)]


def _line(rows: list[dict[str, str]]) -> ExpectedLine:
    first = rows[0]
    return ExpectedLine(
        first["line"],
        first["kind"],
        float(first["opening_angle_deg"]),
        first["closed"] == "1",
        float(first["length_mm"]),
        int(first["corner_nodes"]),
        *(np.array([[float(row[key]) for key in keys] for row in rows]) for keys in (_POINT, _TANGENT, _BISECTOR)),
    )


_POINT, _TANGENT, _BISECTOR = ("x", "y", "z"), ("tx", "ty", "tz"), ("bx", "by", "bz")

"""The solid mesh that a command is given to draw the part from."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from fatcore.stress.weld_lines.solid.part import PartSurface, part_surface
from fatcore.stress.weld_lines.solid.symmetry import planes_of

from ...base.problems import Problem
from ...mesh.files import read_mesh_file
from ...mesh.raw import solid_of
from ..shared import about
from ..texts.parser import InputFile, decimal


def add_mesh(parser: argparse.ArgumentParser) -> None:
    """Adds the options that name a mesh and its unit of length."""
    parser.add_argument(
        "--mesh", type=InputFile, metavar="MODEL", help="solid mesh of the part (VTU, VTK, MSH, MED, XDMF, INP)"
    )
    factor = "factor from the unit of the mesh to mm, 1000 for metres (default 1)"
    parser.add_argument("--length-factor", type=decimal, metavar="F", help=factor)


def part_given(given: argparse.Namespace) -> PartSurface | None:
    """The surface of the mesh of --mesh, None without."""
    if given.mesh is None:
        if given.length_factor is not None:
            raise Problem(422, "--length-factor belongs to a mesh")
        return None
    return part_surface(solid_in(given.mesh, given.length_factor))


def solid_in(path: str, length_factor: float | None) -> SolidMesh:
    """The solid mesh of a file in mm."""
    factor = 1.0 if length_factor is None else length_factor
    if not 0.0 < factor < 1e30:
        raise Problem(422, "--length-factor must be above zero")
    with about(path, mesh=path):
        return solid_of(read_mesh_file(path), factor)


def lines_in(mesh: SolidMesh, symmetry: Sequence[str]) -> tuple[SolidLine, ...]:
    """The weld lines that are found in a mesh."""
    lines = find_weld_lines(mesh, symmetry=planes_of(symmetry)).lines
    if not lines:
        raise Problem(422, "no weld line was found: toeline lines MODEL --list says what was left out")
    return lines

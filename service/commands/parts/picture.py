"""toeline picture: where on the part, from the file of a check or from a mesh alone."""

from __future__ import annotations

import argparse

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.part import part_surface

from ...base.problems import Problem
from ...client.exit_codes import PASSED
from ...mesh.files import is_mesh_file
from ...report.pictures.part import part_picture
from ...report.pictures.placed import placed_check, placed_lines
from ...topics.check.models import CheckRequest
from ..lines import symmetry_planes
from ..shared import calculate, read_request, write_bytes
from ..texts.help import Commands, add_command
from ..texts.parser import InputFile, OutputFile
from ..texts.under_policy import add_policy
from .solids import add_mesh, lines_in, part_given, solid_in


def add(commands: Commands) -> None:
    """Adds the command picture."""
    examples = ("picture bracket.json", "picture bracket.json --mesh model.vtu", "picture model.vtu -o found.svg")
    text = "draw the weld lines of a check, or of a mesh, in space (SVG)"
    picture = add_command(commands, "picture", text, examples)
    file = "check request (JSON) or an example that holds one, - for standard input; or a mesh, to show what is found"
    picture.add_argument("file", type=InputFile, help=file)
    add_mesh(picture)
    picture.add_argument("--symmetry", action="append", metavar="y=0", help="plane on which a mesh alone is cut")
    where = "file of the picture, - for standard output (default: beside the request)"
    picture.add_argument("-o", "--output", type=OutputFile, metavar="FILE", help=where)
    add_policy(picture)
    picture.set_defaults(run=_picture, suffix=".svg")


def _picture(given: argparse.Namespace) -> int:
    drawing = _found(given) if is_mesh_file(given.file) else _checked(given)
    write_bytes(drawing.encode(), given.output)
    return PASSED


def _found(given: argparse.Namespace) -> str:
    """The weld lines of a mesh, nothing calculated."""
    if given.mesh is not None:
        raise Problem(422, "--mesh is for a check; the file is a mesh itself")
    mesh = solid_in(given.file, given.length_factor)
    return part_picture(placed_lines(lines_in(mesh, symmetry_planes(given.symmetry or []))), part_surface(mesh))


def _checked(given: argparse.Namespace) -> str:
    if given.symmetry:
        raise Problem(422, "--symmetry is for a mesh without a check: it tells which lines are found")
    part = part_given(given)
    found = calculate("check", read_request(given.file, "check"))
    assert isinstance(found.request, CheckRequest)
    placed = placed_check(found.request, found.envelope()["answer"])
    if not placed.lines:
        raise InputError("no line has coordinates_mm, so none has a place to be drawn at", "lines", 0, "coordinates_mm")
    return part_picture(placed.lines, part, mark=placed.mark, remarks=placed.remarks)

"""toeline picture: where on the part, from the file of a check."""

from __future__ import annotations

import argparse
from pathlib import Path

from fatcore.errors import InputError

from ..base.parsing import request_in
from ..client.exit_codes import PASSED
from ..report.pictures.part import part_picture
from ..report.pictures.placed import placed_check
from ..topics.check.models import CheckRequest
from .shared import Commands, calculate, read_bytes, write_bytes


def add(commands: Commands) -> None:
    """Adds the command picture."""
    picture = commands.add_parser("picture", help="draw the weld lines of a check in space by utilisation (SVG)")
    picture.add_argument("file", help="check request (JSON) or an example that holds one; - for standard input")
    where = "file of the picture, - for standard output; left out, it stands beside the request"
    picture.add_argument("-o", "--output", metavar="FILE", help=where)
    picture.set_defaults(run=_picture)


def _picture(given: argparse.Namespace) -> int:
    found = calculate("check", request_in(read_bytes(given.file), "check"))
    assert isinstance(found.request, CheckRequest)
    placed = placed_check(found.request, found.envelope()["answer"])
    if not placed.lines:
        raise InputError("no line has coordinates_mm, so none has a place to be drawn at", "lines", 0, "coordinates_mm")
    drawing = part_picture(placed.lines, mark=placed.mark, remarks=placed.remarks)
    target = given.output or ("-" if given.file == "-" else str(Path(given.file).with_suffix(".svg")))
    write_bytes(drawing.encode(), None if target == "-" else target)
    return PASSED

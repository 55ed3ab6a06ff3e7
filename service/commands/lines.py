"""toeline lines: weld lines of a mesh, and check files from tables and meshes."""

from __future__ import annotations

import argparse
import json
from functools import partial

from pydantic import ValidationError

from fatcore.stress.weld_lines.solid.part import part_surface

from ..base.problems import Problem
from ..client.exit_codes import PASSED
from ..lines.histories import load_histories
from ..lines.map import read_map
from ..lines.rows import read_rows
from ..lines.summary import lines_text
from ..lines.table import map_table
from ..mesh.files import SUFFIXES, is_mesh_file
from ..mesh.layout import MeshLayout, Search, read_mesh_map
from ..mesh.listing import listing, listing_text, mapped_text
from ..mesh.map_keys import all_keys_text, keys_json
from ..mesh.mapping import map_mesh, search
from ..mesh.raw import solid_of
from ..mesh.stresses import table_layout
from ..report.pictures.part import part_picture
from ..report.pictures.placed import placed_lines
from .shared import about, mesh_in, name_of, read_bytes, reader_beside, text_in, write_bytes, write_text
from .texts.columns import map_needed_text
from .texts.files import guard_read
from .texts.help import Commands, add_command
from .texts.parser import FileBeside, InputFile, OutputFile, decimal
from .texts.telling import tell

_LIST_ONLY = ("json", "symmetry", "length_factor", "picture")
_MESH_ONLY = ("list", "table", *_LIST_ONLY)


def add(commands: Commands) -> None:
    """Adds the command lines."""
    text = "find weld lines in a mesh; turn a mesh or a table into a check request"
    examples = (
        "lines model.vtu --list",
        "lines model.vtu --map lines.toml -o bracket.json",
        "lines stresses.csv --map lines.toml -o bracket.json",
        "lines --keys",
    )
    lines = add_command(commands, "lines", text, examples)
    lines.add_argument(
        "file",
        type=InputFile,
        nargs="?",
        help="mesh (VTU, VTK, MSH, MED, XDMF, INP) or CSV table; - for a table on standard input",
    )
    lines.add_argument(
        "--map", type=InputFile, metavar="MAP.toml", help="names of columns, arrays and lines, rules of the lines"
    )
    lines.add_argument("--table", type=InputFile, metavar="FILE.csv", help="stresses by node number, beside a mesh")
    lines.add_argument("--list", action="store_true", help="only show the weld lines of a mesh and what was left out")
    lines.add_argument("--keys", action="store_true", help="only show every key that a map takes, with its meaning")
    lines.add_argument("--json", action="store_true", help="the list, or the keys, as JSON")
    factor = "factor from the unit of the mesh to mm, 1000 for metres (default 1); with --list"
    lines.add_argument("--length-factor", type=decimal, metavar="F", help=factor)
    lines.add_argument("--symmetry", action="append", metavar="y=0", help="plane on which the part is cut; with --list")
    lines.add_argument(
        "--picture", type=FileBeside, metavar="FILE.svg", help="draw the lines on the part as well; with --list"
    )
    lines.add_argument(
        "-o",
        "--output",
        type=OutputFile,
        metavar="FILE",
        help="file of the request or the list (default standard output)",
    )
    lines.set_defaults(run=_run)


def _run(given: argparse.Namespace) -> int:
    if given.keys:
        return _keys(given)
    if given.file is None:
        raise Problem(422, "name a mesh or a table, or --keys to see what a map takes")
    mesh = is_mesh_file(given.file)
    for name in _MESH_ONLY:
        if getattr(given, name) and not mesh:
            raise Problem(422, f"--{name.replace('_', '-')} needs a mesh ({', '.join(SUFFIXES)}); {given.file} is none")
    if given.list:
        return _list(given)
    for name in _LIST_ONLY:
        if getattr(given, name):
            raise Problem(422, f"--{name.replace('_', '-')} belongs to --list; the map says it otherwise")
    if given.map is None:
        raise _map_needed(given.file, mesh=mesh)
    return _from_mesh(given) if mesh else _from_table(given)


def _map_needed(file: str, *, mesh: bool) -> Problem:
    if mesh:
        return Problem(422, "--map is needed, or --list to see the lines of the mesh")
    return Problem(422, "--map is needed" if file == "-" else map_needed_text(file, read_bytes(file)))


def _keys(given: argparse.Namespace) -> int:
    if given.file or any(getattr(given, name) for name in ("map", *_MESH_ONLY) if name != "json"):
        raise Problem(422, "--keys goes with --json and --output only")
    text = json.dumps(keys_json(), separators=(",", ":")) if given.json else all_keys_text()
    write_bytes(text.encode(), given.output)
    return PASSED


def _list(given: argparse.Namespace) -> int:
    if given.map or given.table:
        raise Problem(422, "--list needs no map and no table")
    raw = mesh_in(given.file)
    factor = 1.0 if given.length_factor is None else given.length_factor
    planes, factor = symmetry_planes(given.symmetry or []), _positive(factor)
    with about(given.file, mesh=given.file):
        found = search(raw, factor, planes, Search())
    if given.picture:
        drawing = part_picture(placed_lines(found.lines), part_surface(solid_of(raw, factor)))
        write_bytes(drawing.encode(), given.picture)
    if given.json:
        write_bytes(json.dumps(listing(raw, found), separators=(",", ":"), allow_nan=False).encode(), given.output)
        return PASSED
    text = listing_text(raw, found, None if given.length_factor is not None else factor)
    if given.output:
        write_bytes((text + "\n").encode(), given.output)
    else:
        write_text(text)
    return PASSED


def _positive(factor: float) -> float:
    if not 0.0 < factor < 1e30:
        raise Problem(422, "--length-factor must be above zero")
    return factor


def symmetry_planes(planes: list[str]) -> list[str]:
    """The planes, as a map would have them."""
    data = {"length_factor": 1.0, "stress_factor": 1.0, "symmetry": planes}
    try:
        return MeshLayout.model_validate(data).symmetry
    except ValidationError as error:
        raise Problem(422, '--symmetry takes planes like "y=0", three at the most') from error


def _from_mesh(given: argparse.Namespace) -> int:
    with about(given.map):
        text = text_in(read_bytes(given.map), name_of(given.map))
        loaded = load_histories(
            read_mesh_map(text, name_of(given.map)), reader_beside(given.map, partial(guard_read, given))
        )
    mesh_map = loaded.map
    if given.table and mesh_map.table is None:
        raise Problem(422, "--table is given, and the map says nothing of a table")
    raw = mesh_in(given.file)
    rows = None
    if given.table and mesh_map.table is not None:
        layout = table_layout(mesh_map.table, mesh_map.mesh.stress_factor)
        table = text_in(read_bytes(given.table), name_of(given.table))
        with about(given.map, table=given.table):
            rows = read_rows(table, layout)
    with about(given.map, table=given.table, mesh=given.file), loaded.pointing():
        made = map_mesh(raw, mesh_map, rows)
        loaded.guard_cases(made.request["lines"])
    write_bytes(json.dumps(made.request, separators=(",", ":")).encode(), given.output)
    tell(mapped_text(made, raw, loaded.words))
    return PASSED


def _from_table(given: argparse.Namespace) -> int:
    with about(given.map):
        text = text_in(read_bytes(given.map), name_of(given.map))
        loaded = load_histories(
            read_map(text, name_of(given.map)), reader_beside(given.map, partial(guard_read, given))
        )
    table = text_in(read_bytes(given.file), name_of(given.file))
    with about(given.map, table=given.file), loaded.pointing():
        rows = read_rows(table, loaded.map.table)
        made = map_table(rows, loaded.map)
        loaded.guard_cases(made.request["lines"])
    write_bytes(json.dumps(made.request, separators=(",", ":")).encode(), given.output)
    tell(lines_text(made, loaded.map.table, loaded.words))
    return PASSED

"""toeline check, toeline lines: the whole check from a file, and check files from tables."""

from __future__ import annotations

import argparse
import json
import sys

from ..base.parsing import request_in
from ..base.text import check_text
from ..client.exit_codes import FAILED, PASSED
from ..lines.histories import load_histories
from ..lines.map import read_map
from ..lines.rows import read_rows
from ..lines.summary import lines_text
from ..lines.table import map_table
from .shared import Commands, calculate, read_bytes, reader_beside, text_in, write_bytes, write_text


def add(commands: Commands) -> None:
    """Adds the commands check and lines."""
    check = commands.add_parser("check", help="run the whole weld check of a file")
    check.add_argument("file", help="check request (JSON) or an example that holds one; - for standard input")
    check.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    check.add_argument("-o", "--output", metavar="FILE", help="write the answer (JSON) to a file as well")
    check.add_argument("--findings", action="store_true", help="show the findings of every line")
    check.set_defaults(run=_check)
    lines = commands.add_parser("lines", help="turn a table of nodal stresses into a check request")
    lines.add_argument("table", help="CSV table; - for standard input")
    lines.add_argument("--map", required=True, metavar="MAP.toml", help="names of the columns, rules of the lines")
    lines.add_argument("-o", "--output", metavar="FILE", help="file of the check request; default standard output")
    lines.set_defaults(run=_lines)


def _check(given: argparse.Namespace) -> int:
    found = calculate("check", request_in(read_bytes(given.file), "check"))
    envelope = found.envelope()
    if given.output:
        write_bytes(found.content(), given.output)
    if given.json:
        write_bytes(found.content(), None)
    else:
        write_text(check_text(envelope, every_finding=given.findings))
    return PASSED if envelope["answer"]["verdict"] == "pass" else FAILED


def _lines(given: argparse.Namespace) -> int:
    loaded = load_histories(read_map(text_in(read_bytes(given.map), "the map")), reader_beside(given.map))
    table_map = loaded.table_map
    rows = read_rows(text_in(read_bytes(given.table), "the table"), table_map.table)
    made = map_table(rows, table_map)
    loaded.guard_cases(made.request["lines"])
    write_bytes(json.dumps(made.request, separators=(",", ":")).encode(), given.output)
    sys.stderr.write(lines_text(made, table_map.table, loaded.words) + "\n")
    return PASSED

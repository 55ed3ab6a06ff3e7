"""toeline demo: the check of the bracket, from the tables of nodal stresses to the verdict."""

from __future__ import annotations

import argparse
from pathlib import Path

from ..base.example_files import example_folder
from ..client.exit_codes import FAILED, PASSED
from ..lines.map import read_map
from ..lines.rows import read_rows
from ..lines.table import check_request
from ..topics.check.text import check_text
from .shared import calculate, write_text
from .texts.help import EXIT_CODES, Commands, add_command

TABLE = "notch_lines_d0p75.csv"
NEXT = """
The loading is invented. Where to go from here:
  toeline lines openapi_examples/data/hanger-bracket/notch_lines_d0p75.csv \\
      --map openapi_examples/data/hanger-bracket/lines.toml -o bracket.json
  toeline check bracket.json        the same check from its file
  toeline serve                     the service: http://127.0.0.1:8000/ and /docs
(in this folder: .venv/bin/toeline ...)"""


def add(commands: Commands) -> None:
    """Adds the command demo."""
    text = "check the bracket of the examples, from its tables to the verdict"
    demo = add_command(commands, "demo", text, ("demo",), ending=EXIT_CODES)
    demo.set_defaults(run=_demo)


def data_folder() -> Path:
    """Folder of the bracket's tables; Problem when the examples are not installed."""
    return example_folder() / "data" / "hanger-bracket"


def bracket_request() -> object:
    """The check request of the bracket on its fine mesh."""
    table_map = read_map((data_folder() / "lines.toml").read_text(encoding="utf-8"))
    rows = read_rows((data_folder() / TABLE).read_text(encoding="utf-8"), table_map.table)
    return check_request(rows, table_map)


def _demo(_given: argparse.Namespace) -> int:
    envelope = calculate("check", bracket_request()).envelope()
    write_text("Spring-hanger bracket of a forage trailer, twelve weld lines, three load cases, three blocks\n")
    write_text(check_text(envelope))
    write_text(NEXT)
    return PASSED if envelope["answer"]["verdict"] == "pass" else FAILED

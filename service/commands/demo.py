"""toeline demo: the check of the bracket, from the tables of nodal stresses to the verdict."""

from __future__ import annotations

import argparse
import shlex
import shutil
import sys
from pathlib import Path

from ..base.example_files import example_folder
from ..base.problems import Problem
from ..client.exit_codes import FAILED, PASSED
from ..files.writing import replace_file
from ..lines.map import read_map
from ..lines.rows import read_rows
from ..lines.table import check_request
from ..topics.check.text import check_text
from .shared import calculate, write_answer, write_text
from .texts.help import EXIT_CODES, Commands, add_command
from .texts.under_policy import add_policy

TABLE, MAP = "notch_lines_d0p75.csv", "lines.toml"
# of each command what it does, and its words; they work in this order in an empty folder
NEXT = (
    ("write the table of stresses and the map of this check into a folder", "demo --files bracket"),
    ("make the request of the check out of them", f"lines bracket/{TABLE} --map bracket/{MAP} -o bracket/check.json"),
    ("the same check from its file, with all that is doubtful of every line", "check bracket/check.json --findings"),
    ("the service, with its pages at http://127.0.0.1:8000/ and /docs", "serve"),
)


def add(commands: Commands) -> None:
    """Adds the command demo."""
    text = "check the bracket of the examples, from its tables to the verdict"
    demo = add_command(commands, "demo", text, ("demo", "demo --files bracket"), ending=EXIT_CODES)
    files = "only write the table and the map of the demo into this folder"
    demo.add_argument("--files", metavar="FOLDER", help=files)
    add_policy(demo)
    demo.set_defaults(run=_run)


def data_folder() -> Path:
    """Folder of the bracket's tables; Problem when the examples are not installed."""
    return example_folder() / "data" / "hanger-bracket"


def bracket_request() -> object:
    """The check request of the bracket on its fine mesh."""
    table_map = read_map((data_folder() / MAP).read_text(encoding="utf-8"))
    rows = read_rows((data_folder() / TABLE).read_text(encoding="utf-8"), table_map.table)
    return check_request(rows, table_map)


def _run(given: argparse.Namespace) -> int:
    return _demo() if given.files is None else _write_files(Path(given.files))


def _demo() -> int:
    envelope = calculate("check", bracket_request()).envelope()
    write_text("Spring-hanger bracket of a forage trailer, twelve weld lines, three load cases, three blocks\n")
    write_answer(check_text(envelope), envelope)
    write_text("\n".join(["\nThe loading is invented. Where to go from here:", *_next_lines()]))
    return PASSED if envelope["answer"]["verdict"] == "pass" else FAILED


def _next_lines() -> list[str]:
    """The commands as they can be typed in this folder, each below what it does."""
    return [line for what, words in NEXT for line in (f"  # {what}", f"  {_program()} {words}")]


def _program() -> str:
    """How this program is called from here: its name where a shell finds it, else its path."""
    script = Path(sys.executable).with_name("toeline")
    if not script.exists():
        return f"{shlex.quote(sys.executable)} -m {__package__.partition('.')[0]}"
    if script.is_relative_to(Path.cwd()):
        return shlex.quote(str(script.relative_to(Path.cwd())))
    found = shutil.which("toeline")
    return "toeline" if found is not None and Path(found) == script else shlex.quote(str(script))


def _write_files(folder: Path) -> int:
    """Copies the files of the demo; those that somebody changed stay."""
    contents = {name: (data_folder() / name).read_bytes() for name in (TABLE, MAP)}
    for name, content in contents.items():
        if (folder / name).exists() and (folder / name).read_bytes() != content:
            raise Problem(422, f"{folder / name} is there already, and another one: name another folder")
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in contents.items():
        replace_file(folder / name, content)
        write_text(f"written: {folder / name}")
    return PASSED

"""toeline compare: what changed between two outputs of a batch."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...client.exit_codes import FAILED, PASSED
from ...reproduce.outputs import Changes, compare_outputs
from ...reproduce.text import changes_json, changes_text
from ..shared import write_bytes, write_text
from ..texts.help import Commands, add_command
from ..texts.parser import InputFile


def add(commands: Commands) -> None:
    """Adds the command compare."""
    text = "compare two outputs of a batch item by item"
    ending = "exit code: 0 the same items say the same, 1 they do not, 2 bad input or usage"
    compare = add_command(commands, "compare", text, ("compare before.ndjson now.ndjson",), ending=ending)
    compare.add_argument("before", type=InputFile, help="output of a batch (NDJSON)")
    compare.add_argument("now", type=InputFile, help="a later one; numbers may differ by 1e-9 of the larger")
    compare.add_argument("--json", action="store_true", help="print every item and value that changed as JSON")
    compare.set_defaults(run=_compare)


def _compare(given: argparse.Namespace) -> int:
    return print_changes(compare_outputs(Path(given.before), Path(given.now)), as_json=given.json)


def print_changes(found: Changes, *, as_json: bool) -> int:
    """Prints what changed and returns the exit code."""
    if as_json:
        write_bytes(changes_json(found).encode(), None)
    else:
        write_text(changes_text(found))
    return PASSED if found.nothing else FAILED

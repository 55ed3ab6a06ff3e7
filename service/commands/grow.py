"""toeline grow: the life of a crack from a file; exit code 1 for a life outside validity."""

from __future__ import annotations

import argparse

from ..base.forms.printable import printable
from ..base.text import growth_text
from ..client.exit_codes import FAILED, PASSED
from .fits.fitted import add_fitted, with_fitted
from .shared import calculate, read_request, write_answer, write_bytes
from .texts.help import Commands, add_command
from .texts.parser import InputFile
from .texts.under_policy import add_policy


def add(commands: Commands) -> None:
    """Adds the command grow."""
    ending = "exit code: 0 within validity, 1 a limit of validity is left, 2 bad input or usage"
    text = "follow a crack from its first flaw to its end"
    grow = add_command(commands, "grow", text, ("grow crack.json",), ending=ending)
    grow.add_argument("file", type=InputFile, help="request of cracks/growth (JSON) or example; - for standard input")
    grow.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    add_fitted(grow)
    add_policy(grow)
    grow.set_defaults(run=_grow)


def _grow(given: argparse.Namespace) -> int:
    found = calculate("cracks/growth", with_fitted(read_request(given.file, "cracks/growth"), given.fitted))
    envelope = found.envelope()
    if given.json:
        write_bytes(found.content(), None)
    else:
        write_answer(growth_text(printable(envelope)), envelope)
    return FAILED if any(each["severity"] == "outside" for each in envelope["findings"]) else PASSED

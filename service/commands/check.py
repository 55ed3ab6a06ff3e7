"""toeline check: the whole check from a file."""

from __future__ import annotations

import argparse
import json
from typing import Any

from ..base.envelope import Evaluation
from ..base.forms.csv_table import csv_table
from ..base.forms.printable import printable
from ..base.problems import Problem
from ..client.exit_codes import FAILED, PASSED
from ..topics.check.locations import line_table
from ..topics.check.models import CheckRequest
from ..topics.check.text import check_text
from .fits.fitted import add_fitted, with_fitted
from .shared import calculate, read_request, write_answer, write_bytes
from .texts.help import EXIT_CODES, Commands, add_command
from .texts.parser import FileBeside, InputFile
from .texts.under_policy import add_policy


def add(commands: Commands) -> None:
    """Adds the command check."""
    examples = ("check bracket.json", "check bracket.json --findings -o answer.json --csv lines.csv")
    check = add_command(commands, "check", "run the whole weld check of a file", examples, ending=EXIT_CODES)
    check.add_argument(
        "file", type=InputFile, help="check request (JSON) or an example that holds one; - for standard input"
    )
    check.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    check.add_argument(
        "-o", "--output", type=FileBeside, metavar="FILE", help="write the answer (JSON) to a file as well"
    )
    both = "the file of -o holds the request as well: toeline verify and report --baseline take it alone"
    check.add_argument("--with-request", action="store_true", help=both)
    check.add_argument("--findings", action="store_true", help="show the findings of every line, and its course")
    lines = (
        "write a table of the weld lines to a file as well (CSV): verdict, utilisation and governing station of each"
    )
    check.add_argument("--csv", type=FileBeside, metavar="FILE", help=lines)
    add_fitted(check)
    add_policy(check)
    check.set_defaults(run=_check)


def _with_request(request: Any, found: Evaluation) -> bytes:
    asked = json.dumps(request, separators=(",", ":"), allow_nan=False).encode()
    return b'{"calculation":"check","request":' + asked + b',"response":' + found.content() + b"}"


def _check(given: argparse.Namespace) -> int:
    if given.with_request and not given.output:
        raise Problem(400, "--with-request goes with -o FILE")
    request = with_fitted(read_request(given.file, "check"), given.fitted)
    found = calculate("check", request)
    envelope = found.envelope()
    if given.output:
        write_bytes(_with_request(request, found) if given.with_request else found.content(), given.output)
    if given.csv:
        write_bytes(csv_table(line_table(envelope["answer"])).encode(), given.csv)
    if given.json:
        write_bytes(found.content(), None)
    else:
        assert isinstance(found.request, CheckRequest)
        lines = found.request.lines if given.findings else ()
        text = check_text(printable(envelope), every_finding=given.findings, lines=lines)
        write_answer(text, envelope)
    return PASSED if envelope["answer"]["verdict"] == "pass" else FAILED

"""toeline verify: calculates an answer of before again and says what differs, and why as far as it is recorded."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from functools import partial
from pathlib import Path

from ...base import progress
from ...base.problems import Problem
from ...batch.file import answers_of_server, local_answers
from ...gate import baseline
from ...gate.files import Found
from ...gate.gate import ask_checks
from ...reproduce.again import asked_again, stored_again
from ...reproduce.given import Asked, asked_in
from ...reproduce.outputs import Changes
from ..gate import calculating
from ..remote import add_jobs, add_server, connect, workers
from ..texts.help import Commands, add_command
from ..texts.parser import InputFile
from ..texts.under_policy import add_policy
from .compare import print_changes


def add(commands: Commands) -> None:
    """Adds the command verify."""
    text = "calculate an answer of before again; say what differs and why"
    examples = (
        "verify request.json answer.json",
        "verify in.ndjson out.ndjson --jobs 0",
        "verify checks/accepted.json --json",
    )
    ending = "exit code: 0 the same, 1 something differs, 2 bad input or usage, 3 the service gave no answer"
    verify = add_command(commands, "verify", text, examples, ending=ending)
    words = "request and answer, input and output of a batch, a file with both, or a baseline of a gate"
    verify.add_argument("files", type=InputFile, nargs="+", metavar="FILE", help=words)
    verify.add_argument("--json", action="store_true", help="print every value that differs as JSON")
    add_server(verify)
    add_jobs(verify)
    add_policy(verify)
    verify.set_defaults(run=_verify)


def _verify(given: argparse.Namespace) -> int:
    if len(given.files) > 2:
        raise Problem(400, "verify takes one file or two")
    paths = [Path(name) for name in given.files]
    asked = asked_in(paths)
    found = _stored(given, paths[0]) if asked is None else _asked(given, asked)
    return print_changes(found, as_json=given.json)


def _asked(given: argparse.Namespace, asked: Asked) -> Changes:
    with ExitStack() as stack:
        count = len(asked.answers)
        client = None if given.server is None else stack.enter_context(connect(given))
        each = stack.enter_context(workers(given, max(1, count)))
        stack.enter_context(progress.show_progress())
        answers = partial(local_answers, each=each) if client is None else answers_of_server(client, each)
        return asked_again(asked, answers, progress.listener(count) or _ignore)


def _stored(given: argparse.Namespace, path: Path) -> Changes:
    stored = baseline.read(path)
    there = [stored.folder / key for key in stored.checks if (stored.folder / key).is_file()]
    with calculating(given, max(1, len(there))) as (calculate, each), progress.show_progress():
        finished = progress.listener(len(there)) or _ignore
        return stored_again(stored, ask_checks(Found(there, ()), calculate, stored.folder, finished, each))


def _ignore(_: int) -> None:
    """Nobody watches the progress."""

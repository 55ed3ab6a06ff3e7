"""toeline batch: many calculations from a file of lines to a file of lines."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path

from ..base import progress
from ..base.problems import Problem
from ..batch.file import Answers, Count, answers_of_server, local_answers, resume, start_over
from ..client.exit_codes import FAILED, PASSED
from .remote import add_jobs, add_server, connect, workers
from .shared import name_of, read_bytes
from .texts.help import Commands, add_command
from .texts.parser import OutputFile
from .texts.under_policy import add_policy


def add(commands: Commands) -> None:
    """Adds the command batch."""
    examples = ("batch many.ndjson -o answers.ndjson --jobs 0",)
    text = "run many calculations of a file, one a line; continue where it was stopped"
    ending = "exit code: 0 all answered, 1 some with a problem, 2 bad input or usage, 3 the service gave no answer"
    batch = add_command(commands, "batch", text, examples, ending=ending)
    batch.add_argument("file", help="lines of {id, calculation, input} (NDJSON); - for standard input")
    output = "file of the answers; an existing one is continued (default standard output)"
    batch.add_argument("-o", "--output", type=OutputFile, metavar="FILE", help=output)
    anew = "start over instead of continuing the output file, which stays as it is until all is answered"
    batch.add_argument("--anew", action="store_true", help=anew)
    add_server(batch)
    add_jobs(batch)
    add_policy(batch)
    batch.set_defaults(run=_batch)


def _batch(given: argparse.Namespace) -> int:
    source = [line for line in read_bytes(given.file).split(b"\n") if line.strip()]
    if not source:
        raise Problem(422, f"{name_of(given.file)} holds no calculation")
    with ExitStack() as stack:
        client = None if given.server is None else stack.enter_context(connect(given))
        each = stack.enter_context(workers(given, len(source)))
        answers = partial(local_answers, each=each) if client is None else answers_of_server(client, each)
        count = _run(given, source, answers)
    return PASSED if count.problems == 0 else FAILED


def _run(given: argparse.Namespace, source: Sequence[bytes], answers: Answers) -> Count:
    if given.output is None:
        return _print_results(source, answers)
    target, run = Path(given.output), start_over if given.anew else resume
    with progress.show_progress():
        count = run(source, target, answers, progress.listener(len(source)) or _unheard)
    sys.stderr.write(
        f"{count.answered} answered, {count.problems} with a problem"
        f" ({count.resumed} of them from an earlier run): {target}\n"
    )
    return count


def _unheard(_: int) -> None:
    """Nobody watches the progress."""


def _print_results(source: Sequence[bytes], answers: Answers) -> Count:
    count = Count()
    for line in answers(source, set()):
        sys.stdout.buffer.write(line.content)
        sys.stdout.flush()
        count.add(line.status)
    return count

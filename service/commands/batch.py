"""toeline batch: many calculations from a file of lines to a file of lines."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from ..base import progress
from ..base.problems import Problem
from ..batch.file import (
    Answers,
    Count,
    MadeBy,
    answers_of_server,
    items_in,
    local_answers,
    made_here,
    resume,
    start_over,
)
from ..batch.lines import bare_words
from ..batch.parts import merge_outputs, part_of
from ..client.exit_codes import FAILED, PASSED
from .fits.fitted import add_fitted, in_lines
from .remote import add_jobs, add_server, connect
from .shared import name_of, read_bytes, write_line
from .sharing import add_cluster, add_shard, chosen_shard, workers_or_cluster
from .texts.help import Commands, add_command
from .texts.parser import InputFile, OutputFile
from .texts.telling import tell
from .texts.under_policy import add_policy

if TYPE_CHECKING:
    from ..client.client import Client


def add(commands: Commands) -> None:
    """Adds the command batch."""
    examples = ("batch many.ndjson -o answers.ndjson --jobs 0",)
    text = "run many calculations of a file, one a line; continue where it was stopped"
    ending = "exit code: 0 all answered, 1 some with a problem, 2 bad input or usage, 3 the service gave no answer"
    batch = add_command(commands, "batch", text, examples, ending=ending)
    batch.add_argument("file", type=InputFile, help="lines of {id, calculation, input} (NDJSON); - for standard input")
    output = "file of the answers; an existing one is continued (default standard output)"
    batch.add_argument("-o", "--output", type=OutputFile, metavar="FILE", help=output)
    anew = "start over instead of continuing the output file, which stays as it is until all is answered"
    batch.add_argument("--anew", action="store_true", help=anew)
    add_server(batch)
    add_jobs(batch)
    add_cluster(batch)
    add_shard(batch, "items")
    merge = "put the outputs of all parts together in the output file, as one run would have written it"
    batch.add_argument("--merge", type=InputFile, nargs="+", metavar="PART", help=merge)
    add_fitted(batch)
    add_policy(batch)
    batch.set_defaults(run=_batch)


def _batch(given: argparse.Namespace) -> int:
    source = [*in_lines(given.fitted, items_in(read_bytes(given.file), name_of(given.file)))]
    if given.merge is not None:
        return _merge(given, source)
    shard = chosen_shard(given)
    source = source if shard is None else part_of(source, shard)
    with ExitStack() as stack:
        client = None if given.server is None else stack.enter_context(connect(given))
        each = stack.enter_context(workers_or_cluster(given, len(source)))
        answers = partial(local_answers, each=each) if client is None else answers_of_server(client, each)
        count = _run(given, source, answers, client)
    return PASSED if count.problems == 0 else FAILED


def _run(given: argparse.Namespace, source: Sequence[bytes], answers: Answers, client: Client | None) -> Count:
    if given.output is None:
        return _print_results(source, answers)
    target, run = Path(given.output), start_over if given.anew else resume
    made_by = made_here() if client is None else _made_there(client)
    with progress.show_progress():
        count = run(source, target, answers, progress.listener(len(source)) or _unheard, made_by)
    tell(
        f"{count.answered} answered, {count.problems} with a problem"
        f" ({count.resumed} of them from an earlier run): {target}"
    )
    _note_bare(count)
    return count


def _note_bare(count: Count) -> None:
    if count.bare:
        tell(f"note: {bare_words(count.bare)}")


def _made_there(client: Client) -> MadeBy:
    answer = client.version().answer
    return MadeBy(answer.version, None if answer.policy is None else answer.policy.digest)


def _merge(given: argparse.Namespace, source: Sequence[bytes]) -> int:
    if given.output is None or any((given.shard, given.anew, given.server, given.dask, given.jobs != 1)):
        raise Problem(400, "--merge goes with -o alone")
    count = merge_outputs(source, [Path(name) for name in given.merge], Path(given.output))
    tell(f"{count.answered} answered, {count.problems} with a problem, of {len(given.merge)} parts: {given.output}")
    _note_bare(count)
    return PASSED if count.problems == 0 else FAILED


def _unheard(_: int) -> None:
    """Nobody watches the progress."""


def _print_results(source: Sequence[bytes], answers: Answers) -> Count:
    count = Count()
    for line in answers(source, set()):
        write_line(line.content)
        count.add(line.status)
    return count

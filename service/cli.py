"""The command line `toeline`: works without a server, by the same code path as the service."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from io import TextIOWrapper
from pathlib import Path

from fatcore import __version__
from fatcore.errors import FatcoreError, nearest

from .base.problems import Problem, from_core
from .client.errors import ClientError
from .client.exit_codes import BAD_INPUT, NO_ROOM, STOPPED, exit_code
from .commands import batch, check, demo, gate, grow, lines, look_up, report, spectrum
from .commands.answers import compare, verify
from .commands.fits import fit
from .commands.operator import key, serve
from .commands.parts import picture
from .commands.texts.files import outputs_of
from .commands.texts.help import HelpText
from .commands.texts.parser import Parser
from .commands.texts.telling import tell
from .commands.texts.under_policy import obeying
from .files.locking import locked
from .files.writing import lacks_room

# in the order of the job: try it, model and loads to a check, crack, papers, guard, many, look up
ADDED = (
    demo.add,
    lines.add,
    spectrum.add_count,
    look_up.add_curves,
    spectrum.add_damage,
    check.add,
    grow.add,
    fit.add_sn,
    fit.add_growth,
    report.add,
    picture.add,
    gate.add,
    batch.add,
    compare.add,
    verify.add,
    look_up.add_calculate,
    serve.add,
    key.add,
    look_up.add_findings,
    look_up.add_validate,
)
ENDING = """examples:
  toeline demo                  a first check, nothing needed
  toeline check --help          what a command takes, with examples

exit codes of every command: 2 bad input or usage, 4 no room to write an output, 130 stopped"""


def parser() -> argparse.ArgumentParser:
    """The parser with all commands."""
    top = Parser(
        prog="toeline", description="Fatigue checks of welded joints.", epilog=ENDING, formatter_class=HelpText
    )
    top.add_argument("--version", action="version", version=f"toeline {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for add in ADDED:
        add(commands)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code.

    0 passed, 1 failed or undecided, 2 bad input, 3 the service that was to be asked gave no answer,
    4 an output could not be written since there is no room for it, 130 stopped by Ctrl-C
    """
    _never_stop_at_a_letter()
    try:
        given = parser().parse_args(arguments)
        with locked(*_outputs(given)), obeying(given):
            code: int = given.run(given)
        if sys.stdout is not None:
            sys.stdout.flush()
    except FatcoreError as error:
        return _refusal_text(from_core(error))
    except Problem as problem:
        return _refusal_text(problem)
    except ClientError as error:
        tell(f"toeline: {error}")
        return exit_code(error)
    except OSError as error:
        return _file_refused(error)
    except KeyboardInterrupt:
        tell("toeline: stopped")
        return STOPPED
    return code


def _outputs(given: argparse.Namespace) -> list[Path]:
    """The files that a command writes, where their folders are there already."""
    return [path for path in outputs_of(given) if path.parent.is_dir()]


def _file_refused(error: OSError) -> int:
    code = _refusal_text(Problem(400, _file_words(error)))
    if error.filename is None:
        _leave_standard_output()
    return NO_ROOM if lacks_room(error) else code


def _leave_standard_output() -> None:
    """What could not be printed is not tried again at the end of the program, which would change its exit code."""
    if sys.stdout is None:  # closed by who called
        return
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _file_words(error: OSError) -> str:
    """Which file is at fault and why; of one that is not there, the nearest beside it."""
    path, why = error.filename, error.strerror or str(error)
    if path is None:
        return why
    missing = Path(str(path))
    if not isinstance(error, FileNotFoundError) or not missing.parent.is_dir():
        return f"{path}: {why}"
    beside = {each.stem: each.name for each in sorted(missing.parent.iterdir()) if each.suffix == missing.suffix}
    near = [beside[stem] for stem in nearest(missing.stem, beside, 1)]
    return f"{path}: {why}" + "".join(f" (did you mean {name!r}?)" for name in near)


def _never_stop_at_a_letter() -> None:
    """A terminal or pipe of few letters shows the others as escapes, where it would end the command else."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _refusal_text(problem: Problem) -> int:
    tell("toeline: " + "\n".join(problem.lines()))
    return BAD_INPUT

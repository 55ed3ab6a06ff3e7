"""toeline gate: keeps a design from getting worse, for the pipelines of its repository."""

from __future__ import annotations

import argparse
import sys
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

from service import baseline, gate, progress
from service.commands.remote import add_server, connected
from service.commands.shared import Commands, write_bytes, write_text
from service.gate_files import find
from service.gate_result import GateResult, Limits
from service.gate_text import json_text, markdown_text, terminal_text
from service.junit import junit_xml
from service.problems import Problem

__all__ = ["add"]

EXIT_CODES = "exit code: 0 passed, 1 failed or undecided, 2 bad input or usage, 3 the service gave no answer"


def add(commands: Commands) -> None:
    """Adds the command gate."""
    text = "judge check files against a limit and a baseline"
    parser = commands.add_parser("gate", help=text, description=text, epilog=EXIT_CODES)
    parser.add_argument(
        "checks", nargs="+", help="check files, folders of them, or patterns", metavar="CHECK"
    )
    parser.add_argument(
        "--limit", type=float, default=1.0, help="largest utilisation that passes (default 1)"
    )
    parser.add_argument("--baseline", metavar="FILE", help="stored state to compare with, or to write")
    parser.add_argument(
        "--growth-pct",
        type=float,
        default=0.0,
        metavar="X",
        help="a utilisation may grow by this share against the baseline (default 0)",
    )
    parser.add_argument(
        "--write-baseline", action="store_true", help="store this state in the baseline instead of comparing"
    )
    parser.add_argument(
        "--accept-vanished", action="store_true", help="pass although lines of the baseline are gone"
    )
    parser.add_argument("--junit", metavar="FILE", help="write JUnit XML, one test case a weld line")
    parser.add_argument("--markdown", metavar="FILE", help="write a summary for a merge request")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    parser.add_argument("--stamp", action="store_true", help="write the time of the run into the JUnit file")
    add_server(parser)
    parser.set_defaults(run=_gate)


def _gate(given: argparse.Namespace) -> int:
    limits = Limits(
        utilisation=given.limit, growth_pct=given.growth_pct, accept_vanished=given.accept_vanished
    )
    result = _result(given, limits)
    _write(given, result)
    if given.json:
        write_bytes(json_text(result).encode(), None)
    else:
        write_text(terminal_text(result))
    return result.exit_code


def _result(given: argparse.Namespace, limits: Limits) -> GateResult:
    if given.baseline is None and (given.write_baseline or given.growth_pct or given.accept_vanished):
        raise Problem(400, "--write-baseline, --growth-pct and --accept-vanished need --baseline FILE")
    path = None if given.baseline is None else Path(given.baseline)
    stored = None if path is None or given.write_baseline else baseline.read(path)
    found = find(given.checks, path)
    with ExitStack() as stack:
        calculate = gate.calculate_here
        if given.server is not None:
            client = stack.enter_context(connected(given))
            calculate = lambda request: client.calculate("check", request)  # noqa: E731
        stack.enter_context(progress.shown())
        told = progress.listener(len(found.checks)) or _unheard
        return gate.run(found, calculate, limits, stored, None if path is None else path.parent, told)


def _unheard(_: int) -> None:
    """Nobody watches the progress."""


def _write(given: argparse.Namespace, result: GateResult) -> None:
    if given.junit:
        stamp = datetime.now(UTC).isoformat(timespec="seconds") if given.stamp else None
        _write_file(given.junit, junit_xml(result, stamp=stamp))
    if given.markdown:
        _write_file(given.markdown, markdown_text(result))
    if given.write_baseline:
        _store(given.baseline, result)


def _write_file(path: str, text: str) -> None:
    # line ends as they are, so that every system writes the same bytes
    Path(path).write_bytes(text.encode("utf-8"))


def _store(path: str, result: GateResult) -> None:
    if any(check.error is not None for check in result.checks):
        sys.stderr.write("toeline: the baseline was not written, since a check has no answer\n")
        return
    _write_file(path, baseline.text_of({check.key: check.stored() for check in result.checks}))

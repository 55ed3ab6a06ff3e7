"""toeline report: the page of a calculation, from the file of its request."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..base.common import Calculation
from ..base.parsing import request_in, strict_json
from ..base.problems import Problem
from ..client.exit_codes import PASSED
from ..report.renderers import RENDERERS, render
from ..topics.registry import load
from .shared import calculate, read_bytes, write_bytes
from .solids import add_mesh, part_given
from .texts.help import Commands, add_command


def add(commands: Commands) -> None:
    """Adds the command report."""
    examples = ("report bracket.json", "report bracket.json --mesh model.vtu -o bracket.html")
    text = "write the report of a calculation as one page (HTML)"
    report = add_command(commands, "report", text, examples)
    report.add_argument("file", help="request (JSON) or an example that holds one; - for standard input")
    where = "file of the page, - for standard output (default: beside the request)"
    report.add_argument("-o", "--output", metavar="FILE", help=where)
    report.add_argument(
        "--calculation",
        metavar="NAME",
        help=f"one of {', '.join(RENDERERS)} (default: as the file has it)",
    )
    add_mesh(report)
    report.set_defaults(run=_report)


def _report(given: argparse.Namespace) -> int:
    content = read_bytes(given.file)
    calculation = _choose(given.calculation, strict_json(content))
    part = part_given(given)
    if part is not None and calculation.name != "check":
        raise Problem(422, f"--mesh is for the report of a check, not of {calculation.name}")
    found = calculate(calculation.name, request_in(content, calculation.name))
    more = {} if part is None else {"part": part}
    page = render(calculation.name, found.request, found.envelope(), **more).encode()
    target = given.output or ("-" if given.file == "-" else str(Path(given.file).with_suffix(".html")))
    write_bytes(page, None if target == "-" else target)
    return PASSED


def _with_report() -> dict[str, Calculation]:
    return {found.name: found for found in load().values() if found.name in RENDERERS}


def _choose(name: str | None, data: Any) -> Calculation:
    known = _with_report()
    if name is not None:
        if name not in known:
            raise Problem(422, f"{name} has no report; these have: {', '.join(known)}")
        return known[name]
    if isinstance(data, Mapping):
        if {"calculation", "request"} <= set(data):
            return _choose(str(data["calculation"]), data)
        fitting = [found for found in known.values() if _fits(found, set(data))]
        if len(fitting) == 1:
            return fitting[0]
    raise Problem(422, f"name the calculation with --calculation: {', '.join(known)}")


def _fits(calculation: Calculation, keys: set[str]) -> bool:
    fields = calculation.request.model_fields
    needed = {name for name, field in fields.items() if field.is_required()}
    return needed <= keys <= set(fields)

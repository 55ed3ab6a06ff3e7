"""toeline report: the page of a calculation, from the file of its request."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..base.common import Calculation
from ..base.envelope import Evaluation
from ..base.parsing import request_in, strict_json
from ..base.problems import Problem
from ..client.exit_codes import PASSED
from ..comparison.changes import Comparison
from ..comparison.compare import compare
from ..comparison.older import answer_of, older_answer
from ..gate.alike.moves import origins
from ..gate.answers import answer_check
from ..gate.baseline import KIND, key_of, read
from ..gate.result import Limits
from ..gate.rules import compare_line
from ..report.renderers import RENDERERS, render
from ..topics.check.models import CheckRequest
from ..topics.registry import load
from ..units.kinds import meanings
from ..units.request import WISH
from .fits.fitted import add_fitted, with_fitted
from .parts.solids import add_mesh, part_given
from .shared import calculate, name_of, read_bytes, write_bytes
from .texts.help import Commands, add_command
from .texts.parser import InputFile, OutputFile
from .texts.under_policy import add_policy


def add(commands: Commands) -> None:
    """Adds the command report."""
    examples = ("report bracket.json", "report bracket.json --mesh model.vtu -o bracket.html")
    text = "write the report of a calculation as one page (HTML)"
    report = add_command(commands, "report", text, examples)
    report.add_argument(
        "file", type=InputFile, help="request (JSON) or an example that holds one; - for standard input"
    )
    where = "file of the page, - for standard output (default: beside the request)"
    report.add_argument("-o", "--output", type=OutputFile, metavar="FILE", help=where)
    report.add_argument(
        "--calculation",
        metavar="NAME",
        help=f"one of {', '.join(RENDERERS)} (default: as the file has it)",
    )
    words = "older answer, request, file with both, or baseline of a gate: the page says what changed"
    report.add_argument("--baseline", type=InputFile, metavar="OLDER", help=words)
    add_fitted(report)
    add_mesh(report)
    add_policy(report)
    report.set_defaults(run=_report, suffix=".html")


def _report(given: argparse.Namespace) -> int:
    content = read_bytes(given.file)
    calculation = _choose(given.calculation, strict_json(content, name_of(given.file)))
    part = part_given(given)
    if part is not None and calculation.name != "check":
        raise Problem(422, f"--mesh is for the report of a check, not of {calculation.name}")
    request = request_in(content, calculation.name, name_of(given.file))
    found = calculate(calculation.name, with_fitted(request, given.fitted))
    more: dict[str, Any] = {} if part is None else {"part": part}
    if given.baseline is not None:
        more["changes"] = _changes(given, calculation, found)
    page = render(calculation.name, found.request, found.envelope(), **more).encode()
    write_bytes(page, given.output)
    return PASSED


def _changes(given: argparse.Namespace, calculation: Calculation, found: Evaluation) -> Comparison:
    """What changed since an older answer, or since the state that a gate stored."""
    content = read_bytes(given.baseline)
    data = strict_json(content, name_of(given.baseline))
    if isinstance(data, Mapping) and data.get("kind") == KIND:
        return _since_stored(Path(given.baseline), Path(given.file), found)
    name = "standard input" if given.baseline == "-" else Path(given.baseline).name
    return compare(older_answer(name, data, calculation), answer_of("this page", found))


def _since_stored(path: Path, file: Path, found: Evaluation) -> Comparison:
    """What changed since the state that a baseline stores of the file."""
    stored = read(path)
    key = key_of(file, stored.folder)
    if not isinstance(found.request, CheckRequest) or key not in stored.checks:
        raise Problem(422, f"{path} stores no state of {key}; it has {', '.join(stored.checks) or 'none'}")
    answer = answer_check(key, found.request, found.envelope())
    origin = origins([answer], {key: stored.checks[key]}, {}, stored.gone)[key]
    since = compare_line(answer, stored.checks[key], Limits(), origin).since
    assert since is not None
    return since


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
    named = {key if key in fields else next((m[0] for m in meanings(key) if m[0] in fields), key) for key in keys}
    return needed <= named <= {*fields, WISH}

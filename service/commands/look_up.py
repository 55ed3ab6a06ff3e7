"""toeline curves, findings, validate, calculate: catalogues, verification cases, any calculation."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from typing import Any

from fatcore.errors import MOST_SHOWN
from fatcore.findings import catalogue, finding_kind

from ..base.envelope import Evaluation, evaluate
from ..base.problems import Problem
from ..base.text import facts_text, finding_kind_text, logarithm, number, table_text
from ..client.exit_codes import FAILED, PASSED
from ..topics.registry import find
from .fits.fitted import add_fitted, with_fitted
from .shared import calculate, read_request, write_answer, write_bytes, write_text
from .texts.help import Commands, add_command
from .texts.parser import InputFile
from .texts.under_policy import add_policy
from .texts.validation import validation_text

# option -> column of the catalogue
FILTERS = {
    "title": "title",
    "document": "document",
    "kind": "stress_kind",
    "material": "material",
    "environment": "environment",
}
CURVE_COLUMNS = {"id": "curve", "range": "range", "stress_kind": "kind", "status": "status"}


def add_curves(commands: Commands) -> None:
    """Adds the command curves."""
    examples = ("curves --document iiw --kind normal", "curves iiw-2016-normal-steel-71")
    curves = add_command(commands, "curves", "list the design curves, or show one", examples)
    curves.add_argument("curve", nargs="?", help="id of a curve")
    for name in FILTERS:
        curves.add_argument(f"--{name}", metavar="WORDS", help=f"list the curves whose {name} has these words only")
    curves.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    add_policy(curves)
    curves.set_defaults(run=_curves)


def add_findings(commands: Commands) -> None:
    """Adds the command findings."""
    text = "list the codes of findings with their meaning, or one"
    findings = add_command(commands, "findings", text, ("findings mesh-too-coarse",))
    findings.add_argument("code", nargs="?", help="code of a finding, like mesh-too-coarse")
    findings.set_defaults(run=_findings)


def add_validate(commands: Commands) -> None:
    """Adds the command validate."""
    ending = "exit code: 0 all cases are within their tolerance, 1 some are not"
    text = "run the verification cases of the core"
    validate = add_command(commands, "validate", text, ("validate", "validate --json"), ending=ending)
    validate.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    validate.set_defaults(run=_validate)


def add_calculate(commands: Commands) -> None:
    """Adds the command calculate."""
    text = "run any calculation of the service by its name"
    any_one = add_command(commands, "calculate", text, ("calculate stress/peak request.json",))
    any_one.add_argument("calculation", help="name of the URL without /v1/, like stress/peak")
    any_one.add_argument("file", type=InputFile, help="request (JSON) or example; - for standard input")
    add_fitted(any_one)
    add_policy(any_one)
    any_one.set_defaults(run=_calculate)


def _get(name: str, data: dict[str, str]) -> Evaluation:
    calculation = find(name, "GET")
    if calculation is None:
        raise Problem(404, f"there is no calculation {name!r}")
    return evaluate(calculation, data, strings=True)


def _curves(given: argparse.Namespace) -> int:
    wanted = {name: getattr(given, name) for name in FILTERS if getattr(given, name) is not None}
    if wanted and (given.curve or given.json):
        raise Problem(422, f"--{next(iter(wanted))} filters the list of curves, not one curve and not --json")
    found = _one_curve(given.curve) if given.curve else _get("curves", {})
    if given.json:
        write_bytes(found.content(), None)
        return PASSED
    envelope = found.envelope()
    answer = envelope["answer"]
    write_answer(_facts(answer) if given.curve else _list_curves(answer, wanted), envelope)
    return PASSED


def _one_curve(name: str) -> Evaluation:
    try:
        return _get("curves/{curve}", {"curve": name})
    except Problem as problem:
        raise Problem(problem.status, problem.detail) from problem


def _list_curves(columns: dict[str, list[Any]], wanted: dict[str, str]) -> str:
    every = [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]
    rows = [_row(row) for row in every if all(_has(row, name, words) for name, words in wanted.items())]
    end = f"{len(rows)} of {len(every)} curves; range: at the reference life. `toeline curves ID` shows one"
    return "\n".join([*([table_text(rows, CURVE_COLUMNS)] if rows else _words_there(every, wanted)), end])


def _words_there(every: Sequence[dict[str, Any]], wanted: dict[str, str]) -> Iterator[str]:
    """What the filters that leave no curve could have asked for, where that is a short list."""
    for name, words in wanted.items():
        there = sorted({str(row[FILTERS[name]]) for row in every})
        if not any(_has(row, name, words) for row in every) and len(there) <= MOST_SHOWN:
            yield f"no {name} has {words!r}; there are: {', '.join(there)}"


def _has(row: dict[str, Any], name: str, words: str) -> bool:
    return words.lower() in str(row[FILTERS[name]]).lower()


def _row(row: dict[str, Any]) -> dict[str, Any]:
    energy = row["reference_energy_density_mj_m3"]
    shown = f"{number(row['reference_range_mpa'])} MPa" if energy is None else f"{number(energy)} MJ/m³"
    return {**row, "range": shown}


def _facts(answer: dict[str, Any]) -> str:
    """What is known of one curve; figures are rounded, and what it does not have is left out."""
    known = {name: value for name, value in answer.items() if value not in (None, "", [], {})}
    return facts_text({name: _shown(name, value) for name, value in known.items()})


def _shown(key: str, value: Any) -> str:
    if key == "log10_constants":
        return ", ".join(map(logarithm, value))
    if isinstance(value, dict):
        return ", ".join(f"{name} {_inner(each)}" for name, each in value.items())
    return ", ".join(map(number, value)) if isinstance(value, list) else number(value)


def _inner(value: Any) -> str:
    if not isinstance(value, dict):
        return number(value)
    return f"({', '.join(f'{name} {number(each)}' for name, each in value.items())})"


def _findings(given: argparse.Namespace) -> int:
    kinds = [finding_kind(given.code)] if given.code else catalogue().values()
    write_text("\n".join(finding_kind_text(kind) for kind in kinds))
    return PASSED


def _validate(given: argparse.Namespace) -> int:
    found = _get("validation", {})
    answer = found.envelope()["answer"]
    if given.json:
        write_bytes(found.content(), None)
    else:
        write_text(validation_text(answer))
    return PASSED if answer["all_passed"] else FAILED


def _calculate(given: argparse.Namespace) -> int:
    request = with_fitted(read_request(given.file, given.calculation), given.fitted)
    found = calculate(given.calculation, request)
    write_bytes(found.content(), None)
    return PASSED

"""toeline count, toeline damage: cycles and damage sums of load histories in files."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from fatcore.curves.limits.damage_limits import damage_limit_names
from fatcore.spectrum.counting.count import Residue

from ..base import progress
from ..base.envelope import Evaluation, evaluate
from ..base.forms.printable import printable
from ..base.parsing import strict_json, toml_of
from ..base.problems import Problem
from ..client.exit_codes import FAILED, PASSED
from ..topics.curves.resistance import DamageLimitChoice
from ..topics.registry import find
from ..topics.spectrum.models import CyclesRequest, DamageRequest
from ..topics.spectrum.sample_tables import ColumnChoice
from .fits.fitted import add_fitted, with_fitted
from .shared import read_bytes, read_request, text_in, write_answer, write_bytes
from .texts.columns import column_choice_text
from .texts.help import EXIT_CODES, Commands, add_command, default_of
from .texts.options import as_options, option_of
from .texts.parser import InputFile, decimal, whole
from .texts.spectrum import count_text, damage_text
from .texts.under_policy import add_policy

KINDS = {".csv": "text/csv", ".txt": "text/csv", ".npy": "application/x-npy"}


def add_count(commands: Commands) -> None:
    """Adds the command count."""
    examples = ("count record.csv --column bending", "count record.npy --column 2 --rule four-point --classes 20")
    text = "count the cycles of load histories (CSV, NPY or request files)"
    count = add_command(commands, "count", text, examples)
    _add_history(count, "column of the file to count, by name or number (from 1), where it has several", CyclesRequest)
    rules = get_args(CyclesRequest.model_fields["rule"].annotation)
    count.add_argument("--rule", choices=rules, help=f"way of counting {default_of(CyclesRequest, 'rule')}")
    classes = f"at most so many classes of range, with round edges {default_of(CyclesRequest, 'classes')}"
    count.add_argument("--classes", type=whole, metavar="N", help=classes)
    add_policy(count)
    count.set_defaults(run=_count, fitted=[])


def add_damage(commands: Commands) -> None:
    """Adds the command damage."""
    examples = (
        "damage record.csv --column bending --curve iiw-2016-normal-steel-71 --repeats 5000",
        "damage record.csv --column a,b --weights a=1,b=0.8 --curve bs-7608-1993-d",
    )
    text = "sum the damage of load histories on a design curve"
    damage = add_command(commands, "damage", text, examples, ending=EXIT_CODES)
    columns = "column by name or number (from 1), or several modes with --weights: NAME,NAME,..."
    _add_history(damage, columns, DamageRequest)
    damage.add_argument(
        "--weights", type=_weights, metavar="NAME=W,...", help="factor of each column in the combined stress"
    )
    damage.add_argument("--curve", metavar="ID", help="design curve of the catalogue, as `toeline curves` lists them")
    repeats = f"repeats of the history {default_of(DamageRequest, 'repeats')}"
    damage.add_argument("--repeats", type=decimal, metavar="N", help=repeats)
    _add_limit(damage)
    add_fitted(damage)
    add_policy(damage)
    damage.set_defaults(run=_damage)


def _add_limit(damage: argparse.ArgumentParser) -> None:
    limit = "permissible damage sum (default: that of the curve's document)"
    damage.add_argument("--damage-limit", type=decimal, metavar="D", help=limit)
    rule = f"that of a document: {', '.join(damage_limit_names())}"
    damage.add_argument("--damage-limit-rule", metavar="NAME", help=rule)
    factor = "1 to 10, where the document divides its limit by one"
    damage.add_argument("--design-fatigue-factor", type=decimal, metavar="F", help=factor)


def _weights(text: str) -> str:
    """Factors of columns, as the service takes them in a query."""
    pairs = [pair.rpartition("=") for pair in text.split(",")]
    names = [name.strip() for name, _, _ in pairs]
    if not all(names) or len(set(names)) < len(names):
        raise argparse.ArgumentTypeError("give each column once, like bending=1.0,tension=0.8")
    try:
        return json.dumps({name: float(value) for name, (_, _, value) in zip(names, pairs, strict=True)})
    except ValueError:
        raise argparse.ArgumentTypeError("a factor is no number") from None


def _add_history(command: argparse.ArgumentParser, columns: str, model: type[CyclesRequest | DamageRequest]) -> None:
    command.add_argument(
        "files",
        type=InputFile,
        nargs="+",
        metavar="FILE",
        help="history in MPa: CSV with a line of names, NPY, or a request (JSON)",
    )
    command.add_argument("--column", "--columns", dest="columns", metavar="NAME|NUMBER", help=columns)
    residue = f"closed: the record repeats; half: it happens once {default_of(model, 'residue')}"
    command.add_argument("--residue", choices=get_args(Residue), help=residue)
    threshold = f"leave out reversals up to this range, in MPa {default_of(model, 'hysteresis_threshold_mpa')}"
    command.add_argument("--hysteresis-threshold-mpa", type=decimal, metavar="MPA", help=threshold)
    command.add_argument(
        "--request",
        type=InputFile,
        metavar="FILE",
        help="further keys of the request beside the tables, such as corrections (JSON, or TOML in a file .toml)",
    )
    command.add_argument("--json", action="store_true", help="write answers exactly as the service gives them")


def _count(given: argparse.Namespace) -> int:
    for answered in _answers("spectrum/cycles", given, ("rule", "classes"), list_cycles="false"):
        _show(answered, count_text)
    return PASSED


def _damage(given: argparse.Namespace) -> int:
    passed = True
    options = ("curve", "repeats", "weights", *DamageLimitChoice.model_fields)
    for answered in _answers("spectrum/damage", given, options):
        _show(answered, damage_text)
        passed = passed and answered.envelope["answer"]["verdict"] == "pass"
    return PASSED if passed else FAILED


@dataclass(frozen=True, slots=True)
class _Answered:
    """The request of a file and its answer; the bytes of that where they are asked for."""

    path: str
    request: Any
    envelope: dict[str, Any]
    content: bytes | None


def _show(answered: _Answered, text: Callable[[Any, dict[str, Any]], str]) -> None:
    if answered.content is not None:
        write_bytes(answered.content, None)
    else:
        words = text(answered.request, printable(answered.envelope))
        write_answer(f"{answered.path}\n{words}", answered.envelope)


def _answers(name: str, given: argparse.Namespace, options: tuple[str, ...], **always: str) -> list[_Answered]:
    """Answer of every file, with a bar over the files on a terminal."""
    options = ("columns", "residue", "hysteresis_threshold_mpa", *options)
    chosen = {key: getattr(given, key) for key in options}
    query = {**{key: str(value) for key, value in chosen.items() if value is not None}, **always}
    query = {**query, **_further(given.request, query)}
    answers = []
    with progress.show_progress():
        finished = progress.listener(len(given.files))
        for path in given.files:
            found = _evaluated(name, path, query, options, given)
            answers.append(_Answered(path, found.request, found.envelope(), found.content() if given.json else None))
            if finished is not None:
                finished(1)
    return answers


def _evaluated(
    name: str, path: str, query: dict[str, str], options: tuple[str, ...], given: argparse.Namespace
) -> Evaluation:
    """The answer for one file; problems of tables in the words of the command line."""
    calculation = find(name)
    assert calculation is not None
    kind = KINDS.get(Path(path).suffix.lower())
    if kind is None:
        return evaluate(calculation, with_fitted(_whole_request(name, path, query), given.fitted))
    try:
        data = calculation.bodies[kind](read_bytes(path), query)
        return evaluate(calculation, with_fitted(data, given.fitted))
    except ColumnChoice as choice:
        wanted = [name.strip() for name in query.get("columns", "").split(",") if name.strip()]
        raise Problem(422, column_choice_text(path, choice, wanted)) from choice
    except Problem as problem:
        raise as_options(problem, path, [name for name in options if name in query], given.request) from problem


def _further(path: str | None, query: dict[str, str]) -> dict[str, str]:
    """The keys of the file of --request as the service takes them in a query."""
    if path is None:
        return {}
    data = _request_part(path)
    twice = sorted(set(data) & {*query, "columns"})
    if twice:
        raise Problem(422, f"{path} may not hold {', '.join(twice)}: it is an option of this command")
    return {key: json.dumps(value, default=str) for key, value in data.items()}


def _request_part(path: str) -> dict[str, Any]:
    content = read_bytes(path)
    if Path(path).suffix.lower() != ".toml":
        data = strict_json(content, path)
        if not isinstance(data, dict):
            raise Problem(422, f"{path} holds no object of keys of a request")
        return data
    return toml_of(text_in(content, path), path)


def _whole_request(name: str, path: str, query: dict[str, str]) -> Any:
    request = read_request(path, name)
    asked = set(query) - {"list_cycles"}
    if asked:
        options = " and ".join(option_of(name) for name in sorted(asked))
        raise Problem(422, f"{path} is a whole request: write what {options} would say into it")
    return request

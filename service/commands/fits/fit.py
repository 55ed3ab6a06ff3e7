"""toeline fit-sn, fit-growth: lines through fatigue tests and laws through growth readings, from tables or requests."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from ...base.forms.printable import printable
from ...base.parsing import request_in
from ...base.problems import Problem
from ...client.exit_codes import FAILED, PASSED
from ...report.renderers import render
from ...topics.registry import find
from ...topics.trials.text import growth_rate_text, sn_text
from ..shared import calculate, read_bytes, write_answer, write_bytes
from ..texts.help import Commands, add_command
from ..texts.parser import FileBeside, InputFile, decimal
from ..texts.under_policy import add_policy

_TABLES = (".csv", ".txt")
_ENDING = "exit code: 0 within validity, 1 a limit of validity is left, 2 bad input or usage"


def add_sn(commands: Commands) -> None:
    """Adds the command fit-sn."""
    text = "fit a line to fatigue tests, with bounds and a design curve"
    examples = (
        "fit-sn tests.csv --rule iiw --survival 0.95 --confidence 0.75 --stress-kind nominal",
        "fit-sn tests.json --compare relieved.csv --save curve.json --report tests.html",
    )
    fit = add_command(commands, "fit-sn", text, examples, ending=_ENDING)
    columns = "range_mpa or load_range, life_cycles, run_out"
    fit.add_argument(
        "file",
        type=InputFile,
        help=f"table of tests (CSV with the columns {columns}) or request of trials/sn-line (JSON)",
    )
    fit.add_argument("--rule", choices=("tolerance", "iso-12107", "iiw", "prediction"), help="of the design curve")
    fit.add_argument("--survival", type=decimal, metavar="P", help="share of all specimens above the lower limits")
    fit.add_argument("--confidence", type=decimal, metavar="P", help="with which limits hold")
    fit.add_argument("--slope", type=decimal, metavar="M", help="slope that is given, not found")
    choices = ("normal", "smallest-extreme-value")
    fit.add_argument("--distribution", choices=choices, help="scatter of log10 life (default normal)")
    kinds = "the stress that the ranges are of: peak-stress, nominal, structural, effective-notch or in your words"
    fit.add_argument("--stress-kind", metavar="KIND", help=kinds)
    fit.add_argument("--range-per-load", type=float, metavar="MPA", help="stress range of a unit of load_range, in MPa")
    fit.add_argument("--range-per-load-origin", metavar="TEXT", help="where that comes from")
    fit.add_argument("--name", metavar="NAME", help="of the series and of its curve (default that of the file)")
    fit.add_argument(
        "--compare", type=InputFile, metavar="FILE", help="table of another series, whose difference is tested"
    )
    fit.add_argument("--curve", metavar="ID", help="design curve beside which the tests are put")
    _add_output(fit)
    add_policy(fit)
    fit.set_defaults(run=_fit_sn)


def add_growth(commands: Commands) -> None:
    """Adds the command fit-growth."""
    text = "find growth constants from crack readings of specimens"
    example = "fit-growth readings.csv --specimen specimen.json --reduction seven-point --confidence 0.95"
    fit = add_command(commands, "fit-growth", text, (example,), ending=_ENDING)
    fit.add_argument(
        "file",
        type=InputFile,
        help="table of readings (CSV: size_mm, cycles, load_factor) or request of trials/growth-rate (JSON)",
    )
    fit.add_argument(
        "--specimen", type=InputFile, metavar="FILE", help="family, parameters and load ratio of the specimen (JSON)"
    )
    fit.add_argument("--reduction", choices=("secant", "seven-point"), help="how rates follow from readings")
    fit.add_argument("--confidence", type=decimal, metavar="P", help="with which limits hold, both sides")
    fit.add_argument("--shedding", action="store_true", help="loads were shed to find the threshold")
    fit.add_argument("--name", metavar="NAME", help="of the specimen (default that of the file)")
    _add_output(fit)
    add_policy(fit)
    fit.set_defaults(run=_fit_growth)


def _add_output(fit: argparse.ArgumentParser) -> None:
    fit.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    fit.add_argument(
        "--save",
        type=FileBeside,
        metavar="FILE",
        help="write the answer (JSON), which --fitted of other commands takes",
    )
    fit.add_argument("--report", type=FileBeside, metavar="FILE", help="write the report (HTML)")


def _fit_sn(given: argparse.Namespace) -> int:
    options = {
        "rule": given.rule,
        "survival_probability": given.survival,
        "confidence": given.confidence,
        "fixed_slope": given.slope,
        "distribution": given.distribution,
        "curve": given.curve,
        "stress_kind": given.stress_kind,
    }
    loads = {"range_per_load_mpa": given.range_per_load, "range_per_load_origin": given.range_per_load_origin}
    data = _read("trials/sn-line", given.file, options, {"name": given.name, **loads})
    if given.compare:
        other = _read("trials/sn-line", given.compare, {}, loads)
        data = {**data, "compare_with": other["series"]}
    return _answer("trials/sn-line", data, given, sn_text)


def _fit_growth(given: argparse.Namespace) -> int:
    own: dict[str, Any] = {"name": given.name}
    if given.specimen:
        own["specimen"] = request_in(read_bytes(given.specimen), "trials/growth-rate")
    if given.shedding:
        own["shedding"] = True
    options = {"reduction": given.reduction, "confidence": given.confidence}
    data = _read("trials/growth-rate", given.file, options, own)
    return _answer("trials/growth-rate", data, given, growth_rate_text)


def _read(calculation: str, file: str, options: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """The request of a table with its options, or of a request file, whose values the options replace.

    own : what belongs to the table itself
    """
    chosen = {name: value for name, value in options.items() if value is not None}
    about = {name: value for name, value in own.items() if value is not None}
    if Path(file).suffix.lower() not in _TABLES:
        if about:
            raise Problem(422, f"{', '.join(about)} is for a table; {file} is a request, which says that itself")
        return {**request_in(read_bytes(file), calculation), **chosen}
    found = find(calculation)
    assert found is not None
    query = {"name": Path(file).stem, **about, **chosen}
    texts = {name: json.dumps(value) for name, value in query.items()}
    return found.bodies["text/csv"](read_bytes(file), texts)


def _answer(calculation: str, data: Any, given: argparse.Namespace, text: Any) -> int:
    found = calculate(calculation, data)
    envelope = found.envelope()
    if given.save:
        write_bytes(found.content(), given.save)
    if given.report:
        write_bytes(render(calculation, found.request, envelope).encode(), given.report)
    if given.json:
        write_bytes(found.content(), None)
    else:
        write_answer(text(printable(envelope)), envelope)
    return FAILED if any(each["severity"] == "outside" for each in envelope["findings"]) else PASSED

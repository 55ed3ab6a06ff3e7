"""Evaluations of tests as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

from fatcore.figures import rounded_down

from ...base.text import WIDTH, fact_lines, findings_text, logarithm, number, table_text

_RULES = {
    "rule": "rule",
    "survival_probability": "survival",
    "confidence": "confidence",
    "factor": "deviations",
    "sd_log10_cycles": "scatter",
    "log10_constant": "log10 constant",
    "range_at_two_million_mpa": "range at 2e6 MPa",
}
_DIFFERENCES = {"variance": "scatter", "slope_difference": "slope", "level": "level", "one_line": "one line for both"}
_LAWS = {
    "name": "specimen",
    "coefficient": "coefficient",
    "exponent": "exponent",
    "exponent_low": "from",
    "exponent_high": "to",
    "sd_log10_rate": "scatter",
    "rates_used": "rates",
    "threshold_mpa_sqrt_mm": "threshold MPa√mm",
}


def sn_text(envelope: Mapping[str, Any]) -> str:
    """Line, scatter, characteristic lines, the comparison and the position where they were asked for."""
    answer = envelope["answer"]
    run_outs = f", {answer['run_outs']} of them run-outs" if answer["run_outs"] else ""
    facts = [
        f"series                {answer['name']}: {answer['tests']} tests{run_outs}, {_words(answer['method'])}",
        f"slope                 {slope_text(answer)}",
        f"range at 2e6 cycles   {number(answer['range_at_two_million_mpa'])} MPa, median",
        f"scatter of log10 life {number(answer['sd_log10_cycles'])}; life 10:90"
        f" {number(answer['scatter']['life_10_90'])}, range 10:90 {number(answer['scatter']['range_10_90'])}",
    ]
    parts = [
        *fact_lines(facts),
        "",
        table_text(characteristic_rows(answer), _RULES),
        f"design curve by the rule {answer['rule']}: {number(_design(answer)['range_at_two_million_mpa'])} MPa at 2e6"
        f" cycles",
        *fact_lines(_comparison(answer["comparison"])),
        *fact_lines(_position(answer["position"])),
        "",
        findings_text(envelope["findings"]),
        "",
        textwrap.fill(envelope["caution"], WIDTH),
    ]
    return "\n".join(parts)


def slope_text(answer: Mapping[str, Any]) -> str:
    """The slope with the bounds of its confidence, or that it was fixed.

    >>> slope_text({"slope": 3.0, "slope_low": 3.0, "slope_high": 3.0})
    '3 (fixed)'
    """
    low, high = answer["slope_low"], answer["slope_high"]
    return f"{number(answer['slope'])} ({'fixed' if low == high else f'{number(low)} to {number(high)}'})"


def _design(answer: Mapping[str, Any]) -> Mapping[str, Any]:
    """The characteristic line that was asked for."""
    found: Mapping[str, Any] = next(line for line in answer["characteristic"] if line["rule"] == answer["rule"])
    return found


def characteristic_rows(answer: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The characteristic lines with the digits that their constants need."""
    return [{**line, "log10_constant": logarithm(line["log10_constant"])} for line in answer["characteristic"]]


def _words(name: str) -> str:
    return name.replace("-", " ")


def _comparison(found: Mapping[str, Any] | None) -> list[str]:
    if found is None:
        return []
    tests = [f"{words} {_differ(found[key])}" for key, words in _DIFFERENCES.items() if found[key] is not None]
    return [
        "",
        f"compared with         {'; '.join(tests)}",
        f"life of the second    {number(found['life_factor'])} times ({number(found['life_factor_low'])} to"
        f" {number(found['life_factor_high'])}), range {number(found['range_factor'])} times",
    ]


def _differ(test: Mapping[str, Any]) -> str:
    return f"{'differs' if test['differ'] else 'not shown to differ'} (p = {number(test['chance'])})"


def _position(found: Mapping[str, Any] | None) -> list[str]:
    if found is None:
        return []
    return [
        "",
        f"beside                {found['curve']}: {number(100.0 * found['share_below'])} % of the tests below it,"
        f" shortest failure {rounded_down(found['least_life_factor'])} times its life",
    ]


def growth_rate_text(envelope: Mapping[str, Any]) -> str:
    """Law of each specimen and of all together."""
    answer = envelope["answer"]
    rows = [{**dict.fromkeys(_LAWS), **(each["law"] or {}), **_own(each)} for each in answer["specimens"]]
    pooled = answer["pooled"]
    if pooled is not None:
        rows.append({**dict.fromkeys(_LAWS), **pooled["law"], "name": "all together"})
    parts = [
        "rate = coefficient * range^exponent, in mm/cycle and MPa√mm",
        table_text(rows, _LAWS),
        *_pooled(pooled),
        "",
        findings_text(envelope["findings"]),
        "",
        textwrap.fill(envelope["caution"], WIDTH),
    ]
    return "\n".join(parts)


def _own(specimen: Mapping[str, Any]) -> dict[str, Any]:
    return {"name": specimen["name"], "threshold_mpa_sqrt_mm": specimen["threshold_mpa_sqrt_mm"]}


def _pooled(found: Mapping[str, Any] | None) -> list[str]:
    if found is None:
        return []
    return [
        f"scatter of log10 rate {number(found['sd_between'])} between specimens, {number(found['sd_within'])} within"
    ]

"""The answer of a check as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fatcore.figures import (
    against,
    as_given,
    beside_allowed,
    beside_asked,
    beside_limit,
    coordinate,
    counted,
    just_passing,
    lowered,
    rounded_down,
)

from ...base.finding_rows import SEVERITIES
from ...base.forms.fitted_table import SOFT
from ...base.forms.lives import asked_text, cycles_text, service_text, without_choices
from ...base.text import (
    WIDTH,
    by_gravity,
    end_words,
    fact_lines,
    facts_text,
    findings_text,
    number,
    place_text,
    table_text,
)
from .lines import LineInput
from .locations import line_course

LINE_COLUMNS = {
    "name": "line",
    "verdict": "verdict",
    "position_mm": "at mm",
    "equivalent_stress_mpa": "range MPa",
    "biaxiality_ratio": f"bi{SOFT}axiality",
    "curve": "curve",
    "life_cycles": "life cycles",
    "damage": "damage",
    "governing_utilisation": f"utili{SOFT}sation",
    "largest_unjudged_utilisation": "not judged",
}


def check_text(envelope: Mapping[str, Any], *, every_finding: bool = False, lines: Sequence[LineInput] = ()) -> str:
    """The whole check: verdict, governing point, a row a line, findings, caution.

    every_finding : also the findings of the lines that neither govern nor decide, but for the gravest
    lines         : of the request, to say where each starts and which way it runs
    """
    answer = envelope["answer"]
    point = answer["governing"]
    findings = envelope["findings"]
    deciding = {None, point["line"], *answer["deciding_lines"]}
    shown = [f for f in findings if every_finding or f["line"] in deciding or _grave(f)]
    ratio = answer["biaxiality_ratio"]
    damage, limit = beside_limit(answer["damage"], answer["damage_limit"])
    stress, allowed = beside_allowed(answer["equivalent_stress_mpa"], answer["allowable_stress_mpa"])
    facts = [
        f"verdict               {answer['verdict'].upper()}{_decided(answer)}",
        f"governing point       {point['line']}, {place_text(point)}",
        f"equivalent range      {stress} MPa",
        f"biaxiality ratio      {'-' if ratio is None else number(ratio)}",
        f"curve                 {answer['curve']}",
        f"life                  {cycles_text(answer['life_cycles'])}",
        *_repeats_lines(answer),
        f"damage                {damage} of {limit}",
        f"utilisation           {against(answer['utilisation'], 1.0)} in stress",
        f"allowable range       {allowed} MPa",
        f"factor on all loads   {_factor_words(answer)}",
        *_growth_lines(answer["growth"]),
    ]
    parts = [
        *fact_lines(facts),
        "",
        *_described(answer["descriptions"]),
        table_text([_governing_row(line) for line in by_gravity(answer["lines"])], LINE_COLUMNS),
        "",
        *_places(answer, lines),
        "",
        findings_text(shown, {name for name in deciding if name}, [line["name"] for line in answer["lines"]]),
        *_hidden(findings, shown),
        "",
        textwrap.fill(envelope["caution"], WIDTH),
        f"record: {envelope['record']['input_digest'][:23]}..., toeline {envelope['record']['version']}",
    ]
    return "\n".join(parts)


def _hidden(findings: Sequence[Mapping[str, Any]], shown: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """How many findings of lines that neither govern nor decide are not shown, by severity."""
    left = Counter(finding["severity"] for finding in findings) - Counter(finding["severity"] for finding in shown)
    if left:
        words = ", ".join(counted(left[each], each) for each in SEVERITIES if left[each])
        yield f"\nnot shown of the other lines: {words} (--findings)"


def _repeats_lines(answer: Mapping[str, Any]) -> Iterator[str]:
    """The life in repeats of the loading, and in the unit of one where the request gives it."""
    asked, life = answer["repeats_asked"], answer["service_life"]
    yield f"life in repeats       {asked_text(answer['life_repeats'], asked)}"
    if life is not None:
        yield f"life in service       {service_text(life)}"


def _described(words: Mapping[str, Any] | None) -> Iterator[str]:
    """What material, load cases and blocks are, in words of the user."""
    if words is None:
        return
    named = {
        "material": words["material"],
        **{f"material of {line}": text for line, text in words["line_materials"].items()},
    }
    named |= {f"load case {case}": text for case, text in words["load_cases"].items()}
    for index, block in enumerate(words["blocks"]):
        named[f"block {index + 1}"] = ": ".join(filter(None, (block["name"], block["description"])))
    yield facts_text({name: text for name, text in named.items() if text})
    yield ""


def _places(answer: Mapping[str, Any], lines: Sequence[LineInput]) -> Iterator[str]:
    """The governing station of every line, and the course of those that are given."""
    courses = {line.name: line_course(line) for line in lines}
    yield "governing station of every line"
    for line in by_gravity(answer["lines"]):
        yield f"  {line['name']}: {place_text(line['governing'])}"
        yield from (f"      {words} {place}" for words, place in courses.get(line["name"], {}).items())


def _grave(finding: Mapping[str, Any]) -> bool:
    return bool(finding["severity"] == "outside" or finding["code"] == "unjudged-over-limit-with-reason")


def _decided(answer: Mapping[str, Any]) -> str:
    return f", by {', '.join(answer['deciding_lines'])}" if answer["deciding_lines"] else ""


def _factor_words(answer: Mapping[str, Any]) -> str:
    """The factor that just passes, and for what it holds where a crack is followed besides."""
    factor, growth = answer["factor_to_limit"], answer["growth"]
    if growth is None:
        return f"{just_passing(factor)} just passes"
    if factor is None:
        return "none stated: the crack fails"
    return f"{just_passing(factor)} just passes on the design curve alone, not for the crack"


def _growth_lines(growth: Mapping[str, Any] | None) -> list[str]:
    """Life of the crack in two lines; it stands beside the life of the curve."""
    if growth is None:
        return []
    size = f"{as_given(growth['history']['depth_mm'][0])} to {number(growth['final_depth_mm'])} mm deep"
    repeats, asked = beside_asked(growth["life_repeats"], growth["repeats_asked"])
    lives = ", ".join([f"{cycles_text(growth['life_cycles'])}, {repeats} repeats", *_milder(growth)])
    longer = growth["life_extension_factor"]
    shared = "" if longer is None else f", {rounded_down(longer)} times the life under constant load"
    asked += " asked"
    service = "" if growth["service_life"] is None else f"; {service_text(growth['service_life'])}"
    if not growth["reaches_target"] and growth["end_reason"] != "cycles":
        asked += ": the check FAILS by it"
    return [
        f"crack at {growth['line']}: {lives}, {size}, {end_words(growth)}{shared}",
        f"{' ' * 22}({asked}{service}; beside the life of the curve, not to be added)",
    ]


def _milder(growth: Mapping[str, Any]) -> Iterator[str]:
    yield from (f"{life} {words}" for words, life in without_choices(growth))


def _governing_row(line: Mapping[str, Any]) -> dict[str, Any]:
    at = line["governing_index"]
    row = {key: line[key][at] if isinstance(line[key], list) else line[key] for key in LINE_COLUMNS}
    unjudged = row["largest_unjudged_utilisation"]
    return row | {
        "position_mm": coordinate(row["position_mm"]),
        "life_cycles": "infinite" if row["life_cycles"] is None else lowered(row["life_cycles"]),
        "damage": against(row["damage"], line["damage_limit"]),
        "governing_utilisation": against(row["governing_utilisation"], 1.0),
        "largest_unjudged_utilisation": None if unjudged is None else against(unjudged, 1.0),
    }

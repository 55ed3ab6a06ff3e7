"""Reads the answer of a check into what a gate compares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fatcore.figures import beside_asked

from ..base.finding_rows import finding_rows
from ..lines.directions import ends_of, kept_directions
from ..topics.check.lines import LineInput
from ..topics.check.models import CheckRequest
from .alike.pattern import pattern_of
from .baseline import StoredLine
from .check_rules import check_rules, digest_of, line_rules, reader_words
from .load_reach import load_digest, load_figures, load_reach
from .result import Answered, AnsweredLine


def answer_check(key: str, request: CheckRequest, envelope: Mapping[str, Any]) -> Answered:
    """One check with its answer; the lines are those of the request in their order."""
    record, findings = envelope["record"], envelope["findings"]
    common = {
        "request_digest": digest_of(request),
        "calculation": f"revision {record['revision']} of toeline {record['version']}",
    }
    pairs = zip(request.lines, envelope["answer"]["lines"], strict=True)
    doubts = [row.message for row in finding_rows(findings) if row.severity != "note"]
    return Answered(
        key=key,
        title=request.title,
        input_digest=record["input_digest"],
        request_digest=common["request_digest"],
        version=record["version"],
        verdict=envelope["answer"]["verdict"],
        **_crack(envelope["answer"]["growth"]),
        load_reach=load_reach(request.loading),
        load_digest=load_digest(request.loading),
        load_figures=load_figures(request.loading),
        rules=check_rules(request, envelope),
        lines=tuple(_line(given, line, findings, common) for given, line in pairs),
        doubts=tuple(dict.fromkeys(doubts)),
        findings=_codes(findings, None),
        words=reader_words(request),
        caution=envelope["caution"],
        policy=record.get("policy"),
    )


def _codes(findings: Sequence[Mapping[str, Any]], line: str | None) -> list[str]:
    return sorted({f"{item['severity']} {item['code']}" for item in findings if item["line"] == line})


def _crack(growth: Mapping[str, Any] | None) -> dict[str, Any]:
    if growth is None:
        return {"crack_life_repeats": None, "crack_fault": None}
    life, wanted = growth["life_repeats"], growth["repeats_asked"]
    fault = f"the crack at line {growth['line']} lasts {' of '.join(beside_asked(life, wanted))} repeats"
    return {"crack_life_repeats": life, "crack_fault": None if growth["reaches_target"] else fault}


def _line(
    given: LineInput,
    line: Mapping[str, Any],
    findings: Sequence[Mapping[str, Any]],
    common: Mapping[str, Any],
) -> AnsweredLine:
    at, positions = line["governing_index"], line["position_mm"]
    used = {"utilisation": line["governing_utilisation"], "unjudged_utilisation": line["largest_unjudged_utilisation"]}
    state = StoredLine(
        **used,
        **{f"reference_{name}": value for name, value in used.items()},
        highest_utilisation=used["utilisation"],
        verdict=line["verdict"],
        curve=line["curve"],
        index=at,
        position_mm=positions[at],
        stations=len(positions),
        length_mm=max(positions) - min(positions),
        pattern=pattern_of(given),
        ends_mm=ends_of(given),
        rules=line_rules(given, line),
        directions=kept_directions(given, at),
        life_cycles=line["life_cycles"][at],
        findings=_codes(findings, line["name"]),
        **common,
    )
    rows = finding_rows(finding for finding in findings if finding["line"] in {given.name, None})
    return AnsweredLine(
        given=given,
        state=state,
        place=line["governing"],
        equivalent_stress_mpa=line["equivalent_stress_mpa"][at],
        allowable_stress_mpa=line["allowable_stress_mpa"],
        outside=tuple(row.message for row in rows if row.severity == "outside"),
    )

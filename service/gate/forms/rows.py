"""What every form of the result of a gate is made of: its rows, facts of a line, what is reported besides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fatcore.figures import beside_allowed, change, coordinate

from ...base.rules.words import policy_lines
from ...base.text import number, place_text
from ...comparison.tolerance import same
from ..baseline import Accepted
from ..gravity import gravest_of, lines_by_gravity
from ..result import CaseResult, GateResult, Limits, LineResult, location

MOST_NAMES = 3
NOT_PASSED = {"fail": "failed", "undecided": "undecided"}
COLUMNS = {
    "check": "check",
    "line": "weld line",
    "utilisation": "utilisation",
    "before": "baseline",
    "growth": "change",
    "curve": "curve",
    "place": "governing station",
    "result": "result",
}


def line_facts(line: LineResult, limits: Limits) -> list[str]:
    """What a reader needs to know of one line: station, curve, stresses, utilisation, change."""
    facts = []
    if line.now is not None:
        facts = [
            f"governing point: {line.name}, {place_of(line)}",
            f"curve: {line.now.curve}",
            *_stress_facts(line),
            f"utilisation: {limits.used_text(line.now.utilisation)}",
        ]
    if line.before is None:
        return [*facts, "baseline: none"]
    before = f"baseline: utilisation {limits.used_text(line.before.utilisation)}"
    before += f" at station {line.before.index} ({coordinate(line.before.position_mm)} mm), {line.before.curve}"
    facts.append(before)
    if line.before.verdict != "pass":
        facts.append(f"baseline: {NOT_PASSED[line.before.verdict]}")
    reference = line.before.reference("utilisation")
    if reference is not None and not same(reference, line.before.utilisation):
        facts.append(f"growth counts from: utilisation {limits.used_text(reference)}")
    return facts if line.growth_pct is None else [*facts, f"change: {growth_text(line)}"]


def _stress_facts(line: LineResult) -> list[str]:
    if line.equivalent_stress_mpa is None or line.allowable_stress_mpa is None:
        return [f"equivalent range: {value_text(line.equivalent_stress_mpa)} MPa", "allowable range: - MPa"]
    stress, allowed = beside_allowed(line.equivalent_stress_mpa, line.allowable_stress_mpa)
    return [f"equivalent range: {stress} MPa", f"allowable range: {allowed} MPa"]


def place_of(line: LineResult) -> str:
    """Its governing station."""
    return "-" if line.place is None else place_text(line.place)


def before_text(line: LineResult, limits: Limits) -> str:
    """What growth counts from, and whether the stored state did not pass."""
    if line.before is None:
        return "-"
    failed = NOT_PASSED.get(line.before.verdict)
    return used_text(line.before.reference("utilisation"), limits) + (f" ({failed})" if failed else "")


def value_text(value: float | None) -> str:
    """A number, or a dash."""
    return "-" if value is None else number(value)


def used_text(value: float | None, limits: Limits) -> str:
    """A utilisation on its side of 1 and of the limit of the run, or a dash."""
    return "-" if value is None else limits.used_text(value)


def growth_text(line: LineResult) -> str:
    """Growth of the utilisation, or a dash."""
    return "-" if line.growth_pct is None else change(line.growth_pct)


def state_of(check: CaseResult, line: LineResult, compared: bool) -> str:
    """The result of a line in one word."""
    if line.now is None:
        return "VANISHED" if line.faults else "vanished"
    if not line.faults and check.faults:
        return "CHECK FAILED"  # as a whole: a line of it is not to be read as passed
    if not line.faults:
        return "passed, new" if compared and line.before is None else "passed"
    return "UNDECIDED" if gravest_of(line) == "undecided" else "FAILED"


def line_rows(result: GateResult) -> Iterator[dict[str, str]]:
    """A row a line; those with a fault first, the gravest before the others; of the same the most used."""
    for check, line in lines_by_gravity(result):
        now = line.now
        yield {
            "check": check.key,
            "line": line.name,
            "utilisation": used_text(None if now is None else now.utilisation, result.limits),
            "before": before_text(line, result.limits),
            "growth": growth_text(line),
            "curve": "-" if now is None else now.curve,
            "place": place_of(line),
            "result": state_of(check, line, result.compared),
        }


def columns_of(result: GateResult) -> dict[str, str]:
    """Columns of the table with their headings."""
    left_out = () if result.compared else ("before", "growth")
    return {key: head for key, head in COLUMNS.items() if key not in left_out}


def verdict_word(result: GateResult) -> str:
    """The result of the run in a word."""
    return {0: "PASSED", 1: "FAILED", 2: "INPUT REFUSED", 3: "NO ANSWER"}[result.exit_code]


def notes_of(result: GateResult) -> Iterator[str]:
    """What is reported of checks and lines though it fails nothing."""
    for check in result.checks:
        yield from (f"{check.key}: {text}" for text in check.notes)
        yield from (f"{check.key}, {line.name}: {text}" for line in check.lines for text in line.notes)


def run_notes_of(result: GateResult) -> Iterator[str]:
    """What is reported of the run; what was accepted is among it in every run."""
    yield from (accepted_text(entry, result.returned(entry)) for entry in result.accepted)
    yield from result.notes


def accepted_text(entry: Accepted, returned: Sequence[str] = ()) -> str:
    """An accepted change in one line, with its reason.

    returned : lines that were accepted as vanished and are there again
    """
    changes = "; ".join([*entry.changes, *(f"{name} is back" for name in returned)])
    return f"{location(entry.check, entry.line)}: accepted because {entry.because} ({changes})"


def doubts_of(result: GateResult) -> list[str]:
    """Each doubt of the answers once, with the checks that have it."""
    keys: dict[str, list[str]] = {}
    for check in result.checks:
        for text in check.doubts:
            keys.setdefault(text, []).append(check.key)
    several = {text: f"{len(found)} checks" for text, found in keys.items() if len(found) > MOST_NAMES}
    return [f"{several.get(text) or ', '.join(found)}: {text}" for text, found in keys.items()]


def cautions_of(result: GateResult) -> list[str]:
    """What every answer is to be read with, each once."""
    return list(dict.fromkeys(check.caution for check in result.checks if check.caution))


def policies_of(result: GateResult) -> list[str]:
    """The rules of a company that the answers obey, each once."""
    return list(dict.fromkeys(line for check in result.checks for line in policy_lines(check.policy)))


def bounds_text(result: GateResult) -> str:
    """What the lines were judged by."""
    limits, text = result.limits, f" (limit {number(result.limits.utilisation)}"
    if not result.compared:
        return text + ")"
    return text + f", growth up to {number(limits.growth_pct)} % above {number(limits.growth_floor)})"


def changes_of(check: CaseResult) -> Iterator[tuple[str | None, list[str]]]:
    """What changed since the stored state: line and texts, line None for the check as a whole; only what did."""
    grouped: dict[str | None, list[str]] = {}
    for line, text in () if check.since is None else check.since.texts:
        grouped.setdefault(line, []).append(text)
    yield from grouped.items()

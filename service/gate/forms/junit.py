"""The result of a gate as JUnit XML: one suite a check file, one test case a weld line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

from ...base.forms.printable import escaped, inert
from ...base.rules.words import policy_lines
from ...client.exit_codes import BAD_INPUT
from ..result import CaseResult, Fault, GateResult, Limits
from .rows import accepted_text, line_facts


def junit_xml(result: GateResult, *, stamp: str | None = None) -> str:
    """The XML text; the same result gives the same text.

    stamp : time of the run to be written down, ISO 8601; None leaves it out
    """
    root = ET.Element("testsuites", {"name": "toeline gate"})
    for check in result.checks:
        accepted = [
            (entry.line, accepted_text(entry, result.returned(entry)))
            for entry in result.accepted
            if entry.check == check.key
        ]
        root.append(_suite(check, accepted, result.pages.get(check.key), result.limits))
    run = _of_the_run(result)
    if run is not None:
        root.append(_counted(run))
    for suite in root if stamp is not None else ():
        suite.set("timestamp", str(stamp))
    for count in ("tests", "failures", "errors"):
        root.set(count, str(sum(int(suite.get(count, "0")) for suite in root)))
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _of_the_run(result: GateResult) -> ET.Element | None:
    """What is known of the run as a whole, and of checks that are not in it."""
    run, keys = CaseResult(key="run"), {check.key for check in result.checks}
    reported = [accepted_text(entry) for entry in result.accepted if entry.check not in keys]
    if not (reported or result.notes):
        return None
    suite = ET.Element("testsuite", {"name": run.key})
    suite.append(_case(run, "notes", (), [*reported, *result.notes]))
    return suite


def _suite(
    check: CaseResult, accepted: Sequence[tuple[str | None, str]], page: str | None, limits: Limits
) -> ET.Element:
    suite = ET.Element("testsuite", {"name": _clean(check.key)})
    where = [*policy_lines(check.policy)]
    where += [] if page is None else [f"report: {page}"]
    for line in check.lines:
        reported = [text for name, text in accepted if name in {None, line.name}]
        suite.append(_case(check, line.name, line.faults, [*line_facts(line, limits), *line.notes, *reported, *where]))
    names = {None, *(line.name for line in check.lines)}
    whole = [*check.notes, *(text for name, text in accepted if name not in names), *where]
    if check.faults or whole:
        suite.append(_case(check, "check as a whole", check.faults, whole))
    if check.error is not None:
        kind = "refused" if check.error_code == BAD_INPUT else "unreachable"
        case = _empty_case(check, "answer")
        detail = {"message": _clean(check.error.splitlines()[0]), "type": kind}
        ET.SubElement(case, "error", detail).text = _lines(check.error.splitlines())
        suite.append(case)
    return _counted(suite)


def _counted(suite: ET.Element) -> ET.Element:
    counts = {"tests": len(suite), "failures": len(suite.findall("testcase/failure"))}
    counts |= {"errors": len(suite.findall("testcase/error")), "skipped": 0}
    for name, count in counts.items():
        suite.set(name, str(count))
    return suite


def _empty_case(check: CaseResult, name: str) -> ET.Element:
    return ET.Element("testcase", {"classname": _clean(check.key), "name": _clean(name)})


def _case(check: CaseResult, name: str, faults: Sequence[Fault], facts: Sequence[str]) -> ET.Element:
    case = _empty_case(check, name)
    reported = _lines(facts)
    if not faults:
        ET.SubElement(case, "system-out").text = reported
        return case
    # one failure a case, as readers expect; the gravest names its type
    message = "; ".join(fault.text for fault in faults)
    failure = ET.SubElement(case, "failure", {"message": _clean(message), "type": faults[0].kind})
    failure.text = _lines(fault.text for fault in faults) + "\n" + reported
    return case


def _clean(text: str) -> str:
    """A text of one line: what shows the report prints it, where it gives no command either."""
    return inert(escaped(text))


def _lines(texts: Iterable[str]) -> str:
    return "\n".join(map(_clean, texts))

"""The result of a gate as JUnit XML: one suite a check file, one test case a weld line."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from service.gate_result import CheckResult, GateResult, LineResult
from service.gate_text import line_facts

__all__ = ["junit_xml"]

# characters that XML 1.0 cannot hold at all
FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def junit_xml(result: GateResult, *, stamp: str | None = None) -> str:
    """The XML text; the same result gives the same text.

    stamp : time of the run to be written down, ISO 8601; None leaves it out
    """
    root = ET.Element("testsuites", {"name": "toeline gate"})
    for check in result.checks:
        suite = _suite(check)
        if stamp is not None:
            suite.set("timestamp", stamp)
        root.append(suite)
    for count in ("tests", "failures", "errors"):
        root.set(count, str(sum(int(suite.get(count, "0")) for suite in root)))
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _suite(check: CheckResult) -> ET.Element:
    failures = sum(bool(line.faults) for line in check.lines)
    errors = int(check.error is not None)
    counts = {"tests": len(check.lines) + errors, "failures": failures, "errors": errors, "skipped": 0}
    suite = ET.Element(
        "testsuite", {"name": _clean(check.key), **{key: str(count) for key, count in counts.items()}}
    )
    for line in check.lines:
        suite.append(_case(check, line))
    if check.error is not None:
        case = ET.SubElement(suite, "testcase", {"classname": _clean(check.key), "name": "answer"})
        kind = "refused" if check.error_code == 2 else "unreachable"
        detail = {"message": _clean(check.error.splitlines()[0]), "type": kind}
        ET.SubElement(case, "error", detail).text = _clean(check.error)
    return suite


def _case(check: CheckResult, line: LineResult) -> ET.Element:
    case = ET.Element("testcase", {"classname": _clean(check.key), "name": _clean(line.name)})
    facts = _clean("\n".join(line_facts(line)))
    if not line.faults:
        ET.SubElement(case, "system-out").text = facts
        return case
    # one failure a case, as readers expect; the gravest names its type
    message = "; ".join(fault.text for fault in line.faults)
    failure = ET.SubElement(case, "failure", {"message": _clean(message), "type": line.faults[0].kind})
    failure.text = _clean("\n".join(fault.text for fault in line.faults)) + "\n" + facts
    return case


def _clean(text: str) -> str:
    return FORBIDDEN.sub("?", text)

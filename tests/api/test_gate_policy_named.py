"""A gate names the rules of the company that its answers obey. Own expectation."""

from __future__ import annotations

from dataclasses import replace

from service.gate.forms.junit import junit_xml
from service.gate.forms.markdown import markdown_text
from service.gate.forms.text import terminal_text
from service.gate.result import CaseResult, GateResult, Limits

CHECK = CaseResult(key="a.json", policy="works 2026-1 sha256:3a")


def test_every_form_of_a_gate_names_the_policy() -> None:
    run = GateResult(checks=(CHECK,), limits=Limits(), compared=False)
    for text in (terminal_text(run), markdown_text(run), junit_xml(run)):
        assert "rules of the company: works 2026-1 sha256:3a" in text
    bare = replace(run, checks=(replace(CHECK, policy=""),))
    assert "rules of the company" not in terminal_text(bare) + markdown_text(bare) + junit_xml(bare)

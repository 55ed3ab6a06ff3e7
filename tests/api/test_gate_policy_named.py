"""A gate names the rules of the company that its answers obey. Own expectation."""

from __future__ import annotations

import json
from dataclasses import replace

from service.gate.forms.junit import junit_xml
from service.gate.forms.markdown import markdown_text
from service.gate.forms.text import json_text, terminal_text
from service.gate.result import CaseResult, GateResult, Limits

POLICY = {"name": "works", "version": "2026-1", "digest": f"sha256:{'3a' * 32}"}
CHECK = CaseResult(key="a.json", policy=POLICY)


def test_every_form_of_a_gate_names_the_policy() -> None:
    run = GateResult(checks=(CHECK,), limits=Limits(), compared=False)
    assert json.loads(json_text(run))["checks"][0]["policy"] == POLICY
    for text in (terminal_text(run), markdown_text(run), junit_xml(run)):
        assert "rules of the company: works 2026-1 sha256:3a" in text
        assert text.count("rules of the company") == 1
    bare = replace(run, checks=(replace(CHECK, policy=None),))
    assert "rules of the company" not in terminal_text(bare) + markdown_text(bare) + junit_xml(bare)

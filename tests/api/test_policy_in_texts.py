"""Every command that answers by a text names the rules of the company once, and none without any. Own expectation."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from service.cli import main

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
HEAD = "rules of the company: works 3 sha256:"
COMMANDS = {
    "check": "check/one-toe-constant",
    "damage": "spectrum/damage-blocks",
    "count": "spectrum/cycles-closed",
    "grow": "cracks/growth-surface-blocks",
    "fit-sn": "trials/sn-line-hanger",
    "fit-growth": "trials/growth-rate-plate",
    "curves": "",
    "gate": "check/one-toe-constant",
}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_text_names_the_policy_once(command: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    policy = tmp_path / "policy.toml"
    policy.write_text('name = "works"\nversion = "3"\n', encoding="utf-8")
    case = COMMANDS[command]
    request = tmp_path / "request.json"
    if case:
        request.write_text(json.dumps(json.loads((EXAMPLES / f"{case}.json").read_bytes())["request"]))
    words = [command, *([str(request)] if case else [])]
    main(words)
    assert "rules of the company" not in capsys.readouterr().out
    main([*words, "--policy", str(policy)])
    out = capsys.readouterr().out
    assert (out.count(HEAD), out.count("rules of the company")) == (1, 1)
    main([*words, "--policy", str(policy), "--json"])
    assert '"version":"3"' in capsys.readouterr().out.replace('": ', '":')

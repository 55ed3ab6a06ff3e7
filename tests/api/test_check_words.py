"""Names and descriptions of material, load cases, blocks and stretches: repeated, and without any number in them."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from service.base.envelope import evaluate
from service.gate.check_rules import check_rules, digest_of
from service.report.renderers import render
from service.topics.check.models import CheckRequest
from service.topics.check.text import check_text
from service.topics.registry import find
from tests.api.test_command_line import refused
from tests.api.test_gate import request
from tests.api.test_map_histories import LOOP_MAP, TABLE

FACTORS = {"vertical": {"maximum": 9.0, "minimum": 0.0}}
BLOCK = {"factors": FACTORS, "cycles": 1e4}
NAMED = {"name": "field", "description": "ruts & stones"}
PLAIN: dict[str, dict[str, Any]] = {
    "constant": {"kind": "constant", **BLOCK},
    "blocks": {"kind": "blocks", "blocks": [BLOCK, BLOCK]},
    "history": {"kind": "history", "channels": {"vertical": [0.0, 9.0, 0.0, 5.0, 0.0]}},
}
TOLD: dict[str, dict[str, Any]] = {
    "constant": {**PLAIN["constant"], **NAMED},
    "blocks": {"kind": "blocks", "blocks": [{**BLOCK, **NAMED}, BLOCK]},
    "history": {
        **PLAIN["history"],
        "stretches": [
            {**NAMED, "samples": 1, "repeats": 3, "file": "run.npy", "sample_rate_hz": 50.0},
            {"samples": 2},
        ],
    },
}
EMPTY = {"name": None, "description": None}


def answered(client: httpx.Client, **parts: Any) -> Any:
    return client.post("/v1/check", json={**request(), **parts}).json()


@pytest.mark.parametrize("kind", PLAIN)
def test_words_are_repeated_and_change_no_number(client: httpx.Client, kind: str) -> None:
    plain = answered(client, loading=PLAIN[kind])
    assert plain["answer"].pop("descriptions") is None
    words = {"material": {"description": "as rolled"}, "load_cases": {"vertical": "of the spring"}}
    told = answered(client, loading=TOLD[kind], **words)
    assert told["answer"].pop("descriptions") == {
        "material": "as rolled",
        "line_materials": {},
        "load_cases": {"vertical": "of the spring"},
        "blocks": [NAMED] if kind == "constant" else [NAMED, EMPTY],
    }
    assert told["answer"] == plain["answer"]
    assert told["findings"] == plain["findings"]


def test_words_of_one_part_only(client: httpx.Client) -> None:
    told = answered(client, load_cases={"vertical": "of the spring"})["answer"]["descriptions"]
    assert told == {
        "material": None,
        "line_materials": {},
        "load_cases": {"vertical": "of the spring"},
        "blocks": [],
    }


def test_words_of_the_material_of_a_line(client: httpx.Client) -> None:
    lines = [{**line, "material": {"description": "cast"}} for line in request()["lines"]]
    told = answered(client, lines=lines)["answer"]["descriptions"]
    assert told["line_materials"] == {line["name"]: "cast" for line in lines}


@pytest.mark.parametrize("kind", PLAIN)
def test_words_are_no_rule_of_a_gate(kind: str) -> None:
    told = {
        "material": {"description": "as rolled"},
        "load_cases": {"vertical": "of the spring"},
        "loading": TOLD[kind],
    }
    plain, with_words = (
        CheckRequest.model_validate({**request(), "material": {}, **p}) for p in ({"loading": PLAIN[kind]}, told)
    )
    envelope = {"answer": {}, "record": {"tables": {}}}
    assert check_rules(plain, envelope) == check_rules(with_words, envelope)
    assert digest_of(plain) == digest_of(with_words)


@pytest.mark.parametrize("kind", PLAIN)
def test_the_report_shows_the_words(kind: str) -> None:
    calculation = find("check")
    assert calculation is not None
    words = {"material": {"description": "as rolled"}, "load_cases": {"vertical": "of the spring"}}
    found = evaluate(calculation, {**request(), **words, "loading": TOLD[kind]})
    page = render("check", found.request, found.envelope())
    for shown in (
        "as rolled",
        "of the spring",
        "field",
        "ruts &amp; stones",
        *(["run.npy"] if kind == "history" else []),
    ):
        assert shown in page, shown
    plain = evaluate(calculation, {**request(), "loading": PLAIN[kind]})
    assert "description" not in render("check", plain.request, plain.envelope())


@pytest.mark.parametrize(
    ("parts", "where"),
    [
        ({"load_cases": {"lateral": "no such"}}, "/load_cases/lateral"),
        ({"load_cases": {"vertical": ""}}, "/load_cases/vertical"),
        ({"material": {"description": "x" * 501}}, "/material/description"),
        ({"loading": {**PLAIN["constant"], "name": "x" * 101}}, "/loading/name"),
        ({"loading": {**PLAIN["history"], "stretches": [{"samples": 4}]}}, "/loading/stretches"),
        ({"loading": {**PLAIN["history"], "stretches": [{"samples": 5, "name": ""}]}}, "/loading/stretches/0/name"),
    ],
)
def test_words_that_say_nothing_or_too_much_are_refused(
    client: httpx.Client, parts: dict[str, Any], where: str
) -> None:
    assert where in [error["pointer"] for error in answered(client, **parts)["errors"]]


def test_a_map_describes_load_cases_that_its_lines_have(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    told = LOOP_MAP.replace("[request.loading]", '[request.load_cases]\npull = "along x"\n[request.loading]')
    assert refused(tmp_path, told, TABLE) == 0
    assert refused(tmp_path, told.replace("\npull =", "\npush ="), TABLE) == 2
    assert "/request/load_cases/push: no line has the load case 'push'" in capsys.readouterr().err


def test_the_text_names_material_load_cases_and_blocks(client: httpx.Client) -> None:
    words = {"material": {"description": "as rolled"}, "load_cases": {"vertical": "of the spring"}}
    lines = check_text(answered(client, loading=TOLD["blocks"], **words)).splitlines()
    assert "material            as rolled" in lines
    assert "load case vertical  of the spring" in lines
    assert "block 1             field: ruts & stones" in lines
    assert not [line for line in lines if line.startswith("block 2")]
    assert "\nload case" not in check_text(answered(client, loading=PLAIN["blocks"]))

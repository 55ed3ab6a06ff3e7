"""Names and descriptions of loads, blocks and materials of a damage sum and of a growing crack."""

from __future__ import annotations

import copy
from typing import Any

import httpx
import pytest

from service.base.text import growth_text
from tests.api.report_pages import HOSTILE, Balanced, example, page_of

BLOCKS: dict[str, Any] = {"range_mpa": [100.0, 50.0], "count": [1e5, 1e6], "curve": "iiw-2016-normal-steel-71"}
WORDS: dict[str, Any] = {
    "load": {"name": "season", "description": "one season of the trailer (invented)"},
    "blocks": [{"name": "field", "description": "ruts"}, {"name": "road"}],
    "material": "S355J2, as rolled",
}


def growing() -> dict[str, Any]:
    request = copy.deepcopy(example("cracks/growth-surface-blocks"))
    return {**request, "descriptions": {**WORDS, "blocks": [{"name": name} for name in ("field", "road", "kerb")]}}


@pytest.mark.parametrize(
    ("name", "given"), [("spectrum/damage", {**BLOCKS, "descriptions": WORDS}), ("cracks/growth", growing())]
)
def test_words_are_repeated_and_change_no_number(client: httpx.Client, name: str, given: dict[str, Any]) -> None:
    plain = client.post(f"/v1/{name}", json={**given, "descriptions": None}).json()
    told = client.post(f"/v1/{name}", json=given).json()
    assert plain["answer"].pop("descriptions") is None
    words = told["answer"].pop("descriptions")
    assert words["load"] == WORDS["load"]
    assert [block["name"] for block in words["blocks"]] == [b["name"] for b in given["descriptions"]["blocks"]]
    assert (told["answer"], told["findings"]) == (plain["answer"], plain["findings"])
    assert told["record"]["input_digest"] != plain["record"]["input_digest"]  # words are a part of the request
    text = Balanced(page_of(client, given, name)).text
    for shown in ("season", "one season of the trailer (invented)", "field", "road", "S355J2, as rolled"):
        assert shown in text


def test_the_text_of_a_growing_crack_names_its_load(client: httpx.Client) -> None:
    text = growth_text(client.post("/v1/cracks/growth", json=growing()).json())
    assert "season: one season of the trailer (invented)" in text
    assert "S355J2, as rolled" in text


@pytest.mark.parametrize(
    ("name", "given", "words", "message"),
    [
        ("spectrum/damage", BLOCKS, {"blocks": [{"name": "one"}]}, "1 are described, the loading has 2"),
        (
            "spectrum/damage",
            {"history_mpa": [0.0, 80.0, 0.0], "curve": BLOCKS["curve"]},
            {"blocks": [{"name": "one"}]},
            "this loading has no blocks",
        ),
        ("cracks/growth", growing(), {"blocks": [{"name": "one"}]}, "1 are described, the loading has 3"),
    ],
)
def test_as_many_blocks_are_described_as_there_are(
    client: httpx.Client, name: str, given: dict[str, Any], words: dict[str, Any], message: str
) -> None:
    answer = client.post(f"/v1/{name}", json={**given, "descriptions": words})
    assert answer.status_code == 422
    assert answer.json()["errors"] == [{"pointer": "/descriptions/blocks", "message": message}]


def test_words_have_a_length_and_stay_text(client: httpx.Client) -> None:
    for words in ({"material": ""}, {"load": {"name": "n" * 101}}, {"load": {"description": "d" * 501}}, {"other": 1}):
        assert client.post("/v1/spectrum/damage", json={**BLOCKS, "descriptions": words}).status_code == 422
    hostile = {"load": {"name": HOSTILE}, "blocks": [{"name": HOSTILE}, {}], "material": HOSTILE}
    read = Balanced(page_of(client, {**BLOCKS, "descriptions": hostile}, "spectrum/damage"))
    assert not {"script", "b"} & set(read.names)
    assert read.text.count(HOSTILE) >= 3

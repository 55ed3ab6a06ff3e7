"""Reports of damage sums."""

from __future__ import annotations

from typing import Any

import httpx
import numpy as np
import pytest

from service.base.text import number
from service.report.damage_page import damage_page
from service.topics.spectrum.models import DamageRequest
from tests.api.report_pages import HOSTILE, OWN_CURVE, Balanced, example, page_of

BLOCKS: dict[str, Any] = {
    "range_mpa": [100.0, 50.0],
    "count": [1e5, 1e6],
    "curve": {**OWN_CURVE, "name": HOSTILE},
}


def damage_of(client: httpx.Client, request: Any) -> str:
    return page_of(client, request, "spectrum/damage")


@pytest.mark.parametrize("name", ["damage-blocks", "damage-modes", "damage-trailer"])
def test_examples_show_numbers_of_the_answer_and_their_pictures(client: httpx.Client, name: str) -> None:
    request = example(f"spectrum/{name}")
    answer = client.post("/v1/spectrum/damage", json=request).json()["answer"]
    page = damage_of(client, request)
    text = Balanced(page).text
    assert f"damage {number(answer['damage'])}, limit {number(answer['damage_limit'])}" in text
    assert f"{number(answer['largest_range_mpa'])} MPa" in text
    assert page.count("<svg ") == 3
    assert ("Definitions of a cycle" in page) == (name == "damage-modes")
    assert damage_of(client, request) == page


def test_damage_is_told_against_the_limit(client: httpx.Client) -> None:
    # 1e5 of 100 MPa and 1e6 of 50 MPa on a line of slope 3 through 100 MPa at 2e6: 0.05 + 0.0625
    text = Balanced(damage_of(client, BLOCKS)).text
    assert "✓ DAMAGE 0.112, WITHIN THE LIMIT" in text
    assert "against a limit of 0.5: by default (" in text  # no document states one for a curve of the user
    assert "after 4.44 repeats" in text
    text = Balanced(damage_of(client, {**BLOCKS, "repeats": 10.0, "damage_limit": 0.5})).text
    assert "✗ DAMAGE 1.12, BEYOND THE LIMIT" in text
    assert "4.44 (10 asked)" in text


def test_name_of_a_curve_stays_text(client: httpx.Client) -> None:
    read = Balanced(damage_of(client, BLOCKS))
    assert "script" not in read.names
    assert any(HOSTILE in text for text in read.texts)


def test_spectrum_without_damage_is_infinite(client: httpx.Client) -> None:
    request = {**BLOCKS, "curve": {**OWN_CURVE, "cut_off_cycles": 1e8}, "range_mpa": [1.0, 2.0]}
    text = Balanced(damage_of(client, request)).text
    assert "No range does damage." in text
    assert "life in repeats infinite" in text


def page_with(client: httpx.Client, **changes: Any) -> str:
    """The page of the blocks with changes to its answer."""
    envelope = client.post("/v1/spectrum/damage", json=BLOCKS).json()
    envelope["answer"].update(changes)
    return damage_page(DamageRequest.model_validate(BLOCKS), envelope)


def test_outside_finding_leaves_the_damage_undecided(client: httpx.Client) -> None:
    page = page_with(client, verdict="undecided")
    assert 'class="verdict undecided"' in page
    assert "? DAMAGE 0.112, UNDECIDED" in Balanced(page).text


def test_cycles_without_range_give_no_picture(client: httpx.Client) -> None:
    page = page_with(client, cycle_shares={"range_mpa": [0.0], "count": [1.0], "cycle_share": [0.0]})
    assert "<p>No cycle has a range.</p>" in page
    assert page.count("<svg ") == 1


def test_listed_cycles_of_the_answer_are_drawn_as_they_are(client: httpx.Client) -> None:
    assert damage_of(client, {**BLOCKS, "list_cycles": True}).count("<svg ") == 3


def test_more_cycles_than_can_be_listed_are_told(monkeypatch: pytest.MonkeyPatch, client: httpx.Client) -> None:
    monkeypatch.setattr("service.topics.spectrum.damage.MAX_POINTS", 1)
    history = [float(v) for v in np.tile([0.0, 80.0, 10.0, 60.0], 5)]
    text = Balanced(damage_of(client, {"history_mpa": history, "curve": OWN_CURVE})).text
    assert "too many cycles to list" in text

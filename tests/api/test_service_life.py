"""Lives in the unit of one repeat of the loading: hours, kilometres, seasons."""

from __future__ import annotations

import copy
from typing import Any

import httpx
import pytest

from service.base.text import growth_text
from service.topics.check.text import check_text
from tests.api.report_pages import OWN_CURVE, Balanced, example, page_of, toe

SEASON = {"value": 12.5, "unit": "hours"}
CUT_OFF = {**OWN_CURVE, "cut_off_cycles": 1e8}
BLOCKS = {"range_mpa": [100.0], "count": [1e5], "curve": "iiw-2016-normal-steel-71", "loading": "constant"}


def checked(client: httpx.Client, loading: dict[str, Any], **changes: Any) -> dict[str, Any]:
    answer = client.post("/v1/check", json=toe(loading=loading, **changes))
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_check_answers_its_life_in_the_unit_of_one_repeat(client: httpx.Client) -> None:
    loading = toe()["loading"]
    plain = checked(client, loading)["answer"]
    assert plain["service_life"] is None
    answer = checked(client, {**loading, "one_repeat": SEASON})["answer"]
    life = {"value": 12.5 * plain["life_repeats"], "asked": 12.5 * toe()["target"].get("repeats", 1.0), "unit": "hours"}
    assert answer["service_life"] == pytest.approx(life)
    assert {**answer, "service_life": None} == plain  # no number depends on it


def test_a_record_with_rates_has_its_hours_by_itself(client: httpx.Client) -> None:
    record = [0.0, 9.0, 1.0, 7.0, 0.0]
    loading = {"kind": "history", "channels": dict.fromkeys(toe()["lines"][0]["cases"], record), "repeats": 100.0}
    rated = {
        **loading,
        "stretches": [{"samples": 2, "sample_rate_hz": 0.5}, {"samples": 1, "repeats": 3, "sample_rate_hz": 0.25}],
    }
    answer = checked(client, rated)["answer"]
    # 2 samples at 0.5 Hz last 4 s, 3 samples at 0.25 Hz 12 s
    assert answer["service_life"]["unit"] == "hours"
    assert answer["service_life"]["asked"] == pytest.approx(100.0 * 16.0 / 3600.0)
    km = checked(client, {**rated, "one_repeat": {"value": 3.0, "unit": "km"}})["answer"]["service_life"]
    assert (km["unit"], km["asked"]) == ("km", 300.0)
    rated["stretches"][1].pop("sample_rate_hz")
    assert checked(client, rated)["answer"]["service_life"] is None


def test_an_infinite_life_is_infinite_in_every_unit(client: httpx.Client) -> None:
    request = {**BLOCKS, "range_mpa": [1.0], "curve": CUT_OFF, "one_repeat": SEASON}
    answer = client.post("/v1/spectrum/damage", json=request).json()["answer"]
    assert answer["life_repeats"] is None
    assert answer["service_life"] == {"value": None, "asked": 12.5, "unit": "hours"}
    assert "infinite hours (12.5 asked)" in Balanced(page_of(client, request, "spectrum/damage")).text


def test_a_damage_sum_answers_in_the_unit_of_one_repeat(client: httpx.Client) -> None:
    request = {**BLOCKS, "repeats": 4.0, "one_repeat": {"value": 2.0, "unit": "seasons"}}
    answer = client.post("/v1/spectrum/damage", json=request).json()["answer"]
    assert answer["service_life"] == pytest.approx(
        {"value": 2.0 * answer["life_repeats"], "asked": 8.0, "unit": "seasons"}
    )
    text = Balanced(page_of(client, request, "spectrum/damage")).text
    assert "seasons (8 asked)" in text
    assert "one repeat is 2 seasons" in text


@pytest.mark.parametrize(
    ("name", "repeats"), [("growth-surface-blocks", "life_blocks"), ("growth-tabled", "life_cycles")]
)
def test_a_growing_crack_answers_in_the_unit_of_one_repeat(client: httpx.Client, name: str, repeats: str) -> None:
    request = copy.deepcopy(example(f"cracks/{name}"))
    assert (request["loading"]["kind"] == "blocks") == (repeats == "life_blocks")
    request["loading"]["one_repeat"] = {"value": 0.25, "unit": "km"}
    envelope = client.post("/v1/cracks/growth", json=request).json()
    answer = envelope["answer"]
    assert answer["service_life"] == {"value": 0.25 * answer[repeats], "asked": None, "unit": "km"}
    assert " km" in growth_text(envelope)
    assert " km" in Balanced(page_of(client, request, "cracks/growth")).text


def test_the_crack_of_a_check_answers_in_the_unit_of_one_repeat(client: httpx.Client) -> None:
    request = copy.deepcopy(example("check/bracket-toe-growth"))
    request["loading"]["one_repeat"] = SEASON
    envelope = client.post("/v1/check", json=request).json()
    growth = envelope["answer"]["growth"]
    asked = 12.5 * growth["repeats_asked"]
    assert growth["service_life"] == pytest.approx(
        {"value": 12.5 * growth["life_repeats"], "asked": asked, "unit": "hours"}
    )
    assert check_text(envelope).count(" hours") >= 2


def test_the_text_and_the_table_of_stations_have_the_life_in_service(client: httpx.Client) -> None:
    loading = {**toe()["loading"], "one_repeat": SEASON}
    envelope = checked(client, loading)
    assert " hours" in check_text(envelope)
    answer = client.post("/v1/check", json=toe(loading=loading), headers={"Accept": "text/csv"}).text
    head, first, *_ = answer.splitlines()
    row = dict(zip(head.split(","), first.split(","), strict=True))
    assert row["service_life_unit"] == "hours"
    assert float(row["service_life"]) == pytest.approx(envelope["answer"]["service_life"]["value"])
    assert "hours (" in Balanced(page_of(client, toe(loading=loading))).text


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"value": 0.0, "unit": "hours"}, "/loading/one_repeat/value"),
        ({"value": 1.0}, "/loading/one_repeat/unit"),
        ({"value": 1.0, "unit": ""}, "/loading/one_repeat/unit"),
        ({"value": 1.0, "unit": " \t"}, "/loading/one_repeat/unit"),
        ({"value": 1.0, "unit": 5.0}, "/loading/one_repeat/unit"),
        ({"value": "1", "unit": "h"}, "/loading/one_repeat/value"),
        ({"value": 1.0, "unit": "h", "of": "work"}, "/loading/one_repeat/of"),
        ({"value": 1.0, "unit": "h" * 41}, "/loading/one_repeat/unit"),
        ({"hours": 12.5}, "/loading/one_repeat/hours"),
    ],
)
def test_one_repeat_is_a_number_above_zero_and_a_word(client: httpx.Client, given: Any, pointer: str) -> None:
    answer = client.post("/v1/check", json=toe(loading={**toe()["loading"], "one_repeat": given}))
    assert answer.status_code == 422
    assert pointer in {error["pointer"] for error in answer.json()["errors"]}

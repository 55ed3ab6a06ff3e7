"""A small campaign of always the same cases; the large one is `python -m tests.campaign`."""

from __future__ import annotations

import asyncio
import logging
from pathlib import Path

import httpx
import pytest

from service.http.app import create_app
from service.http.settings import Settings
from tests.campaign.bodies import other_bodies
from tests.campaign.cases import drawn_case
from tests.campaign.run import KINDS, outcomes

SEED, CASES = 1, {"drawn": range(60, 180), "mutated": range(150)}


@pytest.mark.parametrize("kind", KINDS)
def test_every_case_ends_with_an_answer_or_a_problem(
    kind: str, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(Path(__file__).parents[2])  # worker processes find the tree
    with caplog.at_level(logging.ERROR):
        found = list(outcomes(kind, SEED, CASES[kind]))
    assert [each for each in found if each.fault or each.status >= 500] == []
    assert {200, 422} <= {each.status for each in found}


def test_a_case_is_the_same_whenever_it_is_drawn() -> None:
    assert drawn_case(SEED, 70) == drawn_case(SEED, 70)
    assert drawn_case(SEED, 70) != drawn_case(SEED, 71)


async def statuses() -> list[int]:
    transport = httpx.ASGITransport(create_app(Settings(worker_processes=False)))
    async with httpx.AsyncClient(transport=transport, base_url="http://campaign") as client:
        return [
            (await client.post(f"/v1/{name}{query}", content=body, headers={"Content-Type": kind})).status_code
            for name, kind, query, body in other_bodies()
        ]


def test_tables_arrays_and_meshes_are_answered_before_their_bytes_are_changed() -> None:
    assert set(asyncio.run(statuses())) == {200}

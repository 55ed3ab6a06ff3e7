"""Light answers that are given again: the same bytes, within a bound of memory, never under other rules."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.base.rules.active import under
from service.http import answering
from service.http.app import create_app
from service.http.settings import Settings
from service.policy.reading import policy_of
from service.pool.kept import Kept

from .conftest import Server

LIFE = "/v1/curves/iiw-2016-normal-steel-90/life?stress_range_mpa=100"
PEAK = json.loads((Path(__file__).parents[2] / "openapi_examples/stress/peak-root.json").read_text())["request"]
POLICY = b'name = "works"\nversion = "1"\n[defaults]\nsurvival_probability = 0.99\n'


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the calculations that were done."""
    found: list[str] = []
    finish = answering.finish

    def counted(task: Any, prepared: Any) -> Any:
        found.append(task.name)
        return finish(task, prepared)

    monkeypatch.setattr(answering, "finish", counted)
    return found


@contextmanager
def client(**settings: Any) -> Iterator[httpx.Client]:
    with Server(Settings(**settings)) as url, httpx.Client(base_url=url) as found:
        yield found


def test_the_same_request_is_calculated_once_and_answered_with_the_same_bytes(made: list[str]) -> None:
    with client() as web:
        first, second = web.get(LIFE), web.get(LIFE)
        assert first.content == second.content
        assert first.headers["etag"] == second.headers["etag"]
        posted = [web.post("/v1/stress/peak", json=PEAK) for _ in range(2)]
        assert posted[0].content == posted[1].content
    assert made == ["curves/{curve}/life", "stress/peak"]


def test_another_number_form_or_cell_is_another_request(made: list[str]) -> None:
    cell = f"{LIFE}&only=answer.life_cycles"
    with client() as web:
        for ask in (LIFE, LIFE + ".5", cell):
            assert web.get(ask).status_code == 200
        assert web.get(LIFE, headers={"accept": "text/csv"}).headers["content-type"].startswith("text/csv")
        assert web.get(cell).text == web.get(cell).text
    assert len(made) == 4


def test_nothing_is_kept_where_there_is_no_room_and_no_refusal_ever(made: list[str]) -> None:
    with client(keep_mib=0) as web:
        assert web.get(LIFE).content == web.get(LIFE).content
    assert len(made) == 2
    with client() as web:
        for _ in range(2):
            assert web.get(LIFE.replace("=100", "=-1")).status_code == 422
    assert Settings.from_environment({"TOELINE_KEEP_MIB": "0"}).keep_mib == 0


def test_rules_of_a_company_are_never_answered_from_memory_of_others(made: list[str]) -> None:
    web = httpx.AsyncClient(
        transport=httpx.ASGITransport(create_app(Settings(worker_processes=False))), base_url="http://here"
    )

    async def ask() -> Any:
        return (await web.get(LIFE)).json()

    plain = asyncio.run(ask())
    with under(policy_of(POLICY)):
        ruled = asyncio.run(ask())
    assert plain["record"]["policy"] is None
    assert ruled["record"]["policy"]["name"] == "works"
    assert ruled["answer"]["life_cycles"] < plain["answer"]["life_cycles"]
    assert len(made) == 2


def test_an_answer_from_memory_is_audited_like_any(tmp_path: Path, made: list[str]) -> None:
    with client(audit_log=str(tmp_path / "audit")) as web:
        web.get(LIFE)
        web.get(LIFE)
    first, second = (json.loads(line) for line in (tmp_path / "audit").read_text().splitlines())
    assert first["input_digest"] == second["input_digest"] is not None
    assert first["request_id"] != second["request_id"]
    assert made == ["curves/{curve}/life"]


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 60)), max_size=60))
def test_no_more_is_held_than_may_be_and_what_was_put_last_is_there(given_items: list[tuple[int, int]]) -> None:
    kept = Kept[int](most_bytes=50)
    sizes: dict[int, int] = {}
    for place, (key, size) in enumerate(given_items):
        before = kept.get(key)
        kept.put(key, place, size)
        assert kept.get(key) == (place if size <= 50 else before)
        if size <= 50:
            sizes[key] = size
        held = sum(size for key, size in sizes.items() if kept.get(key) is not None)
        assert kept.held_bytes == held <= 50

"""Places of heavy work: never more than there are, teams in turn, bounded queues, nothing lost when somebody leaves."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.base.problems import Problem
from service.pool.places import Places


def places(count: int = 1, *, most_waiting: int = 100, max_wait_s: float = 30.0) -> Places:
    return Places(count, most_waiting=most_waiting, max_wait_s=max_wait_s, retry_after_s=7)


def order(count: int, teams: str, most: int | None = None) -> list[str]:
    """Teams in the order in which they got a place; every letter is a request, all wait before the first one goes."""
    shared, got, go = places(count), [], asyncio.Event()

    async def one(team: str) -> None:
        async with shared.taken(team, most):
            got.append(team)
            await go.wait()

    async def work() -> None:
        tasks = [asyncio.create_task(one(team)) for team in teams]
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        assert shared.running == len(got) <= count
        go.set()
        await asyncio.gather(*tasks)

    asyncio.run(work())
    assert (shared.running, shared.waiting) == (0, 0)
    return got


def test_teams_take_turns_whoever_asks_more_often() -> None:
    assert order(1, "aaaaabbc") == list("aabcabaa")  # the first one runs; then each team in turn
    assert order(2, "aaaab") == list("aaaba")
    assert order(1, "aaa") == list("aaa")


def test_a_team_holds_no_more_places_than_it_may() -> None:
    assert order(3, "aaab", most=1) == list("abaa")
    assert order(2, "aab", most=2) == list("aab")


@given(st.text("abc", min_size=1, max_size=12), st.integers(1, 4), st.integers(1, 3))
def test_everyone_gets_a_place_in_the_end(teams: str, count: int, most: int) -> None:
    assert sorted(order(count, teams, most)) == sorted(teams)


def refused(work: Callable[[], Awaitable[None]]) -> Problem:
    with pytest.raises(Problem) as caught:
        asyncio.run(work())  # type: ignore[arg-type]
    assert caught.value.headers == {"Retry-After": "7"}
    assert caught.value.status == 503
    return caught.value


def test_who_waits_too_long_is_turned_away() -> None:
    shared = places(max_wait_s=0.01)

    async def work() -> None:
        async with shared.taken("a"):
            assert not shared.full
            async with shared.taken("b"):
                pass

    assert "as many calculations run as" in refused(work).detail
    assert (shared.running, shared.waiting) == (0, 0)


def test_a_full_queue_turns_the_next_one_away_at_once() -> None:
    shared = places(most_waiting=1)

    async def work() -> None:
        async with shared.taken("a"):
            waiting = asyncio.create_task(shared.taken("a").__aenter__())
            await asyncio.sleep(0)
            assert shared.full
            try:
                async with shared.taken("a"):
                    pass
            finally:
                waiting.cancel()
                await asyncio.gather(waiting, return_exceptions=True)

    assert "run and wait" in refused(work).detail
    assert (shared.running, shared.waiting) == (0, 0)


def test_a_place_is_given_back_also_where_the_work_fails() -> None:
    shared = places(max_wait_s=0.0)

    async def work() -> None:
        for _ in range(3):
            with pytest.raises(ZeroDivisionError):
                async with shared.taken("a"):
                    raise ZeroDivisionError

    asyncio.run(work())
    assert shared.running == 0


def test_a_place_that_comes_to_one_who_is_leaving_goes_on_to_the_next() -> None:
    shared, got = places(), []

    async def one(team: str) -> None:
        async with shared.taken(team):
            got.append(team)

    async def work() -> None:
        async with shared.taken("a"):
            leaving, next_one = asyncio.create_task(one("b")), asyncio.create_task(one("c"))
            await asyncio.sleep(0)
        leaving.cancel()  # the place has just been given to it
        await asyncio.gather(leaving, next_one, return_exceptions=True)

    asyncio.run(work())
    assert got == ["c"]
    assert (shared.running, shared.waiting) == (0, 0)


def test_a_team_that_fills_the_queue_keeps_no_other_team_from_it() -> None:
    shared, got, go = places(1, most_waiting=3), [], asyncio.Event()

    async def one(team: str) -> None:
        try:
            async with shared.taken(team):
                got.append(team)
                await go.wait()
        except Problem as problem:
            got.append(f"{team}{problem.status}")

    async def work() -> None:
        tasks = [asyncio.create_task(one(team)) for team in "aaaaabbcc"]
        await asyncio.sleep(0.02)
        assert (got, shared.waiting) == (["a", "a503", "b503", "c503"], 5)
        go.set()
        await asyncio.gather(*tasks)

    asyncio.run(work())
    assert got[4:] == ["a", "b", "c", "a", "a"]


def test_a_queue_of_no_length_holds_nobody() -> None:
    shared = places(1, most_waiting=0)

    async def work() -> int:
        async with shared.taken("a"):
            with pytest.raises(Problem) as caught:
                await shared.taken("b").__aenter__()
        return caught.value.status

    assert asyncio.run(work()) == 503

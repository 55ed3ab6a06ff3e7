"""Who is let in and how much a team may take: rate, places, shares of processes, keys that are read again."""

from __future__ import annotations

import hmac
import json
import logging
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access import access as access_module
from service.access.access import Access, require_guarded
from service.access.keys import digest_of
from service.access.request_id import request_id
from service.access.scopes import require_allowed
from service.access.teams import BURST_S, Limits, Team
from service.base.problems import Problem

NEVER = {"scopes": ["calculations"], "expires": "never"}


class Clock:
    """Seconds that stand still until they are moved."""

    def __init__(self, seconds: float = 1000.0) -> None:
        self.seconds = seconds

    def __call__(self) -> float:
        return self.seconds


def entry(team: str, key: str, **more: Any) -> dict[str, Any]:
    return {"team": team, "sha256": digest_of(key), **NEVER, **more}


def file_of(path: Path, *entries: dict[str, Any]) -> str:
    path.write_text("\n".join(json.dumps(each) for each in entries))
    return str(path)


def team_of(clock: Clock, **limits: Any) -> Team:
    team = Team("frames", clock=clock)
    team.limits = Limits(**limits)
    return team


def taken(team: Team) -> Problem | None:
    try:
        team.take()
    except Problem as problem:
        return problem
    return None


@given(
    st.floats(0.01, 100.0),
    st.integers(1, 20),
    st.lists(st.floats(0.0, 5.0), min_size=1, max_size=60),
)
def test_no_stretch_of_time_holds_more_than_its_burst_and_rate(rate: float, burst: int, gaps: list[float]) -> None:
    clock = Clock()
    team = team_of(clock, rate_per_s=rate, burst=burst)
    passed = []
    for gap in gaps:
        clock.seconds += gap
        if taken(team) is None:
            passed.append(clock.seconds)
    for first, begin in enumerate(passed):
        for last, end in enumerate(passed[first:], start=first):
            assert last - first + 1 <= burst + rate * (end - begin) + 1e-6
    assert len(passed) >= min(burst, len(gaps))


@pytest.mark.parametrize("rate", [0.01, 0.3, 1.0, 7.0])
def test_who_waits_as_long_as_is_asked_is_let_in_and_not_a_second_earlier(rate: float) -> None:
    clock = Clock()
    team = team_of(clock, rate_per_s=rate, burst=1)
    assert taken(team) is None
    refused = taken(team)
    assert refused is not None
    assert refused.status == 429
    wait_s = int(refused.headers["Retry-After"])
    assert wait_s >= 1
    assert refused.detail.endswith(f"try again in {wait_s} s")
    clock.seconds += wait_s - 1
    if wait_s > 1:
        assert taken(team) is not None
    clock.seconds += 1
    assert taken(team) is None


def test_a_batch_is_as_many_requests_as_it_has_items_and_paid_for_before_the_next() -> None:
    clock = Clock()
    team = team_of(clock, rate_per_s=2.0, burst=4)
    team.take()
    team.charge(98)  # 3 were left
    assert taken(team).headers["Retry-After"] == "48"  # type: ignore[union-attr]  # 96 missing at 2 a second
    clock.seconds += 48.0
    assert taken(team) is None


def test_a_team_without_a_burst_may_send_the_requests_of_ten_seconds_at_once() -> None:
    assert BURST_S == 10.0
    for rate, count in ((2.0, 20), (0.02, 1)):
        team = team_of(Clock(), rate_per_s=rate)
        assert [taken(team) is None for _ in range(count + 1)] == [True] * count + [False]
    free = team_of(Clock())
    free.charge(10**9)
    assert taken(free) is None


def test_places_are_counted_and_given_back_however_the_work_ends() -> None:
    team = Team("frames", retry_after_s=7)
    team.limits = Limits(places=2)

    def work() -> None:
        """Takes both places, is refused a third one, and fails."""
        with team.place(), team.place():
            assert team.busy == 2
            with pytest.raises(Problem) as caught, team.place():
                pass
            refusals.append(caught.value)
            raise ZeroDivisionError

    refusals: list[Problem] = []
    for _ in range(3):
        with pytest.raises(ZeroDivisionError):
            work()
    assert [(each.status, each.headers) for each in refusals] == [(429, {"Retry-After": "7"})] * 3
    assert team.busy == 0
    free = Team("gates")
    with free.place(), free.place(), free.place():
        assert free.busy == 3


@given(st.integers(1, 16), st.integers(1, 50), st.integers(1, 50), st.floats(0.01, 1e3))
def test_processes_together_stay_within_the_limits(processes: int, places: int, burst: int, rate: float) -> None:
    whole = Limits(rate_per_s=rate, burst=burst, places=places)
    if places < processes:
        with pytest.raises(ValueError, match=f"team frames needs {processes} places or more"):
            whole.share("frames", processes)
        return
    share = whole.share("frames", processes)
    assert share.places is not None
    assert share.burst is not None
    assert share.rate_per_s == pytest.approx(rate / processes)
    assert 1 <= share.places <= places / processes
    assert 1 <= share.burst <= max(1, burst / processes)
    assert Limits().share("frames", processes) == Limits()


def test_without_keys_anyone_is_let_in() -> None:
    access = Access()
    assert not access.asks_key
    caller = access.caller("")
    assert (caller.team, caller.scopes, caller.places) == ("anyone", None, None)
    require_allowed(caller.scopes, "metrics")
    assert not access.is_key("")


def test_a_key_leads_to_its_team_and_scopes(tmp_path: Path) -> None:
    path = file_of(tmp_path / "k", entry("frames", "one", scopes=["stress"]), entry("frames", "two", places=3))
    access = Access(path, ["three", "four"])
    assert access.asks_key
    one, two, three = (access.caller(key) for key in ("one", "two", "three"))
    assert (one.team, one.places, one.account is two.account) == ("frames", 3, True)
    assert three.account is access.caller("four").account
    assert (three.team, three.scopes) == ("default", None)
    require_allowed(one.scopes, "stress/peak")
    require_allowed(three.scopes, "check")
    with pytest.raises(Problem, match=r"^this key may not be used for check$") as caught:
        require_allowed(one.scopes, "check")
    assert caught.value.status == 403
    for wrong in ("", "on", "one ", digest_of("one"), "\u00e9"):
        with pytest.raises(Problem, match=r"^give a known key in the header X-API-Key$") as caught:
            access.caller(wrong)
        assert (caught.value.status, caught.value.headers) == (401, {"WWW-Authenticate": "ApiKey"})
    assert [access.is_key(text) for text in ("one", "four", "five")] == [True, True, False]


def test_every_key_is_compared_whichever_is_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    access = Access(file_of(tmp_path / "k", *(entry("a", str(number)) for number in range(5))), ["5", "6"])
    seen: list[int] = []

    def compared(known: str, given: str) -> bool:
        seen.append(len(known) + len(given))
        return hmac.compare_digest(known, given)

    monkeypatch.setattr(access_module, "compare_digest", compared)
    for key in ("0", "6", "x" * 1000):
        seen.clear()
        access.is_key(key)
        assert seen == [128] * 7


def test_a_key_is_refused_from_its_moment_on(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    path = file_of(tmp_path / "k", entry("frames", "one", expires="1970-01-01T00:16:40Z"), entry("frames", "two"))
    now = Clock(999.9)
    access = Access(path, now=now)
    assert access.caller("one").team == "frames"
    assert not caplog.records
    now.seconds = 1000.0
    with pytest.raises(Problem, match=r"^this key of team frames expired at 1970-01-01T00:16:40\+00:00$") as caught:
        access.caller("one")
    assert caught.value.status == 401
    assert access.caller("two").team == "frames"
    access.reload()
    assert "a key of team frames expired at 1970-01-01" in caplog.text


def test_keys_that_are_read_again_change_and_what_is_taken_stays_taken(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "toeline")
    path = tmp_path / "k"
    clock = Clock()
    access = Access(file_of(path, entry("frames", "one", rate_per_s=1.0, burst=2)), clock=clock)
    old = access.caller("one").account
    old.take()
    old.take()
    file_of(path, entry("frames", "two", rate_per_s=0.5, burst=5, places=1))
    access.reload()
    assert not access.is_key("one")
    assert access.caller("two").account is old
    assert access.caller("two").places == 1
    assert old.limits == Limits(rate_per_s=0.5, burst=5, places=1)
    assert taken(old).headers["Retry-After"] == "2"  # type: ignore[union-attr]
    assert caplog.messages == ["1 keys of 1 teams"]


@pytest.mark.parametrize("content", ["", "nonsense", "{", '{"team": "a"}', None])
def test_a_broken_file_leaves_the_old_keys_and_an_error_in_the_log(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, content: str | None
) -> None:
    path = tmp_path / "k"
    access = Access(file_of(path, entry("frames", "one")))
    if content is None:
        path.unlink()
    else:
        path.write_text(content)
    access.reload()
    assert access.caller("one").team == "frames"
    assert not access.is_key("two")
    (record,) = caplog.records
    assert record.levelname == "ERROR"
    assert record.getMessage().startswith("the keys stay as they were: ")
    assert str(path) in record.getMessage()


@pytest.mark.parametrize(
    ("entries", "keys", "said"),
    [
        ((entry("a", "one"), entry("b", "one")), (), "a key is there twice"),
        ((entry("a", "one"),), ("one",), "a key is there twice"),
        (
            (entry("a", "1", places=1), entry("a", "2", places=2)),
            (),
            "team a has two values of places at its keys: 1, 2",
        ),
        ((entry("a", "1", burst=4),), (), "team a has burst without rate_per_s"),
        ((entry("a", "1", places=1),), (), "team a needs 2 places or more, one for each process of the server"),
    ],
)
def test_entries_that_contradict_each_other_are_refused(
    tmp_path: Path, entries: tuple[dict[str, Any], ...], keys: tuple[str, ...], said: str
) -> None:
    path = file_of(tmp_path / "k", *entries)
    with pytest.raises(Problem) as caught:
        Access(path, keys, processes=2)
    assert caught.value.detail == f"{path}: {said}"


def test_the_same_key_twice_in_the_setting_is_refused() -> None:
    with pytest.raises(Problem, match=r"^TOELINE_API_KEYS: a key is there twice$"):
        Access(None, ["one", "one"])


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost", "LocalHost"])
def test_an_address_of_this_machine_needs_no_key(host: str) -> None:
    require_guarded(host, asks_key=False, open_on_purpose=False)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "", "10.1.2.3", "example", "127.1", "localhost.example"])
def test_an_address_of_the_network_needs_keys_or_a_word_that_none_is_meant(host: str) -> None:
    require_guarded(host, asks_key=True, open_on_purpose=False)
    require_guarded(host, asks_key=False, open_on_purpose=True)
    with pytest.raises(Problem, match="can be reached from other machines and no key is asked for") as caught:
        require_guarded(host, asks_key=False, open_on_purpose=False)
    assert "--no-keys" in caught.value.detail


def test_an_id_of_strict_form_is_kept_and_any_other_replaced() -> None:
    for kept in ("a", "build-7.3_x", "0" * 64):
        assert request_id(kept, lambda _: False) == kept
    replaced = ["", "-a", "a b", "a\n", "a/b", "\u00e9", "0" * 65, "tlk_abc", "x.tlk_abc", "secret"]
    new = [request_id(given, "secret".__eq__) for given in replaced]
    assert len(set(new)) == len(replaced)
    assert all(len(each) == 32 and set(each) <= set("0123456789abcdef") for each in new)

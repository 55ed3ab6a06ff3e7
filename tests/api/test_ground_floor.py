"""Limits, keys, cells, conditional requests, pages, metrics, command line of the service."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.verification import CASES
from service.base import progress
from service.base.common import Strict, post
from service.http import pages
from service.http.settings import Settings
from service.topics.meta import validation_results
from tests.api.conftest import Server
from tests.api.test_strictness import REQUEST, is_problem

SECTION = Path(__file__).parents[2] / "openapi_examples" / "stress" / "section-rib-toe.json"


def test_settings_from_the_environment() -> None:
    settings = Settings.from_environment(
        {"TOELINE_MAX_BODY_BYTES": "1000", "TOELINE_API_KEYS": "a, b", "TOELINE_ALLOW_QUERY_KEY": "true"}
    )
    assert settings == Settings(max_body_bytes=1000, api_keys=("a", "b"), allow_query_key=True)
    assert Settings.from_environment({}) == Settings()


@pytest.mark.parametrize("variables", [{"TOELINE_MAX_BODY_BYTES": "-1"}, {"TOELINE_ALLOW_QUERY_KEY": "perhaps"}])
def test_settings_that_cannot_be_read(variables: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="TOELINE_"):
        Settings.from_environment(variables)


def test_body_limit_by_announced_and_by_sent_length() -> None:
    with Server(Settings(max_body_bytes=200)) as url:
        is_problem(httpx.post(f"{url}/v1/check", json=REQUEST), 413)

        def chunks() -> Any:
            for _ in range(10):
                yield b" " * 50

        headers = {"content-type": "application/json"}
        is_problem(httpx.post(f"{url}/v1/check", content=chunks(), headers=headers), 413)


def test_key_in_the_header_or_query() -> None:
    with Server(Settings(api_keys=("secret",), allow_query_key=True)) as url:
        is_problem(httpx.get(f"{url}/v1/sources"), 401)
        is_problem(httpx.get(f"{url}/v1/sources", headers={"X-API-Key": "wrong"}), 401)
        assert httpx.get(f"{url}/v1/sources", headers={"X-API-Key": "secret"}).status_code == 200
        assert httpx.get(f"{url}/v1/sources?key=secret").status_code == 200
        assert httpx.get(f"{url}/health/live").status_code == 200
    with Server(Settings(api_keys=("secret",))) as url:
        is_problem(httpx.get(f"{url}/v1/sources?key=secret"), 401)


def test_busy_answers_503_with_retry_after() -> None:
    section = json.loads(SECTION.read_text("utf-8"))["request"]
    with Server(Settings(max_running=0, max_waiting=0, max_wait_s=0, retry_after_s=7)) as url:
        answer = httpx.post(f"{url}/v1/stress/section", json=section)
        is_problem(answer, 503)
        assert answer.headers["retry-after"] == "7"
        is_problem(httpx.get(f"{url}/health/ready"), 503)
        assert httpx.get(f"{url}/v1/sources").status_code == 200  # light requests need no place


def test_conditional_get_and_head(client: httpx.Client) -> None:
    first = client.get("/v1/sources")
    tag = first.headers["etag"]
    again = client.get("/v1/sources", headers={"if-none-match": tag})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == tag
    other = client.get("/v1/sources", headers={"if-none-match": '"other"'})
    assert other.content == first.content
    head = client.head("/v1/sources")
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-length"] == str(len(first.content))
    assert client.get("/v1/sources", headers={"if-none-match": "*"}).status_code == 304
    assert client.options("/v1/sources").headers["allow"] == "GET, HEAD, OPTIONS"


def test_cell_answers(client: httpx.Client) -> None:
    query = "stress_range_mpa=100&only="
    path = "/v1/curves/dnv-rp-c203-2016-d-air/life?"
    life = client.get(path + query + "answer.life_cycles")
    assert life.headers["content-type"].startswith("text/plain")
    assert float(life.text) == pytest.approx(1.4588e6, rel=1e-4)
    assert client.get(path + query + "answer.below_cutoff").text == "FALSE"
    below = "/v1/curves/en-1993-1-9-2005-normal-71/life?stress_range_mpa=1&only=answer.life_cycles"
    assert client.get(below).text == "infinite"
    assert client.get(path + query + "answer").text.startswith("#ERR: ")
    assert client.get(path + query + "answer.nothing").text.startswith("#ERR: ")
    assert client.get(path + "stress_range_mpa=-1&only=answer.life_cycles").text.startswith("#ERR: ")
    assert client.get("/v1/sources?only=answer.sources.0.key").status_code == 200
    for place in ("9" * 5000, "-1", "\u0661", "1.0", ""):
        odd = client.get("/v1/curves", params={"only": f"answer.id.{place}"})
        assert (odd.status_code, odd.text[:6]) == (200, "#ERR: ")
    nothing = client.get("/v1/curves/dnv-rp-c203-2016-d-air?only=answer.cut_off_mpa")
    assert nothing.text == "none"


def test_csv_answers(client: httpx.Client) -> None:
    stations = client.post("/v1/check", json=REQUEST, headers={"accept": "text/csv"})
    lines = stations.text.split("\r\n")
    assert lines[0].startswith("line,index,position_mm")
    assert lines[1].startswith("toe,0,0.0,")
    curves = client.get("/v1/curves", headers={"accept": "text/csv;q=0.9, application/json;q=0.5"})
    assert curves.text.count("\r\n") > 50
    listed = client.get("/v1/sources", headers={"accept": "text/csv"})
    assert listed.text.startswith("sources.key,sources.citation,sources.status,sources.remark\r\n")
    formula = {**REQUEST, "lines": [{**REQUEST["lines"][0], "name": "=1+1"}]}
    guarded = client.post("/v1/check", json=formula, headers={"accept": "text/csv"})
    assert guarded.text.split("\r\n")[1].startswith("'=1+1,0,0.0,")
    odd = client.get("/v1/sources", headers={"accept": "text/csv;q=x, */*"})
    assert odd.headers["content-type"] == "application/json"


def test_pages_need_no_other_host(client: httpx.Client) -> None:
    page = client.get("/docs")
    assert "http://" not in page.text
    assert "https://" not in page.text
    for asset in ("swagger-ui-bundle.js", "swagger-ui.css"):
        assert client.get(f"/assets/{asset}").status_code == 200


def test_health(client: httpx.Client) -> None:
    assert client.get("/health/live").json() == {"status": "live"}
    assert client.get("/health/ready").json()["status"] == "ready"


def test_metrics(client: httpx.Client) -> None:
    pytest.importorskip("prometheus_client")
    client.get("/v1/sources")
    client.get('/v1/curves/x"}%0Ay{z="/life')
    text = client.get("/metrics").text
    for line in text.splitlines():
        labels = r'\{calculation="[\w/{}-]+"(,(status|reason|le|team)="[\w.+-]*")*\}'
        assert re.fullmatch(rf"# .*|toeline_\w+({labels})? [0-9.e+-]+", line), line
    assert 'toeline_requests_total{calculation="sources",status="200"}' in text
    assert "toeline_running 0" in text


def test_no_answer_may_be_taken_for_something_else(client: httpx.Client) -> None:
    paths = ["/", "/docs", "/v1/sources", "/v1/sources?only=<script>", "/nothing", "/assets/landing.js"]
    answers = [*map(client.get, paths), client.post("/v1/check", content=b"<b>"), client.options("/nothing")]
    for answer in [*answers, client.post("/v1/check", json=REQUEST, headers={"accept": "text/csv"})]:
        assert answer.headers.get_list("x-content-type-options") == ["nosniff"]


def test_not_ready_when_a_table_cannot_be_read(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def unreadable(_: str) -> None:
        raise OSError("no such table")

    pages._readiness.cache_clear()
    monkeypatch.setattr(pages.catalogue, "find_curve", unreadable)
    is_problem(client.get("/health/ready"), 500)
    monkeypatch.undo()
    assert client.get("/health/ready").status_code == 200


def test_openapi_lists_every_calculation(client: httpx.Client) -> None:
    document = client.get("/openapi.json").json()
    assert document["openapi"] == "3.1.0"
    check = document["paths"]["/v1/check"]["post"]
    assert "check-one-toe-constant" in check["requestBody"]["content"]["application/json"]["examples"]
    assert {"200", "400", "401", "413", "415", "422", "503"} <= set(check["responses"])
    for item in document["paths"].values():
        for operation in item.values():
            assert operation["description"], operation["operationId"]
            assert operation["summary"]


def test_unforeseen_errors_are_500_without_a_trace(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    import service.topics.meta

    def broken() -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(service.topics.meta, "validation_results", broken)
    answer = client.get("/v1/validation")
    problem = is_problem(answer, 500)
    assert "secret" not in json.dumps(problem)
    cell = client.get("/v1/validation?only=answer.count")
    assert (cell.status_code, cell.text[:6]) == (200, "#ERR: ")
    assert "secret" not in cell.text


def test_validation_runs_every_published_check(client: httpx.Client) -> None:
    answer = client.get("/v1/validation").json()["answer"]
    assert answer["count"] == len(CASES) == validation_results().count > 100
    assert [row["id"] for row in answer["verification_cases"] if not row["passed"]] == []
    assert len({row["id"] for row in answer["verification_cases"]}) == answer["count"]
    counts = {each["kind"]: each["count"] for each in answer["kinds"]}
    assert counts == Counter(row["kind"] for row in answer["verification_cases"])
    assert sum(counts.values()) == answer["count"]


def test_a_name_is_registered_once() -> None:
    class Empty(Strict):
        """Nothing."""

    with pytest.raises(RuntimeError, match="twice"):
        post("check", Empty, Empty, revision=1, summary="again")(lambda _: None)  # type: ignore[arg-type, return-value]


def test_progress_bar_on_a_terminal_only(tmp_path: Path) -> None:
    from io import StringIO

    out = StringIO()
    with progress.show_progress(out):
        assert progress.listener(3) is None
    with progress.show_progress(out, always=True):
        told = progress.listener(4)
        assert told is not None
        told(1)
        assert out.getvalue().endswith("\r[" + 10 * "#" + 30 * " " + "]  25 % of 4")
        told(3)
    assert "] 100 % of 4" in out.getvalue()
    with progress.show_progress(out, always=True):
        nothing = progress.listener(0)
        assert nothing is not None
        nothing(0)
    assert "]   0 % of 0" in out.getvalue()


def test_settings_that_may_be_nought() -> None:
    assert Settings.from_environment({"TOELINE_MAX_WAIT_S": "0"}).max_wait_s == 0
    for text in ("\u0664", "9" * 40):
        with pytest.raises(ValueError, match="TOELINE_MAX_WAIT_S"):
            Settings.from_environment({"TOELINE_MAX_WAIT_S": text})

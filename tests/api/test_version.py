"""What calculates here: its version at every answer, and what it is made of."""

from __future__ import annotations

import httpx

from fatcore import __version__
from service.topics.registry import load


def test_every_answer_has_the_version(client: httpx.Client) -> None:
    paths = ("/v1/version", "/health", "/none", "/", "/docs", "/metrics", "/v1/curves?only=answer.none")
    for answer in (*map(client.get, paths), client.post("/v1/check", json={}), client.post("/v1/batch", json=[1])):
        assert answer.headers.get_list("X-Toeline-Version") == [__version__], answer.url


def test_version_is_that_of_the_records(client: httpx.Client) -> None:
    found = client.get("/v1/version").json()["answer"]
    assert found["version"] == __version__
    assert found["revisions"] == {f"{method} {name}": each.revision for (method, name), each in load().items()}
    record = client.get("/v1/curves/peak-stress-opening/life?stress_range_mpa=90").json()["record"]
    assert record["tables"]
    assert found["tables"].items() >= record["tables"].items()
    assert record["revision"] == found["revisions"]["GET curves/{curve}/life"]

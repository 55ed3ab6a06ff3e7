"""What spreadsheet cells rely on, for every GET: one value, columns, short addresses, HEAD, ETag, key."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

import httpx
import pytest

from service.base.problems import Problem
from service.client.routes import call_of
from service.http.forms import csv_text
from service.http.settings import Settings
from service.topics.registry import load
from tests.api.conftest import Server

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
LONGEST = 2048  # characters of an address that common spreadsheet programs take
KEY = "k" * 64
LOOK_UPS = sorted(name for method, name in load() if method == "GET")


def requests() -> dict[str, dict[str, str]]:
    """A request for every GET: the first example, nothing where nothing is needed."""
    found: dict[str, dict[str, str]] = {}
    for path in sorted(EXAMPLES.glob("*/*.json")):
        if path.parent.name != "data":
            example = json.loads(path.read_text(encoding="utf-8"))
            if example.get("method") == "GET":
                found.setdefault(example["calculation"], example["request"])
    return {name: found.get(name, {}) for name in LOOK_UPS}


REQUESTS = requests()


def address(name: str, **more: str) -> str:
    call = call_of("GET", name, {**REQUESTS[name]})
    query = urlencode({**call.query, **more}, quote_via=quote)
    return call.path + (f"?{query}" if query else "")


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every single value of an answer with its dotted path; of lists the first entry."""
    if isinstance(value, dict):
        for key, item in value.items():
            if "." not in key:
                yield from leaves(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        yield from leaves(value[0], f"{path}.0") if value else ()
    else:
        yield path, value


def cell(value: Any, path: str) -> str:
    if value is None:
        return "infinite" if "life" in path else "none"
    return {True: "TRUE", False: "FALSE"}[value] if isinstance(value, bool) else str(value)


@pytest.fixture(scope="module")
def guarded() -> Iterator[httpx.Client]:
    """A service that asks for a key and takes it from the query."""
    with Server(Settings(api_keys=(KEY,), allow_query_key=True)) as url, httpx.Client(base_url=url) as one:
        yield one


@pytest.mark.parametrize("name", LOOK_UPS)
def test_every_value_of_an_answer_fills_a_cell(client: httpx.Client, name: str) -> None:
    envelope = client.get(address(name)).json()
    found = list(leaves(envelope))
    assert found
    for path, value in found:
        answer = client.get(address(name, only=path))
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "text/plain; charset=utf-8"
        assert answer.text == cell(value, path)


@pytest.mark.parametrize("name", LOOK_UPS)
def test_columns(client: httpx.Client, name: str) -> None:
    answer = client.get(address(name), headers={"Accept": "text/csv"})
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    rows = list(csv.reader(io.StringIO(answer.text, newline="")))
    assert len(rows) >= 2
    assert {len(row) for row in rows} == {len(rows[0])}
    assert len(set(rows[0])) == len(rows[0])


def test_columns_are_the_arrays_of_the_answer(client: httpx.Client) -> None:
    body = {"curve": "peak-stress-opening", "stress_range_mpa": [90.0, 120.0, 10.0]}
    envelope = client.post("/v1/curves/life", json=body).json()
    table = client.post("/v1/curves/life", json=body, headers={"Accept": "text/csv"}).text
    rows = list(csv.DictReader(io.StringIO(table, newline="")))
    assert [row["life_cycles"] for row in rows] == [
        cell(value, "") if value is not None else "" for value in envelope["answer"]["life_cycles"]
    ]
    assert [row["curve"] for row in rows] == ["peak-stress-opening", "", ""]


def test_list_of_objects_gives_columns(client: httpx.Client) -> None:
    listed = client.get("/v1/sources").json()["answer"]["sources"]
    table = client.get("/v1/sources", headers={"Accept": "text/csv"}).text
    rows = list(csv.DictReader(io.StringIO(table, newline="")))
    assert [row["sources.key"] for row in rows] == [entry["key"] for entry in listed]
    assert [row["sources.citation"] for row in rows] == [entry["citation"] for entry in listed]


def test_nested_values_are_no_columns() -> None:
    plain = load()["GET", "sources"]
    answer = {"points": [[0.0, 1.0]], "parts": [{"name": "a", "sizes_mm": [1.0]}, {"name": "b"}]}
    assert csv_text(plain, {"answer": answer}) == "parts.name\r\na\r\nb\r\n"
    with pytest.raises(Problem, match="no columns"):
        csv_text(plain, {"answer": {"points": [[0.0, 1.0]]}})


@pytest.mark.parametrize("name", LOOK_UPS)
def test_longest_address_is_short_enough(client: httpx.Client, name: str) -> None:
    """Every parameter at once, numbers at full length, the longest value, a key, a long host name."""
    fields = load()["GET", name].request.model_fields
    texts = {key: str(value) for key, value in REQUESTS[name].items()}
    whole = {key: max("-1.2345678901234567e-123", texts.get(key, ""), key=len) for key in fields}
    if "curve" in whole:
        whole["curve"] = max(client.get("/v1/curves").json()["answer"]["id"], key=len)
    longest = max((path for path, _ in leaves(client.get(address(name)).json())), key=len)
    call = call_of("GET", name, whole)
    query = urlencode({**call.query, "only": longest, "key": KEY})
    assert len("https://" + "h" * 253 + ":65535" + call.path + "?" + query) < LONGEST


@pytest.mark.parametrize("name", LOOK_UPS)
@pytest.mark.parametrize("more", [{}, {"only": "caution"}])
def test_asked_again_nothing_is_sent(client: httpx.Client, name: str, more: dict[str, str]) -> None:
    first = client.get(address(name, **more))
    tag = first.headers["etag"]
    again = client.get(address(name, **more), headers={"If-None-Match": tag})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    listed = client.get(address(name, **more), headers={"If-None-Match": f'"other", W/{tag}'})
    assert listed.status_code == 304
    other = client.get(address(name, **more), headers={"If-None-Match": '"other"'})
    assert (other.status_code, other.content) == (200, first.content)


def test_other_values_have_other_tags(client: httpx.Client) -> None:
    tags = {client.get(address("curves/{curve}", only=path)).headers["etag"] for path in ("answer.id", "caution")}
    assert len(tags) == 2


@pytest.mark.parametrize("name", LOOK_UPS)
def test_head_tells_what_get_would(client: httpx.Client, name: str) -> None:
    for more in ({}, {"only": "caution"}):
        whole = client.get(address(name, **more))
        head = client.head(address(name, **more))
        assert (head.status_code, head.content) == (200, b"")
        for header in ("content-type", "content-length", "etag"):
            assert head.headers[header] == whole.headers[header]
    allowed = client.options(address(name))
    assert (allowed.status_code, allowed.headers["allow"]) == (204, "GET, HEAD, OPTIONS")


@pytest.mark.parametrize("name", LOOK_UPS)
def test_key_in_the_query_when_the_operator_allows_it(guarded: httpx.Client, name: str) -> None:
    assert guarded.get(address(name, key=KEY)).status_code == 200
    assert guarded.get(address(name, key=KEY, only="caution")).text.startswith("Fatigue assessment")
    assert guarded.get(address(name)).status_code == 401
    assert guarded.get(address(name, key="wrong")).status_code == 401


def test_key_in_the_query_is_off_by_default() -> None:
    with Server(Settings(api_keys=(KEY,))) as url, httpx.Client(base_url=url) as one:
        assert one.get(address("curves", key=KEY)).status_code == 401
        assert one.get(address("curves"), headers={"X-API-Key": KEY}).status_code == 200


def test_key_does_not_change_the_answer(guarded: httpx.Client, client: httpx.Client) -> None:
    assert guarded.get(address("curves", key=KEY)).content == client.get(address("curves")).content


@pytest.mark.parametrize(
    ("path", "reason"),
    [
        ("/v1/curves/none-such/life?stress_range_mpa=90&only=answer.life_cycles", "/curve: unknown curve"),
        (
            "/v1/curves/peak-stress-opening/life?stress_range_mpa=abc&only=answer.life_cycles",
            "/stress_range_mpa",
        ),
        (
            "/v1/curves/peak-stress-opening/life?stress_range_mpa=90,5&only=answer.life_cycles",
            "/stress_range_mpa",
        ),
        ("/v1/curves/peak-stress-opening/life?only=answer.life_cycles", "give"),
        ("/v1/curves?only=caution&only=answer", "/only: given twice"),
        ("/v1/curves?only=answer", "/only: name one value"),
        ("/v1/curves?nonsense=1&only=caution", "/nonsense"),
        ("/v1/no/such/thing?only=answer.x", "there is nothing at /v1/no/such/thing"),
        ("/v1/check?only=answer.verdict", "/v1/check does not take GET"),
    ],
)
def test_cell_is_told_why_there_is_no_value(client: httpx.Client, path: str, reason: str) -> None:
    answer = client.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/plain; charset=utf-8")
    assert answer.text.startswith("#ERR: ")
    assert reason in answer.text
    assert "\n" not in answer.text


def test_cell_is_told_that_the_key_is_missing_or_the_process_busy(guarded: httpx.Client) -> None:
    answer = guarded.get(address("curves", only="caution"))
    assert (answer.status_code, answer.text) == (200, "#ERR: give a known key in the header X-API-Key")

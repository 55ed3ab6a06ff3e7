"""Readable pages of curves, findings, sources and verification: the figures of the JSON routes, open to a browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from fatcore.curves.standards.catalogue import all_ids
from service.base.text import number
from service.http import catalogues
from service.http.metrics import Metrics
from service.http.settings import Settings
from tests.api.conftest import Server
from tests.api.report_pages import Balanced

LISTS = ["/pages/curves", "/pages/findings", "/pages/sources", "/pages/validation"]
CURVE = "/pages/curves/en-1993-1-9-2005-normal-71"


@pytest.fixture(scope="module")
def browser() -> Iterator[httpx.Client]:
    with Server(Settings(api_keys=("right",))) as url, httpx.Client(base_url=url, timeout=60.0) as connected:
        yield connected


def text_of(client: httpx.Client, path: str, status: int = 200) -> str:
    answer = client.get(path)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert Balanced(answer.text).names.count("h1") == 1
    return answer.text


@pytest.mark.parametrize("path", [*LISTS, CURVE, "/pages/curves?text=no-such"])
def test_pages_ask_for_no_key_and_lead_to_each_other(browser: httpx.Client, path: str) -> None:
    assert browser.get("/v1/curves").status_code == 401
    page = text_of(browser, path)
    assert "<script" not in page
    links = set(re.findall(r'href="(?!data:)([^"#?]+)', page))
    assert all(not link.startswith(("http", "/")) for link in links)
    found = {(browser.base_url.join(path).join(link)).path for link in links}
    assert {each for each in found if not each.startswith("/pages/curves/")} == {"/", *LISTS, "/docs"}


def test_every_curve_is_listed_with_its_range_and_leads_to_its_page(client: httpx.Client) -> None:
    page = text_of(client, "/pages/curves")
    assert re.findall(r'<a href="curves/([^"]+)">', page) == list(all_ids())
    assert f"{len(all_ids())} of {len(all_ids())} curves" in page
    row = page[page.index('href="curves/en-1993-1-9-2005-normal-71"') :].partition("</tr>")[0]
    assert '<td class="number">71\u00a0MPa</td>' in row
    assert "MJ/m³" in page


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("document=iiw-2016&material=aluminium&stress_kind=hot-spot", {"iiw-2016"}),
        ("document=&stress_kind=&material=&environment=&text=CLASS+F3", {"dnv"}),
        ("environment=free-corrosion", {"free-corrosion"}),
        ("material=magnesium", {"magnesium"}),
    ],
)
def test_a_filter_in_the_address_leaves_the_curves_that_the_route_answers(
    client: httpx.Client, query: str, words: set[str]
) -> None:
    wanted = {name: word for name, word in httpx.QueryParams(query).items() if word}
    ids = client.get("/v1/curves", params=wanted).json()["answer"]["id"]
    page = text_of(client, f"/pages/curves?{query}")
    assert re.findall(r'<a href="curves/([^"]+)">', page) == ids
    assert 0 < len(ids) < len(all_ids())
    chosen = set(re.findall(r'<option value="([^"]+)" selected>', page))
    assert chosen == {word for name, word in wanted.items() if name != "text"}
    assert all(word in page for word in words)


def test_a_filter_that_nothing_fits_says_so(client: httpx.Client) -> None:
    page = text_of(client, "/pages/curves?text=%3Cscript%3E")
    assert "0 of" in page
    assert "leave a filter out" in page
    assert "<script>" not in page


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/pages/curves?material=wood", 422, "wood"),
        ("/pages/curves?colour=red", 422, "/colour"),
        ("/pages/curves?text=a&text=b", 422, "given twice"),
        ("/pages/curves/en-1993-1-9-2005-normal-72", 404, "en-1993-1-9-2005-normal-71"),
        ("/pages/curves/%3Cscript%3Ealert(1)%3C%3F", 404, "&lt;script&gt;"),
        (f"{CURVE}?loading=some", 422, "constant"),
        (f"{CURVE}?text=a", 422, "/text"),
        ("/pages/sources?text=a", 422, "/text"),
    ],
)
def test_what_a_page_refuses_is_a_page_too(client: httpx.Client, path: str, status: int, words: str) -> None:
    page = text_of(client, path, status)
    assert words in page
    assert 'pages/curves"' in page


@pytest.mark.parametrize("curve", ["en-1993-1-9-2005-normal-71", "energy-density", "peak-stress-opening"])
@pytest.mark.parametrize("loading", ["variable", "constant"])
def test_a_curve_shows_its_picture_and_every_figure_with_unit_source_and_status(
    client: httpx.Client, curve: str, loading: str
) -> None:
    envelope = client.get(f"/v1/curves/{curve}", params={"loading": loading}).json()
    answer: dict[str, Any] = envelope["answer"]
    page = text_of(client, f"/pages/curves/{curve}?loading={loading}&key=anything")
    shown = Balanced(page)
    assert f"Code for requests: {curve}" in shown.text
    assert shown.names.count("figure") == 1
    for slope, constant in zip(answer["slopes"], answer["log10_constants"], strict=True):
        assert f'<td class="number">{slope:g}</td>' in page
        assert f'<td class="number">{number(constant, 7)}</td>' in page
    for source in envelope["record"]["sources"]:
        assert source["citation"] in shown.text
        assert f"{source['status']}</span>" in page
        assert f'sources#{source["key"]}"' in page
    for item in envelope["findings"]:
        assert f'findings#{item["code"]}"' in page
    for name, value in answer["partial_factors"].items():
        words = f"{name}, {next(iter(value))}".replace("-", " ")
        assert f"partial factors on strength by concept and consequence: {words} partial_factors" in shown.text
    energy = answer["quantity"] != "stress range"
    assert ("range from [MJ/m³]" in shown.text) == energy
    assert ("MPa" in shown.text) != energy


def test_a_curve_leads_to_the_one_for_the_other_amplitude(client: httpx.Client) -> None:
    assert 'href="?loading=constant"' in text_of(client, CURVE)
    assert 'href="?loading=variable"' in text_of(client, f"{CURVE}?loading=constant")


def test_every_source_has_its_citation_and_status(client: httpx.Client) -> None:
    listed = client.get("/v1/sources").json()["answer"]["sources"]
    page = text_of(client, "/pages/sources")
    assert sorted(re.findall(r'<tr id="([^"]+)">', page)) == sorted(each["key"] for each in listed)
    shown = Balanced(page).text
    assert all(each["citation"] in shown and each["remark"] in shown for each in listed)
    assert page.index("From memory (") < page.index("Read (")


def test_every_finding_has_severity_meaning_and_what_to_do_the_gravest_first(client: httpx.Client) -> None:
    listed = client.get("/v1/findings").json()["answer"]["finding_kinds"]
    page = text_of(client, "/pages/findings")
    rows = re.findall(r'<tr id="([^"]+)">\s*<th.*<code>\1</code> <span class="severity (\w+)">\2<', page)
    assert sorted(rows) == sorted((each["code"], each["severity"]) for each in listed)
    order = [severity for _, severity in rows]
    assert order == sorted(order, key=("outside", "caution", "note").index)
    assert "<strong></strong>" not in page  # each says what to do


def test_findings_are_found_by_words(client: httpx.Client) -> None:
    page = text_of(client, "/pages/findings?text=Mesh-Too-Coarse")
    assert re.findall(r'<tr id="([^"]+)">', page) == ["mesh-too-coarse", "mesh-too-coarse-minor-mode"]
    assert 'value="Mesh-Too-Coarse"' in page
    assert "No finding has these words" in text_of(client, "/pages/findings?text=%22%3E%3Cb%3E")


def test_every_case_stands_under_the_kind_of_its_figure(client: httpx.Client) -> None:
    answer = client.get("/v1/validation").json()["answer"]
    page = text_of(client, "/pages/validation")
    assert f"All {answer['count']} verification cases pass" in page
    for each in answer["kinds"]:
        assert f'<td>{each["kind"]}</td><td class="number">{each["count"]}</td><td class="number">0</td>' in page
        assert f"{each['kind'][0].upper()}{each['kind'][1:]} ({each['count']})" in page
    assert len(re.findall(r'<span class="id"><code>', page)) == answer["count"]
    assert "Failed (" not in page


def test_cases_that_fail_stand_first(monkeypatch: pytest.MonkeyPatch) -> None:
    from service.pages import lists

    good = {
        "id": "a", "kind": "derived here", "title": "A", "expected": "1.0", "computed": 1.0, "tolerance": 0.05,
        "source": "s", "where": "eq. 1", "why": "", "passed": True,
    }  # fmt: skip
    bad = {**good, "id": "b", "title": "B", "computed": 2.0, "passed": False, "why": "rounded in print"}
    answer = {
        "count": 2, "failed": 1, "all_passed": False, "verification_cases": [good, bad],
        "kinds": [{"kind": "derived here", "count": 2, "failed": 1}],
    }  # fmt: skip
    monkeypatch.setattr(lists, "answered", lambda name, data: {"answer": answer})
    page = lists.validation_page.__wrapped__()
    assert "1 of 2 verification cases fail" in page
    assert page.index("Failed (1)") < page.index("B <span") < page.index("Derived here (1)") < page.index("A <span")
    assert "rounded in print" in page


def test_without_the_packages_of_the_extra_a_page_says_so(
    browser: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from service.report import renderers

    def missing(name: str, package: str) -> None:
        raise ModuleNotFoundError("No module named 'jinja2'", name="jinja2")

    monkeypatch.setattr(renderers, "import_module", missing)
    answer = browser.get("/pages/curves")
    assert answer.status_code == 503
    assert answer.json()["type"] == renderers.NOT_INSTALLED


def test_a_page_is_the_same_to_the_byte_and_has_a_tag(client: httpx.Client) -> None:
    first, second = client.get(CURVE), client.get(CURVE)
    assert first.content == second.content
    again = client.get(CURVE, headers={"If-None-Match": first.headers["etag"]})
    assert again.status_code == 304
    assert client.head(CURVE).status_code == 200


def test_pages_have_one_slot_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """A visitor without a key takes no calculation its place."""
    made: list[tuple[int, dict[str, int]]] = []
    monkeypatch.setattr(catalogues, "Places", lambda count, **more: made.append((count, more)))
    routes = catalogues.routes(Settings(max_running=4, max_waiting=5, max_wait_s=7), Metrics())
    assert len(routes) == len(catalogues.PAGES)
    assert made == [(1, {"most_waiting": 5, "max_wait_s": 7, "retry_after_s": 2})]

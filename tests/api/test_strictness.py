"""Wrong input of every kind that the design lists: 4xx, one problem shape, a pointer, never 500."""

from __future__ import annotations

import copy
import json
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.base.parsing import _told, strict_json
from service.base.problems import Problem

REQUEST: dict[str, Any] = {
    "lines": [
        {
            "name": "toe",
            "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 5.0},
            "mesh": {"element": "quad4", "element_size_mm": 1.0},
            "position_mm": [0.0, 5.0],
            "cases": {"pull": {"peaks_mpa": {"opening": [8.0, 10.0], "tearing": [0.5, 1.0]}}},
        }
    ],
    "loading": {"kind": "constant", "factors": {"pull": {"maximum": 12.0, "minimum": 1.0}}, "cycles": 1e6},
}
TENSORS = {component: [1.0, 2.0] for component in ("xx", "yy", "zz", "xy", "yz", "zx")}


def changed(*path: Any, value: Any) -> dict[str, Any]:
    request = copy.deepcopy(REQUEST)
    inner: Any = request
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    return request


def is_problem(answer: httpx.Response, status: int) -> dict[str, Any]:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = answer.json()
    assert set(body) == {"type", "title", "status", "detail", "errors"}
    assert body["status"] == status
    assert all(set(error) == {"pointer", "message"} for error in body["errors"])
    return body


LINE = ("lines", 0)
WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "unknown key": (changed("colour", value="red"), "/colour"),
    "text for a number": (
        changed(*LINE, "mesh", "element_size_mm", value="12.5"),
        "/lines/0/mesh/element_size_mm",
    ),
    "true for a number": (
        changed(*LINE, "mesh", "element_size_mm", value=True),
        "/lines/0/mesh/element_size_mm",
    ),
    "negative size": (changed(*LINE, "mesh", "element_size_mm", value=-1.0), "/lines/0/mesh/element_size_mm"),
    "missing key": (changed(*LINE, "notch", value={"kind": "toe"}), "/lines/0/notch/opening_angle_deg"),
    "angle": (changed(*LINE, "notch", "opening_angle_deg", value=180.0), "/lines/0/notch/opening_angle_deg"),
    "empty column": (changed(*LINE, "position_mm", value=[]), "/lines/0/position_mm"),
    "ragged columns": (
        changed(*LINE, "cases", "pull", "peaks_mpa", "tearing", value=[0.5]),
        "/lines/0/cases/pull/peaks_mpa/tearing",
    ),
    "ragged case": (
        changed(*LINE, "position_mm", value=[0.0, 5.0, 9.0]),
        "/lines/0/cases/pull",
    ),
    "null in a column": (changed(*LINE, "position_mm", 1, value=None), "/lines/0/position_mm/1"),
    "positions not ascending": (changed(*LINE, "position_mm", value=[5.0, 5.0]), "/lines/0/position_mm"),
    "unknown case": (
        changed("loading", "factors", value={"push": {"maximum": 1.0, "minimum": 0.0}}),
        "/loading/factors/push",
    ),
    "unknown element": (changed(*LINE, "mesh", "element", value="hex99"), "/lines/0/mesh/element"),
    "own element without constants": (
        changed(*LINE, "mesh", "element", value="own"),
        "/lines/0/mesh/constants/opening",
    ),
    "zero cycles": (changed("loading", "cycles", value=0.0), "/loading/cycles"),
    "unknown loading": (changed("loading", value={"kind": "storm"}), "/loading/kind"),
    "factor of a loading": (
        changed("loading", "factors", "pull", value={"maximum": 1.0}),
        "/loading/factors/pull/minimum",
    ),
    "two kinds of stress": (
        changed(*LINE, "cases", "pull", "normal_mpa", value=[1.0, 2.0]),
        "/lines/0/cases/pull",
    ),
    "shear on the peak basis": (
        changed(*LINE, "cases", "pull", value={"shear_mpa": [1.0, 2.0]}),
        "/lines/0/cases/pull",
    ),
    "tensors without geometry": (
        changed(*LINE, "cases", "pull", value={"tensors_mpa": TENSORS}),
        "/lines/0/cases/pull/tensors_mpa",
    ),
    "no case": (changed(*LINE, "cases", value={}), "/lines/0/cases"),
    "no line": (changed("lines", value=[]), "/lines"),
    "unknown curve": (
        changed("curves", value={"rule": "fixed", "curve": "fat-9000"}),
        "/curves/curve",
    ),
    "bounds": (changed("curves", value={"rule": "biaxiality", "lower": 0.9}), "/curves/lower"),
    "survival": (changed("target", value={"survival_probability": 1.0}), "/target/survival_probability"),
    "huge number": (
        changed(*LINE, "mesh", "element_size_mm", value=10**400),
        "/lines/0/mesh/element_size_mm",
    ),
    "ends exclude all": (changed(*LINE, "exclude_ends_mm", value=50.0), "/lines/0/exclude_ends_mm"),
    "history of one point": (
        changed("loading", value={"kind": "history", "channels": {"pull": [1.0]}}),
        "/loading/channels/pull",
    ),
    "ragged channels": (
        changed("loading", value={"kind": "history", "channels": {"pull": [1.0, 2.0], "side": [1.0, 2.0, 3.0]}}),
        "/loading/channels/side",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_wrong_input_gets_422_and_its_pointer(client: httpx.Client, case: str) -> None:
    request, where = WRONG[case]
    content = json.dumps(request)
    problem = is_problem(client.post("/v1/check", content=content, headers={"content-type": "application/json"}), 422)
    assert where in [error["pointer"] for error in problem["errors"]], problem


TEXTS = {
    "NaN": ('{"lines":[{"name":"a","position_mm":[NaN]}]}', 422, "/lines/0/position_mm/0"),
    "1e999": ('{"lines":[{"name":"a","position_mm":[1e999]}]}', 422, "/lines/0/position_mm/0"),
    "duplicate key": ('{"title":"a","lines":[{"name":"a","name":"b"}]}', 422, "/lines/0/name"),
    "no JSON": ("{", 400, ""),
    "empty": ("", 400, ""),
    "a list": ("[1]", 422, ""),
    "null": ("null", 422, ""),
    "deep": ("[" * 100_000, 400, ""),
    "deep object": ('{"a":' * 5000 + "1" + "}" * 5000, 400, ""),
    "long integer": ('{"title":' + "9" * 6000 + "}", 400, ""),
}


@pytest.mark.parametrize("case", TEXTS)
def test_bodies_that_are_no_request(client: httpx.Client, case: str) -> None:
    text, status, where = TEXTS[case]
    answer = client.post("/v1/check", content=text, headers={"content-type": "application/json"})
    if case == "deep object":
        assert answer.status_code in (400, 422)
        return
    problem = is_problem(answer, status)
    assert where in [error["pointer"] for error in problem["errors"]]


def test_undecodable_body(client: httpx.Client) -> None:
    answer = client.post("/v1/check", content=b"\xff\xfe{", headers={"content-type": "application/json"})
    is_problem(answer, 400)


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_other_media_types_get_415(client: httpx.Client, kind: str) -> None:
    answer = client.post("/v1/check", content=b"{}", headers={"content-type": kind})
    is_problem(answer, 415)


def test_unknown_path_wrong_method_and_query(client: httpx.Client) -> None:
    is_problem(client.get("/v1/nothing"), 404)
    is_problem(client.get("/v1/sources/"), 404)
    is_problem(client.get("/assets/nothing.js"), 404)
    answer = client.get("/v1/check")
    is_problem(answer, 405)
    assert "POST" in answer.headers["allow"]
    is_problem(client.post("/v1/check?colour=red", json=REQUEST), 422)
    is_problem(client.get("/v1/sources?a=1&a=2"), 422)
    is_problem(client.request("OPTIONS", "/v1/nothing"), 404)


def test_unknown_name_in_the_path_is_404(client: httpx.Client) -> None:
    problem = is_problem(client.get("/v1/curves/fat-9000"), 404)
    assert problem["type"] == "urn:toeline:unknown"


def test_the_request_itself_is_right(client: httpx.Client) -> None:
    answer = client.post("/v1/check", json=REQUEST)
    assert answer.status_code == 200
    assert answer.json()["answer"]["governing"]["index"] == 1


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(JSON_VALUES, st.booleans())
def test_a_body_is_the_value_that_the_standard_library_reads(value: Any, ascii_only: bool) -> None:
    body = json.dumps(value, ensure_ascii=ascii_only).encode("utf-8", "surrogatepass")
    if b"\xed" in body:  # half a pair of surrogates is no UTF-8
        return
    assert repr(strict_json(body)) == repr(json.loads(body))


@pytest.mark.parametrize(
    "body",
    [
        b"[1E400]",
        b"[-0, -0.0]",
        b"[5e-324, 2.2250738585072011e-308]",
        b" [1]\n",
        b"\xef\xbb\xbf{}",
        b'{"a": ": , :"}',
        b"[" * 300 + b"]" * 300,
        b'["\\ud800"]',
        b'{"a":{"b":1},"b":{"a":1}}',
    ],
)
def test_bodies_at_the_edges_of_json_are_read_as_before(body: bytes) -> None:
    assert repr(strict_json(body)) == repr(_told(body, "the body"))


@pytest.mark.parametrize("body", [b'{"a":1,"a":2}', b'[[{"x":{"a":1,"b":2,"a":3}}]]', b'{"a":":","a":1}'])
def test_a_key_that_occurs_twice_is_told_at_any_depth(body: bytes) -> None:
    with pytest.raises(Problem) as refused:
        strict_json(body)
    assert refused.value.status == 422
    assert "occurs more than once" in refused.value.detail

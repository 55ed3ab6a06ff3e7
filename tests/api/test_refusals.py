"""Requests that do not fit are told in the words of the user, at the place of what was sent."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from service.base.refused.words import joined, refusal
from tests.api.report_pages import example

Change = Callable[[dict[str, Any]], Any]
CHECK, GROWTH, DAMAGE = "check/one-toe-constant", "cracks/growth-surface-blocks", "spectrum/damage-blocks"
OBJECT = "must be an object with named values"

CASES: list[tuple[str, Change, str, str]] = [
    (CHECK, lambda r: r["lines"][0].update(notch="toe"), "/lines/0/notch", OBJECT),
    (
        CHECK,
        lambda r: r["lines"][0].update(basis="peak"),
        "/lines/0/basis",
        "must be one of peak-stress, structural, effective-notch, nominal (did you mean 'peak-stress'?)",
    ),
    (
        CHECK,
        lambda r: r["lines"][0]["mesh"].update(element="tet-10"),
        "/lines/0/mesh/element",
        "must be one of quad4, brick8, tet10, tet4, own (did you mean 'tet10'?)",
    ),
    (
        CHECK,
        lambda r: r.update(loading={"kind": "block"}),
        "/loading/kind",
        "must be one of constant, blocks, history (did you mean 'blocks'?)",
    ),
    (CHECK, lambda r: r.update(loading={"blocks": []}), "/loading/kind", "is needed: one of constant, blocks, history"),
    (CHECK, lambda r: r.update(loading=5), "/loading", OBJECT),
    (CHECK, lambda r: r.pop("lines"), "/lines", "is needed"),
    (CHECK, lambda r: r.update(lines=[]), "/lines", "must hold at least 1 entry"),
    (CHECK, lambda r: r["lines"][0].update(name=""), "/lines/0/name", "must have at least 1 character"),
    (CHECK, lambda r: r["lines"][0].update(closed="yes"), "/lines/0/closed", "must be true or false"),
    (
        CHECK,
        lambda r: r["lines"][0]["mesh"].update(element_size_mm="1"),
        "/lines/0/mesh/element_size_mm",
        "must be a number",
    ),
    (
        CHECK,
        lambda r: r["lines"][0]["mesh"].update(element_size_mm=0),
        "/lines/0/mesh/element_size_mm",
        "must be greater than 0",
    ),
    (
        CHECK,
        lambda r: r["lines"][0]["notch"].update(opening_angle_deg=-1),
        "/lines/0/notch/opening_angle_deg",
        "must be 0 or more",
    ),
    (CHECK, lambda r: r.update(title=5), "/title", "must be a text"),
    (GROWTH, lambda r: r.update(law=[]), "/law", OBJECT),
    (
        GROWTH,
        lambda r: r.update(crack={"kind": "surfac"}),
        "/crack/kind",
        "must be one of surface, edge, centre, table, family (did you mean 'surface'?)",
    ),
    (DAMAGE, lambda r: r.update(range_mpa="100"), "/range_mpa", "must be a list"),
    (
        DAMAGE,
        lambda r: r.update(curve=5),
        "/curve",
        "a curve is an id of the catalogue or an object with a curve of your own",
    ),
]


@pytest.mark.parametrize(("name", "change", "where", "message"), CASES, ids=[f"{c[2]} {c[3][:20]}" for c in CASES])
def test_what_does_not_fit_is_told_in_plain_words(
    client: httpx.Client, name: str, change: Change, where: str, message: str
) -> None:
    request = copy.deepcopy(example(name))
    change(request)
    route = {"check": "check", "cracks": "cracks/growth", "spectrum": "spectrum/damage"}[name.partition("/")[0]]
    found = client.post(f"/v1/{route}", json=request)
    assert found.status_code == 422
    name = next(step for step in reversed(where.split("/")) if not step.isdigit())
    told = f"{name} {message}" if message.startswith(("must", "is needed")) else message
    assert found.json()["errors"] == [{"pointer": where, "message": told}]
    assert found.json()["detail"] == told


def test_a_list_where_columns_are_wanted_is_told_at_the_object_that_holds_it(client: httpx.Client) -> None:
    request = {**example(GROWTH), "loading": {"kind": "blocks", "blocks": [{"maximum": 1.0}]}}
    errors = client.post("/v1/cracks/growth", json=request).json()["errors"]
    assert [each["pointer"] for each in errors] == [
        *(f"/loading/{n}" for n in ("maximum", "minimum", "cycles")),
        "/loading/blocks",
    ]


@pytest.mark.parametrize("body", [[], 5, "text"])
def test_a_request_that_is_no_object_is_told_so(client: httpx.Client, body: Any) -> None:
    found = client.post("/v1/check", json=body).json()
    assert found["detail"] == f"the request {OBJECT}"
    assert found["errors"] == [{"pointer": "", "message": f"the request {OBJECT}"}]


@pytest.mark.parametrize(
    ("kind", "context", "message"),
    [
        ("int_type", {}, "must be a whole number"),
        ("tuple_type", {}, "must be a list"),
        ("finite_number", {}, "must be a finite number"),
        ("less_than", {"lt": 2.5}, "must be less than 2.5"),
        ("less_than_equal", {"le": 1e6}, "must be 1,000,000 or less"),
        ("too_long", {"max_length": 3}, "must hold at most 3 entries"),
        ("string_too_long", {"max_length": 3}, "must have at most 3 characters"),
        ("float_parsing", {}, "must be a number"),
        ("int_parsing", {}, "must be a whole number"),
        ("bool_parsing", {}, "must be true or false"),
        ("value_error", {"error": ValueError("must be so")}, "must be so"),
        ("rare", {}, "as the library says"),
        ("rare_type", {}, "as the library says"),
    ],
)
def test_every_kind_of_refusal_has_its_words(kind: str, context: dict[str, Any], message: str) -> None:
    assert refusal(kind, context, None, "as the library says") == message


def test_several_refusals_of_one_input_are_one() -> None:
    assert joined("x", ["must be a text", "must be a list", "must be a text"]) == "x must be a text, or a list"
    assert joined("x", ["is needed", "must be a list"]) == "x must be a list; x is needed"
    assert joined("x", ["unknown key"]) == "unknown key"

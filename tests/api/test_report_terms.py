"""Words of a report that have a page: marked for the form, text in a page that stands alone."""

from __future__ import annotations

import re

import httpx
import pytest

from service.base.rules.active import under
from service.policy.reading import policy_of
from service.report.tables import named_curve_term
from tests.api.policies import WORKS
from tests.api.report_pages import OWN_CURVE, example, page_of


@pytest.mark.parametrize(
    ("route", "name", "curve"),
    [
        ("check", "check/one-toe-constant", "peak-stress-opening"),
        ("spectrum/damage", "spectrum/damage-trailer", None),
        ("cracks/growth", "cracks/growth-surface-blocks", None),
    ],
)
def test_codes_sources_and_curves_name_pages_that_exist(
    client: httpx.Client, route: str, name: str, curve: str | None
) -> None:
    page = page_of(client, example(name), route)
    assert "<a href" not in page
    named = set(re.findall(r'<a data-page="([^"]+)">', page))
    assert {each.partition("#")[0] for each in named} >= {"pages/findings", "pages/sources"}
    assert curve is None or f"pages/curves/{curve}" in named
    held = {path: client.get(f"/{path}").text for path in {each.partition("#")[0] for each in named}}
    for each in named:
        path, _, place = each.partition("#")
        assert not place or f'id="{place}"' in held[path], each
        assert "<h1>Not found" not in held[path]


def test_a_curve_of_ones_own_names_no_page(client: httpx.Client) -> None:
    request = example("check/nominal-normal-and-shear")
    request["curves"] = {"rule": "fixed", "curve": {"name": "tests of ours", **OWN_CURVE}}
    request["lines"][0]["cases"] = {"bump": {"normal_mpa": [40.0]}}
    page = page_of(client, request)
    assert "tests of ours" in page
    assert "pages/curves" not in page


@pytest.mark.parametrize(
    ("name", "route", "curves"),
    [
        ("check/bracket-hanger", "check", ("peak-stress-opening", "peak-stress-shear")),
        ("spectrum/damage-trailer", "spectrum/damage", ("iiw-2016-normal-steel-71",)),
        ("trials/sn-line-hanger", "trials/sn-line", ("iiw-2016-normal-steel-80",)),
    ],
)
def test_curves_in_the_rows_of_inputs_lead_to_their_pages(
    client: httpx.Client, name: str, route: str, curves: tuple[str, ...]
) -> None:
    inputs = page_of(client, example(name), route).partition("<h2>Inputs</h2>")[2]
    for curve in curves:
        assert f'<dd><a data-page="pages/curves/{curve}">{curve}</a>' in inputs


def test_a_curve_of_the_policy_has_no_page_in_the_rows_of_inputs() -> None:
    with under(policy_of(WORKS.encode())):
        assert named_curve_term("works-toe") == "works-toe"
    assert named_curve_term("works<") == "works&lt;"

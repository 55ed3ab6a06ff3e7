"""Reports of checks: what stands on them, no text of the user becomes markup, same bytes every time."""

from __future__ import annotations

import copy
import re

import httpx
import pytest

from service.base.envelope import evaluate
from service.base.finding_rows import finding_groups
from service.base.forms.printable import escaped
from service.base.text import number
from service.report import governing
from service.report.pictures.curve import applied_point
from service.topics.check.models import BlocksLoadingInput, CheckRequest
from service.topics.registry import find
from tests.api.report_pages import HOSTILE, OWN_CURVE, PAGE, Balanced, example, page_of, toe


@pytest.fixture(scope="module")
def bracket(client: httpx.Client) -> str:
    return page_of(client, example("check/bracket-hanger"))


def test_bracket_shows_the_parts_in_order(bracket: str) -> None:
    heads = re.findall(r"<h2>([^<]*)</h2>", bracket)
    before = ["Governing point", "Where the damage comes from", "Weld lines", "Inputs", "Method"]
    assert heads == [*before, "Sources", "Findings", "Rules applied", "Caution", "Record", "Signatures"]
    assert bracket.index('class="verdict') < bracket.index("<h2>")


def test_bracket_numbers_are_those_of_the_answer(client: httpx.Client, bracket: str) -> None:
    request = example("check/bracket-hanger")
    envelope = client.post("/v1/check", json=request).json()
    answer, text = envelope["answer"], Balanced(bracket).text
    for shown in (
        answer["verdict"].upper(),
        answer["governing"]["line"],
        f"{answer['utilisation']:#.3g}",
        f"{answer['equivalent_stress_mpa']:#.3g} MPa",
        envelope["record"]["input_digest"],
        envelope["caution"],
    ):
        assert shown in text
    for source in envelope["record"]["sources"]:
        assert source["citation"] in text
        assert source["status"] in text
    for group in finding_groups(envelope["findings"]):
        assert " ".join(group.text.split()) in text
        for lines, texts in group.rows:
            assert " ".join((", ".join(lines), *texts)) in text


def test_bracket_has_a_picture_a_line_and_four_more(bracket: str) -> None:
    assert bracket.count("<svg ") == 12 + 4
    assert len(re.findall(r'<svg [^>]*role="img" aria-label="[^"]+"><title>[^<]+</title>', bracket)) == 16
    assert bracket.count("<desc>") == 15  # the lines in space say it all in their name


def test_page_is_whole_and_fetches_nothing(bracket: str) -> None:
    read = Balanced(bracket)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(read.names)
    for name, value in read.attributes:
        assert name != "src"
        assert not name.startswith("on")
        if name in {"href", "xlink:href"}:
            assert str(value).startswith("#")
    assert "@import" not in bracket
    assert not re.search(r"url\((?!#)", bracket)


def test_pictures_hold_text_in_the_generic_family_and_resolve_their_references(bracket: str) -> None:
    for picture in re.findall(r"<svg .*?</svg>", bracket, re.DOTALL):
        assert "<text" in picture
        assert "DejaVu" not in picture
        assert "sans-serif" in picture
        used = set(re.findall(r'(?:href="#|url\(#)([^")]*)', picture))
        assert used <= set(re.findall(r' id="([^"]*)"', picture))


def test_same_request_same_bytes(client: httpx.Client, bracket: str) -> None:
    assert page_of(client, example("check/bracket-hanger")) == bracket


def test_page_carries_a_closed_policy(client: httpx.Client) -> None:
    answer = client.post("/v1/check", json=toe(), headers=PAGE)
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "script-src" not in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert 'http-equiv="Content-Security-Policy"' in answer.text


@pytest.mark.parametrize(
    "hostile",
    [
        HOSTILE,
        "</title></style><script>" + "x" * 176,
        "{{ 7 * 7 }}{% raw %}{# note #}" + HOSTILE,
        "\u202edaol\u202c <b>\u2066'\"",
    ],
)
def test_text_of_the_user_never_becomes_markup(client: httpx.Client, hostile: str) -> None:
    request = toe(title=hostile)
    request["lines"][0]["name"] = hostile
    request["lines"][0]["unit_load"] = {"value": 1.0, "unit": "<i>kN</i>"}
    case = request["lines"][0]["cases"].pop("pull")
    request["lines"][0]["cases"]["<u>pull</u>"] = case
    request["loading"]["factors"] = {"<u>pull</u>": request["loading"]["factors"]["pull"]}
    own = {**OWN_CURVE, "survival_probability": 0.977, "name": "<s>own</s>", "origin": "<img src=x>"}
    request["curves"] = {"rule": "fixed", "curve": own}
    page = page_of(client, request)
    read = Balanced(page)
    assert not {"script", "b", "i", "u", "s", "img"} & set(read.names)
    assert "<script" not in page
    assert read.text.count(escaped(hostile)) >= 4
    assert read.names.count("style") == 1
    assert read.names.count("title") == 1 + read.names.count("svg")
    assert page_of(client, request) == page


def test_control_characters_of_the_user_are_shown_as_escapes(client: httpx.Client) -> None:
    name = "a\x00\x1b[2K\u202e<b>"
    request = toe(title=name)
    request["lines"][0]["name"] = name
    request["loading"]["one_repeat"] = {"value": 2.0, "unit": f"km{name}"}
    request["curves"] = {
        "rule": "fixed",
        "curve": {**OWN_CURVE, "survival_probability": 0.977, "name": name, "origin": name},
    }
    page = page_of(client, request)
    assert page.count("a\\x00\\x1b[2K\\u202e&lt;b&gt;") >= 6
    assert "kma\\x00" in page
    assert not set(page) & {"\x00", "\x1b", "\u202e"}
    assert "<b>" not in page


def test_names_in_any_script_and_with_formula_signs_stay_as_they_are(client: httpx.Client) -> None:
    request = toe()
    request["lines"][0]["name"] = "溶接 $x_1^2$\n%s \\frac"
    assert "溶接 $x_1^2$ %s \\frac" in Balanced(page_of(client, request)).texts


def test_failing_check_says_how_far_loads_must_fall(client: httpx.Client) -> None:
    request = toe()
    request["loading"]["factors"]["pull"] = {"maximum": 40.0, "minimum": 1.0}
    text = Balanced(page_of(client, request)).text
    assert "✗ FAIL" in text
    assert "must come down to" in text


def test_undecided_check_shows_the_limit_that_is_left_on_top(client: httpx.Client) -> None:
    request = toe()
    request["lines"][0]["mesh"]["element_size_mm"] = 30.0
    page = page_of(client, request)
    read = Balanced(page)
    assert "? UNDECIDED" in read.text
    assert "carries no verdict" in read.text
    banner = page[page.index('class="verdict') : page.index("<h2>")]
    assert "<strong>Outside: </strong>" in banner


def test_check_without_cycles_says_so(client: httpx.Client) -> None:
    request = toe()
    request["loading"] = {
        "kind": "blocks",
        "blocks": [{"factors": {"pull": {"maximum": 1.0, "minimum": 1.0}}, "cycles": n} for n in (10, 20)],
    }
    text = Balanced(page_of(client, request)).text
    assert "no stress range at any judged station, so nothing was judged" in text
    assert "No stress range at the governing point" in text
    assert "No cycle does damage, so no point is drawn" in text


@pytest.mark.parametrize("name", ["check/nominal-normal-and-shear", "check/root-history"])
def test_other_bases_and_histories(client: httpx.Client, name: str) -> None:
    page = page_of(client, example(name))
    text = Balanced(page).text
    assert ("ranges that do not close" in text) == (name == "check/root-history")
    assert ("biaxiality ratio" in text.split("Method")[0].split("Where")[0]) == (name == "check/root-history")


def test_points_without_opening_are_shown_as_such(client: httpx.Client) -> None:
    request = toe()
    line = request["lines"][0]
    size = len(line["position_mm"])
    line["notch"]["opening_angle_deg"] = 0.0
    line["cases"]["pull"] = {"peaks_mpa": {"opening": [0.0] * size, "tearing": [9.0] * size}}
    text = Balanced(page_of(client, request)).text
    assert "no opening stress" in text
    assert "no opening" in text


def test_everything_that_moves_a_curve_stands_among_the_inputs(client: httpx.Client) -> None:
    own = {**OWN_CURVE, "name": "own", "origin": "tests of the works"}
    own |= {"survival_probability": 0.5, "sd_log10_cycles": 0.2}
    request = copy.deepcopy(example("check/nominal-normal-and-shear"))
    request["curves"] = {"rule": "fixed", "curve": own, "yield_strength_mpa": 355.0}
    request["target"] = {"repeats": 1.0, "survival_probability": 0.977, "sample_size": 12}
    request["lines"][0]["cases"] = {"bump": {"normal_mpa": [40.0]}}
    text = Balanced(page_of(client, request)).text
    for words in (
        "curve own (own; tests of the works)",
        "design curve, ranges of its points 100 MPa",
        "design curve, slopes 3",
        "yield strength 355 MPa",
        "tests behind the curve 12",
    ):
        assert words in text


def test_report_says_whether_cycles_between_blocks_are_added(client: httpx.Client, bracket: str) -> None:
    assert "different blocks are added once a repeat." in Balanced(bracket).text
    request = toe()
    block = {"factors": request["loading"]["factors"], "cycles": 100.0}
    request["loading"] = {"kind": "blocks", "blocks": [block], "transitions": "in-entries"}
    assert "different blocks are among the blocks." in Balanced(page_of(client, request)).text


def test_a_load_case_may_be_called_like_a_column_of_the_page(client: httpx.Client) -> None:
    request = toe()
    for name in ("cycles", "block", "items"):
        request["lines"][0]["cases"][name] = request["lines"][0]["cases"]["pull"]
        request["loading"]["factors"][name] = {"maximum": 0.25, "minimum": 0.125}
    page = page_of(client, request)
    head = page[page.index("<h3>Loading</h3>") :]
    cells = re.findall(r"<td[^>]*>([^<]*)</td>", head[: head.index("</table>")])
    assert cells[0] == "1"
    assert cells[1] == number(request["loading"]["cycles"])
    assert cells[3:] == ["0.125 to 0.25"] * 3


def test_own_survival_and_factors_of_the_target_move_the_curve(client: httpx.Client) -> None:
    target = {"resistance_factor": 1.25, "load_factor": 1.1, "damage_limit": 0.5}
    text = Balanced(page_of(client, toe(target=target, condition="stress-relieved"))).text
    assert "as the curves state it" in text
    assert "by the load ratio of each mode" in text
    assert "damage limit 0.5" in text


def test_many_lines_keep_the_page_readable(client: httpx.Client) -> None:
    request = toe()
    line = request["lines"][0]
    request["lines"] = [{**line, "name": f"toe {k}"} for k in range(30)]
    cases = {"pull": {"peaks_mpa": {"opening": [900.0]}}}
    request["lines"][0] = {**line, "name": "single", "position_mm": [0.0], "cases": cases}
    page = page_of(client, request)
    assert "the other 6 are in the table" in page
    assert "Lines of one station are in the table only" in page
    assert page.count("<svg ") == 23 + 1
    assert all(f"toe {k}" in page for k in range(1, 30))


def test_blocks_beyond_the_table_are_counted(client: httpx.Client) -> None:
    request = toe()
    factors = [{"pull": {"maximum": 2.0 + 0.1 * k, "minimum": 0.0}} for k in range(50)]
    blocks = [{"factors": f, "cycles": 100.0} for f in factors]
    request["loading"] = {"kind": "blocks", "blocks": blocks, "transitions": "in-entries"}
    text = Balanced(page_of(client, request)).text
    assert "10 more blocks are not listed" in text
    assert "10 with less damage are not listed" in text


def test_cut_off_is_drawn_where_ranges_reach_above_it(client: httpx.Client) -> None:
    request = copy.deepcopy(example("check/nominal-normal-and-shear"))
    del request["curves"]["shear_curve"]
    request["curves"].pop("interaction")
    request["lines"][0]["cases"] = {"bump": {"normal_mpa": [40.0]}}
    assert "cut-off" in page_of(client, request)


@pytest.mark.parametrize("name", ["bracket-hanger", "one-toe-constant", "root-history", "nominal-normal-and-shear"])
def test_cycles_of_the_pictures_sum_to_the_damage_of_the_answer(name: str) -> None:
    calculation = find("check")
    assert calculation is not None
    found = evaluate(calculation, example(f"check/{name}"))
    request, answer = found.request, found.envelope()["answer"]
    assert isinstance(request, CheckRequest)
    index = [line.name for line in request.lines].index(answer["governing"]["line"])
    cycles = governing.governing_cycles(request, index, answer["governing"]["index"], answer["curve"])
    assert cycles.damage.sum() == pytest.approx(answer["damage"], rel=1e-12)
    assert cycles.range_mpa.max() == pytest.approx(answer["equivalent_stress_mpa"], rel=1e-12)
    point = applied_point(cycles.curve, float(cycles.count.sum()), answer["damage"], answer["equivalent_stress_mpa"])
    assert point is not None
    if answer["life_cycles"] is not None:
        life = float(cycles.curve.life_cycles(point.range_mpa)) * answer["damage_limit"]
        if isinstance(request.loading, BlocksLoadingInput):  # a life counts the cycles of the blocks alone
            given = sum(block.cycles for block in request.loading.blocks) * request.target.repeats
            life *= given / cycles.count.sum()
        assert life == pytest.approx(answer["life_cycles"], rel=1e-9)

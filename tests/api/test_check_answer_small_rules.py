"""What the answer of a check says of its lines and inputs: places, remarks, words, text, pointers into a map."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.errors import InputError
from service.lines.request import LineSource
from service.topics.check.lines import LineInput
from service.topics.check.locations import line_course, place_columns, station_place
from service.topics.check.models import CheckRequest
from service.topics.check.remarks import of_inputs
from service.topics.check.text import check_text
from service.topics.check.words import descriptions_of

EXAMPLES = Path(__file__).parents[2] / "openapi_examples" / "check"


def given_line(size: int = 1, **more: Any) -> dict[str, Any]:
    """A line on nominal stress of 10 MPa, or on peaks of 10 MPa with a notch and a mesh."""
    line: dict[str, Any] = {"name": "seam", "position_mm": [5.0 * place for place in range(size)], **more}
    if more.get("basis", "nominal") == "peak-stress":
        line |= {
            "notch": {"kind": "toe", "opening_angle_deg": 135.0},
            "mesh": {"element": "quad4", "element_size_mm": 1.0},
        }
        column = {"peaks_mpa": {"opening": [10.0] * size, "tearing": [0.0] * size}}
    else:
        line["basis"] = more.get("basis", "nominal")
        column = {"normal_mpa": [10.0] * size}
    return {**line, "cases": line.get("cases", {"pull": column})}


def request(*lines: dict[str, Any], **more: Any) -> CheckRequest:
    factors = {"pull": {"maximum": 1.0, "minimum": 0.0}}
    content = {"lines": list(lines), "loading": {"kind": "constant", "cycles": 1e6, "factors": factors}, **more}
    return CheckRequest.model_validate(content)


def codes(checked: CheckRequest) -> list[tuple[str, str | None]]:
    return [(finding.code, finding.line) for finding in of_inputs(checked).findings]


def test_what_a_request_leaves_out_is_the_exact_and_the_unfavourable() -> None:
    found = request(given_line())
    assert (found.coefficients, found.condition, found.lines[0].average_over) == ("exact", "as-welded", 1)
    assert (found.lines[0].closed, found.lines[0].exclude_ends_mm) == (False, 0.0)


# --- places


@pytest.mark.parametrize(
    ("size", "closed", "words"),
    [
        (1, False, {"starts at": 0}),
        (2, False, {"starts at": 0, "ends at": 1}),
        (3, False, {"starts at": 0, "runs by": 1, "ends at": 2}),
        (4, False, {"starts at": 0, "runs by": 1, "ends at": 3}),
        (4, True, {"starts at": 0, "runs by": 1, "closes after": 3}),
    ],
)
def test_the_course_of_a_line_names_its_stations(size: int, closed: bool, words: dict[str, int]) -> None:
    line = LineInput.model_validate(given_line(size, closed=closed, node_id=[70 + place for place in range(size)]))
    found = line_course(line)
    assert list(found) == list(words)
    for name, place in words.items():
        assert f"station {place}" in found[name]
        assert f"{5 * place} mm" in found[name]
        assert f"node {70 + place}" in found[name]


def test_a_place_has_the_name_of_its_line_and_what_the_line_has() -> None:
    bare = LineInput.model_validate(given_line(2))
    assert station_place(bare, 1) == {
        "line": "seam",
        "index": 1,
        "position_mm": 5.0,
        "coordinates_mm": None,
        "node_id": None,
    }
    placed = LineInput.model_validate(given_line(2, coordinates_mm=[[0, 0, 0], [0, 3, 4]], node_id=[8, 9]))
    assert station_place(placed, 1)["coordinates_mm"] == [0.0, 3.0, 4.0]
    assert station_place(placed, 1)["node_id"] == 9


def test_columns_of_places_are_those_that_one_line_has() -> None:
    none = {"node_id": None, "coordinates_mm": None, "position_mm": [0.0, 5.0]}
    nodes = {**none, "node_id": [4, 7]}
    points = {**none, "coordinates_mm": [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]}
    assert place_columns([none, none]) == {}
    assert place_columns([nodes, none]) == {"node_id": [4, 7, None, None]}
    assert place_columns([none, points]) == {
        "x_mm": [None, None, 1.0, 4.0],
        "y_mm": [None, None, 2.0, 5.0],
        "z_mm": [None, None, 3.0, 6.0],
    }
    assert place_columns([nodes, points])["node_id"] == [4, 7, None, None]


# --- remarks


def test_the_radius_is_of_the_material_where_a_line_needs_it() -> None:
    peak, plain = given_line(basis="peak-stress", name="toe"), given_line()
    radius = {"material": {"name": "structural-steel", "control_radius_mm": 0.28}}
    assert codes(request(plain)) == []
    assert codes(request(plain, **radius)) == [("control-radius-not-used", None)]
    both = of_inputs(request(peak, plain, **radius))
    assert "control-radius-not-used" not in {finding.code for finding in both.findings}
    assert of_inputs(request(plain)).tables == ()
    assert of_inputs(request(plain, peak)).tables != ()


def test_a_line_of_its_own_material_is_named_and_the_material_of_all_may_be_idle() -> None:
    own = {"material": {"name": "structural-steel", "control_radius_mm": 0.3}}
    found = codes(request(given_line(**own), given_line(name="other")))
    assert found == [("control-radius-not-used", "seam"), ("own-settings", "seam")]
    found = codes(request(given_line(**own), material={"name": "structural-steel"}))
    assert found == [("control-radius-not-used", "seam"), ("own-settings", "seam"), ("settings-not-used", None)]
    found = codes(request(given_line(**own), given_line(name="other"), material={"name": "structural-steel"}))
    assert ("settings-not-used", None) not in found
    assert ("settings-not-used", None) not in codes(request(given_line(**own)))
    idle = codes(request(given_line(**own), material={"name": "structural-steel", "control_radius_mm": 0.28}))
    assert ("control-radius-not-used", None) not in idle


@pytest.mark.parametrize(
    ("labels", "text"),
    [
        ([], None),
        ([(1.0, "kN")], None),
        ([(1.0, "kN"), (1.0, "kN")], None),
        ([(2.0, "kN")], "(2 kN)"),
        ([(1.0, "kN"), (1.0, "N")], "(1 N, 1 kN)"),
        ([(1.0, "kN"), (2.5, "kN")], "(1 kN, 2.5 kN)"),
    ],
)
def test_unit_loads_other_than_one_of_one_unit_are_labels(labels: list[tuple[float, str]], text: str | None) -> None:
    lines = [
        given_line(name=f"seam {place}", unit_load={"value": value, "unit": unit})
        for place, (value, unit) in enumerate(labels)
    ] or [given_line()]
    found = of_inputs(request(*lines)).findings
    assert [finding.code for finding in found] == (["unit-load-is-a-label"] if text else [])
    assert all(text in finding.message for finding in found if text)


# --- words


def test_words_of_a_request_are_repeated_and_none_are_none() -> None:
    assert descriptions_of(request(given_line())) is None
    named = descriptions_of(request(given_line(), load_cases={"pull": "at the drawbar"}))
    assert named is not None
    assert named.load_cases == {"pull": "at the drawbar"}
    assert named.blocks == []
    with pytest.raises(InputError, match="no line has the load case 'push'"):
        descriptions_of(request(given_line(), load_cases={"push": "at the drawbar"}))
    steel = descriptions_of(request(given_line(), material={"description": "plate of 8 mm"}))
    assert steel is not None
    assert (steel.material, steel.blocks) == ("plate of 8 mm", [])


@pytest.mark.parametrize("word", ["name", "description"])
def test_a_word_of_one_block_lists_all_blocks(word: str) -> None:
    blocks = [{"cycles": 1.0, "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}} for _ in range(2)]
    found = descriptions_of(
        request(given_line(), loading={"kind": "blocks", "blocks": [blocks[0], {**blocks[1], word: "road"}]})
    )
    assert found is not None
    assert [getattr(block, word) for block in found.blocks] == [None, "road"]


# --- text


@pytest.fixture(scope="module")
def envelope(request: pytest.FixtureRequest) -> dict[str, Any]:
    client: httpx.Client = request.getfixturevalue("client")
    content = json.loads((EXAMPLES / "bracket-toe-growth.json").read_text(encoding="utf-8"))["request"]
    answer: dict[str, Any] = client.post("/v1/check", json=content).json()
    return answer


def told(envelope: dict[str, Any], *findings: tuple[str, str, str | None], **more: Any) -> str:
    changed = copy.deepcopy(envelope)
    form = changed["findings"][0]
    changed["findings"] = [
        {**form, "code": code, "severity": severity, "line": line, "message": f"{code} is said"}
        for code, severity, line in findings
    ]
    return check_text(changed, **more)


def test_findings_of_other_lines_are_left_out_but_the_grave_ones(envelope: dict[str, Any]) -> None:
    point = envelope["answer"]["governing"]["line"]
    findings = [
        ("of-all", "note", None),
        ("of-point", "note", point),
        ("of-other", "caution", "elsewhere"),
        ("outside-other", "outside", "elsewhere"),
        ("unjudged-over-limit-with-reason", "caution", "elsewhere"),
    ]
    text = told(envelope, *findings)
    assert "of-other" not in text
    assert "not shown of the other lines: 1 caution (--findings)" in text
    for code in ("of-all", "of-point", "outside-other", "unjudged-over-limit-with-reason"):
        assert f"{code} is said" in text
    whole = told(envelope, *findings, every_finding=True)
    assert "of-other is said" in whole
    assert "not shown of the other lines" not in whole


def test_columns_of_lines_have_their_heads_in_order(envelope: dict[str, Any]) -> None:
    rows = check_text(envelope).splitlines()
    (top,) = [at for at, row in enumerate(rows) if row.startswith("line ")]
    words = ("line", "verdict", "at", "range", "bi-", "curve", "life", "damage", "utili-", "not")
    places = [rows[top].index(word) for word in words]
    assert places == sorted(places)
    assert rows[top].split().count("verdict") == 1
    assert "axiality" in rows[top + 1]


@pytest.mark.parametrize(
    ("reaches", "ended", "fails"),
    [(True, "depth", False), (False, "depth", True), (False, "cycles", False), (True, "cycles", False)],
)
def test_a_crack_that_ends_before_its_target_fails_by_it(
    envelope: dict[str, Any], reaches: bool, ended: str, fails: bool
) -> None:
    changed = copy.deepcopy(envelope)
    changed["answer"]["growth"] |= {"reaches_target": reaches, "end_reason": ended, "life_extension_factor": None}
    text = check_text(changed)
    assert ("the check FAILS by it" in text) == fails
    assert "times the life under constant load" not in text
    changed["answer"]["growth"]["life_extension_factor"] = 1.25
    assert "1.25 times the life under constant load" in " ".join(check_text(changed).split())


@pytest.mark.parametrize(
    ("growth", "factor", "words"),
    [
        (False, 1.25, "1.25 just passes\n"),
        (True, 1.25, "1.25 just passes on the design curve alone, not for the crack"),
        (True, None, "none stated: the crack fails"),
    ],
)
def test_the_factor_on_all_loads_says_what_it_holds_for(
    envelope: dict[str, Any], growth: bool, factor: float | None, words: str
) -> None:
    changed = copy.deepcopy(envelope)
    changed["answer"]["factor_to_limit"] = factor
    if not growth:
        changed["answer"]["growth"] = None
    assert words in check_text(changed)


@pytest.mark.parametrize("lines", [[], ["toe A"], ["toe A", "toe B"]])
def test_lines_that_decide_are_named_beside_the_verdict(envelope: dict[str, Any], lines: list[str]) -> None:
    changed = copy.deepcopy(envelope)
    changed["answer"] |= {"deciding_lines": lines, "verdict": "fail", "biaxiality_ratio": None}
    first, *_ = check_text(changed).splitlines()
    assert first.split(maxsplit=1)[1] == "FAIL" + (f", by {', '.join(lines)}" if lines else "")
    assert any(row.split() == ["biaxiality", "ratio", "-"] for row in check_text(changed).splitlines())


# --- pointers into a map


@pytest.mark.parametrize(
    ("inside", "key"),
    [
        ("/notch/opening_angle_deg", "/lines/3/opening_angle_deg"),
        ("/notch/notch_size_mm", "/lines/3/notch_size_mm"),
        ("/mesh/element", "/lines/3/element"),
        ("/mesh/constants/opening", "/lines/3/constants/opening"),
        ("/exclude_ends_mm", "/lines/3/exclude_ends_mm"),
        ("/weld_direction/0", "/lines/3/weld_direction"),
        ("/cases/pull", "/lines/3"),
        ("", "/lines/3"),
    ],
)
def test_a_place_in_a_line_is_a_key_of_its_rule(inside: str, key: str) -> None:
    assert LineSource(name="seam", rule=3).pointer(inside) == key


# --- a line as a request


def core(**more: Any) -> Any:
    return LineInput.model_validate(given_line(2, **more)).to_core()


def test_normal_and_shear_stress_stand_in_their_columns() -> None:
    cases = {
        "both": {"normal_mpa": [1.0, 2.0], "shear_mpa": [3.0, 4.0]},
        "normal": {"normal_mpa": [5.0, 6.0]},
        "shear": {"shear_mpa": [7.0, 8.0]},
    }
    line = core(cases=cases)
    assert {name: stresses.tolist() for name, stresses in line.cases.items()} == {
        "both": [[1.0, 3.0], [2.0, 4.0]],
        "normal": [[5.0, 0.0], [6.0, 0.0]],
        "shear": [[0.0, 7.0], [0.0, 8.0]],
    }


@pytest.mark.parametrize(
    ("basis", "case", "taken"),
    [
        ("nominal", {"normal_mpa": [1.0, 2.0]}, True),
        ("nominal", {"peaks_mpa": {"opening": [1.0, 2.0]}}, False),
        ("nominal", {"normal_mpa": [1.0, 2.0], "peaks_mpa": {"opening": [1.0, 2.0]}}, False),
        ("nominal", {}, False),
        ("peak-stress", {"peaks_mpa": {"opening": [1.0, 2.0]}}, True),
        ("peak-stress", {"normal_mpa": [1.0, 2.0]}, False),
        ("peak-stress", {"shear_mpa": [1.0, 2.0]}, False),
        ("peak-stress", {"peaks_mpa": {"opening": [1.0, 2.0]}, "shear_mpa": [1.0, 2.0]}, False),
    ],
)
def test_each_basis_takes_its_own_stresses(basis: str, case: dict[str, Any], taken: bool) -> None:
    if taken:
        assert list(core(basis=basis, cases={"pull": case}).cases) == ["pull"]
        return
    with pytest.raises(InputError, match=r"takes .* and nothing else"):
        core(basis=basis, cases={"pull": case})


def test_directions_are_for_tensors_and_tensors_need_both() -> None:
    names = ("xx", "yy", "zz", "xy", "yz", "zx")
    tensors = {"tensors_mpa": {name: [10.0, 10.0] for name in names}}
    peaks = {"peaks_mpa": {"opening": [1.0, 2.0], "tearing": [1.0, 2.0]}}
    along, across = {"tangent": [[1.0, 0.0, 0.0]] * 2}, {"bisector": [[0.0, 1.0, 0.0]] * 2}
    for given in (along, across):
        with pytest.raises(InputError, match="only with tensors_mpa"):
            core(basis="peak-stress", cases={"pull": peaks}, **given)
        with pytest.raises(InputError, match="tensors need the tangent and the bisector"):
            core(basis="peak-stress", cases={"pull": tensors}, **given)
    assert core(basis="peak-stress", cases={"pull": tensors, "side": peaks}, **along, **across).cases.keys() == {
        "pull",
        "side",
    }


def test_modes_are_missed_on_the_basis_of_peaks_alone() -> None:
    one = {"peaks_mpa": {"opening": [1.0, 2.0]}}
    found = core(basis="peak-stress", cases={"pull": one}).remarks
    assert "mode-in-no-case" in {each.code for each in found}
    notch = {"notch": {"kind": "toe", "opening_angle_deg": 135.0}}
    assert (
        core(cases={"pull": {"normal_mpa": [1.0, 2.0]}}, **notch).remarks
        == core(cases={"pull": {"normal_mpa": [1.0, 2.0]}}).remarks
    )

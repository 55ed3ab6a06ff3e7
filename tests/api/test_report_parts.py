"""Parts of reports: findings, sources, inputs, templates, thinning of pictures."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from jinja2 import UndefinedError

from fatcore.curves.curve import Curve
from service.base.document import Titled
from service.base.finding_rows import finding_groups
from service.report import inputs
from service.report.check_inputs import check_inputs
from service.report.load_inputs import damage_inputs
from service.report.page import TEMPLATES, page
from service.report.pictures import curve, exceedance
from service.topics.check.lines import LineInput
from service.topics.check.models import CheckRequest
from service.topics.cracks.law import LawRequest
from service.topics.cracks.routes import GrowthRequest
from service.topics.spectrum.models import DamageRequest
from tests.api.report_pages import FOLDER, HOSTILE, Balanced, example, toe


def finding(severity: str, message: str, **more: Any) -> dict[str, Any]:
    blank = dict.fromkeys(("field", "value", "low", "high", "source", "line"))
    return {"code": "c", "severity": severity, "message": message, "count": 1, **blank, **more}


def shown(found: list[dict[str, Any]], **record: Any) -> str:
    """A page of nothing but the findings and the record."""
    blank = {
        "calculation": "c",
        "revision": 1,
        "version": "1",
        "input_digest": "d",
        "sources": [],
        "tables": {},
        "policy": None,
    }
    envelope = {"answer": {}, "findings": found, "caution": "care", "record": {**blank, **record}}
    return page("report.html", envelope, request=Titled(), kind="kind", title="", verdict="answer", word="word")


def test_band_words_follow_the_curve() -> None:
    bare = Curve.from_point(id="a", source="own", range_mpa=90.0, slopes=[3.0])
    stated = Curve.from_point(id="b", source="own", range_mpa=90.0, slopes=[3.0], survival_probability=0.977)
    band = TEMPLATES.get_template("parts.html").module.band  # type: ignore[attr-defined]
    scattered = replace(stated, sd_log10_cycles=0.2)
    assert "states no survival probability, so no band" in band(bare)
    assert "states no scatter, so no band" in band(stated)
    assert "standard deviation 0.2 of log10 life, by the source" in band(scattered)
    drawn = [curve.curve_figure(each, each, None, 1.0).svg for each in (bare, stated, scattered)]
    assert ["survival 10 to 90 %" in each for each in drawn] == [False, False, True]


def test_exceedance_is_thinned_but_keeps_its_ends() -> None:
    ranges, count = np.linspace(1.0, 100.0, 50_000), np.ones(50_000)
    falling, reached = exceedance.exceedance(ranges, count)
    assert falling.size <= exceedance.MOST_STEPS
    assert (falling[0], reached[0]) == (100.0, 1.0)
    assert (falling[-1], reached[-1]) == (1.0, 50_000.0)
    assert (np.diff(reached) > 0.0).all()


def test_damage_shares_sum_to_the_whole_and_stay_finite_without_damage() -> None:
    ranges = np.array([10.0, 20.0, 90.0])
    assert exceedance.damage_share(ranges, np.array([0.1, 0.2, 0.7]))[1].sum() == pytest.approx(100.0)
    assert exceedance.damage_share(ranges, np.zeros(3))[1].sum() == 0.0


def test_findings_come_gravest_first_and_name_lines_once() -> None:
    found = [
        finding("note", "n"),
        finding("caution", "c", count=5, value=7.0, high=6.0),
        finding("outside", "o", line="A", value=2.0, low=3.0),
        finding("outside", "o", line="B", value=1.0, low=3.0, source="key"),
    ]
    text = Balanced(shown(found)).text
    assert text.index("outside o") < text.index("caution c") < text.index("Rules applied rule, as it was applied n")
    assert "[ c ; value 1; from 3; source key ] A, B" in text or "[ c ; value 1; from 3] A, B" in text
    assert "[ c ; value 7; limit 6; 5 times]" in text
    assert "Outside: o (A, B) Findings:" in text
    assert "Findings: 1 outside a validity limit, 1 caution; see below. Rules applied: 1." in text


def test_the_worst_value_of_several_lines_is_the_farthest_beyond_a_limit_of_zero_too() -> None:
    near, far = (finding("outside", "o", line=f"{value:g}", value=value, low=0.0) for value in (-1.0, -3.0))
    assert "value -3; from 0] -1, -3" in Balanced(shown([near, far])).text


def test_many_findings_are_bounded_and_say_so() -> None:
    notes = [finding("note", f"{k} of them", value=float(k), low=0.0, high=2.0) for k in range(50)]
    outside = [finding("outside", f"o{k}") for k in range(7)]
    cautions = [finding("caution", f"c{k}") for k in range(103)]
    lines = [finding("caution", "same", line=f"L{k}") for k in range(20)]
    text = Balanced(shown([*notes, *outside, *lines, *cautions])).text
    assert "Findings: 7 outside a validity limit, 104 cautions; see below. Rules applied: 1." in text
    assert "<a> of them [ c ; limits 0 to 2] a 0 1 2" in text
    assert "38 39 10 more of this kind are in the JSON answer" in text
    assert "L11, 8 more" in Balanced(shown(lines)).text
    assert all(f"o{k}" in text for k in range(7))
    assert "Outside: o4 Outside: 2 more, listed under Findings" in text
    assert "11 more kinds are in the JSON answer" in text
    bare = Balanced(shown([])).text
    assert "No findings." in bare
    assert "Sources None. Findings None. Caution" in bare


def test_every_figure_of_every_message_stands_beside_its_line() -> None:
    """What messages of one kind have in common stands once, with letters for what differs."""
    envelope = json.loads((FOLDER / "check/bracket-hanger.json").read_text(encoding="utf-8"))["response"]
    groups = finding_groups(envelope["findings"])
    again = set()
    for group in groups:
        for lines, texts in group.rows or ((group.lines, ()),):
            letters = dict(zip(group.heads, texts, strict=True))
            message = re.sub(r"<(\w)>", lambda found, known=letters: known[found.group(1)], group.text)
            again |= {(message, line) for line in lines or (None,)}
    assert again == {(found["message"], found["line"]) for found in envelope["findings"]}
    assert len(groups) < 32 < 130 < len(envelope["findings"])


def test_findings_of_the_lines_that_govern_stand_before_those_of_others() -> None:
    found = [finding("caution", f"of {name}", line=name, code=name) for name in ("A", "B")]
    found += [finding("caution", "of all", code="all"), finding("outside", "of A", line="A")]
    assert [group.text for group in finding_groups(found, {"B"})] == ["of A", "of B", "of all", "of A"]


def test_a_value_beyond_its_limit_reads_so() -> None:
    found = [finding("outside", "o", value=value, low=0.5, high=1.0) for value in (1.0004,)]
    assert finding_groups(found)[0].remarks == ("value 1.0004", "limits 0.5 to 1")
    found = [finding("outside", f"{k} of them", value=value, low=0.5) for k, value in enumerate((0.49996, 0.3))]
    assert [texts for _, texts in finding_groups(found)[0].rows] == [("0", "0.49996"), ("1", "0.3")]


def test_numbers_in_names_are_no_figures() -> None:
    names = ["iiw-2016-normal-steel-71", "iiw-2016-normal-steel-80"]
    assert len(finding_groups([finding("note", f"{name}: 5 of tet10") for name in names])) == 2
    (one,) = finding_groups([finding("note", f"tet10 at station {k}, 1,234.5 MPa") for k in (3, 4)])
    assert (one.text, one.heads) == ("tet10 at station <a>, 1,234.5 MPa", ("a",))


def test_findings_and_sources_are_text_wherever_they_stand() -> None:
    found = [finding("outside", HOSTILE, line=HOSTILE, code=HOSTILE, source=HOSTILE)]
    source = {"key": HOSTILE, "citation": HOSTILE, "status": HOSTILE, "remark": HOSTILE}
    read = Balanced(shown(found, sources=[source], tables={HOSTILE: HOSTILE}))
    assert not {"script", "b"} & set(read.names)
    assert read.text.count(HOSTILE) == 12


def test_templates_escape_everything_and_refuse_a_name_they_are_not_given() -> None:
    assert TEMPLATES.autoescape is True
    with pytest.raises(UndefinedError, match="'kind' is undefined"):
        page("report.html", {"answer": {}, "findings": []}, request=Titled(), title="", verdict="answer", word="word")


def test_markup_of_a_picture_is_the_only_one_that_a_template_takes_as_it_is() -> None:
    trusted = {name for name in TEMPLATES.list_templates(["html"]) if "safe" in template(name)}
    assert trusted == {"parts.html"}
    assert template("parts.html").count("safe") == template("parts.html").count("{{ picture.svg | safe }}") == 1


def template(name: str) -> str:
    """The text of a template."""
    assert TEMPLATES.loader
    return TEMPLATES.loader.get_source(TEMPLATES, name)[0]


def listed(request: Any, *leave_out: str) -> dict[str, str]:
    """Inputs by name; a default ends with its mark."""
    rows = inputs.list_inputs(request, leave_out)
    return {row.name: row.value + (" (default)" if row.default else "") for row in rows}


def test_inputs_are_listed_with_units_and_bounded() -> None:
    shown = listed(CheckRequest.model_validate(toe(title="")))
    assert shown["target, survival probability"] == "0.977"
    assert shown["line 1, mesh, element size at the notch"] == "1 mm"
    assert "title" not in shown
    wide = toe()
    line = {**wide["lines"][0], "position_mm": [float(j) for j in range(9)]}
    wide["lines"] = [{**line, "name": f"t{k}"} for k in range(40)]
    rows = inputs.list_inputs(CheckRequest.model_validate(wide))
    assert ("line 1, position", "9 values, 0 to 8 mm") in {(row.name, row.value) for row in rows}
    assert len(rows) == inputs.MOST_ROWS + 1
    assert rows[-1].value.endswith("more in the request")


def test_inputs_whose_names_read_the_same_are_all_listed() -> None:
    shown = listed(LawRequest.model_validate(example("cracks/growth-tabled")["law"]))
    assert shown["published threshold"] == "iiw-2016/steel"
    assert "threshold" not in shown  # the one in figures is not set


def test_inputs_are_as_given_in_the_words_of_the_trade() -> None:
    request = example("cracks/growth-tabled")
    request["loading"] = {"kind": "constant", "maximum": 1.2345678, "one_repeat": {"value": 0.5, "unit": "km"}}
    shown = listed(GrowthRequest.model_validate(request))
    assert shown["loading, largest load factor"] == "1.2345678"
    assert shown["loading, smallest load factor"] == "0 (default)"  # nothing is a load factor as well
    assert shown["loading, one repeat is"] == "0.5 km"
    assert shown["crack, stress intensity for load factor 1, sliding"].endswith(" MPa√mm")
    assert shown["condition"] == "as-welded (default)"
    assert not {name for name in shown if "offset" in name or "static" in name}  # defaults that do nothing


OWN = {"name": "own", "range_mpa": [50.0], "life_cycles": [1e7], "slopes": [3.0]}
CURVE = "iiw-2016-normal-steel-71"


@pytest.mark.parametrize(
    ("loading", "there", "absent"),
    [
        ({"range_mpa": [90.0], "count": [1e5]}, set(), {"ranges that do not close", "hysteresis threshold"}),
        ({"history_mpa": [0.0, 90.0, 0.0]}, {"ranges that do not close"}, {"a cycle of several modes is"}),
        (
            {"modes_mpa": {"a": [0.0, 90.0, 0.0]}, "weights": {"a": 1.0}},
            {"ranges that do not close", "a cycle of several modes is", "weight of mode a"},
            {"correction for mean stress"},
        ),
    ],
    ids=["blocks", "history", "modes"],
)
def test_what_a_form_of_loading_does_not_use_is_left_out(
    loading: dict[str, Any], there: set[str], absent: set[str]
) -> None:
    found = damage_inputs(DamageRequest.model_validate({**loading, "curve": CURVE}))
    names = {row.name for group in found["groups_of_inputs"] for row in group.rows}
    assert there <= names
    assert not absent & names
    assert not {"unit stated", "list cycles"} & names
    assert (found["input_blocks"] is not None) == ("range_mpa" in loading)


def test_what_is_left_open_says_what_stands_for_it() -> None:
    request = {"range_mpa": [90.0], "count": [1e5], "curve": OWN, "document": {"weld_size": "throat 5 mm"}}
    groups = damage_inputs(DamageRequest.model_validate(request))["groups_of_inputs"]
    shown = {group.title: {row.name: (row.value, row.default) for row in group.rows} for group in groups}
    assert shown["Resistance and what is asked"]["survival probability"] == ("as the curve states it", True)
    assert shown["Design curve of your own"]["lives of its points"] == ("10,000,000 cycles", False)
    assert "scatter index survival" not in shown["Design curve of your own"]
    assert shown["Stated, not judged"] == {"weld size": ("throat 5 mm", False)}
    ruled = DamageRequest.model_validate({**request, "damage_limit_rule": "iiw-2016/general", "document": None})
    rows = {row.name: row.value for group in damage_inputs(ruled)["groups_of_inputs"] for row in group.rows}
    assert rows["permissible damage by"] == "iiw-2016/general"
    assert "permissible damage sum" not in rows
    assert rows["weld size, weld quality, environment"] == "not stated"


def test_many_blocks_are_listed_to_a_number_and_counted() -> None:
    request = {"range_mpa": [90.0] * 50, "count": [1.5] * 50, "curve": CURVE}
    blocks = damage_inputs(DamageRequest.model_validate(request))["input_blocks"]
    assert (len(blocks["rows"]), blocks["rest"]) == (40, 10)
    assert blocks["rows"][0] == {"block": "1", "range": "90", "cycles": "1.5"}


def test_what_is_asked_of_a_check_is_given_in_full() -> None:
    target = {"damage_limit_rule": "dnv-rp-c203/general", "design_fatigue_factor": 3.0}
    groups = check_inputs(CheckRequest.model_validate(toe(target=target)))["groups_of_inputs"]
    asked = {row.name: (row.value, row.default) for group in groups for row in group.rows}
    assert asked["permissible damage sum"] == ("dnv-rp-c203/general", False)
    assert asked["design fatigue factor"] == ("3", False)
    assert asked["factor on the loads"] == ("1", True)
    assert asked["survival probability"][1] is True


def test_rows_of_vectors_are_counted() -> None:
    line = LineInput.model_validate({**toe()["lines"][0], "coordinates_mm": [[float(k), 0.0, 0.0] for k in range(9)]})
    assert {row.value for row in inputs.list_inputs(line) if row.name == "coordinates"} == {"9 rows"}

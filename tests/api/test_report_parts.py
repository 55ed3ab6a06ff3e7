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
from service.report.page import TEMPLATES, page
from service.report.pictures import curve, exceedance
from service.topics.check.models import CheckRequest
from service.topics.cracks.law import LawRequest
from tests.api.report_pages import FOLDER, HOSTILE, Balanced, example, toe


def finding(severity: str, message: str, **more: Any) -> dict[str, Any]:
    blank = dict.fromkeys(("field", "value", "low", "high", "source", "line"))
    return {"code": "c", "severity": severity, "message": message, "count": 1, **blank, **more}


def shown(found: list[dict[str, Any]], **record: Any) -> str:
    """A page of nothing but the findings and the record."""
    blank = {"calculation": "c", "revision": 1, "version": "1", "input_digest": "d", "sources": [], "tables": {}}
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


def test_inputs_are_listed_with_units_and_bounded() -> None:
    listed = dict(inputs.list_inputs(CheckRequest.model_validate(toe(title=""))))
    assert listed["target survival probability"] == "0.977"
    assert listed["lines 1 mesh element size"] == "1 mm"
    assert "title" not in listed
    wide = toe()
    line = {**wide["lines"][0], "position_mm": [float(j) for j in range(9)]}
    wide["lines"] = [{**line, "name": f"t{k}"} for k in range(40)]
    rows = inputs.list_inputs(CheckRequest.model_validate(wide))
    assert ("lines 1 position", "9 values, 0 to 8 mm") in rows
    assert ("lines 1 closed", "no") in rows
    assert len(rows) == inputs.MOST_ROWS + 1
    assert rows[-1][1].endswith("more in the request")


def test_inputs_whose_names_read_the_same_are_all_listed() -> None:
    rows = inputs.list_inputs(LawRequest.model_validate(example("cracks/growth-tabled")["law"]))
    assert ("threshold", "iiw-2016/steel") in rows  # the one in figures, called the same, is not set

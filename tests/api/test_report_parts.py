"""Parts of reports: findings, markup, inputs, thinning of pictures."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.curves.curve import Curve
from service.report import (
    curve_plot,
    evidence,
    exceedance_plot,
    inputs,
)
from service.report.markup import Html, tag
from service.topics.check.models import CheckRequest
from tests.api.report_pages import Balanced, toe


def finding(severity: str, message: str, **more: Any) -> dict[str, Any]:
    blank = dict.fromkeys(("field", "value", "low", "high", "source", "line"))
    return {"code": "c", "severity": severity, "message": message, "count": 1, **blank, **more}


def test_band_words_follow_the_curve() -> None:
    bare = Curve.from_point(id="a", source="own", range_mpa=90.0, slopes=[3.0])
    stated = Curve.from_point(id="b", source="own", range_mpa=90.0, slopes=[3.0], survival_probability=0.977)
    assert "no band" in curve_plot.band_text(bare)
    assert "common practice" in curve_plot.band_text(stated)
    picture = curve_plot.curve_figure(bare, bare, None, 1.0, width_mm=90.0, caption="")
    assert "survival" not in picture
    assert "figcaption" not in picture


def test_exceedance_is_thinned_but_keeps_its_ends() -> None:
    ranges, count = np.linspace(1.0, 100.0, 50_000), np.ones(50_000)
    falling, reached = exceedance_plot.exceedance(ranges, count)
    assert falling.size <= exceedance_plot.MOST_STEPS
    assert (falling[0], reached[0]) == (100.0, 1.0)
    assert (falling[-1], reached[-1]) == (1.0, 50_000.0)
    assert (np.diff(reached) > 0.0).all()


def test_damage_shares_sum_to_the_whole_and_stay_finite_without_damage() -> None:
    ranges = np.array([10.0, 20.0, 90.0])
    assert exceedance_plot.damage_share(ranges, np.array([0.1, 0.2, 0.7]))[1].sum() == pytest.approx(100.0)
    assert exceedance_plot.damage_share(ranges, np.zeros(3))[1].sum() == 0.0


def test_findings_come_gravest_first_and_name_lines_once() -> None:
    found = [
        finding("note", "n"),
        finding("caution", "c", count=5, value=7.0, high=6.0),
        finding("outside", "o", line="A", value=2.0, low=3.0),
        finding("outside", "o", line="B", value=1.0, low=3.0, source="key"),
    ]
    text = Balanced(evidence.findings(found)).text
    assert text.index("outside o") < text.index("caution c") < text.index("note n")
    assert "value 1, from 3; A, B" in text
    assert "value 7, limit 6; 5 times" in text
    assert evidence.doubts(found) == ["o (A, B)"]
    assert evidence.count_line(found) == "Findings: 1 outside a validity limit, 1 caution, 1 note; see below."


def test_the_worst_value_of_several_lines_is_the_farthest_beyond_a_limit_of_zero_too() -> None:
    near, far = (finding("outside", "o", line=f"{value:g}", value=value, low=0.0) for value in (-1.0, -3.0))
    assert "value -3, from 0; -1, -3" in Balanced(evidence.findings([near, far])).text


def test_many_findings_are_bounded_and_say_so() -> None:
    notes = [finding("note", f"n{k}", value=1.0, low=0.0, high=2.0) for k in range(50)]
    outside = [finding("outside", f"o{k}") for k in range(7)]
    lines = [finding("caution", "same", line=f"L{k}") for k in range(20)]
    text = Balanced(evidence.findings([*notes, *outside, *lines])).text
    assert "10 more of this kind are in the JSON answer" in text
    assert "L11, 8 more" in text
    assert all(f"o{k}" in text for k in range(7))
    assert evidence.doubts(outside)[-1] == "2 more, listed under Findings"
    assert evidence.findings([]) == evidence.sources([]) == "<p>None.</p>"


def test_markup_escapes_by_default() -> None:
    assert tag("p", "<i>", Html("<br>"), title='"x"') == '<p title="&quot;x&quot;">&lt;i&gt;<br></p>'


def test_inputs_are_listed_with_units_and_bounded() -> None:
    request = CheckRequest.model_validate(toe(title=""))
    shown = inputs.list_inputs(request, frozenset({"title"}))
    assert "survival probability</dt><dd>0.977" in shown
    assert "title" not in shown
    wide = toe()
    line = {**wide["lines"][0], "position_mm": [float(j) for j in range(9)]}
    wide["lines"] = [{**line, "name": f"t{k}"} for k in range(40)]
    text = Balanced(inputs.list_inputs(CheckRequest.model_validate(wide))).text
    assert "9 values, 0 to 8 mm" in text
    assert "more in the request" in text
    assert "no" in text

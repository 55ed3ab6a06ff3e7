"""Reports of crack growth."""

from __future__ import annotations

import re
from typing import Any

import httpx
import pytest

from service.base.envelope import evaluate
from service.base.forms.lives import cycles_text
from service.report import growth_page
from service.topics.registry import find
from tests.api.report_pages import Balanced, example, page_of

LAW = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}


def grown(request: dict[str, Any]) -> tuple[Any, str]:
    calculation = find("cracks/growth")
    assert calculation is not None
    found = evaluate(calculation, request)
    envelope = found.envelope()
    return envelope["answer"], growth_page.growth_page(found.request, envelope)


EDGE = {
    "crack": {"kind": "edge", "depth_mm": 2.0, "width_mm": 40.0, "thickness_mm": 8.0},
    "stress": {"membrane_mpa": 60.0},
    "law": LAW,
    "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.0},
    "end": {"depth_mm": 24.0},
}


def test_growth_report_with_load_sharing() -> None:
    member = {"axial_stiffness_n_per_mm": 3e5, "rotational_stiffness_nmm": 5e7, "offset_mm": 20.0}
    answer, page = grown({**EDGE, "sharing": {"length_mm": 200.0, "grips": "rigid", "members": [member]}})
    read = Balanced(page)
    lives = [cycles_text(answer[name]) for name in ("life_cycles", "constant_load_life_cycles")]
    assert f"LIFE {lives[0].upper()}, WITHOUT LOAD SHARING LIFE {lives[1].upper()}" in read.text
    assert "the given depth is reached" in read.text
    assert "Range of stress intensity, load share and stiffness over the cycles" in page
    assert "left [%]" in read.text
    assert "ΔK [MPa√mm]" in read.text
    assert "times as long" in read.text
    assert "life extension factor" in read.text
    assert "member 1, axial stiffness 300,000 N/mm" in read.text


def test_growth_report_of_a_surface_crack_and_of_long_lives() -> None:
    crack = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
    loading = {"kind": "blocks", "maximum": [0.3, 0.2], "minimum": [0.1, 0.1], "cycles": [5.0, 5.0]}
    answer, page = grown({**EDGE, "crack": crack, "end": {"depth_mm": 8.0}, "loading": loading})
    text = Balanced(page).text
    assert answer["life_cycles"] > 1e7
    assert "half length" in text
    assert "at the surface" in text
    assert "load share" not in text
    assert answer["averaging_error"] is None or "error of block mean" in text


def test_headline_of_a_retarded_crack_has_the_life_without_and_rounds_neither_up() -> None:
    answer, page = grown(example("cracks/growth-surface-blocks"))
    read = Balanced(page)
    assert (answer["life_cycles"], answer["life_without_retardation_cycles"]) == pytest.approx((10.98e6, 2.356e6), 1e-3)
    headline = "LIFE 10,900,000 CYCLES, WITHOUT RETARDATION LIFE 2,350,000 CYCLES"
    assert headline in read.text
    assert headline.lower() in page.partition("</title>")[0].lower()
    assert "11,000,000 cycles" not in read.text


def test_growth_report_of_a_crack_that_stands_still() -> None:
    law = {**LAW, "threshold_mpa_sqrt_mm": 1e4}
    text = Balanced(grown({**EDGE, "law": law})[1]).text
    assert "THE CRACK IS ARRESTED" in text
    assert "infinite" in text
    assert growth_page.ROWS > 2


def test_growth_report_is_the_same_every_time() -> None:
    assert grown(EDGE)[1] == grown(EDGE)[1]


def test_growth_beside_a_check_is_a_section_of_its_report(client: httpx.Client) -> None:
    page = page_of(client, example("check/bracket-toe-growth"))
    text = Balanced(page).text
    assert "<h2>Growth of a crack</h2>" in page
    assert "stands beside the life of the curve" in text
    assert "The crack at R2N_toe_plate lives 11,000 repeats; 1000 repeats are asked." in text
    assert "must not be added" in text
    assert "crack depth 0.1 mm" in text  # its inputs stand among those of the check
    assert "stage 1, coefficient 5.21e-13" in text


def test_threshold_of_a_document_stands_among_the_inputs(client: httpx.Client) -> None:
    # beside it stands the threshold in figures, which is called the same and is not set
    text = Balanced(page_of(client, example("cracks/growth-tabled"), "cracks/growth")).text
    assert "published threshold iiw-2016/steel" in text


def test_crack_growth_route_answers_the_page(client: httpx.Client) -> None:
    page = page_of(client, example("cracks/growth-bracket-toe-shared"), "cracks/growth")
    assert page == grown(example("cracks/growth-bracket-toe-shared"))[1]
    assert page.count("<svg ") == 2


def test_headline_of_a_check_has_the_life_of_its_crack_without_load_sharing(client: httpx.Client) -> None:
    request = example("check/bracket-toe-growth")
    request["growth"]["sharing"] = example("cracks/growth-bracket-toe-shared")["sharing"]
    answer = client.post("/v1/check", json=request).json()["answer"]["growth"]
    life = cycles_text(answer["constant_load_life_cycles"])
    text = Balanced(page_of(client, request)).text
    lives = rf"lives [\d,]+ repeats, without load sharing {life} \([\d,]+ repeats\); 1000 repeats are asked"
    assert re.search(lives, text)

"""Cracks: doubts that a life hid, forms of nothing, and doubts that an exit code or a next step lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.figures import figure
from service.cli import main

LAW = {
    "stages": [{"coefficient": 5.21e-13, "exponent": 3.0}],
    "units": "mm-MPa",
    "threshold_mpa_sqrt_mm": 0.0,
}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}
SURFACE = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}
STRENGTH = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 3000.0}
SPREAD = {"stress_factor": {"kind": "lognormal", "mean": 1.0, "variation": 0.3}}


def content(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def grown(client: httpx.Client, **more: Any) -> dict[str, Any]:
    body = {"crack": EDGE, "stress": {"membrane_mpa": 100.0}, "law": LAW, "loading": CYCLE} | more
    if body["crack"]["kind"] == "table":
        del body["stress"]
    return content(client, "cracks/growth", body)


def scattered(client: httpx.Client, **more: Any) -> dict[str, Any]:
    base = {"crack": SURFACE, "stress": {"membrane_mpa": 150.0}, "law": LAW, "loading": CYCLE}
    return content(client, "cracks/scatter", base | {"variables": SPREAD, "samples": 64} | more)


def table(**columns: list[float]) -> dict[str, Any]:
    return {"kind": "table", "start_mm": 1.0, "crack_size_mm": [1.0, 2.0, 4.0, 8.0], "k_mpa_sqrt_mm": columns}


def told(found: dict[str, Any]) -> dict[str, str]:
    """Severity by code."""
    return {finding["code"]: finding["severity"] for finding in found["findings"]}


def message(found: dict[str, Any], code: str) -> str:
    return " ".join(finding["message"] for finding in found["findings"] if finding["code"] == code)


def refused(client: httpx.Client, route: str, body: dict[str, Any]) -> list[str]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


# residual stress of as-welded joints wherever the largest stress intensity counts


def retarded(model: str) -> dict[str, Any]:
    slowed: dict[str, Any] = {"model": model, "yield_strength_mpa": 355.0}
    slowed |= {"exponent": 1.3} if model == "wheeler" else {}
    ends = {"maximum": [1.0, 2.0], "minimum": [0.1, 0.1], "cycles": [1000.0, 1.0]}
    return {"kind": "blocks", "retardation": slowed} | ends


def under_static(client: httpx.Client, static_mpa: float, **more: Any) -> dict[str, Any]:
    stress = {"membrane_mpa": 100.0, "static_membrane_mpa": static_mpa}
    return grown(client, stress=stress, end={"depth_mm": 10.0}, **more)


def test_no_lasting_compression_slows_an_as_welded_crack_down(client: httpx.Client) -> None:
    loading = retarded("wheeler")
    found = {s: under_static(client, s, loading=loading) for s in (-100.0, 0.0, 100.0)}
    lives = {s: each["answer"]["life_cycles"] for s, each in found.items()}
    assert lives[-100.0] == pytest.approx(lives[0.0], rel=1e-9)
    assert lives[100.0] < lives[0.0]
    assert "credited nowhere" in message(found[-100.0], "static-stress-as-welded")
    assert "plastic zones" in message(found[100.0], "static-stress-as-welded")
    assert [told(each).get("no-residual-stress") for each in found.values()] == ["caution", "caution", None]


def test_nor_does_it_lower_the_load_ratio_of_one(client: httpx.Client) -> None:
    walker = LAW | {"load_ratio_effect": {"kind": "walker", "walker_exponent": 0.5}}
    high = CYCLE | {"minimum": 0.9}
    lives = [under_static(client, static, law=walker, loading=high)["answer"]["life_cycles"] for static in (0.0, -80.0)]
    assert lives[1] == pytest.approx(lives[0], rel=1e-9)


@pytest.mark.parametrize("model", ["wheeler", "willenborg"])
def test_retardation_as_welded_asks_for_the_residual_stress(client: httpx.Client, model: str) -> None:
    assert told(grown(client, loading=retarded(model)))["no-residual-stress"] == "caution"
    assert told(scattered(client, loading=retarded(model)))["no-residual-stress"] == "caution"
    relieved = grown(client, loading=retarded(model), condition="stress-relieved")
    assert "no-residual-stress" not in told(relieved)


def test_a_law_that_ends_at_its_toughness_asks_for_it_too(client: httpx.Client) -> None:
    forman = LAW | {"load_ratio_effect": {"kind": "forman", "toughness_mpa_sqrt_mm": 3000.0}}
    assert told(grown(client, law=forman))["no-residual-stress"] == "caution"


def test_a_tabled_crack_is_not_sent_to_an_input_that_it_refuses(client: httpx.Client) -> None:
    found = grown(client, crack=table(opening=[200.0, 250.0, 300.0, 400.0]), end={"toughness_mpa_sqrt_mm": 3e3})
    assert "static_membrane_mpa" not in message(found, "no-residual-stress")
    assert told(found)["no-residual-stress"] == "caution"


def test_compression_alone_is_no_residual_stress_of_an_as_welded_joint(client: httpx.Client) -> None:
    pressed = under_static(client, -100.0, loading=CYCLE) | {}
    assert "no-residual-stress" not in told(pressed)
    stress = {"membrane_mpa": 100.0, "static_membrane_mpa": -100.0}
    assert told(grown(client, stress=stress, end={"toughness_mpa_sqrt_mm": 3e3}))["no-residual-stress"]
    body = {"crack": EDGE, "stress": stress, "strength": STRENGTH}
    assert told(content(client, "cracks/critical-size", body))["no-residual-stress"] == "caution"


# a form of something needs that something


@pytest.mark.parametrize("form", ["plane", "solid"])
def test_a_form_of_the_toe_needs_a_toe(client: httpx.Client, form: str) -> None:
    crack, stress = SURFACE | {"toe_form": form}, {"membrane_mpa": 100.0}
    body = {"crack": crack, "stress": stress}
    moving = {"law": LAW, "loading": CYCLE}
    assert refused(client, "cracks/growth", body | moving) == ["/crack/toe_form"]
    spread = {"variables": SPREAD, "samples": 64}
    assert refused(client, "cracks/scatter", body | moving | spread) == ["/crack/toe_form"]
    assert refused(client, "cracks/critical-size", body | {"strength": STRENGTH}) == ["/crack/toe_form"]


@pytest.mark.parametrize("criterion", ["largest", "richard"])
def test_a_criterion_needs_several_modes(client: httpx.Client, criterion: str) -> None:
    body = {"law": LAW, "loading": CYCLE, "criterion": criterion}
    plate = body | {"crack": EDGE, "stress": {"membrane_mpa": 100.0}}
    assert refused(client, "cracks/growth", plate) == ["/criterion"]
    alone = body | {"crack": table(opening=[200.0, 250.0, 300.0, 400.0])}
    assert refused(client, "cracks/growth", alone) == ["/criterion"]
    torn = body | {"crack": table(tearing=[200.0, 250.0, 300.0, 400.0])}
    assert "modes-combined" in told(content(client, "cracks/growth", torn))


def test_the_default_word_of_a_form_needs_it_as_well(client: httpx.Client) -> None:
    body = {"crack": EDGE, "stress": {"membrane_mpa": 100.0}, "law": LAW, "loading": CYCLE}
    assert refused(client, "cracks/growth", body | {"end": {"line": "continuous"}}) == ["/end/line"]
    cut = body | {"law": LAW | {"threshold_form": "cut"}}
    assert refused(client, "cracks/growth", cut) == ["/law/threshold_form"]


def test_the_end_that_a_tabled_crack_cannot_have_is_named(client: httpx.Client) -> None:
    body = {"crack": table(opening=[200.0, 250.0, 300.0, 400.0]), "law": LAW, "loading": CYCLE}
    assert refused(client, "cracks/growth", body | {"end": {"strength": STRENGTH}}) == ["/end/strength"]


# what is said of ends that hold, of cycles between entries, of closure, of a depth


STIFF = {"length_mm": 300.0}
BESIDE = {"axial_stiffness_n_per_mm": 1e3, "rotational_stiffness_nmm": 1e15}
TURNED = [
    ({"grips": "rigid"}, True),
    ({"grips": "flexible", "grip_stiffness_nmm": 1e12}, True),
    (
        {"grips": "free", "members": [BESIDE]},
        True,
    ),
    ({"grips": "flexible", "grip_stiffness_nmm": 1e6}, False),
    ({"grips": "rigid", "series_rotational_stiffness_nmm": 1e6}, False),
]


@pytest.mark.parametrize(("ends", "doubted"), TURNED)
def test_stiff_ends_are_doubted_by_their_stiffness(client: httpx.Client, ends: dict[str, Any], doubted: bool) -> None:
    found = grown(client, crack=EDGE | {"thickness_mm": 10.0}, sharing=STIFF | ends)
    assert ("rigid-grips-deep-crack" in told(found)) == doubted


APART = {"kind": "blocks", "maximum": [1.0, -1.0], "minimum": [0.9, -1.1], "cycles": [1000.0, 1000.0]}


def test_cycles_between_entries_are_weighed_by_the_law_and_the_range_that_count(client: httpx.Client) -> None:
    """2.1^3 / (2000 * 0.1^3) as-welded; stress-relieved 1 / (1000 * 0.1^3), since half of all is closed."""
    welded = message(grown(client, loading=APART), "block-transitions")
    assert "4.63 times" in welded
    relieved = message(grown(client, loading=APART, condition="stress-relieved"), "block-transitions")
    assert " 1 times" in relieved
    steep = {"stages": [{"coefficient": 1e-26, "exponent": 8.0}], "units": "mm-MPa"}
    assert f"{figure(2.1**8 / (2000.0 * 0.1**8))} times" in message(
        grown(client, loading=APART, law=steep), "block-transitions"
    )


def test_where_no_cycle_grows_the_crack_no_multiple_is_named(client: httpx.Client) -> None:
    limited = LAW | {"threshold_mpa_sqrt_mm": 2000.0}
    assert "no more than" in message(grown(client, loading=APART, law=limited), "block-transitions")
    limited = LAW | {"threshold_mpa_sqrt_mm": 170.0}
    assert "instead of" in message(grown(client, loading=APART, law=limited), "block-transitions")


def test_a_torn_crack_is_not_called_pressed_together(client: httpx.Client) -> None:
    torn = table(tearing=[0.0, 0.0, 100.0, 200.0])
    assert "no-range" in told(grown(client, crack=torn, condition="stress-relieved"))
    pressed = grown(client, loading={"kind": "constant", "maximum": -1.0, "minimum": -2.0}, condition="stress-relieved")
    assert "closed-by-compression" in told(pressed)


def test_a_wall_of_unknown_thickness_has_no_depth(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    crack = {"kind": "centre", "half_length_mm": 2.0, "width_mm": 50.0}
    body = {"crack": crack, "stress": {"membrane_mpa": 100.0}, "law": LAW, "loading": CYCLE}
    found = content(client, "cracks/growth", body)["answer"]
    assert found["final_depth_mm"] is None
    assert found["history"]["depth_mm"] is None
    planned = {"history": found["history"], "detectable_mm": 6.0}
    assert refused(client, "cracks/inspection", planned | {"size_kind": "depth"}) == ["/size_kind"]
    content(client, "cracks/inspection", planned | {"size_kind": "length"})
    unnamed = planned | {"history": found["history"] | {"size_kind": "unknown"}, "size_kind": "depth"}
    assert refused(client, "cracks/inspection", unnamed) == ["/history/depth_mm"]
    file = tmp_path / "request.json"
    file.write_text(json.dumps(body), encoding="utf-8")
    assert main(["grow", str(file)]) == 0
    assert "final half length" in capsys.readouterr().out
    assert client.post("/v1/cracks/growth", json=body, headers={"accept": "text/html"}).status_code == 200


# a block that is longer than the life


LONG = {"kind": "blocks", "maximum": [4.0, 1.0], "minimum": [0.0, 0.9], "cycles": [1e4, 1e9]}


def test_a_life_below_one_pass_of_its_block_is_outside(client: httpx.Client) -> None:
    found = grown(client, loading=LONG, end={"depth_mm": 10.0})
    assert found["answer"]["averaging_error"] > 1.0
    assert told(found)["block-longer-than-life"] == "outside"
    assert "few-blocks" not in told(found)
    assert told(scattered(client, loading=LONG))["block-longer-than-life"] == "outside"
    planned = {"history": found["answer"]["history"], "size_kind": "depth", "detectable_mm": 3.0}
    said = content(client, "cracks/inspection", planned)
    assert told(said)["history-outside"] == "outside"
    assert "block-longer-than-life" in message(said, "history-outside")


def test_a_block_that_a_life_bears_is_no_more_than_doubted(client: httpx.Client) -> None:
    short = LONG | {"cycles": [1.0, 1e5]}
    found = grown(client, loading=short, end={"depth_mm": 10.0})
    assert found["answer"]["averaging_error"] < 1.0
    assert "block-longer-than-life" not in told(found)
    planned = {"history": found["answer"]["history"], "size_kind": "depth", "detectable_mm": 3.0}
    assert "history-outside" not in told(content(client, "cracks/inspection", planned))


# outside stays outside


FADING = table(opening=[200.0, 100.0, -100.0, -200.0])


def test_an_interval_of_a_life_outside_validity_is_outside(client: httpx.Client) -> None:
    history = grown(client, crack=FADING)["answer"]["history"]
    planned = {"history": history, "size_kind": "depth", "detectable_mm": 1.5}
    assert told(content(client, "cracks/inspection", planned))["history-outside"] == "outside"
    history["outside_codes"] = []
    said = content(client, "cracks/inspection", planned)
    assert "driving-force-vanishes" in message(said, "history-outside")


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_grow_ends_with_one_for_a_life_outside_validity(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], as_json: list[str]
) -> None:
    file = tmp_path / "request.json"
    for crack, code in ((FADING, 1), (table(opening=[200.0, 300.0, 400.0, 500.0]), 0)):
        file.write_text(json.dumps({"crack": crack, "law": LAW, "loading": CYCLE}), encoding="utf-8")
        assert main(["grow", str(file), *as_json]) == code
    assert capsys.readouterr().out


# a driving force that dies away


@pytest.mark.parametrize("threshold", [0.0, 63.0])
@pytest.mark.parametrize("mode", ["opening", "sliding", "tearing"])
def test_a_force_that_passes_zero_ends_the_life_in_every_mode(
    client: httpx.Client, mode: str, threshold: float
) -> None:
    crack = table(**{mode: [200.0, 100.0, -100.0, -200.0]})
    found = grown(client, crack=crack, law=LAW | {"threshold_mpa_sqrt_mm": threshold})
    assert found["answer"]["end_reason"] == "driving-force-vanishes"
    assert told(found)["driving-force-vanishes"] == "outside"
    assert found["answer"]["life_cycles"] < 1e8


@pytest.mark.parametrize("last", [[1.0, 1e-6], [1e-9, 200.0], [-1e-9, 200.0], [9.0, 9.0]])
@pytest.mark.parametrize("mode", ["opening", "sliding"])
def test_it_need_not_change_its_sign(client: httpx.Client, mode: str, last: list[float]) -> None:
    found = grown(client, crack=table(**{mode: [200.0, 100.0, *last]}))
    assert told(found)["driving-force-vanishes"] == "outside"
    assert found["answer"]["life_cycles"] < 1e8
    history = found["answer"]["history"]["delta_k_deepest_mpa_sqrt_mm"]
    assert history[-1] == pytest.approx(0.1 * history[0], rel=1e-6)


def test_a_mode_that_dies_beside_another_ends_no_life(client: httpx.Client) -> None:
    found = grown(client, crack=table(opening=[200.0, 100.0, 1.0, 1.0], sliding=[100.0] * 4))
    assert found["answer"]["end_reason"] == "end-of-table"
    smaller = grown(client, crack=table(opening=[200.0, 100.0, 30.0, 22.0]))
    assert smaller["answer"]["end_reason"] == "end-of-table"


def test_a_crack_at_the_surface_is_followed_to_where_its_force_dies_away(client: httpx.Client) -> None:
    wide = SURFACE | {"thickness_mm": 20.0, "half_width_mm": 100.0}
    held = {"length_mm": 0.5, "grips": "rigid", "control": "displacement"}
    found = grown(client, crack=wide, stress={"membrane_mpa": 10.0, "bending_mpa": 100.0}, sharing=held)
    assert told(found)["driving-force-vanishes"] == "outside"
    history = found["answer"]["history"]
    deepest, surface = (history[f"delta_k_{place}_mpa_sqrt_mm"] for place in ("deepest", "surface"))
    # at the deepest point bending presses by then: it no longer counts
    assert surface[-1] == pytest.approx(0.1 * max(*deepest, *surface), rel=0.01)


# numbers that stand in another unit


def test_a_stress_in_gpa_is_doubted_in_growth_and_scatter(client: httpx.Client) -> None:
    for found in (
        grown(client, stress={"membrane_mpa": 0.1}),
        scattered(client, stress={"membrane_mpa": 0.1}),
    ):
        assert told(found)["range-small"] == "caution"
        assert told(found)["intensity-small"] == "caution"
    for found in (grown(client), scattered(client)):
        assert not {"range-small", "intensity-small", "length-small"} & set(told(found))


def test_a_range_and_not_a_level_is_judged(client: httpx.Client) -> None:
    near = {"kind": "constant", "maximum": 1.0, "minimum": 0.995}
    assert told(grown(client, loading=near))["range-small"] == "caution"
    path = {"distance_mm": [0.0, 50.0], "stress_mpa": [0.1, 0.05]}
    assert told(grown(client, stress=path))["range-small"] == "caution"


def test_a_stress_intensity_per_root_metre_is_doubted(client: httpx.Client) -> None:
    assert told(grown(client, crack=table(opening=[6.0, 9.0, 12.0, 18.0])))["intensity-small"] == "caution"
    assert told(grown(client, crack=table(tearing=[3.0, 9.0, 12.0, 18.0])))["intensity-small"] == "caution"
    assert "intensity-small" not in told(grown(client, crack=table(opening=[60.0, 90.0, 120.0, 180.0])))
    states = {"strength": STRENGTH, "k_primary_mpa_sqrt_mm": [9.0], "reference_stress_mpa": [100.0]}
    assert told(content(client, "cracks/fracture", states))["intensity-small"] == "caution"
    pressed = states | {"k_primary_mpa_sqrt_mm": [900.0]}
    assert "intensity-small" not in told(content(client, "cracks/fracture", pressed))
    body = {"crack": EDGE, "stress": {"membrane_mpa": 0.1}, "strength": STRENGTH}
    assert told(content(client, "cracks/critical-size", body))["intensity-small"] == "caution"


def test_a_wall_in_metres_is_doubted(client: httpx.Client) -> None:
    crack = SURFACE | {"depth_mm": 0.001, "half_length_mm": 0.002, "thickness_mm": 0.01}
    assert told(grown(client, crack=crack))["length-small"] == "caution"
    plate = {"kind": "edge", "depth_mm": 0.001, "width_mm": 0.05}
    assert told(grown(client, crack=plate))["length-small"] == "caution"


@pytest.mark.parametrize(
    ("sizes", "fields"),
    [
        ({"thickness_mm": 0.05}, ["thickness_mm"]),
        ({"thickness_mm": 50.0, "toe_distance_mm": 1e-3}, ["toe_distance_mm"]),
        ({"thickness_mm": 50.0, "toe_distance_mm": 60.0}, []),
    ],
)
def test_a_thickness_in_metres_is_doubted(client: httpx.Client, sizes: dict[str, float], fields: list[str]) -> None:
    detail = {"document": "iiw-2016", "detail": "transverse-attachment-as-welded"}
    body = {"curve": "iiw-2016-hot-spot-steel-100", "loading": "variable", "stress_range_mpa": [140.0]}
    body["corrections"] = [{"kind": "detail-thickness"} | detail | sizes]
    found = content(client, "curves/life", body)
    assert [each["field"] for each in found["findings"] if each["code"] == "length-small"] == fields


def test_a_ratio_that_a_criterion_has_no_use_for_is_refused(client: httpx.Client) -> None:
    state = {"opening_mpa_sqrt_mm": [100.0], "sliding_mpa_sqrt_mm": [50.0], "poisson_ratio": 0.3}
    for criterion in ("richard", "tangential-stress"):
        assert refused(client, "cracks/mixed-mode", state | {"criterion": criterion}) == ["/poisson_ratio"]
    content(client, "cracks/mixed-mode", state | {"criterion": "energy"})

"""Rules hold for what a choice stands for: classes by a factor, words left open, constants of one's own. Own choice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from service.base.problems import Problem
from service.cli import main
from service.policy.reading import policy_of
from service.policy.stands_for import STANDS_FOR
from service.policy.words import models_of_requests, words_in

from .policies import WORKS, obeying, policy, request_of

CLASS_D = {"curve": "bs-7608-1993-d", "range_mpa": [60.0], "count": [1e5]}
MEANS_NOTHING = {
    ("LineInput", "condition"),  # is that of the check, which is held by itself
    ("LawRequest", "units"),  # needed with stages
    ("ScatterRequest", "first_size"),  # needed with such variables
    ("InspectionRequest", "size_kind"),  # needed where sizes are compared with a published curve
}


def refused(held: Any, name: str, data: Any) -> tuple[str, str]:
    with pytest.raises(Problem) as caught:
        obeying(held, name, data)
    assert caught.value.kind == "urn:toeline:policy", caught.value.detail
    return caught.value.errors[0][0], caught.value.detail


def by_factor(label: str) -> dict[str, Any]:
    return {**CLASS_D, "corrections": [{"kind": "class-factor", "label": label}]}


def test_a_class_by_a_factor_is_held_as_if_it_were_named() -> None:
    held = policy("[allowed]\ncurves = ['bs-7608-1993-d', 'bs-7608-1993-e']")
    where, words = refused(held, "spectrum/damage", by_factor("B"))
    assert where == "/corrections/0/label"
    assert "the curve 'bs-7608-1993-b' is not among those allowed" in words
    obeying(held, "spectrum/damage", by_factor("E"))
    assert refused(policy("[floors]\npartial_factor = 1.0"), "spectrum/damage", by_factor("B"))[0] == "/corrections"
    obeying(policy("[floors]\npartial_factor = 1.0"), "spectrum/damage", by_factor("F"))


def test_every_choice_that_may_be_left_open_is_resolved_or_known_to_mean_nothing() -> None:
    open_ones = {
        (model.__name__, name)
        for model in models_of_requests()
        for name, info in model.model_fields.items()
        if words_in(info.annotation) and not info.is_required() and info.default is None
    }
    assert open_ones == {(model.__name__, name) for model, name in STANDS_FOR} | MEANS_NOTHING


def choices(name: str, *words: str) -> Any:
    return policy(f"[allowed.choices]\n{name} = [{', '.join(map(repr, words))}]")


def test_an_interaction_left_open_is_the_one_that_the_documents_prescribe() -> None:
    plain = request_of("check/nominal-normal-and-shear")
    assert plain["curves"]["rule"] == "fixed"
    curves = {name: value for name, value in plain["curves"].items() if name != "interaction"}
    left_out = {**plain, "curves": curves}
    where, words = refused(choices("interaction", "quadratic-proportional"), "check", left_out)
    assert where == "/curves/interaction"
    assert "'damage-sum' is not among those allowed" in words
    for open_one in (left_out, {**plain, "curves": {**curves, "interaction": None}}):
        obeying(choices("interaction", "damage-sum"), "check", open_one)
    alone = {**plain, "curves": {"rule": "fixed", "curve": curves["curve"]}}
    line = {**plain["lines"][0], "cases": {name: {k: v for k, v in case.items() if k != "shear_mpa"}
            for name, case in plain["lines"][0]["cases"].items()}}  # fmt: skip
    obeying(choices("interaction", "quadratic-proportional"), "check", {**alone, "lines": [line]})


SURFACE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
GROWTH: dict[str, Any] = {
    "crack": SURFACE,
    "stress": {"membrane_mpa": 120.0},
    "law": {"units": "mm-MPa", "stages": [{"coefficient": 5e-13, "exponent": 3.0}], "threshold_mpa_sqrt_mm": 63.0},
    "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.2},
}
WITHOUT = {name: value for name, value in GROWTH["law"].items() if name != "threshold_mpa_sqrt_mm"}
STRENGTH = {"toughness_mpa_sqrt_mm": 3000.0, "yield_strength_mpa": 355.0, "ultimate_strength_mpa": 510.0}
TOE = {**SURFACE, "toe_footprint_mm": 20.0}
TABLED = request_of("cracks/growth-tabled")
STATES = request_of("cracks/fracture-states")
SHEARED = {**STATES, "k_sliding_mpa_sqrt_mm": [200.0] * len(STATES["k_primary_mpa_sqrt_mm"])}


@pytest.mark.parametrize(
    ("name", "word", "other", "route", "data", "free"),
    [
        ("threshold_form", "cut", "shifted", "cracks/growth", GROWTH, {**GROWTH, "law": WITHOUT}),
        ("line", "continuous", "plateau", "cracks/growth", {**GROWTH, "end": {"strength": STRENGTH}}, GROWTH),
        ("toe_form", "plane", "solid", "cracks/growth", {**GROWTH, "crack": TOE}, GROWTH),
        ("criterion", "largest", "energy", "cracks/growth", TABLED, GROWTH),
        ("criterion", "largest", "energy", "cracks/fracture", SHEARED, STATES),
    ],
)
def test_a_word_left_open_is_resolved_where_it_has_a_meaning(
    name: str, word: str, other: str, route: str, data: Any, free: Any
) -> None:
    where, words = refused(choices(name, other), route, data)
    assert where.endswith(f"/{name}")
    assert f"{word!r} is not among those allowed" in words
    obeying(choices(name, word), route, data)
    obeying(choices(name, other), route, free)


def test_a_part_that_cannot_be_made_is_refused_for_what_is_wrong_with_it() -> None:
    with pytest.raises(Problem, match="give the name of a published law"):
        obeying(choices("threshold_form", "cut"), "cracks/growth", {**GROWTH, "law": {}})


def test_a_family_left_open_is_what_the_name_of_the_material_says() -> None:
    plain = request_of("check/one-toe-constant")
    assert refused(choices("material_family", "aluminium"), "check", plain)[0] == "/material/material_family"
    obeying(choices("material_family", "steel"), "check", plain)


def peak(**mesh: Any) -> dict[str, Any]:
    notch = {"kind": "toe", "opening_angle_deg": 135.0}
    return {**request_of("stress/peak-root"), "notch": notch, "mesh": {"element_size_mm": 2.0, **mesh}}


@pytest.mark.parametrize("element", ["own", "quad4"])
def test_constants_of_an_element_that_was_not_calibrated_are_none_below_the_smallest_that_was(element: str) -> None:
    text = WORKS.split("[defaults]")[0]
    held, mesh = policy_of(text.encode()), {"element": element}
    smaller, larger = ({"opening": value, "sliding": 3.0, "tearing": 2.0} for value in (0.5, 1.3))
    where, words = refused(held, "stress/peak", peak(**mesh, constants=smaller))
    assert (where, "0.5 is below 1.3, which was calibrated" in words) == ("/mesh/constants/opening", True)
    obeying(held, "stress/peak", peak(**mesh, constants=larger))
    allowing = policy_of((text + "[allowed]\nown_element_constants = true\n").encode())
    obeying(allowing, "stress/peak", peak(**mesh, constants=smaller))
    forbidding = policy_of((text + "[allowed]\nown_element_constants = false\n").encode())
    assert refused(forbidding, "stress/peak", peak(**mesh, constants=larger))[0] == "/mesh/constants/opening"


def test_constants_of_a_line_without_a_notch_which_uses_none_are_no_matter() -> None:
    plain = request_of("check/nominal-normal-and-shear")
    mesh = {"element": "own", "element_size_mm": 2.0, "constants": {"opening": 0.5}}
    held = policy_of(WORKS.split("[defaults]")[0].encode())
    found = obeying(held, "check", {**plain, "lines": [{**plain["lines"][0], "mesh": mesh}]})
    assert found.answer.utilisation == obeying(held, "check", plain).answer.utilisation  # type: ignore[attr-defined]


@pytest.mark.parametrize("confidence", [{}, {"confidence": None}, {"confidence": 0.6}])
def test_a_fitted_curve_without_confidence_is_below_every_floor_of_it(confidence: dict[str, Any]) -> None:
    tested = {"tests": 20, "lowest_range_mpa": 80.0, "highest_range_mpa": 200.0, "longest_life_cycles": 2e6}
    curve = {"slopes": [3.0], "range_mpa": [90.0], "life_cycles": [2e6], "survival_probability": 0.977}
    data = {"curve": {**curve, "tested": {**tested, **confidence}}, "stress_range_mpa": [100.0]}
    held = policy("[floors]\nconfidence = 0.75")
    where, words = refused(held, "curves/life", data)
    assert (where, "rule floors.confidence of" in words) == ("/curve/tested/confidence", True)
    obeying(policy(), "curves/life", data)


def test_the_command_line_leaves_the_name_of_a_rule(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rules, history = tmp_path / "policy.toml", tmp_path / "history.csv"
    rules.write_text("name = 'works'\nversion = '3'\n[floors]\nhysteresis_threshold_mpa = 5\n", encoding="utf-8")
    history.write_text("stress\n0\n100\n-20\n90\n", encoding="utf-8")
    assert main(["count", str(history), "--hysteresis-threshold-mpa", "20", "--policy", str(rules)]) == 2
    err = capsys.readouterr().err
    assert "--hysteresis-threshold-mpa" in err
    assert "(rule floors.hysteresis_threshold_mpa of the policy works 3)" in err

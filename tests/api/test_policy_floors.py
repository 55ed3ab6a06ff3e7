"""What is looser than a rule of the policy is refused with its place and the rule. Own choice throughout."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.problems import Problem
from service.policy.reading import policy_of

from .policies import WORKS, obeying, policy, request_of, told

RANGES = {"curve": "works-toe", "stress_range_mpa": [100.0]}
BLOCK = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}
AT_71 = {"curve": "iiw-2016-normal-steel-71", "stress_range_mpa": [100.0]}
OWN_CURVE = {"slopes": [3.0], "range_mpa": [90.0], "life_cycles": [2e6]}
OWN_FACTOR = {"kind": "own", "name": "heat", "strength_factor": 0.9, "reason": "report 4"}
RELIEVED = "stress-relieved"
SURFACE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
GROWTH: dict[str, Any] = {
    "crack": SURFACE,
    "stress": {"membrane_mpa": 120.0},
    "law": {"name": "works/upper"},
    "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.2},
}
BY_LAW = {**GROWTH, "law": {"name": "iiw-2016/steel"}}
BY_ANOTHER_LAW = {**GROWTH, "law": {"name": "bs7910-2013/air-mean"}}
INSPECTED = {
    "elapsed_cycles": [0.0, 2e5, 6e5], "crack_size_mm": [0.5, 3.0, 9.0], "curve": {"median_mm": 1.5, "exponent": 1.2},
    "detection_probability": 0.5,
}  # fmt: skip


def works() -> Any:
    return policy_of(WORKS.encode())


def pointer_of(held: Any, name: str, data: Any, method: str = "POST") -> tuple[str, str]:
    with pytest.raises(Problem) as caught:
        obeying(held, name, data, method)
    assert caught.value.kind == "urn:toeline:policy", caught.value.detail
    return caught.value.errors[0][0], caught.value.detail


@pytest.mark.parametrize(
    ("text", "name", "data", "pointer"),
    [
        ("[floors]\ndamage_limit = 0.4", "spectrum/damage", BLOCK, "/damage_limit"),
        ("[floors]\nsurvival_probability = 0.99", "spectrum/damage", BLOCK, "/survival_probability"),
        (
            "[floors]\nsurvival_probability = 0.9",
            "curves/life",
            {"curve": OWN_CURVE, "stress_range_mpa": [50.0]},
            "/survival_probability",
        ),
        ("[floors]\npartial_factor = 1.1", "spectrum/damage", BLOCK, "/corrections"),
        ("[floors]\npartial_factor = 1.1", "curves/life", AT_71, "/corrections"),
        (
            "[floors]\npartial_factor = 1.0",
            "spectrum/damage",
            {**BLOCK, "corrections": [{**OWN_FACTOR, "strength_factor": 1.3}]},
            "/corrections",
        ),
        (
            "[floors]\nhysteresis_threshold_mpa = 5",
            "spectrum/damage",
            {**BLOCK, "hysteresis_threshold_mpa": 6.0},
            "/hysteresis_threshold_mpa",
        ),
        ("[floors]\ninspections = 3", "cracks/inspection", INSPECTED, "/inspections"),
        ("[floors]\ndetection_probability = 0.6", "cracks/inspection", INSPECTED, "/curve"),
        (
            "[floors]\ndetection_probability = 0.6",
            "cracks/inspection",
            {"elapsed_cycles": [0.0, 2e5, 6e5], "crack_size_mm": [0.5, 3.0, 9.0], "detectable_mm": 1.0},
            "/detectable_mm",
        ),
        ("[allowed]\nbelow_knee = ['as-curve']", "spectrum/damage", {**BLOCK, "below_knee": "original"}, "/below_knee"),
        (
            "[allowed]\nresidue = ['closed']",
            "spectrum/cycles",
            {"history_mpa": [0.0, 9.0, 1.0], "residue": "half"},
            "/residue",
        ),
        ("[allowed]\ncurves = ['iiw-2016-*']", "curves/life", {**RANGES, "curve": "peak-stress-opening"}, "/curve"),
        (
            "[allowed]\ncurves = ['iiw-2016-*']",
            "curves/life",
            {"curve": OWN_CURVE, "stress_range_mpa": [50.0]},
            "/curve",
        ),
        ("[allowed]\nlaws = ['iiw-2016/*']", "cracks/growth", BY_ANOTHER_LAW, "/law/name"),
        (
            "[allowed]\nlaws = ['iiw-2016/*']",
            "cracks/growth",
            {**GROWTH, "law": {"units": "mm-MPa", "stages": [{"coefficient": 5e-13, "exponent": 3.0}]}},
            "/law/stages",
        ),
        ("[allowed]\nconditions = ['as-welded']", "cracks/growth", {**BY_LAW, "condition": RELIEVED}, "/condition"),
        (
            "[allowed]\nconditions = ['as-welded']",
            "spectrum/damage",
            {**BLOCK, "corrections": [{"kind": "mean-stress", "residual_stress": "low", "load_ratio": [0.0]}]},
            "/corrections/0/residual_stress",
        ),
        (
            "[allowed]\nconditions = ['as-welded']",
            "spectrum/damage",
            {**BLOCK, "corrections": [{"kind": "effective-range", "maximum_mpa": [30.0], "minimum_mpa": [-30.0]}]},
            "/corrections/0/kind",
        ),
        (
            "[allowed]\nconditions = ['as-welded']",
            "spectrum/damage",
            {"curve": BLOCK["curve"], "history_mpa": [0.0, 90.0, -9.0], "mean_stress": "compression-in-part"},
            "/mean_stress",
        ),
        (
            "[allowed]\ncorrections = ['partial-factor', 'mean-stress']",
            "spectrum/damage",
            {"curve": BLOCK["curve"], "history_mpa": [0.0, 90.0, -9.0], "mean_stress": "compression-in-part"},
            "/mean_stress",
        ),
        (
            "[allowed]\ncorrections = ['partial-factor']",
            "spectrum/damage",
            {**BLOCK, "corrections": [OWN_FACTOR]},
            "/corrections/0/kind",
        ),
        (
            "[allowed]\nretardation = false",
            "cracks/growth",
            {
                **GROWTH,
                "law": {"name": "iiw-2016/steel"},
                "loading": {
                    "kind": "blocks",
                    "maximum": [1.0, 0.5],
                    "minimum": [0.0, 0.0],
                    "cycles": [1.0, 9.0],
                    "retardation": {"model": "wheeler", "exponent": 1.0, "yield_strength_mpa": 355.0},
                },
            },
            "/loading/retardation",
        ),
    ],
)
def test_what_is_looser_is_refused_at_its_place_with_the_name_of_the_rule(
    text: str, name: str, data: Any, pointer: str
) -> None:
    where, words = pointer_of(policy(text), name, data)
    assert where == pointer
    assert "of the policy works 3)" in words


def test_rules_of_a_check_are_held_for_every_line() -> None:
    plain = request_of("check/one-toe-constant")
    line = plain["lines"][0]

    def refused(text: str, **changes: Any) -> str:
        return pointer_of(policy(text), "check", {**plain, **changes})[0]

    relieved = {**line, "name": "relieved", "condition": "stress-relieved"}
    assert refused("[allowed]\nconditions = ['as-welded']", lines=[line, relieved]) == "/lines/1/condition"
    other = {**line, "name": "other", "curves": {"rule": "fixed", "curve": "iiw-2016-normal-steel-71"}}
    assert refused("[allowed]\ncurves = ['peak-stress-*']", lines=[line, other]) == "/lines/1/curves/curve"
    ends = {**line, "name": "ends", "exclude_ends_mm": 2.0}
    assert refused("[floors]\nexclude_ends_mm = 1", lines=[line, ends]) == "/lines/1/exclude_ends_mm"
    assert refused("[floors]\npartial_factor = 1.2", target={"resistance_factor": 1.1}) == "/target/resistance_factor"
    relief = {"resistance_factor": 1.25, "load_factor": 0.8}
    assert refused("[floors]\npartial_factor = 1.2", target=relief) == "/target/resistance_factor"
    assert refused("[floors]\nload_factor = 1", target={"load_factor": 0.9}) == "/target/load_factor"
    assert refused("[floors]\ndamage_limit = 0.2", target={"damage_limit": 0.3}) == "/target/damage_limit"
    shear = {"rule": "biaxiality", "shear_curve": "iiw-2016-shear-steel-80"}
    assert refused("[allowed]\ncurves = ['peak-stress-*']", curves=shear) == "/curves/shear_curve"
    assert refused("[allowed]\nelements = ['brick8']") == "/lines/0/mesh/element"
    own = {"kind": "own", "name": "heat", "strength_factor": 0.9, "reason": "report 4"}
    corrected = {"rule": "biaxiality", "corrections": [own]}
    assert refused("[allowed]\ncorrections = []", curves=corrected) == "/curves/corrections/0/kind"


def test_an_environment_leads_to_no_curve_that_is_not_allowed() -> None:
    free = request_of("curves/lives-free-corrosion")
    obeying(policy("[allowed]\ncurves = ['*']"), "curves/life", free)
    only = policy(f"[allowed]\ncurves = ['{free['curve']}']")
    assert pointer_of(only, "curves/life", free)[0] == "/environment"


def test_a_line_of_one_url_has_no_way_around_a_partial_factor() -> None:
    query = {"curve": "peak-stress-opening", "stress_range_mpa": "90"}
    held = policy("[floors]\npartial_factor = 1.1")
    assert pointer_of(held, "curves/{curve}/life", query, "GET")[0] == "/resistance_factor"
    obeying(held, "curves/{curve}/life", {**query, "resistance_factor": "1.1"}, "GET")


def test_quantiles_of_a_scatter_keep_to_the_floor_of_survival() -> None:
    held, plain = (
        policy("[floors]\nsurvival_probability = 0.95"),
        {**request_of("cracks/scatter-toe-crack"), "samples": 16},
    )
    found = obeying(held, "cracks/scatter", {key: value for key, value in plain.items() if key != "quantiles"})
    assert found.request.quantiles == [0.001, 0.01, 0.023]
    assert told(found, "policy-default")[0].startswith("quantiles 0.001, 0.01, 0.023")
    assert pointer_of(held, "cracks/scatter", {**plain, "quantiles": [0.01, 0.5]})[0] == "/quantiles/1"


def test_own_distributions_are_refused_where_sets_are_listed() -> None:
    plain = request_of("cracks/scatter-toe-crack")
    where = pointer_of(policy("[allowed]\nvariable_sets = ['jcss-part3']"), "cracks/scatter", plain)[0]
    assert where in ("/variables", "/variable_set")


def test_own_curves_may_be_allowed_beside_a_list() -> None:
    held = policy("[allowed]\ncurves = ['iiw-2016-*']\nown_curves = true")
    own = {"slopes": [3.0], "range_mpa": [90.0], "life_cycles": [2e6]}
    obeying(held, "curves/life", {"curve": own, "stress_range_mpa": [50.0]})


@pytest.mark.parametrize(
    ("field", "words", "name", "data", "pointer"),
    [
        ("mean_stress", "['none']", "spectrum/damage", {**BLOCK, "mean_stress": "compression-in-part"}, "/mean_stress"),
        (
            "definition",
            "['governing', 'path']",
            "spectrum/damage",
            {**BLOCK, "definition": "independent"},
            "/definition",
        ),
        ("kind", "['surface', 'blocks', 'none']", "cracks/growth", BY_LAW, "/loading/kind"),
    ],
)
def test_any_choice_of_a_request_may_be_bound_by_its_name(
    field: str, words: str, name: str, data: Any, pointer: str
) -> None:
    where, told = pointer_of(policy(f"[allowed.choices]\n{field} = {words}"), name, data)
    assert where == pointer
    assert f"(rule allowed.choices.{field} of" in told


def test_words_of_a_list_are_held_one_by_one() -> None:
    plain = request_of("check/one-toe-constant")
    line = {**plain["lines"][0], "symmetric_ends": ["start", "end"]}
    held = policy("[allowed.choices]\nsymmetric_ends = ['start']")
    assert pointer_of(held, "check", {**plain, "lines": [line]})[0] == "/lines/0/symmetric_ends"

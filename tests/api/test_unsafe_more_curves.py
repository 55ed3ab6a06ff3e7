"""Curves and spectra at their weak places: inputs that turned a verdict or lengthened a life in silence."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.curves.standards.catalogue import all_ids, find_curve

IIW = "iiw-2016-normal-steel-80"
IIW_SHEAR = "iiw-2016-shear-steel-80"
EN = "en-1993-1-9-2005-normal-80"
EN_SHEAR = "en-1993-1-9-2005-shear-80"
OWN = {"range_mpa": [80.0], "life_cycles": [2e6], "slopes": [3.0]}
MEAN = {**OWN, "survival_probability": 0.5, "sd_log10_cycles": 0.2}

Request = dict[str, Any]


def post(client: httpx.Client, route: str, request: Request) -> Request:
    answer = client.post(f"/v1/{route}", json=request)
    assert answer.status_code == 200, answer.text
    content: Request = answer.json()
    return content


def refused(client: httpx.Client, route: str, request: Request) -> tuple[str, str]:
    """Pointer and message of a refusal."""
    answer = client.post(f"/v1/{route}", json=request)
    assert answer.status_code == 422, answer.text
    (error,) = answer.json()["errors"]
    return error["pointer"], error["message"]


def said(content: Request, code: str) -> Request | None:
    found = [item for item in content["findings"] if item["code"] == code]
    return found[0] if found else None


def severity(content: Request, code: str) -> str | None:
    found = said(content, code)
    return None if found is None else found["severity"]


def life(curve: Any, **more: Any) -> Request:
    return {"curve": curve, "stress_range_mpa": [100.0], **more}


def shear_kinds() -> list[str]:
    signed = ("normal", "hot-spot", "effective-notch")
    kinds = {find_curve(each).stress_kind: each for each in all_ids() if find_curve(each).quantity == "stress range"}
    return [each for kind, each in kinds.items() if kind not in signed]


@pytest.mark.parametrize("curve", [*shear_kinds(), OWN, {**OWN, "stress_kind": "shear"}], ids=str)
@pytest.mark.parametrize("history", [[0.0, 100.0, 0.0], [0.0, -100.0, 0.0]])
@pytest.mark.parametrize("choice", ["compression-in-part", "low-residual-stress", "medium-residual-stress"])
def test_a_stress_without_a_compressive_side_gets_no_mean_stress_correction(
    client: httpx.Client, curve: Any, history: list[float], choice: str
) -> None:
    """[0, 100, 0] of shear failed and [0, -100, 0] passed, which is the same load in a frame turned round."""
    request = {"curve": curve, "history_mpa": history, "mean_stress": choice}
    assert refused(client, "spectrum/damage", request)[0] == "/mean_stress"
    assert post(client, "spectrum/damage", {**request, "mean_stress": "none"})["answer"]["damage"] > 0.0


BONUSES = [
    {"kind": "effective-range", "maximum_mpa": [0.0], "minimum_mpa": [-100.0]},
    {"kind": "mean-stress", "residual_stress": "low", "load_ratio": [-1.0]},
]


@pytest.mark.parametrize("curve", [*shear_kinds(), OWN], ids=str)
@pytest.mark.parametrize("bonus", BONUSES, ids=lambda bonus: str(bonus["kind"]))
def test_a_bonus_for_mean_stress_is_refused_on_shear_and_equivalent_stress(
    client: httpx.Client, curve: Any, bonus: Request
) -> None:
    assert refused(client, "curves/life", life(curve, corrections=[bonus]))[0] == "/corrections/0"
    request = {"curve": curve, "life_cycles": [1e6], "corrections": [bonus]}
    assert refused(client, "curves/strength", request)[0] == "/corrections/0"


@pytest.mark.parametrize("curve", [EN, "iiw-2016-hot-spot-steel-100", {**OWN, "stress_kind": "normal"}], ids=str)
def test_a_stress_with_two_sides_keeps_its_bonus_with_a_caution(client: httpx.Client, curve: Any) -> None:
    found = post(client, "curves/life", life(curve, corrections=[BONUSES[0]]))
    assert severity(found, "effective-range-doubtful") == "caution"


@pytest.mark.parametrize("curve", ["bs-7608-1993-f", "bs-7608-1993-s", "dnv-rp-c203-2016-d-air", IIW, OWN], ids=str)
def test_a_class_factor_acts_on_its_line_of_class_d_only(client: httpx.Client, curve: Any) -> None:
    factor = {"kind": "class-factor", "label": "B"}
    pointer, message = refused(client, "curves/life", life(curve, corrections=[factor]))
    assert pointer == "/corrections/0/kind"
    assert "bs-7608-1993-d" in message


@pytest.mark.parametrize(("label", "told"), [("B", "caution"), ("C", "caution"), ("D", "note"), ("F", "note")])
def test_a_class_factor_that_strengthens_is_a_caution(client: httpx.Client, label: str, told: str) -> None:
    factor = {"kind": "class-factor", "label": label}
    found = post(client, "curves/life", life("bs-7608-1993-d", corrections=[factor]))
    assert severity(found, f"class-factor{'-doubtful' if told == 'caution' else ''}") == told


def thick(detail: str, **more: Any) -> Request:
    size = {"document": "iiw-2016", "detail": detail, "thickness_mm": 100.0, **more}
    return life(IIW, corrections=[{"kind": "detail-thickness", **size}])


@pytest.mark.parametrize(
    "detail",
    [
        "transverse-butt-as-welded",
        "butt-ground-flush",
        "base-material",
        "longitudinal-weld",
        "longitudinal-attachment",
    ],
)
def test_a_toe_distance_is_refused_where_the_detail_has_none(client: httpx.Client, detail: str) -> None:
    """[iiw-2016] the toe distance belongs to attachments across the stress; from memory."""
    assert refused(client, "curves/life", thick(detail, toe_distance_mm=30.0))[0] == "/corrections/0/toe_distance_mm"


@pytest.mark.parametrize(
    "detail", [f"{joint}-{state}" for joint in ("cruciform", "transverse-t", "transverse-attachment")
               for state in ("as-welded", "toe-ground")],
)  # fmt: skip
def test_a_relief_by_the_toe_distance_is_a_caution_with_the_thickness_that_counts(
    client: httpx.Client, detail: str
) -> None:
    found = post(client, "curves/life", thick(detail, toe_distance_mm=30.0))
    told = said(found, "thickness-correction-doubtful")
    assert told is not None
    assert (told["severity"], "100 mm count as 15 mm" in told["message"]) == ("caution", True)
    plain = post(client, "curves/life", thick(detail, toe_distance_mm=300.0))
    assert severity(plain, "thickness-correction") == "note"


def modes(curve: str, opening: float, shear: float, **more: Any) -> Request:
    history = {"opening": [0.0, opening, 0.0], "sliding": [0.0, shear, 0.0]}
    return {"curve": curve, "modes_mpa": history, "weights": {"opening": 1.0, "sliding": 1.0}, **more}


@pytest.mark.parametrize(
    ("curve", "opening", "shear", "told"),
    [
        ("peak-stress-shear", 100.0, 0.0, "outside"),
        ("peak-stress-shear", 100.0, 60.0, "outside"),
        ("peak-stress-shear", 60.0, 100.0, None),
        ("peak-stress-shear", 0.0, 100.0, None),
        ("peak-stress-opening", 100.0, 0.0, None),
        ("peak-stress-opening", 60.0, 100.0, "caution"),
        ("peak-stress-opening", 600.0, 1000.0, "outside"),
    ],
)
def test_the_band_of_the_peak_stress_method_must_fit_the_shear_in_the_cycles(
    client: httpx.Client, curve: str, opening: float, shear: float, told: str | None
) -> None:
    """Bounds of the ratio 0.05 and 0.5; above about 257 MPa the shear band is the lower one."""
    found = post(client, "spectrum/damage", modes(curve, opening, shear))
    code = "opening-curve-does-less" if told == "outside" else "opening-curve-for-shear"
    code = "shear-curve-for-opening" if curve.endswith("shear") else code
    assert severity(found, code) == told


def test_modes_without_one_called_opening_are_not_compared_and_this_is_said(client: httpx.Client) -> None:
    request = {
        "curve": "peak-stress-shear", "modes_mpa": {"a": [0.0, 100.0, 0.0]}, "weights": {"a": 1.0},
    }  # fmt: skip
    assert severity(post(client, "spectrum/damage", request), "biaxiality-not-compared") == "caution"
    plain = post(client, "spectrum/damage", {**request, "curve": EN})
    assert severity(plain, "biaxiality-not-compared") is None


@pytest.mark.parametrize(("band", "words"), [("opening", "biaxiality ratio 0,"), ("shear", "ratio above 0,")])
def test_a_curve_says_for_which_biaxiality_ratio_it_holds(client: httpx.Client, band: str, words: str) -> None:
    told = said(post(client, "curves/life", life(f"peak-stress-{band}")), "curve-holds-for")
    assert told is not None
    assert words in told["message"]


@pytest.mark.parametrize("scatter", [{"sd_log10_cycles": 0.0}, {"scatter_index": 1.0}], ids=str)
def test_a_curve_without_scatter_is_not_called_by_another_survival(client: httpx.Client, scatter: Request) -> None:
    curve = {**OWN, "survival_probability": 0.5, **scatter}
    for route, request in (
        ("curves/life", life(curve)),
        ("curves/strength", {"curve": curve, "life_cycles": [1e6]}),
        ("spectrum/damage", {"curve": curve, "range_mpa": [100.0], "count": [1e4]}),
    ):
        assert refused(client, route, {**request, "survival_probability": 0.977})[0] == "/survival_probability"
        assert post(client, route, {**request, "survival_probability": 0.5})["answer"]


@pytest.mark.parametrize("curve", [IIW, EN, "dnv-rp-c203-2016-d-air"])
def test_a_sample_size_is_refused_for_a_curve_of_the_catalogue(client: httpx.Client, curve: str) -> None:
    """Two tests made the life 4.2 times as long."""
    request = life(curve, survival_probability=0.977, sample_size=2)
    assert refused(client, "curves/life", request)[0] == "/sample_size"


def test_a_sample_size_never_lengthens_a_life_and_fewer_tests_shorten_it(client: httpx.Client) -> None:
    for survival in (0.5, 0.9, 0.977):
        states = [{"sample_size": size} for size in (2, 5, 20, 1000)] + [{}]
        asked = [life(MEAN, survival_probability=survival, **state) for state in states]
        lives = [post(client, "curves/life", each)["answer"]["life_cycles"][0] for each in asked]
        assert lives == sorted(lives)
        assert lives[0] < lives[-1]


@pytest.mark.parametrize(
    "shape",
    [
        {**OWN, "cut_off_cycles": 1e5},
        {"range_mpa": [200.0, 80.0], "life_cycles": [1e5, 2e6], "cut_off_cycles": 1e6},
    ],
    ids=["one point", "points"],
)
def test_a_cut_off_before_the_own_point_is_refused(client: httpx.Client, shape: Request) -> None:
    assert refused(client, "curves/life", life(shape))[0] == "/curve/cut_off_cycles"


@pytest.mark.parametrize(
    ("size", "told"), [(1.5, "caution"), (20.0, "note"), (0.0, "caution")], ids=["tiny", "below", "nothing"]
)
def test_lives_that_are_all_infinite_are_told(client: httpx.Client, size: float, told: str) -> None:
    found = post(client, "curves/life", {"curve": EN, "stress_range_mpa": [size, 0.0]})
    code = "ranges-below-cut-off" if told == "note" else "no-damage-counted"
    assert severity(found, code) == told
    one = client.get(f"/v1/curves/{EN}/life", params={"stress_range_mpa": size}).json()
    assert severity(one, code) == told
    mixed = post(client, "curves/life", {"curve": EN, "stress_range_mpa": [size, 100.0]})
    assert said(mixed, code) is None


def test_a_range_properly_below_the_limit_is_not_called_a_wrong_unit(client: httpx.Client) -> None:
    request: Request = {"curve": EN, "loading": "constant", "range_mpa": [50.0], "count": [1e6]}
    told = said(post(client, "spectrum/damage", request), "ranges-below-cut-off")
    assert told is not None
    assert (told["severity"], "unit" in told["message"], "58.9" in told["message"]) == ("note", False, True)
    small = said(post(client, "spectrum/damage", {**request, "range_mpa": [5e-5]}), "no-damage-counted")
    assert small is not None
    assert (small["severity"], "unit" in small["message"]) == ("caution", True)


@pytest.mark.parametrize(
    ("shape", "code", "figure"),
    [
        ({"log10_constants": [12.0, 18.0], "slopes": [3.0, 5.0]}, "knees-unusual", "1000 cycles"),
        ({**OWN, "slopes": [3.0, 5.0], "knee_cycles": [10.0]}, "knees-unusual", "10 cycles"),
        ({**OWN, "slopes": [3.0, 5.0], "knee_cycles": [2e9]}, "knees-unusual", "2,000,000,000"),
        ({"log10_constants": [12.0], "slopes": [3.0], "cut_off_cycles": 1e4}, "knees-unusual", "10,000"),
        ({**OWN, "slopes": [50.0]}, "slopes-unusual", "50"),
        ({**OWN, "slopes": [2.4]}, "slopes-unusual", "2.4"),
        ({"range_mpa": [100.0, 90.0], "life_cycles": [1e5, 1e7]}, "slopes-unusual", "43.7"),
    ],
    ids=str,
)
def test_knees_and_slopes_far_from_those_of_welds_are_a_caution_with_the_figure(
    client: httpx.Client, shape: Request, code: str, figure: str
) -> None:
    told = said(post(client, "curves/life", life(shape)), code)
    assert told is not None
    assert (told["severity"], figure in told["message"]) == ("caution", True)


@pytest.mark.parametrize(
    "shape",
    [
        {**OWN, "slopes": [3.0, 5.0], "knee_cycles": [1e7], "cut_off_cycles": 1e8},
        {**OWN, "slopes": [2.5, 10.0], "knee_cycles": [1e5], "cut_off_cycles": 1e9},
        {"log10_constants": [12.0, 15.5], "slopes": [3.0, 5.0], "knee_cycles": [1e6], "step_at_knee": True},
    ],
    ids=["usual", "ends", "step"],
)
def test_usual_knees_and_slopes_and_the_joint_of_a_step_are_not_doubted(client: httpx.Client, shape: Request) -> None:
    found = post(client, "curves/life", life(shape))
    assert said(found, "knees-unusual") is said(found, "slopes-unusual") is None


def test_an_energy_density_in_another_unit_is_doubted(client: httpx.Client) -> None:
    for size, told in ((9e-5, "caution"), (1.1e-4, None)):
        request = {"curve": "energy-density", "energy_density_mj_m3": [size]}
        assert severity(post(client, "curves/life", request), "range-small") == told


@pytest.mark.parametrize(
    "given",
    [
        {"energy_density_mj_m3": [0.05]},
        {"equivalent_stress_mpa": [100.0]},
        {"opening_angle_deg": 0.0, "control_radius_mm": 0.28, "intensities": {"k1_mpa_mm_lambda": [100.0]}},
    ],
    ids=lambda given: next(reversed(given)),
)
def test_a_modulus_in_another_unit_is_doubted(client: httpx.Client, given: Request) -> None:
    for modulus, told in ((206.0, "caution"), (2.06e11, "caution"), (206000.0, None), (45000.0, None)):
        found = post(client, "stress/energy", {**given, "youngs_modulus_mpa": modulus})
        assert severity(found, "modulus-implausible") == told


LONG = {
    "curve": IIW,
    "largest_range_mpa": 100.0,
    "reference_cycles": 1e8,
    "shape_exponent": 0.5,
    "cycles": 1e4,
}


def test_ranges_that_are_found_stay_below_the_limit_of_use(client: httpx.Client) -> None:
    """[iiw-2016] 1.5 times the yield strength for nominal normal stress, from memory."""
    column = {"curve": IIW, "life_cycles": [1e3, 1e6], "yield_strength_mpa": 355.0}
    found = said(post(client, "curves/strength", column), "stress-range-mpa-outside")
    assert found is not None
    assert (found["count"], found["high"]) == (1, 532.5)
    one = client.get(f"/v1/curves/{IIW}/strength", params={"life_cycles": 1e3, "yield_strength_mpa": 355.0})
    assert severity(one.json(), "stress-range-mpa-outside") == "outside"
    known = client.get(f"/v1/curves/{IIW}/life", params={"stress_range_mpa": 600.0, "yield_strength_mpa": 355.0})
    assert severity(known.json(), "stress-range-mpa-outside") == "outside"
    long_term = post(client, "spectrum/long-term", {**LONG, "yield_strength_mpa": 355.0})
    assert severity(long_term, "allowable-range-mpa-outside") == "outside"
    assert severity(long_term, "stress-range-mpa-outside") is None


def test_a_limit_of_use_that_is_not_compared_is_told_for_strengths_too(client: httpx.Client) -> None:
    found = post(client, "curves/strength", {"curve": IIW, "life_cycles": [1e6]})
    assert severity(found, "limit-of-use-not-compared") == "note"


def test_a_yield_strength_has_no_use_for_energy_densities(client: httpx.Client) -> None:
    energy = {"curve": "energy-density", "yield_strength_mpa": 355.0}
    for route, more in (("life", {"energy_density_mj_m3": [0.05]}), ("strength", {"life_cycles": [1e6]})):
        assert refused(client, f"curves/{route}", {**energy, **more})[0] == "/yield_strength_mpa"


PLAUSIBLE = "yield-strength-implausible"


@pytest.mark.parametrize(("yielding", "told"), [(49.0, True), (50.0, False), (2000.0, False), (3.55e8, True)])
def test_a_yield_strength_of_no_metal_is_doubted_by_every_route_of_curves(
    client: httpx.Client, yielding: float, told: bool
) -> None:
    for curve in (IIW, "dnv-rp-c203-2016-d-air", OWN):
        for route, request in (
            ("curves/life", life(curve)),
            ("curves/strength", {"curve": curve, "life_cycles": [1e6]}),
            ("spectrum/damage", {"curve": curve, "range_mpa": [100.0], "count": [1e4]}),
            ("spectrum/long-term", {**LONG, "curve": curve}),
        ):
            found = post(client, route, {**request, "yield_strength_mpa": yielding})
            assert (severity(found, PLAUSIBLE) == "caution") == told, route


def example(name: str) -> Request:
    path = Path(__file__).parents[2] / "openapi_examples" / "cracks" / f"{name}.json"
    request: Request = json.loads(path.read_text(encoding="utf-8"))["request"]
    return request


def yields(route: str, yielding: float) -> Iterator[Request]:
    """Requests that take a yield strength, at each place where they do."""
    if route == "critical-size":
        request = example("critical-size")
        tensile = max(yielding, 490.0)
        yield {
            **request,
            "strength": {**STRENGTH, "yield_strength_mpa": yielding, "ultimate_strength_mpa": tensile},
        }
    elif route == "fracture":
        strength = {**STRENGTH, "yield_strength_mpa": yielding, "ultimate_strength_mpa": max(yielding, 490.0)}
        yield {"strength": strength, "k_primary_mpa_sqrt_mm": [100.0], "reference_stress_mpa": [10.0]}
    else:
        request = example("growth-surface-blocks")
        plain = {name: value for name, value in request["loading"].items() if name != "retardation"}
        slowed = {**request["loading"]["retardation"], "yield_strength_mpa": yielding}
        yield {**request, "loading": {**plain, "retardation": slowed}}
        end = {"toughness_mpa_sqrt_mm": 4500.0, "yield_strength_mpa": yielding}
        yield {**request, "loading": plain, "end": end}
        strength = {**STRENGTH, "yield_strength_mpa": yielding, "ultimate_strength_mpa": max(yielding, 490.0)}
        yield {**request, "loading": plain, "end": {"strength": strength}}


STRENGTH = {"ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 3000.0}


@pytest.mark.parametrize("route", ["growth", "critical-size", "fracture"])
@pytest.mark.parametrize(("yielding", "told"), [(355.0, False), (3.55e5, True)])
def test_a_yield_strength_of_no_metal_is_doubted_by_every_route_of_cracks(
    client: httpx.Client, route: str, yielding: float, told: bool
) -> None:
    for request in yields(route, yielding):
        found = post(client, f"cracks/{route}", request)
        assert (severity(found, PLAUSIBLE) == "caution") == told


def test_a_modulus_of_no_metal_is_doubted_in_the_strength_of_a_crack(client: httpx.Client) -> None:
    for modulus, told in ((206.0, "caution"), (70000.0, None)):
        strength = {**STRENGTH, "yield_strength_mpa": 355.0, "youngs_modulus_mpa": modulus}
        request = {"strength": strength, "k_primary_mpa_sqrt_mm": [100.0], "reference_stress_mpa": [10.0]}
        assert severity(post(client, "cracks/fracture", request), "modulus-implausible") == told


def test_an_unknown_word_of_a_filter_is_refused_with_the_known_ones(client: httpx.Client) -> None:
    for name, word, known in (
        ("material", "Steel", "steel"),
        ("document", "iiw", "iiw-2016"),
        ("stress_kind", "Shear", "shear"),
        ("environment", "sea", "air"),
    ):
        answer = client.get("/v1/curves", params={name: word})
        assert answer.status_code == 422
        (error,) = answer.json()["errors"]
        assert (error["pointer"], known in error["message"]) == (f"/{name}", True)
    assert client.get("/v1/curves", params={"material": "steel"}).json()["answer"]["id"]
    # words that are known each, but never together: an empty list is the answer
    both = {"material": "magnesium", "stress_kind": "shear"}
    assert client.get("/v1/curves", params=both).json()["answer"]["id"] == []


def test_a_correction_that_reduces_nothing_does_not_say_that_it_does(client: httpx.Client) -> None:
    request = {"curve": EN, "history_mpa": [10.0, 100.0, 10.0], "mean_stress": "compression-in-part"}
    told = said(post(client, "spectrum/damage", request), "mean-stress-bonus-unused")
    assert told is not None
    assert (told["severity"], "reduced, 0 %" in told["message"]) == ("note", False)
    turned = post(client, "spectrum/damage", {**request, "history_mpa": [-10.0, 100.0, -10.0]})
    assert severity(turned, "mean-stress-bonus") == "caution"


@pytest.mark.parametrize(
    "shape",
    [
        {**OWN, "slopes": [3.0, 5.0], "knee_cycles": [1e7], "cut_off_cycles": 1.0000000000000003e7},
        {**OWN, "slopes": [3.0, 5.0], "knee_cycles": [1e7, 1e8]},
        {**OWN, "slopes": [1e-6, 1e-6], "knee_cycles": [1e7]},
        {**OWN, "slopes": [3.0, 1e30], "knee_cycles": [1e7], "cut_off_cycles": 2e7},
        {"log10_constants": [12.0, 16.0, 10.0], "slopes": [3.0, 5.0, 3.0]},
        {"log10_constants": [12.0, 12.0], "slopes": [3.0, 1e-5]},
        {"log10_constants": [12.0, 1e30], "slopes": [3.0, 5.0]},
        {"log10_constants": [299.0, 299.0, 299.0], "slopes": [3.0, 2.0, 1.0]},
        {"log10_constants": [12.0], "slopes": [1e30], "cut_off_cycles": 1e7},
        {"range_mpa": [100.0, 100.0000000000001], "life_cycles": [1e6, 1e7]},
        {"range_mpa": [100.0, 99.99999999999999, 99.99999999999997], "life_cycles": [1e6, 1e7, 1e8]},
        {"range_mpa": [1e30, 1e-30], "life_cycles": [1e6, 1.0000001e6]},
    ],
    ids=str,
)
def test_what_is_refused_of_an_own_curve_is_pointed_at_in_the_request(client: httpx.Client, shape: Request) -> None:
    answer = client.post("/v1/curves/life", json=life(shape))
    if answer.status_code == 200:
        return
    fields = {
        f"/curve/{name}"
        for name in ("range_mpa", "life_cycles", "log10_constants", "slopes", "knee_cycles", "cut_off_cycles")
    }
    pointer = answer.json()["errors"][0]["pointer"]
    assert pointer.rstrip("/0123456789") in fields | {"/stress_range_mpa"}

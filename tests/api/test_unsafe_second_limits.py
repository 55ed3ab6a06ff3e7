"""Limits that a name, a factor or a spelling must not get round: checks and stresses."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.errors import InputError
from service.base.units import guard_length_factor, guard_stress_factor
from tests.api.test_unsafe_check import codes, content
from tests.api.test_unsafe_lines_map import BRACKET, LONG, made

CONSTANTS_135 = {"opening": 1.21, "tearing": 1.70}  # the smallest published, tet10 at 135 deg (from memory)


def line(size_mm: float = 1.0, element: str = "brick8", **mesh: Any) -> dict[str, Any]:
    """A toe with 21 stations 1 mm apart; opening 8 to 10 MPa."""
    return {
        "name": "toe",
        "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 5.0},
        "mesh": {"element": element, "element_size_mm": size_mm, **mesh},
        "position_mm": [float(place) for place in range(21)],
        "cases": {"pull": {"peaks_mpa": {"opening": [8.0 + 0.1 * place for place in range(21)]}}},
    }


def request(one: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    loading = {"kind": "constant", "factors": {"pull": {"maximum": 12.0, "minimum": 1.0}}, "cycles": 1e6}
    return {
        "lines": [one or line()],
        "loading": loading,
        "target": {"survival_probability": 0.977},
        **more,
    }


def posted(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def peak(**more: Any) -> dict[str, Any]:
    one = line()
    return {
        "notch": one["notch"],
        "mesh": one["mesh"],
        "peaks_mpa": one["cases"]["pull"]["peaks_mpa"],
        **more,
    }


def verdict(found: dict[str, Any]) -> str:
    return str(found["answer"]["verdict"])


# element constants and control radius


@pytest.mark.parametrize(
    ("share", "seen"),
    [(0.04, "undecided"), (0.89, "undecided"), (0.91, "pass"), (1.0, "pass"), (1.2, "pass")],
)
def test_an_element_of_ones_own_is_held_against_the_smallest_constant(
    client: httpx.Client, share: float, seen: str
) -> None:
    """Its scatter is 10 %."""
    own = {mode: value * share for mode, value in CONSTANTS_135.items()}
    found = content(client, request(line(element="own", constants=own)))
    assert verdict(found) == seen
    assert ("own-constant-below-scatter" in codes(found, "outside")) is (seen == "undecided")
    alone = posted(client, "stress/peak", peak(mesh=line(element="own", constants=own)["mesh"]))
    assert ("own-constant-below-scatter" in codes(alone, "outside")) is (seen == "undecided")


@pytest.mark.parametrize("name", ["S355", "Steel", "structural-steel"])
@pytest.mark.parametrize("radius_mm", [50.0, 0.56, 0.31])
def test_a_radius_above_every_published_one_passes_under_no_name(
    client: httpx.Client, name: str, radius_mm: float
) -> None:
    """At 135 deg a radius 9.8 % larger lowers the stress by 3 %, as much as the narrowest scatter."""
    material = {"name": name, "control_radius_mm": radius_mm}
    found = content(client, request(material=material))
    assert verdict(found) == "undecided"
    assert "control-radius-far" in codes(found, "outside")
    assert "control-radius-far" in codes(posted(client, "stress/peak", peak(material=material)), "outside")


@pytest.mark.parametrize("name", ["S355", "structural-steel"])
def test_a_rounded_radius_is_a_caution(client: httpx.Client, name: str) -> None:
    found = content(client, request(material={"name": name, "control_radius_mm": 0.3}))
    assert verdict(found) == "pass"
    assert "control-radius-given" in codes(found, "caution")


def test_a_radius_larger_than_the_notch_passes_nothing(client: httpx.Client) -> None:
    one = line(0.06)
    one["notch"]["notch_size_mm"] = 0.2
    found = [f for f in content(client, request(one))["findings"] if f["code"] == "control-radius-far"]
    assert [(f["severity"], "size of the notch" in f["message"]) for f in found] == [("outside", True)]


def test_energy_and_section_hold_a_radius_without_a_name_against_the_largest(client: httpx.Client) -> None:
    sized = {"intensities": {"k1_mpa_mm_lambda": [100.0]}, "youngs_modulus_mpa": 206e3}
    sized |= {"opening_angle_deg": 135.0}
    for name in ({}, {"material": "S355"}):
        found = posted(client, "stress/energy", {**sized, **name, "control_radius_mm": 1.0})
        assert "control-radius-far" in codes(found, "outside")
        found = posted(client, "stress/energy", {**sized, **name, "control_radius_mm": 0.28})
        assert "control-radius-far" not in codes(found)
        assert "control-radius-given" in codes(found, "caution")
    plates = {"attachments": 2, "plate_thickness_mm": 10.0, "attachment_thickness_mm": 8.0}
    plates |= {"plate_leg_mm": 6.0, "gap_mm": 8.0, "loads": {"plate_membrane_mpa": 100.0}}
    assert "control-radius-far" not in codes(posted(client, "stress/section", {**plates, "control_radius_mm": 0.28}))
    found = posted(client, "stress/section", {**plates, "control_radius_mm": 1.0})
    assert "control-radius-far" in codes(found, "outside")
    found = posted(client, "stress/section", {**plates, "poisson_ratio": 0.45, "control_radius_mm": 0.28})
    assert "poisson-ratio-outside" in codes(found, "outside")


@pytest.mark.parametrize(("size_mm", "seen"), [(0.53, "undecided"), (0.75, "undecided"), (0.8, "pass")])
def test_an_element_size_below_the_spacing_lowers_no_stress(client: httpx.Client, size_mm: float, seen: str) -> None:
    """0.53 mm at stations 1 mm apart lowers the utilisation by a fifth."""
    found = content(client, request(line(size_mm)))
    assert verdict(found) == seen
    assert ("mesh-size-not-spacing" in codes(found, "outside")) is (seen == "undecided")


# what relieves the part

EN, IIW = "en-1993-1-9-2005-normal-80", "iiw-2016-normal-steel-80"
SHEAR = "en-1993-1-9-2005-shear-80"
POINT = {"range_mpa": [80.0], "life_cycles": [2e6], "slopes": [3.0]}


def own(name: str, factor: float) -> dict[str, Any]:
    return {"kind": "own", "name": name, "strength_factor": factor, "reason": "tests of ours"}


def nominal(stress: float, curve: str | dict[str, Any], **curves: Any) -> dict[str, Any]:
    """One station under a range of stress in 1e6 cycles."""
    basis = curves.pop("basis", "nominal")
    shear = {"shear_mpa": [1.0]} if "shear_curve" in curves else {}
    case = {"normal_mpa": [stress], **shear}
    return {
        "lines": [{"name": "n", "basis": basis, "position_mm": [0.0], "cases": {"pull": case}}],
        "loading": {
            "kind": "constant",
            "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}},
            "cycles": 1e6,
        },
        "curves": {"rule": "fixed", "curve": curve, **curves},
    }


RELIEF = [
    ({"damage_limit": 1.0}, "pass"),
    ({"damage_limit": 1.01}, "undecided"),
    ({"resistance_factor": 0.99}, "undecided"),
    ({"load_factor": 0.99}, "undecided"),
    ({"survival_probability": 0.5}, "pass"),
    ({"survival_probability": 0.49}, "undecided"),
]


@pytest.mark.parametrize(("target", "seen"), RELIEF)
def test_a_target_that_relieves_beyond_every_document_passes_nothing(
    client: httpx.Client, target: dict[str, float], seen: str
) -> None:
    assert verdict(content(client, nominal(20.0, IIW) | {"target": target})) == seen
    failing = {**nominal(300.0, IIW), "target": target}
    assert verdict(content(client, failing)) == "fail"


@pytest.mark.parametrize(
    ("corrections", "seen"),
    [
        ([own("a", 1.67)], "pass"),
        ([own("a", 1.68)], "undecided"),
        ([own("a", 1.5), own("b", 1.5)], "undecided"),
        ([own("a", 2.0), own("b", 0.8)], "pass"),
    ],
)
def test_own_factors_above_the_largest_bonus_of_the_documents_pass_nothing(
    client: httpx.Client, corrections: list[dict[str, Any]], seen: str
) -> None:
    """The largest bonus of a document here is 1.67 (EN 1993-1-9: compression counted at 60 %)."""
    assert verdict(content(client, nominal(20.0, IIW, corrections=corrections))) == seen
    assert verdict(content(client, nominal(300.0, IIW, corrections=corrections))) == "fail"
    taken = {"curve": IIW, "corrections": corrections}
    far = seen == "undecided"
    for route, body in (
        ("curves/life", {"stress_range_mpa": [60.0]}),
        ("curves/strength", {"life_cycles": [1e6]}),
        ("spectrum/damage", {"range_mpa": [60.0], "count": [10.0], "repeats": 1.0}),
        ("spectrum/random", RANDOM),
        ("spectrum/long-term", LONG_TERM),
    ):
        found = posted(client, route, {**taken, **body})
        assert ("relieving-factor" in codes(found, "outside")) is far, route
    damaged = posted(client, "spectrum/damage", {**taken, "range_mpa": [60.0], "count": [10.0]})
    assert verdict(damaged) == seen


RANDOM: dict[str, Any] = {
    "frequency_hz": [1.0, 10.0],
    "density_mpa2_per_hz": [10.0, 10.0],
    "duration_s": 1000.0,
}
LONG_TERM: dict[str, Any] = {"largest_range_mpa": 100.0, "reference_cycles": 1e6, "shape_exponent": 1.0}


@pytest.mark.parametrize("target", [{"damage_limit": 1.5}, {"survival_probability": 0.3}])
def test_every_route_says_that_a_choice_leaves_the_documents(client: httpx.Client, target: dict[str, float]) -> None:
    code = "damage-limit-above-one" if "damage_limit" in target else "survival-below-mean-line"
    bodies = [
        ("spectrum/damage", {"range_mpa": [60.0], "count": [10.0]}),
        ("spectrum/random", RANDOM),
        ("spectrum/long-term", LONG_TERM),
    ]
    if "damage_limit" not in target:
        bodies += [("curves/life", {"stress_range_mpa": [60.0]}), ("curves/strength", {"life_cycles": [1e6]})]
    for route, body in bodies:
        assert code in codes(posted(client, route, {"curve": IIW, **target, **body}), "outside"), route


def test_a_factor_given_twice_is_refused_where_it_stands(client: httpx.Client) -> None:
    body = nominal(20.0, IIW, corrections=[own("a", 0.9), own("a", 0.9)])
    reply = client.post("/v1/check", json=body)
    assert reply.status_code == 422
    assert [error["pointer"] for error in reply.json()["errors"]] == ["/curves/corrections"]
    moved = nominal(20.0, {**POINT, "name": "mine"}) | {"target": {"survival_probability": 0.9}}
    (error,) = client.post("/v1/check", json=moved).json()["errors"]
    assert error["pointer"] == "/target/survival_probability"


# the partial factor of the document

SAID_TO_BE_1 = [
    {
        "kind": "partial-factor",
        "document": "en-1993-1-9-2005",
        "concept": "damage-tolerant",
        "consequence": "low-consequence",
    },
    own("partial factor", 1.0),
]


def test_what_only_a_missing_partial_factor_passes_is_undecided(client: httpx.Client) -> None:
    """80 MPa at 2e6 cycles is 100.8 MPa at 1e6: 80 MPa is 0.79 of it, 1.07 with the largest factor, 1.35."""
    code, deciding = "utilisation-without-partial-factor", "partial-factor-decides"
    found = content(client, nominal(80.0, EN))
    assert (verdict(found), deciding in codes(found, "outside")) == ("undecided", True)
    found = content(client, nominal(60.0, EN))
    assert (verdict(found), code in codes(found, "caution")) == ("pass", True)
    found = content(client, nominal(140.0, EN))
    assert (verdict(found), code in codes(found, "caution")) == ("fail", True)
    for said in SAID_TO_BE_1:
        found = content(client, nominal(80.0, EN, corrections=[said]))
        assert (verdict(found), code in codes(found)) == ("pass", False)
    found = content(client, nominal(88.0, EN, corrections=[own("partial factor", 1.1)]))
    assert verdict(found) == "undecided"


# the stress that a curve is for


@pytest.mark.parametrize(
    ("basis", "kind", "severity"),
    [
        ("nominal", "own", None),
        ("nominal", "normal", None),
        ("nominal", "Nominal", None),
        ("nominal", "peak-stress", "outside"),
        ("nominal", "hot spot", "outside"),
        ("nominal", "shear", "outside"),
        ("nominal", "structural", "outside"),
        ("structural", "nominal", "caution"),
        ("structural", "hot-spot", None),
        ("effective-notch", "normal", "outside"),
        ("nominal", "bending of our bracket", "caution"),
    ],
)
def test_the_stated_kind_of_an_own_curve_is_compared(
    client: httpx.Client, basis: str, kind: str, severity: str | None
) -> None:
    curve = {**POINT, "name": "mine", "stress_kind": kind}
    found = content(client, nominal(20.0, curve, basis=basis))
    codes = ("curve-kind-not-compared", "curve-of-other-stress", "nominal-curve-on-structural-stress")
    seen = [f["severity"] for f in found["findings"] if f["code"] in codes]
    assert seen == ([severity] if severity else [])
    assert verdict(found) == ("undecided" if severity == "outside" else "pass")


@pytest.mark.parametrize(("kind", "seen"), [("shear", "pass"), ("structural", "undecided"), ("normal", "undecided")])
def test_the_stated_kind_of_a_shear_curve_is_compared(client: httpx.Client, kind: str, seen: str) -> None:
    shear = {**POINT, "name": "mine", "stress_kind": kind}
    assert verdict(content(client, nominal(20.0, EN, shear_curve=shear, interaction="damage-sum"))) == seen


@pytest.mark.parametrize(
    ("basis", "curve"),
    [
        ("nominal", "iiw-2016-parent-steel-160"),
        ("structural", "iiw-2016-parent-steel-160"),
        ("nominal", "en-1993-1-9-2005-normal-160"),
        ("nominal", "dnv-rp-c203-2016-b1-air"),
        ("nominal", "dnv-rp-c203-2016-b1-seawater-protected"),
    ],
)
def test_a_curve_of_metal_without_weld_decides_on_no_weld(client: httpx.Client, basis: str, curve: str) -> None:
    found = content(client, nominal(20.0, curve, basis=basis))
    assert (verdict(found), "curve-of-parent-metal" in codes(found, "outside")) == ("undecided", True)


# units in the names of columns


@pytest.mark.parametrize(
    "column",
    ["syy/ksi", "syy/GPa", "ksi_syy", "syy [Mpsi]", "syy_tsi", "syy, psi", "syy:kPa", "sigma (top)"],
)
def test_a_unit_in_the_name_of_a_stress_needs_its_factor(column: str) -> None:
    with pytest.raises(InputError):
        guard_stress_factor(column, 1.0)


@pytest.mark.parametrize(
    ("column", "factor"), [("syy (10^6 Pa)", 1.0), ("syy/ksi", 6.895), ("S: yy [MPa]", 1.0), ("s [1]", 1.0)]
)
def test_a_unit_in_the_name_of_a_stress_agrees_with_its_factor(column: str, factor: float) -> None:
    guard_stress_factor(column, factor)


@pytest.mark.parametrize(
    ("column", "factor"),
    [
        ("x [dm]", 100.0),
        ("x_inches", 25.4),
        ("x_metre", 1e3),
        ("x:in", 25.4),
        ("x, in", 25.4),
        ("x_yd", 914.4),
        ("x/m", 1e3),
        ("cm_x", 10.0),
    ],
)
def test_a_unit_in_the_name_of_a_length_needs_its_factor(column: str, factor: float) -> None:
    guard_length_factor(column, factor)
    with pytest.raises(InputError):
        guard_length_factor(column, 1.0)


@pytest.mark.parametrize("column", ["x [furlong]", "x/N", "x: MPa"])
def test_a_unit_that_is_none_of_length_is_refused(column: str) -> None:
    with pytest.raises(InputError) as caught:
        guard_length_factor(column, 1.0)
    assert caught.value.path == ("table",)


def test_a_factor_that_makes_all_stresses_tiny_is_doubted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made(tmp_path, BRACKET, LONG)
    assert "stresses-small" not in capsys.readouterr().err
    made(tmp_path, BRACKET, LONG.replace('form = "long"', 'form = "long"\nstress_factor = 1e-6'))
    told = " ".join(capsys.readouterr().err.split())
    assert "caution: the stress_factor 1e-6 makes the largest stress" in told


def test_a_damage_that_only_a_missing_partial_factor_passes_is_undecided(client: httpx.Client) -> None:
    """80 MPa, 2e6 times, is a damage of 1 on EN 80; 1.35 times the range is 2.46 times the damage."""
    code = "damage-without-partial-factor"
    bare = {"curve": EN, "range_mpa": [80.0], "count": [1e6], "loading": "constant"}
    found = posted(client, "spectrum/damage", bare)
    assert (verdict(found), code in codes(found, "outside")) == ("undecided", True)
    for change, seen in (
        ({"count": [4e5]}, "pass"),
        ({"count": [3e6]}, "fail"),
        ({"corrections": SAID_TO_BE_1[:1]}, "pass"),
    ):
        found = posted(client, "spectrum/damage", {**bare, **change})
        assert (verdict(found), code in codes(found)) == (seen, False)

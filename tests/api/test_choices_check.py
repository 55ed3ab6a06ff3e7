"""Each choice of a check: the answer is what the core gives for that word, not what another word gives."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.curves.corrections.survival import at_survival
from fatcore.curves.standards.catalogue import find_curve
from fatcore.spectrum.counting.count import rainflow
from fatcore.stress.peak.peak_weights import peak_weights

from .choices import run

NORMAL, SHEAR = "en-1993-1-9-2005-normal-71", "en-1993-1-9-2005-shear-80"
ONE_CYCLE = {"kind": "constant", "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}, "cycles": 1e5}
WORN = {"damage_limit": 1.0}
OWN = {"opening": 1.4, "sliding": 3.4, "tearing": 1.9}


def plain_check(basis: str, curve: str, **changes: Any) -> dict[str, Any]:
    line = {
        "name": "toe",
        "basis": basis,
        "position_mm": [0.0],
        "cases": {"pull": {"normal_mpa": [100.0]}},
    }
    return {
        "lines": [line],
        "loading": ONE_CYCLE,
        "target": WORN,
        "curves": {"rule": "fixed", "curve": curve},
        **changes,
    }


def peak_check(notch: str = "toe", angle: float = 135.0, **changes: Any) -> dict[str, Any]:
    line = {
        "name": "weld",
        "notch": {"kind": notch, "opening_angle_deg": angle, "notch_size_mm": 8.0},
        "mesh": {"element": "quad4", "element_size_mm": 0.5},
        "position_mm": [0.0],
        "cases": {"pull": {"peaks_mpa": {"opening": [100.0], "tearing": [0.0]}}},
    }
    return {"lines": [line | changes.pop("line", {})], "loading": ONE_CYCLE, "target": WORN, **changes}


REQUESTS = [
    ("POST", "check", plain_check("nominal", NORMAL) | {"material": {"name": "alloy 7"}}),
    ("POST", "check", plain_check("nominal", NORMAL)),
    ("POST", "check", plain_check("nominal", "peak-stress-opening")),
    ("POST", "check", peak_check(curves={"rule": "fixed", "curve": "peak-stress-opening"})),
    (
        "POST",
        "check",
        peak_check(line={"mesh": {"element": "own", "element_size_mm": 0.5, "constants": OWN}}),
    ),
]


def damage_of(request: dict[str, Any]) -> float:
    (line,) = run("POST", "check", request)["lines"]
    return float(line["damage"][0])


@pytest.mark.parametrize(
    ("basis", "curve"),
    [
        ("nominal", NORMAL),
        ("structural", "iiw-2016-hot-spot-steel-100"),
        ("effective-notch", "iiw-2016-notch-r1-steel-225"),
    ],
)
def test_plain_bases_take_the_stress_to_their_curve(basis: str, curve: str) -> None:
    expected = 1e5 / float(find_curve(curve, loading="constant").life_cycles(100.0))
    assert damage_of(plain_check(basis, curve)) == pytest.approx(expected, rel=1e-9)


def weight(coefficients: str = "exact", element: str = "quad4", angle: float = 135.0) -> float:
    return peak_weights(
        opening_angle_deg=angle,
        element=element,
        element_size_mm=0.5,
        notch_size_mm=8.0,
        coefficients=coefficients,
        constants=OWN if element == "own" else None,
    ).opening


@pytest.mark.parametrize("coefficients", ["exact", "published-fit"])
def test_peak_basis_takes_the_equivalent_stress_to_the_opening_curve(coefficients: str) -> None:
    curve = find_curve("peak-stress-opening", loading="constant")
    expected = 1e5 / float(curve.life_cycles(100.0 * weight(coefficients)))
    assert damage_of(peak_check(coefficients=coefficients)) == pytest.approx(expected, rel=1e-9)


def test_exact_and_printed_coefficients_differ() -> None:
    assert weight("exact") != pytest.approx(weight("published-fit"), rel=1e-4)


@pytest.mark.parametrize("element", ["quad4", "brick8", "tet10", "tet4", "own"])
def test_element_of_a_line(element: str) -> None:
    mesh = {"element": element, "element_size_mm": 0.5} | ({"constants": OWN} if element == "own" else {})
    curve = find_curve("peak-stress-opening", loading="constant")
    expected = 1e5 / float(curve.life_cycles(100.0 * weight(element=element)))
    assert damage_of(peak_check(line={"mesh": mesh})) == pytest.approx(expected, rel=1e-9)


def test_condition_lets_the_load_ratio_count() -> None:
    """Stress-relieved at R = -1: half the energy, as in energy-mean-stress-2004."""
    loading = ONE_CYCLE | {"factors": {"pull": {"maximum": 0.5, "minimum": -0.5}}}
    welded = damage_of(peak_check(loading=loading))
    relieved = damage_of(peak_check(loading=loading, condition="stress-relieved"))
    assert relieved / welded == pytest.approx(0.5**1.5, rel=1e-9)
    assert welded == pytest.approx(damage_of(peak_check()), rel=1e-12)


CHANNEL = [0.0, 1.2, 0.3, 0.9, -0.8, 1.0, 0.0, 0.7]


@pytest.mark.parametrize("residue", ["closed", "half"])
def test_residue_of_a_history(residue: str) -> None:
    loading = {"kind": "history", "channels": {"pull": CHANNEL}, "repeats": 1e4, "residue": residue}
    found = damage_of(plain_check("nominal", NORMAL, loading=loading))
    counted = rainflow(100.0 * np.array(CHANNEL), residue=residue)
    lives = find_curve(NORMAL, loading="variable").life_cycles(counted.range_mpa)
    assert found == pytest.approx(1e4 * float(np.sum(counted.count / lives)), rel=1e-9)


@pytest.mark.parametrize("repeats", [1.0, 3.0])
def test_kinds_of_loading_agree_where_they_say_the_same(repeats: float) -> None:
    block = {"factors": ONE_CYCLE["factors"], "cycles": 1e5}
    target = WORN | {"repeats": repeats}
    blocks = damage_of(
        plain_check("nominal", NORMAL, loading={"kind": "blocks", "blocks": [block, block]}, target=target)
    )
    constant = damage_of(plain_check("nominal", NORMAL, loading=ONE_CYCLE, target=target))
    history = {"kind": "history", "channels": {"pull": [0.0, 1.0, 0.0]}, "repeats": 1e5}
    assert blocks == pytest.approx(2.0 * constant, rel=1e-12)
    told = damage_of(plain_check("nominal", NORMAL, loading=history, target=target))
    assert told == pytest.approx(constant, rel=1e-12)


def two_stress_check(interaction: str) -> dict[str, Any]:
    request = plain_check("nominal", NORMAL)
    request["lines"][0]["cases"] = {"pull": {"normal_mpa": [100.0], "shear_mpa": [80.0]}}
    request["curves"] = {"rule": "fixed", "curve": NORMAL, "shear_curve": SHEAR, "interaction": interaction}
    return request


def test_interaction_of_normal_and_shear_stress() -> None:
    """Shares of the stress that lives 1e5 cycles: cubes and fifth powers, or squares with their limit."""
    normal = 1e5 / float(find_curve(NORMAL, loading="constant").life_cycles(100.0))
    shear = 1e5 / float(find_curve(SHEAR, loading="constant").life_cycles(80.0))
    squares = normal ** (2.0 / 3.0) + shear ** (2.0 / 5.0)
    expected = {
        "quadratic-proportional": squares**0.5,
        "quadratic-non-proportional": (squares / 0.5) ** 0.5,
    }
    summed = run("POST", "check", two_stress_check("damage-sum"))["lines"][0]
    assert summed["damage"][0] == pytest.approx(normal + shear, rel=1e-9)
    for interaction, utilisation in expected.items():
        found = run("POST", "check", two_stress_check(interaction))["lines"][0]["governing_utilisation"]
        assert found == pytest.approx(utilisation, rel=1e-6)


def test_rule_of_the_curves() -> None:
    """Shear alone goes to the shear band by biaxiality; a fixed curve stays what it is."""
    shear_only = {"cases": {"pull": {"peaks_mpa": {"opening": [0.0], "tearing": [60.0]}}}}
    chosen = run("POST", "check", peak_check(line=shear_only))["lines"][0]
    fixed = {"rule": "fixed", "curve": "peak-stress-opening"}
    stayed = run("POST", "check", peak_check(line=shear_only, curves=fixed))["lines"][0]
    for line, name in ((chosen, "peak-stress-shear"), (stayed, "peak-stress-opening")):
        life = float(find_curve(name, loading="constant").life_cycles(line["equivalent_stress_mpa"][0]))
        assert line["damage"][0] == pytest.approx(1e5 / life, rel=1e-9)


def test_survival_of_the_target_moves_the_curve() -> None:
    request = plain_check("structural", "bs-7608-1993-t")
    request["target"] = WORN | {"survival_probability": 0.9}
    moved = at_survival(find_curve("bs-7608-1993-t", loading="constant"), 0.9).curve
    assert damage_of(request) == pytest.approx(1e5 / float(moved.life_cycles(100.0)), rel=1e-9)


SIDE = [0.0, 0.8, -0.6, 1.0, 0.2, -1.0, 0.4, 0.0]


def test_cycles_of_a_history_with_two_stresses_are_counted_as_asked() -> None:
    found = {}
    for cycles in ("governing", "independent", "path"):
        loading = {"kind": "history", "channels": {"pull": CHANNEL, "side": SIDE}, "cycles": cycles}
        request = peak_check(loading=loading | {"repeats": 100.0})
        request["lines"][0]["cases"] = {
            "pull": {"peaks_mpa": {"opening": [100.0], "tearing": [0.0]}},
            "side": {"peaks_mpa": {"opening": [0.0], "tearing": [80.0]}},
        }
        found[cycles] = damage_of(request)
    assert len(set(found.values())) == 3

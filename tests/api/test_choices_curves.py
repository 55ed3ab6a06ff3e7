"""Each choice of the curve routes: the answer is the core's for that word, and not that of another word."""

from __future__ import annotations

from typing import Any

import pytest

from fatcore.curves.corrections import mean_stress, partial_factors, thickness
from fatcore.curves.standards.catalogue import find_curve

from .choices import run

CURVE = "iiw-2016-normal-steel-80"
RANGES = [200.0, 60.0, 20.0]
REQUESTS = [
    ("GET", "curves/{curve}/life", {"curve": CURVE, "stress_range_mpa": "30"}),
    ("GET", "curves/{curve}/strength", {"curve": CURVE, "life_cycles": "1e8"}),
    (
        "POST",
        "curves/strength",
        {
            "curve": CURVE,
            "life_cycles": [1e6],
            "corrections": [{"kind": "mean-stress", "residual_stress": "low", "load_ratio": [-0.3]}],
        },
    ),
]


@pytest.mark.parametrize("loading", ["constant", "variable"])
def test_loading_takes_its_branch_below_the_knee(loading: str) -> None:
    """IIW 2016: slope 22 below 1e7 cycles at constant amplitude, 5 at variable."""
    curve = find_curve(CURVE, loading=loading)
    slope = {"constant": 22.0, "variable": 5.0}[loading]
    life = 1e7 * (80.0 * (2e6 / 1e7) ** (1.0 / 3.0) / 40.0) ** slope
    one = run("GET", "curves/{curve}/life", {"curve": CURVE, "loading": loading, "stress_range_mpa": "40"})
    many = run("POST", "curves/life", {"curve": CURVE, "loading": loading, "stress_range_mpa": [40.0]})
    assert one["life_cycles"] == many["life_cycles"][0] == float(curve.life_cycles(40.0))
    assert one["life_cycles"] == pytest.approx(life, rel=1e-9)
    asked = {"curve": CURVE, "loading": loading}
    back = run("GET", "curves/{curve}/strength", {"curve": CURVE, "loading": loading, "life_cycles": str(life)})
    assert back["stress_range_mpa"] == pytest.approx(40.0, rel=1e-9)
    column = run("POST", "curves/strength", {**asked, "life_cycles": [life]})
    assert column["stress_range_mpa"] == [back["stress_range_mpa"]]
    assert run("GET", "curves/{curve}", {"curve": CURVE, "loading": loading})["slopes"] == [3.0, slope]


@pytest.mark.parametrize(
    ("residual_stress", "ratio", "bonus"),
    [("low", -0.3, 1.32), ("medium", -0.3, 1.02), ("medium", -0.5, 1.1), ("high", -0.5, 1.0)],
)
def test_residual_stress_sets_the_bonus(residual_stress: str, ratio: float, bonus: float) -> None:
    """IIW 2016, section 3.5.1: 1.2 - 0.4 R, 0.9 - 0.4 R, 1."""
    spec = {"kind": "mean-stress", "residual_stress": residual_stress, "load_ratio": [ratio]}
    assert factor_of(spec) == pytest.approx(bonus, rel=1e-12)
    core = mean_stress.mean_stress([ratio], residual_stress)  # type: ignore[arg-type]
    assert factor_of(spec) == float(core.strength_factor[0])


def factor_of(*corrections: dict[str, Any], curve: str = CURVE) -> float:
    """The strength factor, from the answer and from the two lives."""
    plain = run("POST", "curves/strength", {"curve": curve, "life_cycles": [1e5]})
    asked = {"curve": curve, "life_cycles": [1e5], "corrections": list(corrections)}
    found = run("POST", "curves/strength", asked)
    (factor,) = found["strength_factor"]
    assert found["stress_range_mpa"][0] == pytest.approx(factor * plain["stress_range_mpa"][0], rel=1e-12)
    return float(factor)


def test_each_kind_of_correction_is_its_own() -> None:
    detail = {
        "kind": "detail-thickness",
        "document": "iiw-2016",
        "detail": "transverse-butt-as-welded",
        "thickness_mm": 50.0,
    }
    assert factor_of(detail) == pytest.approx(0.5**0.2, rel=1e-12)
    core = thickness.thickness(50.0, document="iiw-2016", detail="transverse-butt-as-welded")
    assert factor_of(detail) == float(core.strength_factor)
    by_class = {"kind": "class-thickness", "thickness_mm": 50.0}
    assert factor_of(by_class, curve="dnv-rp-c203-2016-f-air") == pytest.approx(0.5**0.25, rel=1e-12)
    half_in_compression = {"kind": "effective-range", "maximum_mpa": [50.0], "minimum_mpa": [-50.0]}
    assert factor_of(half_in_compression, curve="en-1993-1-9-2005-normal-71") == pytest.approx(1.0 / 0.8)
    partial = {
        "kind": "partial-factor",
        "document": "iiw-2016",
        "concept": "safe-life",
        "consequence": "loss-of-life",
    }
    assert factor_of(partial) == pytest.approx(1.0 / 1.4, rel=1e-12)
    by_label = {"kind": "class-factor", "label": "F"}
    core = partial_factors.class_factor("F", "bs-7608-1993-d")
    assert factor_of(by_label, curve="bs-7608-1993-d") == float(core.strength_factor) != 1.0
    own = {"kind": "own", "name": "heat", "strength_factor": 0.9, "reason": "temperature"}
    assert factor_of(own) == 0.9
    assert factor_of(own, detail) == pytest.approx(0.9 * 0.5**0.2, rel=1e-12)

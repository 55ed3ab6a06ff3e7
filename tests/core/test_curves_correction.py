"""Corrections: each at, below and above the points where its rule changes; composition; refused figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.curves.corrections.correction import Correction, combine_corrections, own_factor
from fatcore.curves.corrections.mean_stress import (
    effective_range,
    effective_range_mpa,
    mean_stress,
    mean_stress_factor,
)
from fatcore.curves.corrections.partial_factors import class_factor, partial_factor
from fatcore.curves.corrections.thickness import (
    class_thickness,
    details,
    effective_thickness_mm,
    thickness,
    thickness_factor,
)
from fatcore.curves.standards.catalogue import find_curve
from fatcore.errors import InputError, NotCoveredError, UnknownError

CURVE = find_curve("iiw-2016-normal-steel-90")


def value(correction: Correction) -> float:
    return float(correction.strength_factor)


def test_thickness_below_at_and_above_the_reference() -> None:
    factors = thickness_factor([10.0, 25.0, 25.0 * (1 + 1e-9), 50.0, 100.0], 25.0, 0.3)
    assert factors == pytest.approx([1.0, 1.0, 1.0, 0.5**0.3, 0.25**0.3], rel=1e-9)
    assert (factors <= 1.0).all()
    assert float(thickness_factor(80.0, 25.0, 0.0)) == 1.0


@pytest.mark.parametrize(
    ("figures", "name"),
    [
        ((0.0, 25.0, 0.2), "thickness_mm"),
        ((10.0, -1.0, 0.2), "reference_mm"),
        ((10.0, 25.0, -0.1), "exponent"),
        ((10.0, 25.0, math.nan), "exponent"),
    ],
)
def test_refused_thickness(figures: tuple[float, float, float], name: str) -> None:
    with pytest.raises(InputError) as caught:
        thickness_factor(*figures)
    assert caught.value.path == (name,)


def test_effective_thickness_at_twice_the_plate() -> None:
    assert effective_thickness_mm(40.0, [79.0, 80.0, 81.0]).tolist() == [39.5, 40.0, 40.0]
    with pytest.raises(InputError):
        effective_thickness_mm(40.0, 0.0)


def test_thickness_rules_of_the_documents() -> None:
    assert value(thickness(50.0, document="iiw-2016", detail="cruciform-as-welded")) == pytest.approx(0.5**0.3)
    short = thickness(50.0, document="iiw-2016", detail="cruciform-as-welded", toe_distance_mm=60.0)
    assert value(short) == pytest.approx((25 / 30) ** 0.3)
    assert value(
        thickness(50.0, document="en-1993-1-9-2005", detail="where-the-detail-table-says-so")
    ) == pytest.approx(0.5**0.2)
    assert value(thickness(32.0, document="bs-7608-1993", detail="all")) == pytest.approx(0.5**0.25)
    ship = thickness(44.0, document="iacs-csr-2019", detail="transverse-butt-as-welded", reference_mm=22.0)
    assert value(ship) == pytest.approx(0.5**0.2)
    assert value(class_thickness(50.0, "dnv-rp-c203-2016-c1-air")) == pytest.approx(0.5**0.1)
    assert short.findings[0].source == "iiw-2016"
    assert short.tables == ("curves/iiw_2016",)


def test_thickness_that_no_document_covers() -> None:
    with pytest.raises(UnknownError) as caught:
        thickness(50.0, document="iiw-2016", detail="bolt")
    assert caught.value.path == ("detail",)
    assert "butt-ground-flush" in details("iiw-2016")
    for wrong in (
        lambda: thickness(50.0, document="bs-7608-1993", detail="all", toe_distance_mm=10.0),
        lambda: thickness(50.0, document="dnv-rp-c203-2016", detail="D"),
        lambda: thickness(50.0, document="hse-1995", detail="D"),
        lambda: class_thickness(50.0, "iiw-2016-normal-steel-90"),
        lambda: class_thickness(50.0, "dnv-rp-c203-2016-t-air"),
    ):
        with pytest.raises(NotCoveredError):
            wrong()
    for refused in (
        lambda: thickness(50.0, document="iiw-2016", detail="base-material", reference_mm=20.0),
        lambda: thickness(50.0, document="iacs-csr-2019", detail="transverse-butt-as-welded"),
    ):
        with pytest.raises(InputError) as refusal:
            refused()
        assert refusal.value.path == ("reference_mm",)


@pytest.mark.parametrize(
    ("case", "load_ratio", "expected"),
    [
        ("low", -3.0, 1.6),
        ("low", -1.0, 1.6),
        ("low", -0.999, 1.5996),
        ("low", 0.0, 1.2),
        ("low", 0.25, 1.1),
        ("low", 0.5, 1.0),
        ("low", 0.51, 1.0),
        ("low", 7.0, 1.0),
        ("medium", -3.0, 1.3),
        ("medium", -1.0, 1.3),
        ("medium", -0.5, 1.1),
        ("medium", -0.25, 1.0),
        ("medium", -0.24, 1.0),
        ("medium", 0.5, 1.0),
        ("high", -3.0, 1.0),
        ("high", 0.9, 1.0),
    ],
)
def test_mean_stress_by_residual_stress(case: str, load_ratio: float, expected: float) -> None:
    assert float(mean_stress_factor(load_ratio, case)) == pytest.approx(expected, rel=1e-12)  # type: ignore[arg-type]


@given(st.lists(st.floats(-5.0, 5.0), min_size=2, max_size=20), st.sampled_from(["low", "medium", "high"]))
def test_more_mean_stress_never_helps(ratios: list[float], case: str) -> None:
    factors = mean_stress_factor(np.sort(ratios), case)  # type: ignore[arg-type]
    assert (np.diff(factors) <= 1e-15).all()
    assert (factors >= 1.0).all()


def test_refused_mean_stress() -> None:
    with pytest.raises(InputError):
        mean_stress_factor(math.nan, "low")
    with pytest.raises(InputError) as caught:
        mean_stress_factor(0.0, "none")  # type: ignore[arg-type]
    assert caught.value.path == ("residual_stress",)


def test_mean_stress_reports_itself() -> None:
    correction = mean_stress([-1.0, 0.0, 1.0], "low")
    assert correction.findings[0].code == "mean-stress-correction-doubtful"
    assert "1 to 1.6" in correction.findings[0].message
    assert mean_stress([], "high").strength_factor.size == 0


@pytest.mark.parametrize(
    ("top", "bottom", "expected"),
    [
        (100.0, 0.0, 100.0),
        (100.0, 20.0, 80.0),
        (60.0, -40.0, 84.0),
        (0.0, -50.0, 30.0),
        (-20.0, -50.0, 18.0),
        (5.0, 5.0, 0.0),
    ],
)
def test_effective_range(top: float, bottom: float, expected: float) -> None:
    assert float(effective_range_mpa(top, bottom)) == pytest.approx(expected, abs=1e-12)
    factor = effective_range(top, bottom)
    assert float(factor.on_ranges(top - bottom)) == pytest.approx(expected, abs=1e-12)
    assert factor.sources == ("en-1993-1-9-2005",)


def test_refused_effective_range() -> None:
    with pytest.raises(InputError):
        effective_range_mpa([1.0, -1.0], [0.0, 0.0])


def test_ragged_columns_are_refused() -> None:
    three, two = np.ones(3), np.ones(2)
    for wrong, name in (
        (lambda: effective_range_mpa(three, -two), "minimum_mpa"),
        (lambda: effective_thickness_mm(three, two), "toe_distance_mm"),
        (lambda: mean_stress(three, "low").on_ranges(two), "strength_factor"),
        (lambda: combine_corrections(mean_stress(three, "low"), mean_stress(two, "low")), "correction 2"),
    ):
        with pytest.raises(InputError) as caught:
            wrong()
        assert caught.value.path == (name,)


@pytest.mark.parametrize(
    ("document", "concept", "consequence", "factor"),
    [
        ("en-1993-1-9-2005", "damage-tolerant", "low-consequence", 1.0),
        ("en-1993-1-9-2005", "damage-tolerant", "high-consequence", 1.15),
        ("en-1993-1-9-2005", "safe-life", "low-consequence", 1.15),
        ("en-1993-1-9-2005", "safe-life", "high-consequence", 1.35),
        ("iiw-2016", "fail-safe", "loss-of-secondary-part", 1.0),
        ("iiw-2016", "safe-life", "loss-of-secondary-part", 1.15),
        ("iiw-2016", "fail-safe", "loss-of-structure", 1.15),
        ("iiw-2016", "safe-life", "loss-of-structure", 1.3),
        ("iiw-2016", "fail-safe", "loss-of-life", 1.3),
        ("iiw-2016", "safe-life", "loss-of-life", 1.4),
    ],
)
def test_partial_factors(document: str, concept: str, consequence: str, factor: float) -> None:
    assert value(partial_factor(document, concept, consequence)) == pytest.approx(1.0 / factor, rel=1e-15)


def test_unknown_partial_and_class_factors() -> None:
    for words, name in ((("iiw-2016", "x", "y"), "concept"), (("iiw-2016", "safe-life", "y"), "consequence")):
        with pytest.raises(UnknownError) as caught:
            partial_factor(*words)
        assert caught.value.path == (name,)
    with pytest.raises(NotCoveredError):
        partial_factor("bs-7608-1993", "safe-life", "loss-of-life")
    with pytest.raises(UnknownError):
        class_factor("Z", "bs-7608-1993-d")
    assert float(class_factor("G", "bs-7608-1993-d").on_ranges(100.0)) == pytest.approx(183.0)


@given(st.floats(0.2, 4.0), st.floats(1.0, 400.0))
def test_moving_the_curve_is_moving_the_ranges(factor: float, load: float) -> None:
    correction = own_factor("temperature", factor, reason="measured")
    on_curve = float(correction.on_curve(CURVE).life_cycles(load))
    assert on_curve == pytest.approx(float(CURVE.life_cycles(correction.on_ranges(load))), rel=1e-10)


def test_composition() -> None:
    parts = [
        thickness(50.0, document="iiw-2016", detail="butt-ground-flush"),
        mean_stress([-1.0, 0.0], "low"),
        partial_factor("iiw-2016", "safe-life", "loss-of-life"),
        own_factor("temperature", 0.9, reason="test report 7"),
    ]
    whole = combine_corrections(*parts)
    expected = 0.5**0.1 * np.array([1.6, 1.2]) / 1.4 * 0.9
    assert whole.strength_factor == pytest.approx(expected, rel=1e-12)
    assert [each.code for each in whole.findings] == [
        "thickness-correction", "mean-stress-correction-doubtful", "partial-factor", "own-factor",
    ]  # fmt: skip
    assert combine_corrections(*reversed(parts)).strength_factor == pytest.approx(expected, rel=1e-12)
    with pytest.raises(InputError, match="does not move a curve"):
        whole.on_curve(CURVE)
    assert value(combine_corrections()) == 1.0
    assert combine_corrections().on_curve(CURVE) == CURVE


def test_own_factors_are_cautioned_and_need_a_reason() -> None:
    (finding,) = own_factor("coating", [0.8, 0.9], reason="trial of our own").findings
    assert finding.severity == "caution"
    assert "0.8 to 0.9" in finding.message
    assert "trial of our own" in finding.message
    for factor, reason, name in ((0.0, "why", "strength_factor"), (0.9, "  ", "reason")):
        with pytest.raises(InputError) as caught:
            own_factor("coating", factor, reason=reason)
        assert caught.value.path == (name,)


def test_a_product_beyond_numbers_is_refused() -> None:
    tiny = own_factor("a", 1e-30, reason="b")
    with pytest.raises(InputError, match=r"strengths|numbers|product"):
        combine_corrections(tiny, tiny, tiny, tiny)


@pytest.mark.parametrize("factor", [1e-9, 1e9])
def test_a_factor_that_takes_the_curve_beyond_numbers_is_refused_at_the_corrections(factor: float) -> None:
    with pytest.raises(InputError, match="beyond the range of numbers") as caught:
        combine_corrections(*(own_factor(name, factor, reason="b") for name in "abcdefghijk")).on_curve(CURVE)
    assert caught.value.path == ("corrections",)

"""Inspection intervals and detection curves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fatcore.cracks.growth import detection, inspection
from fatcore.cracks.growth.detection import DetectionCurve
from fatcore.errors import InputError, UnknownError

CYCLES = np.array([0.0, 1e5, 2e5, 3e5])
SIZES = np.array([0.5, 1.0, 2.0, 8.0])


@given(st.floats(0.05, 0.95), st.sampled_from(sorted(detection.detection_curves())))
def test_size_and_probability_are_inverse(probability: float, name: str) -> None:
    curve = detection.named_detection(name)
    assert curve.probability(curve.crack_size_mm(probability)) == pytest.approx(probability)
    assert detection.detection_curves()[name]


def test_interval_is_the_time_left_over_the_chances() -> None:
    outcome = inspection.plan_inspections(CYCLES, SIZES, inspections=2, detectable_mm=1.0)
    assert outcome.interval_cycles == pytest.approx(1e5)
    assert outcome.inspection_cycles == pytest.approx([1e5, 2e5])
    assert outcome.inspection_size_mm == pytest.approx([1.0, 2.0])
    assert outcome.worst_missed_probability is outcome.mean_missed_probability is None


def test_missed_probability_is_the_product_in_the_worst_phase_and_an_integral_over_the_phase() -> None:
    """The inspections of a plan may begin anywhere in an interval. Reference: quadrature by a general library
    over the phase [definition of the mean]."""
    curve = DetectionCurve(median_mm=2.0, exponent=1.0)
    outcome = inspection.plan_inspections(CYCLES, SIZES, inspections=2, detectable_mm=1.0, curve=curve)
    assert outcome.worst_missed_probability == pytest.approx((1 - 1 / 3) * (1 - 2 / 4))

    def missed(phase: float) -> float:
        sizes = np.interp([1e5 + phase * 1e5, 2e5 + phase * 1e5], CYCLES, SIZES)
        return float(np.prod(2.0 / (2.0 + sizes)))

    assert outcome.mean_missed_probability == pytest.approx(quad(missed, 0.0, 1.0)[0], rel=1e-6)
    assert outcome.sources == ("inspection-count",)


@given(st.integers(1, 6), st.floats(0.6, 4.0))
def test_last_inspection_comes_before_the_critical_size_and_the_worst_phase_misses_most(
    inspections: int, detectable: float
) -> None:
    curve = DetectionCurve(median_mm=2.0, exponent=1.5)
    outcome = inspection.plan_inspections(CYCLES, SIZES, inspections=inspections, detectable_mm=detectable, curve=curve)
    last = outcome.inspection_cycles[-1] + outcome.interval_cycles
    assert last == pytest.approx(outcome.critical_cycles)
    assert outcome.worst_missed_probability is not None
    assert outcome.mean_missed_probability is not None
    assert outcome.mean_missed_probability < outcome.worst_missed_probability
    assert "schedule-phase" in {f.code for f in outcome.findings}


def test_history_with_rows_twice_and_a_size_that_rests_is_taken() -> None:
    cycles, sizes = [0.0, 1e5, 1e5, 2e5, 3e5], [0.5, 1.0, 1.0, 1.0, 8.0]
    outcome = inspection.plan_inspections(cycles, sizes, detectable_mm=2.0)
    assert outcome.detectable_cycles == pytest.approx(2e5 + 1e5 / 7.0)


def test_detection_curves_go_by_the_size_of_the_history() -> None:
    by_length = detection.named_detection("visual-easy")
    with pytest.raises(InputError, match="needs to know") as caught:
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=by_length)
    assert caught.value.path == ("size_kind",)
    with pytest.raises(InputError, match="goes by length"):
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=by_length, size_kind="depth")
    with pytest.raises(UnknownError, match="size kind"):
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=1.0, size_kind="area")
    assert inspection.plan_inspections(CYCLES, SIZES, detectable_mm=1.0, curve=by_length, size_kind="length")


def test_detectable_from_the_curve_and_from_the_start() -> None:
    curve = detection.named_detection("magnetic-ground")
    outcome = inspection.plan_inspections(CYCLES, SIZES, curve=curve, detection_probability=0.5, size_kind="depth")
    assert outcome.detectable_mm == pytest.approx(0.40)
    assert outcome.detectable_cycles == 0.0
    assert "detectable-from-start" in {f.code for f in outcome.findings}
    assert "dnv-rp-c210" in outcome.sources
    one = inspection.plan_inspections(CYCLES, SIZES, inspections=1, detectable_mm=1.0)
    assert "one-chance" in {f.code for f in one.findings}


def test_nothing_is_found_at_size_zero() -> None:
    assert DetectionCurve(median_mm=1.0, exponent=0.9).probability([0.0, -1.0]).tolist() == [0.0, 0.0]


def test_bad_input() -> None:
    with pytest.raises(InputError, match="critical before"):
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=9.0)
    with pytest.raises(InputError, match="detectable size or a detection curve"):
        inspection.plan_inspections(CYCLES, SIZES)
    with pytest.raises(InputError, match="inspections"):
        inspection.plan_inspections(CYCLES, SIZES, inspections=0, detectable_mm=1.0)
    with pytest.raises(InputError, match="must not fall") as caught:
        inspection.plan_inspections([0.0, 2.0, 1.0], [1.0, 2.0, 3.0], detectable_mm=1.5)
    assert caught.value.path == ("elapsed_cycles", 2)
    with pytest.raises(InputError, match="does not grow"):
        inspection.plan_inspections([0.0, 2.0], [1.0, 1.0], detectable_mm=0.5)
    with pytest.raises(InputError, match="as soon as"):
        inspection.plan_inspections([0.0, 2.0, 2.0], [1.0, 2.0, 3.0], detectable_mm=2.5)
    with pytest.raises(InputError, match="at least 0"):
        inspection.plan_inspections([-1.0, 2.0], [1.0, 3.0], detectable_mm=1.5)
    with pytest.raises(InputError, match="not both"):
        inspection.plan_inspections(CYCLES, SIZES, detectable_mm=1.0, detection_probability=0.5)
    with pytest.raises(InputError, match="at which probability"):
        inspection.plan_inspections(CYCLES, SIZES, curve=DetectionCurve(median_mm=1.0, exponent=1.0))
    with pytest.raises(InputError, match="2 to"):
        inspection.plan_inspections([0.0], [1.0], detectable_mm=0.5)
    with pytest.raises(UnknownError, match="detection curve"):
        detection.named_detection("nobody")
    with pytest.raises(InputError, match="depth, length"):
        DetectionCurve(median_mm=1.0, exponent=1.0, size="area")
    with pytest.raises(InputError, match="between 0 and 1"):
        DetectionCurve(median_mm=1.0, exponent=1.0).crack_size_mm(1.0)

"""Inspection intervals and detection curves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks import inspection
from fatcore.cracks.inspection import DetectionCurve
from fatcore.errors import InputError, UnknownError

CYCLES = np.array([0.0, 1e5, 2e5, 3e5])
SIZES = np.array([0.5, 1.0, 2.0, 8.0])


@given(st.floats(0.05, 0.95), st.sampled_from(sorted(inspection.detection_curves())))
def test_size_and_probability_are_inverse(probability: float, name: str) -> None:
    curve = inspection.named_detection(name)
    assert curve.probability(curve.size_mm(probability)) == pytest.approx(probability)
    assert inspection.detection_curves()[name]


def test_interval_is_the_time_left_over_the_chances() -> None:
    outcome = inspection.plan(CYCLES, SIZES, chances=2, detectable_mm=1.0)
    assert outcome.interval_cycles == pytest.approx(1e5)
    assert outcome.inspection_cycles == pytest.approx([2e5, 3e5])
    assert outcome.inspection_cycles[-1] < outcome.critical_cycles
    assert outcome.inspection_size_mm == pytest.approx([2.0, 8.0])
    assert outcome.missed_probability is None


def test_missed_probability_is_the_product() -> None:
    curve = DetectionCurve(median_mm=2.0, exponent=1.0)
    outcome = inspection.plan(CYCLES, SIZES, chances=2, detectable_mm=1.0, curve=curve)
    assert outcome.missed_probability == pytest.approx((1 - 2 / 4) * (1 - 8 / 10))
    assert outcome.sources == ("inspection-chances",)


def test_detectable_from_the_curve_and_from_the_start() -> None:
    curve = inspection.named_detection("magnetic-ground")
    outcome = inspection.plan(CYCLES, SIZES, curve=curve)
    assert outcome.detectable_mm == pytest.approx(0.40)
    assert outcome.detectable_cycles == 0.0
    assert "detectable-from-start" in {f.code for f in outcome.findings}
    assert "dnv-rp-c210" in outcome.sources
    one = inspection.plan(CYCLES, SIZES, chances=1, detectable_mm=1.0)
    assert "one-chance" in {f.code for f in one.findings}


def test_nothing_is_found_at_size_zero() -> None:
    assert DetectionCurve(median_mm=1.0, exponent=0.9).probability([0.0, -1.0]).tolist() == [0.0, 0.0]


def test_bad_input() -> None:
    with pytest.raises(InputError, match="critical before"):
        inspection.plan(CYCLES, SIZES, detectable_mm=9.0)
    with pytest.raises(InputError, match="detectable size or a detection curve"):
        inspection.plan(CYCLES, SIZES)
    with pytest.raises(InputError, match="chances"):
        inspection.plan(CYCLES, SIZES, chances=0, detectable_mm=1.0)
    with pytest.raises(InputError, match="ascend") as caught:
        inspection.plan([0.0, 2.0, 1.0], [1.0, 2.0, 3.0], detectable_mm=1.5)
    assert caught.value.path == ("elapsed_cycles", 2)
    with pytest.raises(InputError, match="two rows"):
        inspection.plan([0.0], [1.0], detectable_mm=0.5)
    with pytest.raises(UnknownError, match="detection curve"):
        inspection.named_detection("nobody")
    with pytest.raises(InputError, match="depth or length"):
        DetectionCurve(median_mm=1.0, exponent=1.0, size="area")
    with pytest.raises(InputError, match="between 0 and 1"):
        DetectionCurve(median_mm=1.0, exponent=1.0).size_mm(1.0)

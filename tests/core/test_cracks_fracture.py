"""Failure assessment: lines, interaction, reserve, reference stress, critical size."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.configurations import reference_stress
from fatcore.cracks.configurations.configuration import CrackConfiguration, reference_mpa
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.fracture import assessment
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.fracture.critical_size import critical_size_mm, find_critical_size
from fatcore.errors import InputError, NotCoveredError, UnknownError

STEEL = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=490.0, toughness_mpa_sqrt_mm=3000.0)


@pytest.mark.parametrize("line", get_args(assessment.Line))
def test_line_falls_and_ends_at_the_collapse_limit(line: assessment.Line) -> None:
    limit = assessment.collapse_limit(STEEL)
    lr = np.linspace(0.0, limit, 200)
    values = assessment.assessment_line(lr, STEEL, line)
    assert values[0] == pytest.approx(1.0)
    assert (np.diff(values) <= 1e-12).all()
    assert assessment.assessment_line(limit * 1.001, STEEL, line) == 0.0


def test_continuous_line_has_no_jump_at_yield() -> None:
    below, above = assessment.assessment_line([1.0 - 1e-9, 1.0 + 1e-9], STEEL)
    assert above == pytest.approx(below, abs=1e-6)


def test_plateau_line_drops_at_yield() -> None:
    below, at_yield = assessment.assessment_line([1.0 - 1e-9, 1.0], STEEL, "plateau")
    assert below == pytest.approx(1.5**-0.5, abs=1e-6)
    assert at_yield < 0.3


def test_equal_yield_and_tensile_strength_leave_no_room_beyond_yield() -> None:
    brittle = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=400.0, toughness_mpa_sqrt_mm=1e3)
    assert assessment.collapse_limit(brittle) == 1.0
    assert assessment.assessment_line(1.0, brittle) > 0.0


def test_interaction_fades_between_lr_08_and_105() -> None:
    """Interaction of primary and secondary stress as the JCSS model code prints it (read)."""
    chi = 0.5
    first = 0.1 * chi**0.714 - 0.007 * chi**2 + 3e-5 * chi**5
    for lr, expected in ((0.8, first), (0.9, 4 * first * 0.15), (1.05, 0.0), (1.3, 0.0)):
        assert assessment.interaction_term(lr, 1.0, chi / lr) == pytest.approx(expected)
    assert assessment.interaction_term(0.5, 1.0, -1.0) == 0.0
    with pytest.raises(NotCoveredError, match="chi = 4"):
        assessment.interaction_term(0.8, 1.0, 6.0)


@given(primary=st.floats(10.0, 2500.0), reference=st.floats(1.0, 400.0), secondary=st.sampled_from([0.0, 100.0]))
def test_reserve_brings_the_state_onto_the_line(primary: float, reference: float, secondary: float) -> None:
    secondary = min(secondary, 3.9 * primary * 355.0 / reference)  # the interaction is given up to chi = 4
    outcome = assessment.assess_fracture(primary, reference, STEEL, k_secondary_mpa_sqrt_mm=secondary)
    factor = outcome.reserve_factor[0]
    assert factor is not None
    assert bool(outcome.acceptable[0]) == (factor >= 1.0 - 1e-9) or abs(factor - 1.0) < 1e-6
    again = assessment.assess_fracture(factor * primary, factor * reference, STEEL, k_secondary_mpa_sqrt_mm=secondary)
    at_line = abs(float(again.fracture_ratio[0] - again.allowed_ratio[0])) < 1e-6
    at_limit = abs(float(again.load_ratio_to_yield[0]) / assessment.collapse_limit(STEEL) - 1.0) < 1e-6
    assert at_line or at_limit


def test_reserve_at_its_limits() -> None:
    assert assessment.assess_fracture(0.0, 0.0, STEEL).reserve_factor == (None,)
    too_much = assessment.assess_fracture(3000.0, 1.0, STEEL, k_secondary_mpa_sqrt_mm=3001.0, line="older")
    assert too_much.reserve_factor == (0.0,)
    assert "older-line" in {f.code for f in too_much.findings}
    with pytest.raises(InputError, match="at least 0"):
        assessment.assess_fracture(1.0, 1.0, STEEL, k_secondary_mpa_sqrt_mm=-1.0)


def test_reference_stresses() -> None:
    def of(crack: CrackConfiguration, membrane: float = 100.0, bending: float = 0.0) -> float:
        sizes = (np.array([size]) for size in crack.start())
        return float(reference_mpa(crack, *sizes, np.array([membrane]), np.array([bending]))[0])

    assert of(CentreCrack(half_length_mm=5.0, width_mm=20.0)) == pytest.approx(200.0)
    plate = {"depth_mm": 5.0, "half_length_mm": 10.0, "thickness_mm": 10.0}
    assert of(SurfaceCrack(**plate)) == pytest.approx(400.0 / 3.0)
    wide, narrow = (of(SurfaceCrack(**plate, half_width_mm=half)) for half in (1e3, 15.0))
    assert narrow == pytest.approx(100.0 / (1.0 - 50.0 / 150.0))
    assert reference_stress.plate_reference_mpa(0.5, 100.0, 0.0) == pytest.approx(200.0)
    assert reference_stress.plate_reference_mpa(0.0, 0.0, 90.0) == pytest.approx(60.0)
    assert wide < narrow
    assert np.isinf(reference_stress.plate_reference_mpa(1.0, 100.0, 0.0))


def test_critical_size_is_the_first_root() -> None:
    found = critical_size_mm(lambda x: float(np.sin(x)) - 0.5, 0.1, 20.0)
    assert found == pytest.approx(np.pi / 6.0, rel=1e-10)
    assert critical_size_mm(lambda x: x - 100.0, 1.0, 10.0) is None
    assert critical_size_mm(lambda x: x, 1.0, 10.0) == 1.0


def test_critical_crack_in_a_wide_plate_against_the_closed_form() -> None:
    """Low stress: the line is flat near 1 and K = S sqrt(pi a) reaches the toughness times the line."""
    stress = 30.0
    outcome = find_critical_size(CentreCrack(half_length_mm=1.0), Stress(membrane_mpa=stress), STEEL)
    allowed = float(assessment.assessment_line(stress / 355.0, STEEL))
    assert outcome.critical_mm == pytest.approx((allowed * 3000.0 / stress) ** 2 / np.pi, rel=1e-9)
    assert outcome.critical_half_length_mm is None


def test_critical_surface_crack_lies_on_the_line() -> None:
    crack = SurfaceCrack(depth_mm=1.0, half_length_mm=3.0, thickness_mm=20.0, half_width_mm=100.0)
    outcome = find_critical_size(crack, Stress(membrane_mpa=250.0, static_membrane_mpa=50.0), STEEL)
    assert outcome.critical_half_length_mm == pytest.approx(3.0 * (outcome.critical_mm or 0.0))
    assert outcome.fracture_ratio == pytest.approx(
        float(assessment.assessment_line(outcome.load_ratio_to_yield or 0.0, STEEL)), rel=1e-9
    )


def test_critical_at_start_and_never() -> None:
    edge = EdgeCrack(depth_mm=1.0, width_mm=20.0)
    hard = find_critical_size(edge, Stress(membrane_mpa=5000.0), STEEL)
    assert hard.critical_mm == 1.0
    assert "critical-at-start" in {f.code for f in hard.findings}
    mild = find_critical_size(edge, Stress(membrane_mpa=1e-3), STEEL)
    assert mild.critical_mm is None
    assert mild.fracture_ratio is None
    path = find_critical_size(edge, Stress(distance_mm=(0.0, 20.0), stress_mpa=(100.0, 100.0)), STEEL)
    assert "weight-universal-1991" in path.sources


def test_bad_input() -> None:
    with pytest.raises(UnknownError, match="line"):
        assessment.assessment_line(0.5, STEEL, "nobody")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="at least 0"):
        assessment.assessment_line(-0.1, STEEL)
    with pytest.raises(InputError, match="tensile strength"):
        Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=300.0, toughness_mpa_sqrt_mm=1e3)
    strong = Strength(yield_strength_mpa=1200.0, ultimate_strength_mpa=1300.0, toughness_mpa_sqrt_mm=1e3)
    with pytest.raises(NotCoveredError, match="plateau"):
        assessment.assessment_line(0.5, strong, "plateau")
    with pytest.raises(InputError, match="where 2 were expected"):
        assessment.assess_fracture([1.0, 2.0], [1.0, 2.0, 3.0][:2], STEEL, k_secondary_mpa_sqrt_mm=[[0.0, 0.0]])

"""Figures that are small beside their neighbours still count: just above a threshold, a toughness, nothing at all."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.function_crack import FunctionCrack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Section, Sharing, share_load
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, residual_doubts
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold
from fatcore.cracks.driving.load_blocks import CrackLoading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.mixed_mode import find_direction
from fatcore.cracks.fracture.assessment import Strength, assess_fracture, assessment_line, interaction_term
from fatcore.cracks.fracture.critical_size import CriticalOutcome, critical_size_mm, find_critical_size
from fatcore.cracks.intensity.plate._compliance import integrals
from fatcore.errors import InputError

STAGE = Stage(coefficient=1e-12, exponent=3.0)
HARD = Strength(yield_strength_mpa=1000.0, ultimate_strength_mpa=1500.0, toughness_mpa_sqrt_mm=2000.0)
LINE = 1.08**-0.5 * (0.3 + 0.7 * math.exp(-0.206 * 0.4**6))  # [bs-7910-2013] at Lr = 0.4, mu = 0.206


def codes(outcome: Any) -> set[str]:
    return {each.code for each in outcome.findings}


def critical(stress: Stress, **more: Any) -> CriticalOutcome:
    return find_critical_size(CentreCrack(half_length_mm=0.5), stress, HARD, **more)


def test_a_law_holds_just_above_its_threshold_and_just_below_its_toughness() -> None:
    threshold = Threshold(intercept_mpa_sqrt_mm=60.0)
    shifted = GrowthLaw(low=(STAGE,), threshold=threshold, threshold_form="shifted")
    assert float(shifted.rate_mm_per_cycle(60.005)) == pytest.approx(1e-12 * 0.005**3, rel=1e-6)
    forman = GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=1000.0))
    assert float(forman.rate_mm_per_cycle(999.995)) == pytest.approx(1e-12 * 999.995**3 / 0.005, rel=1e-6)


def test_modes_count_however_small() -> None:
    small = find_direction(0.005, 0.0, 0.002, criterion="tangential-stress")
    assert small.open.tolist() == [True]
    assert codes(small) == {"tearing-left-out"}
    with pytest.raises(InputError):
        find_direction(0.0, 0.0, 0.005, criterion="tangential-stress")


def test_rows_and_points_may_lie_close() -> None:
    assert IntensityTable([1.0, 1.005], {"opening": [1.0, 2.0]}).range_mm() == (1.0, 1.005)
    assert Stress(distance_mm=(0.0, 0.005), stress_mpa=(1.0, 1.0)).distance_mm[1] == 0.005
    rows = IntensityTable([1.0, 2.0, 4.1, 20.6], {"opening": [10.0, 20.0, 30.0, 40.0]})
    assert [each.code for each in rows.grown_findings(4.08, 4.1)] == ["table-coarse"]
    assert TabledCrack(crack_size_mm=1.0, table=rows).given_intensity(np.array([1.0])).static == 0.0
    assert residual_doubts(["toughness"], 0.005, takes_stress=True) == []


def test_what_kinds_of_cracks_do() -> None:
    """Two lengths, holds its stress, bends its ligament, goes on through the wall."""
    table = IntensityTable([1.0, 2.0], {"opening": [1.0, 2.0]})
    cracks: tuple[tuple[CrackConfiguration, tuple[bool, ...]], ...] = (
        (SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0), (True, False, False, True)),
        (EdgeCrack(depth_mm=1.0, width_mm=20.0), (False, False, True, False)),
        (CentreCrack(half_length_mm=1.0), (False, False, False, False)),
        (TabledCrack(crack_size_mm=1.0, table=table), (False, True, False, False)),
        (FunctionCrack(crack_size_mm=1.0, largest_mm=2.0, intensity=np.sqrt), (False, True, False, False)),
    )
    for crack, does in cracks:
        assert (crack.two_lengths, crack.carries_stress, crack.eccentric, crack.breaks_through) == does
        assert crack.is_wide == isinstance(crack, SurfaceCrack | CentreCrack)


SOFT = 1e-5 * 12.0**2 * 200_000.0 / 2.0  # added compliance of 1e-5 mm/N on a section of 12 mm^2
TURNS = 12.0**2 * 200_000.0 / (2.0 * 3e5)  # of 1 / 3e5 rad per N*mm, section modulus 12 mm^3


@pytest.mark.parametrize(
    ("more", "ratio"),
    [
        ({"members": (Member(axial_stiffness_n_per_mm=1e5),)}, 4.0 / 4.5),
        ({"control": "spring", "drive_stiffness_n_per_mm": 1e5}, 2.0 / 3.0),  # the drive is no part of the joint
    ],
)
def test_a_spring_in_line_and_one_beside(more: dict[str, Any], ratio: float) -> None:
    """Member and spring in line 1e5 N/mm each, 1e5 beside: 1200 N at 0.024 mm, in all 3600 N.

    The crack doubles the compliance of the member: 1e5 / 3 in line, 0.027 mm, 900 N.
    """
    model = Sharing(
        length_mm=24.0,
        youngs_modulus_mpa=200_000.0,
        grips="rigid",
        plane="stress",
        series_axial_stiffness_n_per_mm=1e5,
        **more,
    )
    found = share_load(model, Section(6.0, 2.0), [[0.0, SOFT], [0.0, 0.0], [0.0, 0.0]], 100.0, 0.0)
    assert found.membrane_mpa.tolist() == pytest.approx([100.0, 75.0], rel=1e-12)
    assert found.stiffness_ratio.tolist() == pytest.approx([1.0, ratio], rel=1e-12)


@pytest.mark.parametrize(
    "more",
    [
        {"grips": "flexible", "grip_stiffness_nmm": 3e5},
        {"grips": "free", "members": (Member(axial_stiffness_n_per_mm=1e5, rotational_stiffness_nmm=3e5),)},
        {"grips": "free", "members": (Member(axial_stiffness_n_per_mm=3e3, offset_mm=10.0),)},
    ],
)
def test_a_joint_in_line_and_one_beside(more: dict[str, Any]) -> None:
    """The same in turning: E I / L = 3e5, a joint of 3e5 in line, 3e5 beside: of 1200 N*mm 900 are left."""
    model = Sharing(
        length_mm=24.0,
        youngs_modulus_mpa=200_000.0,
        plane="stress",
        control="displacement",
        series_rotational_stiffness_nmm=3e5,
        **more,
    )
    found = share_load(model, Section(6.0, 2.0), [[0.0, 0.0], [0.0, 0.0], [0.0, TURNS]], 0.0, 100.0)
    assert found.bending_mpa.tolist() == pytest.approx([100.0, 75.0], rel=1e-12)
    assert found.end_moment_nmm.tolist() == pytest.approx([1200.0, 900.0], rel=1e-12)


def test_lines_just_beyond_yield() -> None:
    """N = 0.3 (1 - yield / tensile): 0.1, and 0.005 for a material that hardly hardens."""
    at_yield = 1.5**-0.5 * (0.3 + 0.7 * math.exp(-0.206))
    assert float(assessment_line(1.005, HARD)) == pytest.approx(at_yield * 1.005**-4.5, rel=1e-12)
    flat = Strength(yield_strength_mpa=590.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)
    at_yield = 1.5**-0.5 * (0.3 + 0.7 * math.exp(-206.0 / 590.0))
    assert float(assessment_line(1.005, flat)) == pytest.approx(at_yield * 1.005**-99.5, rel=1e-9)


def test_secondary_stress_counts_however_small() -> None:
    assert float(interaction_term(1.049, 100.0, 100.0 / 1.049)) == pytest.approx(0.004 * (0.1 - 0.007 + 3e-5), rel=1e-9)
    assert "jcss-pmc-3" in assess_fracture(100.0, 100.0, HARD, k_secondary_mpa_sqrt_mm=0.005).sources


def test_the_search_for_a_critical_size_takes_any_excess() -> None:
    assert critical_size_mm(lambda size: size - 0.995, 1.0, 10.0) == 1.0
    assert critical_size_mm(lambda size: 1e-3 * (size - 3.0), 1.0, 10.0) == pytest.approx(3.0, rel=1e-9)


def test_a_little_lasting_stress_acts_as_secondary_stress() -> None:
    """1 MPa beside 400: chi = 0.4 / 400, (K + Ks) / Kmat + rho reaches the line at the reference stress of the load."""
    found = critical(Stress(membrane_mpa=400.0, static_membrane_mpa=1.0))
    rho = 0.1 * 0.001**0.714 - 0.007 * 0.001**2
    assert found.critical_mm == pytest.approx(((LINE - rho) * 2000.0 / 401.0) ** 2 / math.pi, rel=1e-6)
    assert found.load_ratio_to_yield == pytest.approx(0.4)
    assert found.fracture_ratio == pytest.approx(LINE)


def test_the_point_that_is_driven_more_decides_on_the_critical_size() -> None:
    """Bending opens the other surface: its stress is 400."""
    found = critical(Stress(membrane_mpa=300.0, bending_mpa=-100.0))
    assert found.load_ratio_to_yield is not None
    line = float(assessment_line(found.load_ratio_to_yield, HARD))
    assert found.fracture_ratio == pytest.approx(line, rel=1e-9)
    assert found.critical_mm == pytest.approx((line * 2000.0 / 400.0) ** 2 / math.pi, rel=1e-9)


def test_a_long_crack_in_a_plate_without_a_width_may_still_grow_far() -> None:
    """5 MPa: the line is 1 but for 1e-5, K = 2000 at (2000 / 5)^2 / pi, five hundred times the first size."""
    found = find_critical_size(CentreCrack(half_length_mm=100.0), Stress(membrane_mpa=5.0), HARD)
    assert found.critical_mm == pytest.approx(400.0**2 / math.pi, rel=1e-4)


def test_tearing_alone_is_refused_however_small() -> None:
    cycle = CrackLoading(maximum=np.ones(1), minimum=np.zeros(1), count=np.ones(1))
    law = GrowthLaw(low=(STAGE,))
    drive = Drive(law=law, loading=cycle, condition="stress-relieved", criterion="tangential-stress")
    with pytest.raises(InputError):
        drive.tearing_findings(UnitIntensity(np.zeros((1, 1)), tearing=np.array([[0.005]])))


def test_integrals_of_an_edge_crack_go_up_to_the_last_millionth() -> None:
    ends = integrals(-np.expm1(-np.array([13.999, 14.0])), "accurate")
    for part in ends:
        assert np.isfinite(part).all()
        assert part[0] < part[1]


def test_a_small_load_opens_a_crack_and_looks_like_another_unit() -> None:
    found = critical(Stress(membrane_mpa=1e-3))
    assert "load-closes-crack" not in codes(found)
    assert "intensity-small" in codes(found)
    (asked,) = (each for each in critical(Stress(membrane_mpa=400.0)).findings if each.code == "no-residual-stress")
    assert asked.field == "static_membrane_mpa"

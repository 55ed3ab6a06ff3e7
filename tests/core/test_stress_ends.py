"""Stress calculations at the ends of what they take: the end itself, and the first value beyond it."""

from __future__ import annotations

import inspect
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress import interaction
from fatcore.stress.materials import control_radius_of, radius_findings
from fatcore.stress.mean_stress import mean_stress_coefficient
from fatcore.stress.notch import constants, energy, energy_coefficients
from fatcore.stress.notch.fields import eigenvalues, sliding_limit_angle_deg
from fatcore.stress.peak.calibration import calibrate_element
from fatcore.stress.peak.elements import choose_constant, constant_findings, size_ratio_findings
from fatcore.stress.peak.line_evaluation import dropped_findings, peaks_from_tensors
from fatcore.stress.peak.peak_weights import peak_weights
from fatcore.stress.section.joint import section_stress
from fatcore.stress.structural.hot_spot import hot_spot_from_path, hot_spot_least_squares
from fatcore.stress.structural.linearise import linearise_path

NU, RADIUS_MM, MODULUS_MPA = 0.3, 0.28, 206000.0
DEFAULTS: list[tuple[Any, dict[str, Any]]] = [  # what a call that says nothing means; DESIGN: steel, exact
    (energy_coefficients.energy_coefficient_opening, {"poisson_ratio": NU}),
    (energy_coefficients.energy_coefficient_sliding, {"poisson_ratio": NU}),
    (energy_coefficients.energy_coefficient_tearing, {"poisson_ratio": NU}),
    (energy_coefficients.energy_coefficients, {"poisson_ratio": NU, "coefficients": "exact"}),
    (
        energy.energy_from_intensities,
        {
            "k2_mpa_mm_lambda": 0.0,
            "k3_mpa_mm_lambda": 0.0,
            "poisson_ratio": NU,
        },
    ),
    (energy.energy_given, {"poisson_ratio": NU}),
    (energy.energy_from_equivalent_stress, {"poisson_ratio": NU}),
    (constants.notch_constants, {"poisson_ratio": NU, "coefficients": "exact"}),
    (interaction.combine_iiw, {"proportional": inspect.Parameter.empty, "material": "steel"}),
    (interaction.combine_crane, {"transverse_utilisation": 0.0}),
    (peaks_from_tensors, {"closed": False, "average_over": 1}),
    (hot_spot_least_squares, {"degree": 1, "window_low": 0.4, "window_high": 1.5}),
    (peak_weights, {"poisson_ratio": NU, "control_radius_mm": RADIUS_MM, "coefficients": "exact"}),
    (
        section_stress,
        {"youngs_modulus_mpa": MODULUS_MPA, "poisson_ratio": NU, "control_radius_mm": inspect.Parameter.empty},
    ),
]


@pytest.mark.parametrize(("function", "expected"), DEFAULTS, ids=lambda each: getattr(each, "__name__", ""))
def test_what_is_left_out_means_what_is_said(function: Any, expected: dict[str, Any]) -> None:
    given = inspect.signature(function).parameters
    assert {name: given[name].default for name in expected} == expected


def few(sizes: list[float]) -> bool:
    found = calibrate_element(
        intensity_mpa_mm_lambda=200.0, peak_mpa=[150.0] * len(sizes), element_size_mm=sizes, eigenvalue=0.5
    )
    return any(each.code == "few-meshes" for each in found.findings)


def test_scatter_of_a_constant_needs_three_meshes_of_different_size() -> None:
    assert not few([0.5, 1.0, 2.0])
    assert few([0.5, 1.0])
    assert few([1.0, 1.0, 1.0])


@pytest.mark.parametrize(("known", "peak"), [(200.0, 0.0), (0.0, 150.0), (200.0, -150.0)])
def test_a_peak_without_or_against_the_intensity_calibrates_nothing(known: float, peak: float) -> None:
    with pytest.raises(InputError):
        calibrate_element(intensity_mpa_mm_lambda=known, peak_mpa=[peak], element_size_mm=[1.0], eigenvalue=0.5)


@pytest.mark.parametrize(("angle", "constant"), [(0.0, 1.05), (90.0, 1.05), (90.1, 1.21), (120.0, 1.21)])
def test_the_ends_of_printed_angles_belong_to_their_constant(angle: float, constant: float) -> None:
    """Ten-node tetrahedra, opening: 1.05 from 0 to 90 deg, 1.21 from 120 to 135 deg; between, the larger."""
    entry = choose_constant("tet10", "opening", angle)
    assert entry.constant == constant
    left = len(constant_findings(entry, "tet10", angle)) == 2
    assert left == (angle == 90.1)


@pytest.mark.parametrize("angle", [0.0, 135.0])
def test_the_least_size_ratio_is_enough(angle: float) -> None:
    entry = choose_constant("quad4", "opening", angle)
    assert not size_ratio_findings(entry, "quad4", angle, 3.0)
    (finding,) = size_ratio_findings(entry, "quad4", angle, 3.0 - 1e-6)
    assert finding.severity == "outside"


def test_the_sliding_mode_ends_where_it_is_no_longer_singular() -> None:
    """102.547 deg [notch-derivation]."""
    end = sliding_limit_angle_deg()
    for angle, singular in ((end - 1e-6, True), (end + 1e-6, False)):
        assert constants.notch_constants(angle).sliding_singular == singular
        sliding = eigenvalues(angle).sliding
        assert sliding is not None
        assert (sliding < 1.0) == singular
        steel = {"youngs_modulus_mpa": MODULUS_MPA, "control_radius_mm": RADIUS_MM}
        given = {"k1_mpa_mm_lambda": 100.0, "opening_angle_deg": angle, **steel}
        if singular:
            assert energy.energy_from_intensities(**given, k2_mpa_mm_lambda=10.0).sliding_mj_m3 is not None
        else:
            assert energy.energy_from_intensities(**given).sliding_mj_m3 is None


X, S = [0.0, 3.2, 5.6, 8.0, 12.0], [200.0, 150.0, 130.0, 120.0, 110.0]


def test_a_path_must_reach_both_points_of_the_rule_and_no_further() -> None:
    assert hot_spot_from_path(X[1:4], S[1:4], 8.0, "linear-fine").hot_spot_stress_mpa == pytest.approx(170.0)
    for x in ([3.2001, 5.0, 8.0], [3.2, 5.0, 7.9999]):
        with pytest.raises(InputError):
            hot_spot_from_path(x, [150.0, 130.0, 120.0], 8.0, "linear-fine")
    for x in ([-1e-9, 5.0, 8.0], [0.0, 0.0, 8.0]):
        with pytest.raises(InputError):
            hot_spot_from_path(x, [150.0, 130.0, 120.0], 8.0, "linear-fine")


def test_a_point_of_the_path_is_read_as_it_is() -> None:
    codes = [
        [each.code for each in hot_spot_from_path(x, s, 8.0, "linear-fine").findings]
        for x, s in ((X, S), ([0.0, 3.0, 8.0], [200.0, 150.0, 120.0]))
    ]
    assert ["read-between-points" in each for each in codes] == [False, True]


def test_window_of_a_fit_holds_its_ends_and_as_many_points_as_unknowns() -> None:
    fit = hot_spot_least_squares(X, S, 8.0)
    assert fit.reference_distance_mm.tolist() == [3.2, 5.6, 8.0, 12.0]
    hot_spot_least_squares(X, S, 8.0, window_low=0.4, window_high=0.7)
    with pytest.raises(InputError):
        hot_spot_least_squares(X, S, 8.0, degree=2, window_low=0.4, window_high=0.7)
    for low, high in ((0.0, 1.0), (1.0, 1.0), (1.0, 0.9)):
        with pytest.raises(InputError):
            hot_spot_least_squares(X, S, 8.0, window_low=low, window_high=high)


def test_a_path_through_the_thickness_starts_at_zero_and_rises() -> None:
    assert linearise_path([0.0, 8.0], [100.0, -100.0]).bending_mpa == pytest.approx(100.0)
    for depth in ([0.0, 0.0, 8.0], [1e-3, 4.0, 8.0], [0.0, 8.0, 8.0]):
        with pytest.raises(InputError):
            linearise_path(depth, [1.0, 2.0, 3.0])
    with pytest.raises(InputError):
        linearise_path([0.0], [1.0])
    for depth in (0.1, 1.0, 8.0):
        for first in (1e-9 * depth, -1e-9 * depth):  # rounding of the thickness
            assert linearise_path([first, depth], [100.0, -100.0]).bending_mpa == pytest.approx(100.0)
            with pytest.raises(InputError):
                linearise_path([1.01 * first, depth], [100.0, -100.0])


def test_a_control_radius_as_published_needs_no_word() -> None:
    published = control_radius_of("structural-steel")
    assert not radius_findings("structural-steel", published)
    for factor in (0.9, 1.1):
        (finding,) = radius_findings("structural-steel", published * factor)
        assert finding.severity == "caution"


def test_mean_stress_coefficient_at_its_turns() -> None:
    """(1 + R^2)/(1 - R)^2 below 0, (1 + R)/(1 - R) above, the same for 1/R, 1 where there is no cycle."""
    assert mean_stress_coefficient([0.0, 1.0, -1.0, np.inf]).tolist() == [1.0, 1.0, 0.5, 1.0]
    assert mean_stress_coefficient([-2.0, 2.0]).tolist() == mean_stress_coefficient([-0.5, 0.5]).tolist()
    assert mean_stress_coefficient(0.999) == pytest.approx(1999.0)


def test_interaction_without_any_stress_is_zero() -> None:
    for found in (
        interaction.combine_en([0.0, 1.0], [0.0, 0.0]),
        interaction.combine_iiw([0.0, 1.0], [0.0, 0.0], proportional=True, material="steel"),
    ):
        assert found.utilisation == pytest.approx([0.0, 1.0], abs=1e-12)
        assert found.interaction_sum == pytest.approx([0.0, 1.0], abs=1e-12)


@pytest.mark.parametrize(
    ("sliding", "governing", "severity"),
    [
        (50.0, 1, "note"),
        (50.0 * (1.0 + 1e-9), 1, "caution"),
        (100.0, 1, "caution"),
        (100.0 * (1.0 + 1e-9), 1, "outside"),
        (5.0, 0, "note"),
        (10.0, 0, "caution"),
        (10.1, 0, "outside"),
    ],
)
def test_a_mode_left_out_is_judged_beside_the_larger_of_its_own_and_the_governing_station(
    sliding: float, governing: int, severity: str
) -> None:
    """Opening 10 MPa at the first station, where the sliding acts, and 100 MPa at the second."""
    ranges = [[10.0, sliding, 0.0], [100.0, 0.0, 0.0]]
    (found,) = dropped_findings([1.0, 0.0, 1.0], ranges, governing)
    assert (found.severity, found.field) == (severity, "sliding")
    beside = (10.0, 100.0)[governing]
    assert f"{sliding:.4g} MPa is not counted at station 0, beside {beside:g} MPa" in found.message

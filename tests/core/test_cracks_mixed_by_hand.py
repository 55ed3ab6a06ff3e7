"""Mixed modes in whole numbers: each criterion as printed, angles of pure modes, what an outcome says."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.driving.driving_findings import mode_sources
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.mixed_mode import Criterion, effective_intensity, find_direction
from fatcore.errors import InputError

MODES = (300.0, 400.0, 100.0)
PURE_SLIDING_DEG = math.degrees(2.0 * math.atan(1.0 / math.sqrt(2.0)))  # 70.53: the stress is largest there


def by_hand(criterion: str, opening: float, sliding: float, tearing: float, poisson: float = 0.3) -> float:
    if criterion == "energy":  # [irwin-energy]
        return math.sqrt(opening**2 + sliding**2 + tearing**2 / (1.0 - poisson))
    if criterion == "tanaka":  # [tanaka-1974]
        return float((opening**4 + 8.0 * sliding**4 + 8.0 * tearing**4 / (1.0 - poisson)) ** 0.25)
    return 0.5 * opening + 0.5 * math.sqrt(opening**2 + 4.0 * (1.155 * sliding) ** 2 + 4.0 * tearing**2)


@pytest.mark.parametrize("criterion", ["energy", "tanaka", "richard"])
@pytest.mark.parametrize("modes", [MODES, (300.0, 0.0, 0.0), (0.0, 400.0, 0.0), (0.0, 0.0, 100.0), (-50.0, -4.0, -3.0)])
def test_criteria_are_those_printed(criterion: Criterion, modes: tuple[float, float, float]) -> None:
    opening, sliding, tearing = modes
    expected = by_hand(criterion, max(opening, 0.0), sliding, tearing)
    assert float(effective_intensity(*modes, criterion=criterion)) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("criterion", ["energy", "tanaka"])
def test_poissons_ratio_counts_for_tearing(criterion: Criterion) -> None:
    for ratio in (0.0, 0.2, 0.5):
        found = effective_intensity(*MODES, criterion=criterion, poisson_ratio=ratio)
        assert float(found) == pytest.approx(by_hand(criterion, *MODES, ratio), rel=1e-12)
        turned = find_direction(*MODES, criterion=criterion, poisson_ratio=ratio)
        assert turned.effective_mpa_sqrt_mm.tolist() == pytest.approx([float(found)])
    plain = find_direction(*MODES, criterion=criterion)
    assert plain.effective_mpa_sqrt_mm.tolist() == pytest.approx([by_hand(criterion, *MODES)])


def test_the_largest_is_that_of_the_criterion_that_governs() -> None:
    governs = max(by_hand(name, *MODES) for name in ("energy", "tanaka", "richard"))
    assert float(effective_intensity(*MODES)) == pytest.approx(governs)
    columns = effective_intensity([300.0, 0.0], 0.0, [0.0, 100.0])
    assert columns.tolist() == pytest.approx([300.0, 100.0 * (8.0 / 0.7) ** 0.25])


def test_pure_sliding_turns_to_where_the_tangential_stress_is_largest() -> None:
    """[erdogan-sih-1963] tan(theta / 2) = 1 / sqrt(2); K = sqrt(4 / 3) K_II."""
    assert float(mixed_mode.kink_angle_deg(0.0, 5.0)) == pytest.approx(-PURE_SLIDING_DEG)
    assert float(mixed_mode.kink_angle_deg(-9.0, -5.0)) == pytest.approx(PURE_SLIDING_DEG)
    assert float(mixed_mode.tangential_stress_intensity(0.0, 5.0)) == pytest.approx(5.0 * math.sqrt(4.0 / 3.0))
    assert float(mixed_mode.tangential_stress_intensity(-9.0, 5.0)) == pytest.approx(5.0 * math.sqrt(4.0 / 3.0))


def test_angles_of_the_fit_are_those_printed() -> None:
    """[richard-mixed-mode] kink 140 s - 70 s^2, twist 78 s - 33 s^2, s the share of the mode."""
    half = mixed_mode.richard_kink_angle_deg([1.0, 0.0, 3.0], [1.0, -1.0, 0.0], 0.0)
    assert half.tolist() == pytest.approx([-(70.0 - 17.5), 70.0, 0.0])
    assert float(mixed_mode.richard_kink_angle_deg(1.0, 1.0, 2.0)) == pytest.approx(-(140.0 * 0.25 - 70.0 / 16.0))
    assert float(mixed_mode.richard_kink_angle_deg(-5.0, 1.0)) == pytest.approx(-70.0)
    assert float(mixed_mode.twist_angle_deg(1.0, 2.0, 1.0)) == pytest.approx(-(78.0 * 0.25 - 33.0 / 16.0))
    assert float(mixed_mode.twist_angle_deg(0.0, 0.0, 0.0)) == 0.0


@pytest.mark.parametrize("criterion", mixed_mode.CRITERIA)
def test_an_outcome_says_what_gives_its_direction(criterion: Criterion) -> None:
    found = find_direction([300.0, 100.0], [400.0, 0.0], [100.0, 50.0], criterion=criterion)
    by_fit, twists = criterion == "richard", criterion in ("largest", "richard")
    kink = mixed_mode.richard_kink_angle_deg if by_fit else mixed_mode.kink_angle_deg
    modes: tuple[Any, ...] = (np.array([300.0, 100.0]), np.array([400.0, 0.0]), np.array([100.0, 50.0]))
    assert found.kink_angle_deg.tolist() == kink(*modes[: 3 if by_fit else 2]).tolist()
    assert found.twist_angle_deg.tolist() == (mixed_mode.twist_angle_deg(*modes).tolist() if twists else [0.0, 0.0])
    said = {each.code: each.message for each in found.findings}
    assert ("direction-by-tangential-stress" in said) == (criterion in ("largest", "tanaka", "energy"))
    assert ("the twist angle that of the fit" in said.get("direction-by-tangential-stress", "")) == (
        criterion == "largest"
    )
    assert ("tearing-left-out" in said) == (criterion == "tangential-stress")
    assert found.open.tolist() == [True, True]
    assert set(found.sources) == set(mixed_mode.criterion_sources(criterion))


def test_sources_of_a_criterion_are_its_own_and_that_of_the_direction() -> None:
    every = {"largest-criterion", "erdogan-sih-1963", "tanaka-1974", "irwin-energy", "richard-mixed-mode"}
    assert set(mixed_mode.criterion_sources("largest")) == every
    assert mixed_mode.criterion_sources("energy") == ("irwin-energy", "erdogan-sih-1963")
    assert mixed_mode.criterion_sources("tangential-stress") == ("erdogan-sih-1963",)
    drive = Drive(law=paris(1e-12, 3.0), loading=constant_loading(), condition="as-welded", criterion="energy")
    row = np.ones((1, 1))
    for mode in ("sliding", "tearing"):
        assert mode_sources(drive, [UnitIntensity(row), UnitIntensity(row, **{mode: row})]) == (
            "irwin-energy",
            "erdogan-sih-1963",
        )
    assert mode_sources(drive, [UnitIntensity(row)]) == ()


@pytest.mark.parametrize("criterion", ["tangential-stress", "richard"])
def test_a_criterion_without_poissons_ratio_takes_none(criterion: Criterion) -> None:
    with pytest.raises(InputError) as caught:
        find_direction(*MODES, criterion=criterion, poisson_ratio=0.3)
    assert caught.value.path == ("poisson_ratio",)


def test_tearing_as_large_as_the_others_is_left_out_and_larger_is_refused() -> None:
    plain = find_direction(100.0, 0.0, 100.0, criterion="tangential-stress")
    assert [each.code for each in plain.findings] == ["tearing-left-out"]
    assert plain.effective_mpa_sqrt_mm.tolist() == [100.0]
    find_direction(0.0, -100.0, 100.0, criterion="tangential-stress")
    for modes in ((100.0, 0.0, 100.1), (0.0, -100.0, -100.1)):
        with pytest.raises(InputError) as caught:
            find_direction(*modes, criterion="tangential-stress")
        assert caught.value.path == ("criterion",)
    assert [each.code for each in find_direction(100.0, 0.0, 0.0, criterion="tangential-stress").findings] == []

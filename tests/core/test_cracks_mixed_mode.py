"""Mixed loading: direction and effective intensity against a search over the angle, limits, bad input."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.driving import mixed_mode
from fatcore.cracks.driving.driving_findings import mode_sources
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.errors import InputError, UnknownError

MODE = st.floats(-1e4, 1e4)


@given(opening=st.floats(1.0, 1e4), sliding=MODE)
def test_direction_is_that_of_the_largest_tangential_stress(opening: float, sliding: float) -> None:
    angles = np.deg2rad(np.linspace(-90.0, 90.0, 20001))
    stress = np.cos(angles / 2) * (opening * np.cos(angles / 2) ** 2 - 1.5 * sliding * np.sin(angles))
    found = float(mixed_mode.kink_angle_deg(opening, sliding))
    assert found == pytest.approx(float(np.rad2deg(angles[np.argmax(stress)])), abs=0.02)
    effective = float(mixed_mode.tangential_stress_intensity(opening, sliding))
    assert effective == pytest.approx(float(stress.max()), rel=1e-6)


@given(opening=st.floats(1e-3, 1e4), sliding=MODE, tearing=MODE)
def test_no_criterion_falls_below_the_opening_mode(opening: float, sliding: float, tearing: float) -> None:
    for criterion in mixed_mode.CRITERIA:
        value = float(mixed_mode.effective_intensity(opening, sliding, tearing, criterion=criterion))
        assert value >= opening * (1.0 - 1e-12)


def test_no_sliding_goes_straight_ahead() -> None:
    small = mixed_mode.kink_angle_deg(100.0, [0.0, 1e-300, -1e-300])
    assert np.abs(small).max() < 1e-12
    assert mixed_mode.kink_angle_deg(0.0, 0.0) == 0.0
    assert mixed_mode.tangential_stress_intensity(100.0, 0.0) == 100.0


def test_small_sliding_turns_by_twice_the_quotient() -> None:
    """First order of the closed form: theta = -2 K_II / K_I."""
    assert mixed_mode.kink_angle_deg(1.0, 1e-5) == pytest.approx(np.rad2deg(-2e-5), rel=1e-8)


def test_sign_of_the_sliding_mode_mirrors_the_angle() -> None:
    for angle in (mixed_mode.kink_angle_deg, mixed_mode.richard_kink_angle_deg):
        assert angle(3.0, 2.0) == -angle(3.0, -2.0)
    assert mixed_mode.twist_angle_deg(0.0, 0.0, -1.0) == pytest.approx(45.0)


def test_outcome_speaks_up() -> None:
    outcome = mixed_mode.find_direction([-1.0, 1.0], [1.0, 0.0], [0.5, 0.0], criterion="tangential-stress")
    assert {f.code for f in outcome.findings} == {"crack-closed", "tearing-left-out"}
    assert mixed_mode.find_direction([1.0], [1.0], criterion="tangential-stress").findings == ()
    assert outcome.open.tolist() == [False, True]
    by_energy = mixed_mode.find_direction(1.0, 1.0, criterion="energy")
    assert by_energy.findings[0].code == "direction-by-tangential-stress"
    assert "irwin-energy" in by_energy.sources
    by_fit = mixed_mode.find_direction(1.0, 0.0, 1.0, criterion="richard")
    assert by_fit.twist_angle_deg[0] == pytest.approx(-(78.0 * 0.5 - 33.0 * 0.25))


@given(opening=MODE, sliding=MODE, tearing=MODE)
def test_the_default_is_the_largest_of_all_criteria(opening: float, sliding: float, tearing: float) -> None:
    values = [
        float(mixed_mode.effective_intensity(opening, sliding, tearing, criterion=criterion))
        for criterion in mixed_mode.CRITERIA
    ]
    assert float(mixed_mode.effective_intensity(opening, sliding, tearing)) == values[0] == max(values)


def test_a_criterion_without_tearing_is_refused_where_tearing_governs() -> None:
    with pytest.raises(InputError, match="take largest") as caught:
        mixed_mode.find_direction([100.0, 50.0], [0.0, 0.0], [20.0, 51.0], criterion="tangential-stress")
    assert caught.value.path == ("criterion",)
    with pytest.raises(InputError, match="take largest"):  # a closed crack has no opening mode
        mixed_mode.find_direction(-100.0, 0.0, 1.0, criterion="tangential-stress")
    assert mixed_mode.find_direction(0.0, 0.0, 1.0).twist_angle_deg[0] == pytest.approx(-45.0)


def test_bad_input() -> None:
    with pytest.raises(UnknownError, match="criterion"):
        mixed_mode.effective_intensity(1.0, 1.0, criterion="nobody")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="2 entries where 3"):
        mixed_mode.find_direction([1.0, 2.0, 3.0], [1.0, 2.0])
    with pytest.raises(InputError, match="poisson_ratio"):
        mixed_mode.effective_intensity(1.0, 1.0, poisson_ratio=0.7)


@pytest.mark.parametrize(
    ("modes", "mixed"), [(("",), False), (("", "sliding"), True), (("tearing", ""), True), (("", ""), False)]
)
def test_sources_of_the_criterion_are_named_where_any_part_of_the_life_is_mixed(
    modes: tuple[str, ...], mixed: bool
) -> None:
    one = np.ones((1, 1))
    units = [UnitIntensity(opening=one, **({mode: one} if mode else {})) for mode in modes]
    drive = SimpleNamespace(criterion="energy")
    found = mode_sources(drive, units)  # type: ignore[arg-type]
    assert found == (mixed_mode.criterion_sources("energy") if mixed else ())

"""Small numbers count as large ones do: a ratio does not change with the size of both; ends of what is taken."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.sharing import Section, Sharing, share_load
from fatcore.cracks.driving import mixed_mode, retardation
from fatcore.cracks.driving.closed_form import equivalent_range
from fatcore.cracks.driving.law import Stage, paris
from fatcore.cracks.driving.load_blocks import Retardation, block_loading
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.ranges import effective_range
from fatcore.cracks.driving.transitions import transition_cycles
from fatcore.cracks.fracture.assessment import Strength, assess_fracture, interaction_term
from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.weight_function.intensity import profile_intensity
from fatcore.cracks.intensity.weight_function.profiles import PolynomialProfile
from fatcore.errors import InputError

SMALL = pytest.mark.parametrize("scale", [1.0, 1e-4, 1e-9])


@SMALL
def test_retardation_knows_no_scale(scale: float) -> None:
    """Generalised Willenborg and Wheeler as in large numbers, times the scale."""
    found = retardation.willenborg_reduced(
        80.0 * scale, 50.0 * scale, 200.0 * scale, 0.75, threshold_mpa_sqrt_mm=60.0 * scale, shut_off_ratio=3.0
    )
    assert [float(end) for end in found] == pytest.approx([77.5 * scale, 47.5 * scale], rel=1e-12)
    advance = retardation.wheeler_advance_mm(scale, 2.0 * scale, 1e-3 * scale, 600.0, 1.0)
    assert float(advance) == pytest.approx((2.0 - math.sqrt(2.8)) * scale, rel=1e-9)


@SMALL
def test_angles_and_load_ratios_know_no_scale(scale: float) -> None:
    assert float(mixed_mode.kink_angle_deg(scale, scale)) == pytest.approx(-2.0 * math.degrees(math.atan(0.5)))
    assert float(mixed_mode.richard_kink_angle_deg(scale, scale)) == pytest.approx(-52.5)
    assert float(mixed_mode.twist_angle_deg(0.0, scale, scale)) == pytest.approx(-(39.0 - 33.0 / 4.0))
    for unit, factor in ((100.0, scale), (scale, 1.0)):
        half = effective_range(unit, factor, 0.5 * factor, condition="stress-relieved")
        assert float(half.load_ratio) == pytest.approx(0.5, rel=1e-12)
        assert float(half.delta_k_mpa_sqrt_mm) == pytest.approx(0.5 * unit * factor, rel=1e-12)
    mix = block_loading([scale], [0.5 * scale], [1.0])
    drive = Drive(law=paris(1e-12, 3.0), loading=mix, condition="stress-relieved")
    shear = drive.ranges(UnitIntensity(np.array([[-1.0]]), sliding=np.array([[1.0]])))
    assert shear.load_ratio.item() == pytest.approx(0.5, rel=1e-12)


@SMALL
def test_mixes_of_cycles_know_no_scale(scale: float) -> None:
    assert equivalent_range([3.0 * scale, scale], [1.0, 3.0], 2.0) == pytest.approx(math.sqrt(3.0) * scale)
    falling = transition_cycles([5.0 * scale, scale], [3.0 * scale, 0.0])  # 5 3 1 0 falls all the way
    assert (falling.maximum.tolist(), falling.minimum.tolist()) == ([5.0 * scale], [0.0])


def test_an_overload_that_is_grown_through_slows_no_more() -> None:
    """K = 100 grows 1 mm a cycle, far beyond the zone of 0.004 mm that K = 150 leaves: one slow cycle of eight.

    Right after the overload 150 is required and 50 missing: half the range, an eighth of the growth.
    """
    model = Retardation(model="willenborg", yield_strength_mpa=1000.0)
    mix = block_loading([1.5, 1.0], [0.0, 0.0], [1.0, 8.0], model, "in-entries")
    drive = Drive(law=paris(1e-6, 3.0), loading=mix, condition="stress-relieved")
    grown = drive.mean_rate(UnitIntensity(np.array([[100.0]]))).item() * 9.0
    assert grown == pytest.approx(1.5**3 + 0.125 + 7.0, rel=1e-12)
    past = retardation.willenborg_reduced(80.0, 50.0, 1e4, 1.5)
    assert [float(end) for end in past] == [80.0, 50.0]
    assert retardation.wheeler_advance_mm(0.0, 1e-3, 1e-3, 10.0, 1.7) == 0.0


@SMALL
@pytest.mark.parametrize("general", [{}, {"shut_off_ratio": 3.0, "threshold_mpa_sqrt_mm": 20.0}])
def test_a_slowed_block_knows_no_scale(scale: float, general: dict[str, float]) -> None:
    """Intensity and yield strength scaled: the zones stay; the coefficient makes up for the smaller ranges."""

    def grown(times: float) -> float:
        scaled = {name: value * (times if name.startswith("threshold") else 1.0) for name, value in general.items()}
        given: dict[str, Any] = {"model": "willenborg", "yield_strength_mpa": 100.0 * times} | scaled
        mix = block_loading([1.5, 1.0], [0.2, 0.5], [1.0, 500.0], Retardation(**given), "in-entries")
        law = paris(1e-10 / times**3, 3.0)
        drive = Drive(law=law, loading=mix, condition="stress-relieved")
        return float(drive.mean_rate(UnitIntensity(np.array([[100.0 * times]]))).item())

    assert grown(scale) > 0.0
    assert grown(scale) == pytest.approx(grown(1.0), rel=1e-9)


@SMALL
def test_the_interaction_and_the_reserve_know_no_scale(scale: float) -> None:
    chi = 0.1 - 0.007 + 3e-5
    assert float(interaction_term(0.5, scale, 2.0 * scale)) == pytest.approx(chi)
    strength = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0 * scale)
    found = assess_fracture(4e5 * scale, 0.0, strength)  # two hundred times too much
    assert found.reserve_factor[0] == pytest.approx(0.005, rel=1e-6)


@pytest.mark.parametrize(
    ("made", "inside", "outside"),
    [
        (lambda x: Stage(coefficient=1e-12, exponent=x), (1e-6, 100.0), (0.0, 100.1)),
        (lambda x: Stage(coefficient=x, exponent=3.0), (1e-25,), (0.0,)),
        (
            lambda x: Retardation(
                model="willenborg", yield_strength_mpa=300.0, shut_off_ratio=x, threshold_mpa_sqrt_mm=1.0
            ),
            (1.0 + 1e-6, 100.0),
            (1.0, 100.1),
        ),
        (lambda x: Sharing(length_mm=80.0, grips="free", poisson_ratio=x), (0.0, 0.4999), (-1e-6, 0.5)),
        (lambda x: IntensityTable([x, 1.0], {"opening": [1.0, 2.0]}), (1e-6,), (0.0,)),
    ],
)
def test_numbers_are_taken_up_to_their_ends(made: Any, inside: tuple[float, ...], outside: tuple[float, ...]) -> None:
    for value in inside:
        made(value)
    for value in outside:
        with pytest.raises(InputError):
            made(value)


@pytest.mark.parametrize(("rows", "taken"), [(1, False), (2, True), (10_000, True), (10_001, False)])
def test_a_table_has_two_to_ten_thousand_rows(rows: int, taken: bool) -> None:
    sizes = np.arange(1.0, rows + 1.0)
    if taken:
        assert IntensityTable(sizes, {"opening": sizes}).range_mm() == (1.0, float(rows))
        return
    with pytest.raises(InputError) as caught:
        IntensityTable(sizes, {"opening": sizes})
    assert caught.value.path == ("crack_size_mm",)


def test_a_state_of_sharing_is_given_for_each_compliance() -> None:
    model = Sharing(length_mm=80.0, grips="rigid", control="displacement")
    found = share_load(model, Section(6.0, 2.0), np.zeros((3, 3)), 100.0, 20.0)
    assert found.membrane_mpa.tolist() == pytest.approx([100.0] * 3)
    assert found.stiffness_ratio.tolist() == pytest.approx([1.0] * 3)
    assert [part.shape for part in found] == [(3,)] * 5


@pytest.mark.parametrize("alpha", [0.1, 0.1004, 0.101, 0.3])
def test_the_matched_weight_function_is_exact_in_bending_from_a_tenth_of_the_width_on(alpha: float) -> None:
    bending = PolynomialProfile([1.0, -2.0], 10.0)
    found = profile_intensity(bending, 10.0 * alpha, None, 10.0, "edge")
    expected = float(edge.bending(alpha, "accurate")) * math.sqrt(math.pi * 10.0 * alpha)
    assert float(found) == pytest.approx(expected, rel=1e-12)
    shallow = profile_intensity(bending, 0.5, None, 10.0, "edge")  # eased into the half plane below
    assert float(shallow) == pytest.approx(float(edge.bending(0.05, "accurate")) * math.sqrt(math.pi * 0.5), rel=1e-2)

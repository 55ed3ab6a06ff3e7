"""What is taken where nothing is given, beside the same given; and how many steps an overload is followed in."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.driving import loading
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.mixed_mode import effective_intensity, find_direction, richard_kink_angle_deg
from fatcore.cracks.driving.ranges import effective_range
from fatcore.cracks.driving.retardation import willenborg_reduced
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.intensity.solid import surface

STAGE = Stage(coefficient=1e-12, exponent=3.0)
STEEL: dict[str, float] = {"yield_strength_mpa": 400.0, "ultimate_strength_mpa": 600.0, "toughness_mpa_sqrt_mm": 2e3}


@pytest.mark.parametrize(
    ("made", "given", "left_out"),
    [
        (
            GrowthLaw,
            {"low": (STAGE,)},
            {
                "high": (),
                "high_from_load_ratio": 0.5,
                "threshold": Threshold(),
                "threshold_form": "cut",
                "threshold_ramp": 0.0,
                "effect": LoadRatioEffect(),
                "highest_load_ratio": 1.0,
            },
        ),
        (LoadRatioEffect, {}, {"kind": "none"}),
        (
            Threshold,
            {},
            {
                "intercept_mpa_sqrt_mm": 0.0,
                "drop": 0.0,
                "floor_mpa_sqrt_mm": 0.0,
                "below_load_ratio": 0.0,
                "below_mpa_sqrt_mm": None,
                "exponent": None,
            },
        ),
        (
            Retardation,
            {"model": "wheeler", "yield_strength_mpa": 300.0, "exponent": 1.0},
            {"zone_state": "plane-stress"},
        ),
        (
            Sharing,
            {"length_mm": 80.0, "grips": "free"},
            {
                "youngs_modulus_mpa": 206000.0,
                "poisson_ratio": 0.3,
                "plane": "strain",
                "control": "force",
                "members": (),
            },
        ),
        (Member, {"axial_stiffness_n_per_mm": 1.0}, {"rotational_stiffness_nmm": 0.0, "offset_mm": 0.0}),
        (EdgeCrack, {"depth_mm": 1.0, "width_mm": 20.0}, {"form": "accurate", "thickness_mm": None}),
        (
            SurfaceCrack,
            {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0},
            {"half_width_mm": None, "toe_footprint_mm": None, "toe_form": None},
        ),
        (Strength, STEEL, {"youngs_modulus_mpa": 206000.0}),
    ],
)
def test_what_is_not_given_is_what_the_words_say(made: Any, given: dict[str, Any], left_out: dict[str, Any]) -> None:
    assert made(**given) == made(**given | left_out)


def test_a_loading_counts_the_cycles_between_entries_unless_told_otherwise() -> None:
    row = np.ones(1)
    plain = CrackLoading(maximum=row, minimum=row, count=row)
    assert (plain.transitions, plain.added_entries, plain.retardation) == ("added", 0, None)
    assert block_loading([1.0, -1.0], [0.9, -1.1], [1.0, 1.0]).count.size == 3


def test_rates_and_ranges_without_more_are_those_of_load_from_nothing() -> None:
    walker = GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind="walker", walker_exponent=0.5))
    assert walker.rate_mm_per_cycle(100.0) == walker.rate_mm_per_cycle(100.0, 0.0)
    assert paris(1e-12, 3.0).threshold.is_zero
    assert paris(1e-12, 3.0).rate_mm_per_cycle(1e-3) == pytest.approx(1e-21)
    half = effective_range(100.0, 1.0, -1.0, condition="stress-relieved")
    assert (float(half.delta_k_mpa_sqrt_mm), float(half.load_ratio)) == (100.0, -1.0)
    # overload 200, a quarter of the zone left: 20 missing, half of it by a shut-off ratio of 3
    reduced = willenborg_reduced(80.0, 50.0, 200.0, 0.75, shut_off_ratio=3.0)
    assert [float(end) for end in reduced] == pytest.approx([70.0, 40.0])


def test_own_laws_are_compared_at_a_load_ratio_of_zero() -> None:
    """Walker with gamma = 0 grows with (1 - R)^-3, a threshold falls with R: any other ratio shows in the figures."""
    walker = LoadRatioEffect(kind="walker", walker_exponent=0.0)
    law = GrowthLaw(
        low=(Stage(coefficient=1.04e-4 / 500.0**3, exponent=3.0),),
        effect=walker,
        threshold=Threshold(intercept_mpa_sqrt_mm=0.005, drop=0.01),
    )
    said = {each.code: each.message for each in law_findings(law, "stress-relieved", np.zeros(1))}
    assert "gives 0.000104 mm a cycle at 500 MPa√mm, load ratio 0" in said["law-rate"]
    assert "a threshold of 0.005 MPa√mm" in said["threshold-implausible"]


def test_modes_that_are_not_given_are_none() -> None:
    assert loading.UnitIntensity(np.ones((1, 1))).static == 0.0
    assert float(effective_intensity(0.0, 0.0, criterion="energy")) == 0.0
    assert float(richard_kink_angle_deg(0.0, 1e-6)) == pytest.approx(-70.0)
    assert find_direction(3.0, 4.0, criterion="energy").effective_mpa_sqrt_mm.tolist() == pytest.approx([5.0])


def test_factors_of_a_surface_crack_are_those_of_its_deepest_point() -> None:
    deepest, named = surface.geometry_factors(2.0, 5.0, 10.0), surface.geometry_factors(2.0, 5.0, 10.0, angle_deg=90.0)
    assert (deepest.tension, deepest.bending) == (named.tension, named.bending)
    sizes: dict[str, Any] = {"half_length_mm": 5.0, "thickness_mm": 10.0}
    assert surface.stress_intensity(2.0, **sizes, membrane_mpa=1.0) == pytest.approx(
        float(named.tension) * np.sqrt(2.0 * np.pi), rel=1e-12
    )
    assert surface.stress_intensity(2.0, **sizes, bending_mpa=1.0) == pytest.approx(
        float(named.bending) * np.sqrt(2.0 * np.pi), rel=1e-12
    )


@pytest.mark.parametrize(("count", "steps"), [(0.5, 1), (1.0, 1), (3.0, 3), (8.0, 8), (9.0, 8), (1e6, 8)])
def test_an_entry_under_an_overload_is_followed_in_eight_steps_at_most(
    monkeypatch: pytest.MonkeyPatch, count: float, steps: int
) -> None:
    """The block is passed twice: the first pass leaves its zones behind."""
    calls: list[float] = []

    def counted(*args: Any, **given: Any) -> Any:
        calls.append(1.0)
        return willenborg_reduced(*args, **given)

    monkeypatch.setattr(loading, "willenborg_reduced", counted)
    model = Retardation(model="willenborg", yield_strength_mpa=300.0)
    block = block_loading([1.0], [0.0], [count], model)
    two = CrackLoading(
        maximum=np.append(block.maximum, 1.0),
        minimum=np.append(block.minimum, 0.0),
        count=np.append(block.count, 1.0),
        retardation=model,
    )
    drive = loading.Drive(law=paris(1e-15, 3.0), loading=two, condition="stress-relieved")
    grown = drive.mean_rate(loading.UnitIntensity(np.array([[100.0]]))).item() * two.cycles_per_block
    assert len(calls) == 2 * (steps + 1)
    assert grown == pytest.approx((count + 1.0) * 1e-9, rel=1e-4)  # nothing slows equal cycles

"""Single rules along the growth of a crack that a finding or a column hangs on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed, lasting_stress
from fatcore.cracks.driving.closed_form import life_between_cycles
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.driving.ranges import effective_range
from fatcore.cracks.growth._life_findings import growth_findings
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weld.at_toe import detail_intensity
from fatcore.cracks.scatter._inputs import stage_findings
from fatcore.cracks.scatter._single_cracks import _difference
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError, UnknownError

PLATE = SurfaceCrack(depth_mm=0.5, half_length_mm=2.0, thickness_mm=10.0, half_width_mm=50.0)
PULL = Stress(membrane_mpa=120.0)
STEEL = paris(5.21e-13, 3.0)
STAGE = Stage(coefficient=5.21e-13, exponent=3.0)


def test_stress_intensities_of_a_life_are_those_of_depth_and_length() -> None:
    stressed = Stressed(PLATE, PULL, None)
    drive = Drive(law=STEEL, loading=constant_loading(), condition="as-welded", criterion="largest")
    phase = run_phase(stressed, drive, EndCriteria(depth_mm=5.0), 0.0, 1e-6)
    depth, length, *_ = phase.samples
    assert (length > depth).all()
    tension, _ = PLATE.unit_intensity(depth, length)
    assert np.asarray(phase.unit.opening) == pytest.approx(120.0 * tension, rel=1e-9)


def test_one_coarse_phase_of_two_is_enough_to_say_so() -> None:
    drive = Drive(law=STEEL, loading=constant_loading(), condition="as-welded", criterion="largest")
    end = EndCriteria(depth_mm=5.0)
    phase = run_phase(Stressed(PLATE, PULL, None), drive, end, 0.0, 1e-6)
    coarse = replace(phase, coarse=True)
    for phases, reported in (([phase, phase], False), ([coarse, phase], True), ([phase, coarse], True)):
        codes = {finding.code for finding in growth_findings(phases, drive, end, None, None)}
        assert ("coarse-integration" in codes) is reported


@pytest.mark.parametrize(
    ("levels", "none"), [(0.0, True), (63.0, False), (np.array([0.0, 63.0]), False), (np.zeros(2), True)]
)
def test_a_threshold_that_only_some_samples_have_is_one(levels: float, none: bool) -> None:
    assert Threshold(intercept_mpa_sqrt_mm=levels).is_zero is none


def test_two_lives_of_nothing_agree() -> None:
    assert _difference(0.0, 0.0) == 0.0
    assert _difference(3.0, 0.0) == 3.0
    assert _difference(3.0, 2.0) == 0.5
    assert _difference(np.inf, None) == 0.0
    assert _difference(np.inf, 1.0) == _difference(1.0, None) == 1.0


@pytest.mark.parametrize(
    ("law", "reported"),
    [
        (GrowthLaw(low=(STAGE,)), True),
        (GrowthLaw(low=(STAGE,), high=(STAGE,)), False),
        (GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind="walker", walker_exponent=0.5)), False),
        (GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind="elber")), True),
    ],
)
def test_constants_for_one_load_ratio_are_doubted_as_welded(law: GrowthLaw, reported: bool) -> None:
    found = {finding.code for finding in law_findings(law, "as-welded", np.array([0.5]))}
    assert ("own-constants-as-welded" in found) is reported


@pytest.mark.parametrize(
    ("effect", "source"),
    [
        (LoadRatioEffect(kind="walker", walker_exponent=0.5), "walker-1970"),
        (LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=5000.0), "forman-1967"),
    ],
)
def test_a_load_ratio_outside_an_effect_names_its_source(effect: LoadRatioEffect, source: str) -> None:
    assert effect.limit is not None
    assert effect.limit.source == source


def test_of_equal_parts_the_membrane_stress_is_the_share() -> None:
    """Membrane and bending of one size: the share of the load is that of the membrane part, which both gave."""
    sharing = Sharing(length_mm=200.0, grips="rigid", members=(Member(axial_stiffness_n_per_mm=2e5),))
    shares = {}
    for bending in (99.999, 100.0, 100.001):
        outcome = grow(
            crack=EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0),
            stress=Stress(membrane_mpa=100.0, bending_mpa=bending),
            law=STEEL,
            loading=constant_loading(),
            end=EndCriteria(depth_mm=15.0),
            sharing=sharing,
        )
        assert outcome.history.load_share is not None
        shares[bending] = float(outcome.history.load_share[-1])
    assert shares[100.0] == pytest.approx(shares[99.999], rel=1e-3)
    assert shares[100.0] != pytest.approx(shares[100.001], rel=1e-3)


def test_without_lasting_stress_nothing_is_said_of_it() -> None:
    assert lasting_stress(PULL) == []
    assert len(lasting_stress(replace(PULL, static_bending_mpa=50.0))) >= 1


def test_lasting_stress_under_overloads_is_a_shift_of_the_load_factors() -> None:
    """50 MPa that last beside 100 MPa times 0 to 1 and 0 to 1.6 are 100 MPa times 0.5 to 1.5 and 0.5 to 2.1."""
    model = Retardation(model="willenborg", yield_strength_mpa=355.0)
    lives = [
        grow(
            crack=EdgeCrack(depth_mm=1.0, width_mm=40.0),
            stress=Stress(membrane_mpa=100.0, static_membrane_mpa=static),
            law=STEEL,
            loading=block_loading(tops, lows, [1.0, 200.0], model),
            end=EndCriteria(depth_mm=10.0),
            condition="stress-relieved",
        ).life_cycles
        for static, tops, lows in ((50.0, [1.6, 1.0], [0.0, 0.0]), (0.0, [2.1, 1.5], [0.5, 0.5]))
    ]
    assert lives[0] == pytest.approx(lives[1], rel=1e-6)


def test_intensity_at_a_detail_grows_with_the_root_of_the_size() -> None:
    small = {"half_length_mm": 4.0, "thickness_mm": 20.0, "weld_height_mm": 8.0, "weld_leg_mm": 8.0}
    one = detail_intensity(2.0, detail="transverse", membrane_mpa=100.0, toe_angle_deg=45.0, **small)
    large = {name: 4.0 * value for name, value in small.items()}
    four = detail_intensity(8.0, detail="transverse", membrane_mpa=100.0, toe_angle_deg=45.0, **large)
    assert float(four) == pytest.approx(2.0 * float(one), rel=1e-12)


def test_sources_of_a_family_are_those_of_the_form_in_use() -> None:
    found = {
        form: FAMILIES["centre"].intensity([10.0], width_mm=100.0, membrane_mpa=100.0, form=form).sources
        for form in ("tada", "feddersen")
    }
    assert found["tada"] != found["feddersen"]
    assert not set(found["tada"]) & set(found["feddersen"])


@pytest.mark.parametrize(
    ("error", "codes"),
    [
        (0.05, set()),
        (0.0501, {"few-blocks"}),
        (1.0, {"few-blocks"}),
        (1.0001, {"block-longer-than-life"}),
    ],
)
def test_a_block_is_long_from_a_twentieth_of_the_life_on(error: float, codes: set[str]) -> None:
    drive = Drive(law=STEEL, loading=block_loading([1.0, 0.5], [0.0, 0.0], [1.0, 9.0]), condition="as-welded")
    end = EndCriteria(depth_mm=5.0)
    phase = run_phase(Stressed(PLATE, PULL, None), drive, end, 0.0, 1e-6)
    found = {finding.code for finding in growth_findings([phase], drive, end, None, error)}
    assert found & {"few-blocks", "block-longer-than-life"} == codes


def test_constant_loading_leaves_no_small_cycles_out() -> None:
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=2000.0)
    at_rest = grow(crack=PLATE, stress=PULL, law=law, loading=constant_loading())
    codes = {finding.code for finding in at_rest.findings}
    assert at_rest.below_cutoff
    assert "small-cycles-left-out" not in codes
    mixed = grow(crack=PLATE, stress=PULL, law=law, loading=block_loading([1.0, 0.5], [0.0, 0.0], [1.0, 9.0]))
    assert "small-cycles-left-out" in {finding.code for finding in mixed.findings}


def test_from_a_size_to_itself_there_is_no_life() -> None:
    assert float(life_between_cycles(2.0, 2.0, 100.0, 5.21e-13, 3.0)) == 0.0
    with pytest.raises(InputError, match="less than the first"):
        life_between_cycles(2.0, 1.999, 100.0, 5.21e-13, 3.0)


def test_a_crack_as_deep_as_the_plate_is_still_in_it() -> None:
    inside = surface.geometry_factors(10.0, half_length_mm=20.0, thickness_mm=10.0)
    assert all(np.isfinite(np.asarray(factor)).all() for factor in inside)
    with pytest.raises(InputError, match="deeper than the plate"):
        surface.geometry_factors(10.001, half_length_mm=20.0, thickness_mm=10.0)


@pytest.mark.parametrize(
    ("name", "law", "reported"),
    [
        ("first_coefficient_factor", GrowthLaw(low=(STAGE,)), True),
        ("last_coefficient_factor", GrowthLaw(low=(STAGE,)), False),
        ("first_coefficient_factor", GrowthLaw(low=(Stage(coefficient=1e-17, exponent=5.1), STAGE)), False),
        ("first_coefficient_factor", GrowthLaw(low=(STAGE,), high=(STAGE,)), True),
    ],
)
def test_a_factor_on_a_stage_that_the_law_lacks_is_reported(name: str, law: GrowthLaw, reported: bool) -> None:
    drawn = {name: Distribution(kind="lognormal", mean=1.0, variation=0.2)}
    assert ("first-stage-missing" in {finding.code for finding in stage_findings(law, drawn)}) is reported


def test_a_crack_without_a_through_stage_becomes_none() -> None:
    assert EdgeCrack(depth_mm=1.0, width_mm=40.0).after_break_through(5.0) is None


def test_ranges_are_those_of_a_known_condition() -> None:
    with pytest.raises(UnknownError, match="unknown condition 'wet'"):
        effective_range(100.0, 1.0, 0.0, condition="wet")  # type: ignore[arg-type]

"""Single rules along the growth of a crack that a finding or a column hangs on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed, lasting_stress
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth._life_findings import growth_findings
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.scatter._single_cracks import _difference

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

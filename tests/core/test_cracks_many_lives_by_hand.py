"""Many lives at once: the rules of their steps, and each against lives grown one by one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import RK45

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.scatter import _lives
from fatcore.cracks.scatter._lives import Samples, lives
from fatcore.errors import NotConvergedError

EDGE = EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0)
PLATE = SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0, half_width_mm=50.0)
PULL = Stress(membrane_mpa=100.0)
STEEL = paris(5.21e-13, 3.0)


def grown(**more: Any) -> GrowthOutcome:
    given = {"crack": EDGE, "stress": PULL, "law": STEEL, "loading": constant_loading()}
    return grow(**(given | {"end": EndCriteria(depth_mm=10.0)} | more))


def many(count: int, **more: Any) -> Samples:
    one = np.ones(count)
    given = {"depth_mm": 0.5 * one, "half_length_mm": one, "k_factor": one, "first_factor": one, "last_factor": one}
    return Samples(**(given | {"threshold_mpa_sqrt_mm": None} | more))


def quick(samples: Samples, law: GrowthLaw = STEEL, last: float = 8.0, **more: Any) -> Any:
    drive = Drive(law=law, loading=constant_loading(), condition="as-welded")
    return lives(more.pop("crack", PLATE), more.pop("stress", PULL), drive, samples, last, 1e-4)


def test_the_pair_of_rules_is_that_of_the_general_library() -> None:
    """Coefficients of Dormand and Prince as scipy.integrate.RK45 holds them; the error has the other sign."""
    for row, known in zip(_lives._A[1:6], RK45.A[1:], strict=True):
        assert row == pytest.approx(known[: len(row)], rel=1e-14)
    assert _lives._A[6] == pytest.approx(RK45.B, rel=1e-14)
    assert pytest.approx(-RK45.E, rel=1e-14) == _lives._E


def test_many_lives_are_those_grown_one_by_one() -> None:
    """Within the tolerance of a step; with factors on stress intensity and constant, and other first sizes."""
    depth, ratio = np.array([0.2, 0.5, 1.0, 3.0]), np.array([1.0, 0.5, 0.2, 0.8])
    factor, constant = np.array([1.0, 1.3, 0.8, 1.1]), np.array([1.0, 0.5, 2.0, 3.0])
    samples = many(4, depth_mm=depth, half_length_mm=depth / ratio, k_factor=factor, last_factor=constant)
    for stress in (PULL, Stress(membrane_mpa=60.0, bending_mpa=80.0)):
        found = quick(samples, stress=stress)
        for i, life in enumerate(found):
            membrane, bending = factor[i] * np.array([stress.membrane_mpa, stress.bending_mpa])
            single = grown(
                crack=replace(PLATE, depth_mm=float(depth[i]), half_length_mm=float(depth[i] / ratio[i])),
                stress=Stress(membrane_mpa=membrane, bending_mpa=bending),
                law=paris(5.21e-13 * float(constant[i]), 3.0),
                end=EndCriteria(depth_mm=8.0),
            )
            assert life == pytest.approx(single.life_cycles, rel=1e-4)


def test_many_lives_keep_lasting_stress_out_of_the_scatter() -> None:
    lasting = replace(PULL, static_membrane_mpa=50.0)
    law = GrowthLaw(low=(Stage(coefficient=5.21e-13, exponent=3.0),), threshold=Threshold(intercept_mpa_sqrt_mm=0.0))
    assert quick(many(1), law, stress=lasting) == pytest.approx(quick(many(1), law), rel=1e-6)


def test_cracks_rest_where_their_own_threshold_holds_them() -> None:
    held = many(3, threshold_mpa_sqrt_mm=np.array([0.0, 9000.0, 30.0]))
    found = quick(held)
    assert found[1] == np.inf
    assert found[0] == pytest.approx(float(quick(many(1))[0]), rel=1e-9)
    single = grown(crack=replace(PLATE, depth_mm=0.5, half_length_mm=1.0), end=EndCriteria(depth_mm=8.0))
    assert found[2] == pytest.approx(single.life_cycles, rel=1e-4)


def test_a_crack_that_comes_to_rest_later_never_ends() -> None:
    """Bending alone stops the deepest point of a crack that is not held at its surface."""
    falling = Stress(bending_mpa=100.0)
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=150.0)
    wide = replace(PLATE, half_width_mm=None)
    single = grown(
        crack=replace(wide, depth_mm=0.5, half_length_mm=1.0), stress=falling, law=law, end=EndCriteria(depth_mm=8.0)
    )
    assert single.life_cycles is None
    assert quick(many(1), law, crack=wide, stress=falling).tolist() == [np.inf]


def test_lives_that_find_no_end_are_given_up_and_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_lives, "MOST_STEPS", 3)
    with pytest.raises(NotConvergedError, match="2 cracks did not end within 3 steps"):
        quick(many(2))
    assert quick(many(1, depth_mm=np.array([7.99])), last=8.0)[0] > 0.0


def test_a_first_size_a_hair_below_the_last_has_a_life_of_its_first_rate() -> None:
    samples = many(1, depth_mm=np.array([7.999]), half_length_mm=np.array([12.0]))
    k = PULL.membrane_mpa * PLATE.unit_intensity(np.array([7.9995]), np.array([12.0]))[0][0, 0]
    assert quick(samples)[0] == pytest.approx(0.001 / (5.21e-13 * k**3), rel=1e-3)

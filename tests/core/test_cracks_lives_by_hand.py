"""Lives beside the life asked for: each against a life grown without the choice."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.law_sets import named_law
from fatcore.cracks.driving.load_blocks import Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.growth._phase import run_phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, _raise, grow
from fatcore.figures import figure, rounded_down
from fatcore.findings import Finding

EDGE = EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0)
PLATE = SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0, half_width_mm=50.0)
PULL = Stress(membrane_mpa=100.0)
STEEL = paris(5.21e-13, 3.0)
BY_RATIO = replace(STEEL, effect=LoadRatioEffect(kind="walker", walker_exponent=0.5))
AROUND = Sharing(length_mm=200.0, grips="rigid", members=(Member(axial_stiffness_n_per_mm=2e5),))
WHEELER = Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.0)


def grown(**more: Any) -> GrowthOutcome:
    given = {"crack": EDGE, "stress": PULL, "law": STEEL, "loading": constant_loading()}
    return grow(**(given | {"end": EndCriteria(depth_mm=10.0)} | more))


def one(outcome: GrowthOutcome, code: str) -> Finding:
    (found,) = (each for each in outcome.findings if each.code == code)
    return found


def codes(outcome: GrowthOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


# beside the life asked for


def test_a_life_is_also_told_in_blocks() -> None:
    outcome = grown(loading=block_loading([1.0, 0.4], [0.0, 0.0], [3.0, 7.0], transitions="in-entries"))
    assert outcome.life_cycles is not None
    assert outcome.life_blocks == pytest.approx(outcome.life_cycles / 10.0)
    assert outcome.constant_load_life_cycles is outcome.life_extension_factor is None
    assert outcome.life_without_retardation_cycles is outcome.life_without_compression_cycles is None


def test_a_shared_life_is_so_many_times_that_without_sharing() -> None:
    for crack, end in (
        (EDGE, {"depth_mm": 10.0}),
        (CentreCrack(half_length_mm=1.0, width_mm=40.0, thickness_mm=5.0), {"half_length_mm": 8.0}),
    ):
        shared, plain = (grown(crack=crack, end=EndCriteria(**end), sharing=each) for each in (AROUND, None))  # type: ignore[arg-type]
        assert shared.constant_load_life_cycles == pytest.approx(plain.life_cycles, rel=1e-6)
        assert shared.life_cycles is not None
        assert plain.life_cycles is not None
        assert shared.life_extension_factor == pytest.approx(shared.life_cycles / plain.life_cycles, rel=1e-6)
        assert shared.life_cycles > 1.01 * plain.life_cycles
        assert {"irwin-kies-1954", "shared-load-derivation"} <= set(shared.sources) - set(plain.sources)
    at_rest = grown(sharing=AROUND, law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=9000.0))
    assert at_rest.constant_load_life_cycles is at_rest.life_extension_factor is None


def test_a_shared_life_through_the_wall_is_compared_with_one_through_the_wall() -> None:
    end = EndCriteria(grow_through=True, half_length_mm=20.0)
    shared, plain = (grown(crack=PLATE, end=end, sharing=each) for each in (AROUND, None))
    assert shared.end_reason == plain.end_reason == "length"
    assert shared.constant_load_life_cycles == pytest.approx(plain.life_cycles, rel=1e-3)


def test_a_given_stress_intensity_overrides_what_shares_the_load() -> None:
    table = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 20.0], {"opening": [200.0, 900.0]}))
    outcome = grown(crack=table, stress=Stress(), sharing=AROUND)
    found = one(outcome, "table-overrides-sharing")
    assert (found.severity, found.field, found.source) == ("caution", "sharing", "user-table")
    assert outcome.constant_load_life_cycles is None
    assert outcome.life_cycles == grown(crack=table, stress=Stress()).life_cycles
    assert "table-overrides-sharing" not in codes(grown(sharing=AROUND))


@pytest.mark.parametrize(
    ("parts", "left"),
    [
        ((-20.0, 0.0), (0.0, 0.0)),
        ((0.0, -20.0), (0.0, 0.0)),
        ((-20.0, 10.0), (0.0, 10.0)),
        ((10.0, -20.0), (10.0, 0.0)),
    ],
)
def test_a_life_under_compression_is_compared_with_one_without(
    parts: tuple[float, float], left: tuple[float, float]
) -> None:
    def outcome(membrane: float, bending: float, condition: str) -> GrowthOutcome:
        stress = replace(PULL, static_membrane_mpa=membrane, static_bending_mpa=bending)
        return grown(stress=stress, condition=condition, law=BY_RATIO)

    pressed, free = outcome(*parts, "stress-relieved"), outcome(*left, "stress-relieved")
    assert pressed.life_without_compression_cycles == pytest.approx(free.life_cycles, rel=1e-6)
    found = one(pressed, "compression-counted")
    assert found.field == "life_without_compression_cycles"
    assert (
        f"without it the life is {rounded_down(free.life_cycles)} cycles, "
        f"with it {rounded_down(pressed.life_cycles)} cycles" in found.message
    )
    for other in (outcome(*parts, "as-welded"), free):
        assert other.life_without_compression_cycles is None
        assert "compression-counted" not in codes(other)


def test_bending_that_presses_one_side_is_left_out_whole() -> None:
    """Bending that lasts opens one surface of a through crack and presses the other."""
    crack, end = CentreCrack(half_length_mm=1.0, width_mm=40.0), EndCriteria(half_length_mm=8.0)
    bent = replace(PULL, static_bending_mpa=30.0)
    given = {"crack": crack, "end": end, "law": BY_RATIO, "condition": "stress-relieved"}
    outcome, free = grown(stress=bent, **given), grown(**given)
    assert outcome.life_cycles != pytest.approx(free.life_cycles, rel=0.01)
    assert outcome.life_without_compression_cycles == pytest.approx(free.life_cycles, rel=1e-6)


def test_a_crack_that_compression_alone_stops_lives_without_it() -> None:
    closed = grown(stress=replace(PULL, static_membrane_mpa=-150.0), condition="stress-relieved")
    assert closed.life_cycles is None
    assert closed.life_without_compression_cycles == pytest.approx(grown(condition="stress-relieved").life_cycles)
    assert "with it infinite" in one(closed, "compression-counted").message


def test_a_retarded_life_is_compared_with_the_plain_one() -> None:
    entries = [2.0, 1.0], [0.0, 0.0], [1.0, 99.0]
    slowed, plain = (grown(loading=block_loading(*entries, model)) for model in (WHEELER, None))
    assert slowed.life_without_retardation_cycles == pytest.approx(plain.life_cycles, rel=1e-5)
    assert slowed.averaging_error is not None
    assert slowed.averaging_error >= (plain.averaging_error or np.nan) * (1.0 - 1e-6)
    assert "wheeler-1972" in slowed.sources
    assert "willenborg-1971" not in slowed.sources
    other = grown(loading=block_loading(*entries, Retardation(model="willenborg", yield_strength_mpa=355.0)))
    assert "willenborg-1971" in other.sources
    assert "wheeler-1972" not in other.sources
    assert not {"wheeler-1972", "willenborg-1971"} & set(plain.sources)


def test_of_two_surfaces_the_faster_takes_the_other_with_it() -> None:
    """Bending out of the plane counts in full at the surface that it opens: 100 + 50 MPa there."""
    given = {"crack": CentreCrack(half_length_mm=1.0, width_mm=40.0), "end": EndCriteria(half_length_mm=8.0)}
    both, one_part = (
        grown(stress=each, **given) for each in (replace(PULL, bending_mpa=50.0), Stress(membrane_mpa=150.0))
    )
    assert both.life_cycles == pytest.approx(one_part.life_cycles, rel=1e-6)


def test_the_criterion_asked_for_drives_the_crack_and_the_table_of_a_law_is_named() -> None:
    modes = {"opening": [200.0, 900.0], "sliding": [150.0, 700.0]}
    mixed = {"crack": TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 20.0], modes)), "stress": Stress()}
    lives_by = [grown(criterion=each, **mixed).life_cycles for each in ("energy", "largest", None)]
    assert lives_by[0] > 1.01 * lives_by[1]  # type: ignore[operator]
    assert lives_by[1] == lives_by[2]
    assert one(grown(criterion="energy", **mixed), "criterion-does-less").field == "criterion"
    law = named_law("iiw-2016/steel")
    assert law.table in set(grown(law=law).tables) - set(grown().tables)


def test_a_path_names_the_weight_functions() -> None:
    path = Stress(distance_mm=(0.0, 40.0), stress_mpa=(100.0, 100.0), element_size_mm=0.5)
    assert {"weight-universal-1991", "weight-surface-1991"} <= set(grown(stress=path).sources) - set(grown().sources)


def test_a_through_crack_is_driven_as_hard_as_the_surface_points_before() -> None:
    """At break-through of a crack that bending drives at its surface: K of both by their own equations."""
    bent = Stress(membrane_mpa=100.0, bending_mpa=-60.0)
    for stress in (PULL, bent):
        surface_only = grown(crack=PLATE, stress=stress, end=EndCriteria())
        half = np.array([surface_only.final_half_length_mm])
        tension, bending = PLATE.unit_intensity(np.array([10.0]), half)
        before = abs(stress.membrane_mpa * tension[1, 0] + stress.bending_mpa * bending[1, 0])
        centre = CentreCrack(half_length_mm=float(half[0]), width_mm=100.0).unit_intensity(half, half)
        after = np.abs(stress.membrane_mpa * centre[0] + stress.bending_mpa * centre[1]).max()
        through = grown(crack=PLATE, stress=stress, end=EndCriteria(grow_through=True))
        assert ("through-crack-raised" in codes(through)) is bool(before > after)
        if before > after:
            assert one(through, "through-crack-raised").message.endswith(f"was raised by {figure(before / after)}")


def test_a_through_crack_without_load_is_not_raised() -> None:
    drive = Drive(law=STEEL, loading=constant_loading(), condition="as-welded")
    first = run_phase(Stressed(PLATE, PULL, None), drive, EndCriteria(), 0.0, 1e-7)
    centre = CentreCrack(half_length_mm=20.0)
    assert _raise(first, Stressed(centre, Stress(), None)) == 1.0
    endless: Any = SimpleNamespace(
        final=first.final, stressed=SimpleNamespace(unit=lambda *_: UnitIntensity(np.full((2, 1), np.inf)))
    )
    assert _raise(endless, Stressed(centre, PULL, None)) == 1.0


def test_a_shared_life_to_the_far_side_is_compared_with_one_to_the_far_side() -> None:
    shared, plain = (grown(crack=PLATE, end=EndCriteria(), sharing=each) for each in (AROUND, None))
    assert shared.end_reason == "through-thickness"
    assert shared.constant_load_life_cycles == pytest.approx(plain.life_cycles, rel=1e-6)


def test_a_path_goes_on_through_the_wall_by_its_parts() -> None:
    path = Stress(distance_mm=(0.0, 10.0), stress_mpa=(140.0, 60.0))
    parts = Stress(membrane_mpa=100.0, bending_mpa=40.0)
    left = []
    for stress in (path, parts):
        first, whole = (grown(crack=PLATE, stress=stress, end=EndCriteria(grow_through=on)) for on in (False, True))
        assert first.life_cycles is not None
        assert whole.life_cycles is not None
        assert ("weight-surface-1991" in whole.sources) is (stress is path)
        left.append((whole.life_cycles - first.life_cycles, first.final_half_length_mm))
    assert left[0][0] == pytest.approx(left[1][0], rel=0.2)
    assert left[0][0] > 0.0

"""Rules that one line makes: what a loading, a table, a path or a family leaves as it is, refuses or says."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.function_crack import family_crack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.driving_findings import drive_findings
from fatcore.cracks.driving.law import GrowthLaw, Stage
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.ranges import effective_range
from fatcore.cracks.fracture.assessment import Strength, assessment_line, lasting_excess
from fatcore.cracks.fracture.critical_size import find_critical_size
from fatcore.cracks.intensity.solid import tube
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.errors import InputError

STAGE = Stage(coefficient=1e-12, exponent=3.0)
SURFACE: dict[str, Any] = {"depth_mm": 2.0, "half_length_mm": 4.0, "thickness_mm": 10.0, "half_width_mm": 40.0}


def at(*sizes: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array(sizes)


def unit(opening: float) -> UnitIntensity:
    return UnitIntensity(np.array([[opening]]))


def drive(loading: CrackLoading, **more: Any) -> Drive:
    given: dict[str, Any] = {"law": GrowthLaw(low=(STAGE,)), "loading": loading, "condition": "stress-relieved"}
    return Drive(**given | more)


def test_without_shear_no_criterion_changes_the_opening_mode() -> None:
    loaded = drive(block_loading([1.0], [-2.0], [1.0]), criterion="tanaka")
    delta, ratio = loaded.ranges(unit(0.7))
    assert (delta.item(), ratio.item()) == (0.7, -2.0)  # to the last bit
    assert loaded.equivalent(unit(-0.7)).item() == 0.7
    assert loaded.largest(unit(0.7)).item() == 0.7


@pytest.mark.parametrize("kind", ["none", "elber"])
def test_equal_cycles_are_no_overload(kind: Any) -> None:
    law = GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind=kind))
    rates = [
        drive(block_loading([1.0], [-1.0], [1.0], model), law=law).mean_rate(unit(100.0)).item()
        for model in (
            None,
            Retardation(model="willenborg", yield_strength_mpa=300.0),
            Retardation(model="wheeler", yield_strength_mpa=300.0, exponent=2.0),
        )
    ]
    assert rates[0] > 0.0
    assert rates[1:] == [rates[0]] * 2


@pytest.mark.parametrize("transitions", ["added", "in-entries"])
def test_columns_of_a_block_have_one_length(transitions: Any) -> None:
    for columns, name in (
        (([1.0, 1.0], [0.0, 0.0], [1.0]), "cycles"),
        (([1.0], [0.0, 0.0], [1.0]), "minimum"),
    ):
        with pytest.raises(InputError) as caught:
            block_loading(*columns, transitions=transitions)
        assert caught.value.path == (name,)
    with pytest.raises(InputError) as caught:
        IntensityTable([[1.0, 2.0]], {"opening": [1.0, 2.0]})
    assert caught.value.path == ("crack_size_mm",)


def test_a_rate_far_from_all_published_ones_asks_for_the_unit_system() -> None:
    far = GrowthLaw(low=(Stage(coefficient=1e-16, exponent=3.0),))
    (found,) = law_findings(far, "stress-relieved", np.zeros(1))
    assert found.message.endswith(": is the unit system right (mm-MPa, m-MPa)?")
    near = next(iter(law_findings(GrowthLaw(low=(STAGE,)), "stress-relieved", np.zeros(1))))
    assert "unit system" not in near.message


def test_kinks_of_a_path_and_of_a_toe_stand_side_by_side() -> None:
    path = Stress(distance_mm=(0.0, 2.0, 10.0), stress_mpa=(3.0, 2.0, 1.0))
    toe = SurfaceCrack(**SURFACE, toe_footprint_mm=15.0)

    def rows(crack: SurfaceCrack, stress: Stress) -> int:
        found = Stressed(crack, stress, None).discontinuities(at(2.0, 3.0), at(4.0, 5.0))
        return 0 if found is None else len(found)

    assert rows(SurfaceCrack(**SURFACE), Stress(membrane_mpa=1.0)) == 0
    assert rows(SurfaceCrack(**SURFACE), path) == 2
    assert rows(toe, Stress(membrane_mpa=1.0)) > 0
    assert rows(toe, path) == 2 + rows(toe, Stress(membrane_mpa=1.0))


def test_the_kink_of_a_toe_is_where_its_branches_meet() -> None:
    """[jcss-pmc-3] membrane: at 0.05 (L / B)^0.55 of the plate, whatever the length of the crack."""
    toe = SurfaceCrack(**SURFACE, toe_footprint_mm=15.0)
    border = 10.0 * 0.05 * 1.5**0.55
    for length in (1.0, 8.0):
        rows = toe.discontinuities(at(0.5 * border, border, 2.0 * border), at(length, length, length))
        assert rows is not None
        assert any(row.tolist() == pytest.approx([-math.log(2.0), 0.0, math.log(2.0)], abs=1e-9) for row in rows)


def test_a_path_in_a_narrow_plate_drives_by_the_width_factor() -> None:
    """sqrt(sec(pi c / 2b sqrt(a / t))) with c / b = 0.5 and a / t = 0.2."""
    path = PathProfile([0.0, 5.0], [3.0, 1.0])
    wide, narrow = (SurfaceCrack(**SURFACE | {"half_width_mm": width}) for width in (None, 8.0))
    one, other = (crack.path_intensity(path, at(2.0), at(4.0)) for crack in (wide, narrow))
    factor = math.cos(0.5 * math.pi * 0.5 * math.sqrt(0.2)) ** -0.5
    assert (other / one).ravel().tolist() == pytest.approx([factor, factor], rel=1e-12)


def test_buried_families_are_not_seen_from_a_surface() -> None:
    for name, given, kind in (
        ("embedded", {"half_length_mm": 4.0, "thickness_mm": 20.0}, "buried"),
        ("embedded-infinite", {"half_length_mm": 4.0}, "buried"),
        ("root-gap", {"thickness_mm": 20.0, "leg_mm": 8.0}, "buried"),
        ("edge-free", {"width_mm": 40.0}, "depth"),
        ("double-edge", {"width_mm": 40.0}, "depth"),
        ("centre", {"width_mm": 40.0}, "half-length"),
    ):
        assert family_crack(name, 3.0, 4.0, given | {"membrane_mpa": 1.0}).size_kind == kind


def test_a_crack_around_a_tube_grows_along_its_arc() -> None:
    """Half length 10 pi at a mean radius of 100: 18 degrees."""
    given = {"mean_radius_mm": 100.0, "thickness_mm": 10.0, "membrane_mpa": 50.0}
    crack = family_crack("tube-circumferential", 10.0 * math.pi, 20.0 * math.pi, given)
    expected = tube.circumferential(18.0, **given)
    assert crack.intensity(at(10.0 * math.pi)).item() == pytest.approx(float(expected))
    assert crack.end_sizes == ("half_length_mm",)
    found = {each.code: each for each in crack.findings(at(10.0 * math.pi, 20.0 * math.pi), at(1.0, 1.0))}
    assert "half angle 18 to 36 deg" in found["arc-length"].message
    assert "arc-length" not in {
        each.code for each in family_crack("centre", 1.0, 2.0, {"membrane_mpa": 1.0}).findings(at(1.0), at(1.0))
    }
    with pytest.raises(InputError) as caught:
        family_crack("tube-circumferential", 10.0, 400.0, given)
    assert caught.value.path == ("largest_mm",)


def test_a_deep_crack_is_doubted_while_it_grows() -> None:
    assert "deep-crack" in {each.code for each in SurfaceCrack(**SURFACE).findings(at(9.0), at(9.0))}
    assert "deep-crack" not in {each.code for each in SurfaceCrack(**SURFACE).findings(at(8.0), at(9.0))}


def test_a_critical_size_in_a_plate_without_a_width_is_doubted() -> None:
    strength = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)
    for crack, wide in ((CentreCrack(half_length_mm=1.0), True), (EdgeCrack(depth_mm=1.0, width_mm=20.0), False)):
        found = find_critical_size(crack, Stress(membrane_mpa=100.0), strength)
        assert ("wide-plate" in {each.code for each in found.findings}) == wide


def test_what_lies_between_entries_is_told_by_its_largest_and_where_it_runs() -> None:
    """The entries of [astm-e1049] close 5 to -4 between them; beyond the toughness a crack runs."""
    mix = block_loading([5.0, 3.0, 4.0, 1.0], [-1.0, -4.0, -2.0, -3.0], [1e3] * 4)

    def said(toughness: float) -> str:
        effect = LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=toughness)
        law = GrowthLaw(low=(Stage(coefficient=5e-10, exponent=3.0),), effect=effect)
        loaded = drive(mix, law=law, condition="as-welded")
        return next(
            each.message for each in drive_findings(law, loaded, [unit(10.0)]) if each.code == "block-transitions"
        )

    assert "the largest goes from -4 to 5, a range of 9 load factors" in said(1000.0)
    assert "times as much as the entries" in said(1000.0)
    assert "grow the crack instead of the entries" in said(160.0)  # 0.5 * 160: entries reach 70, the cycle between 90


def test_one_of_several_is_enough() -> None:
    mixed = effective_range([1.0, -1.0], 1.0, 0.5, condition="stress-relieved")
    assert mixed.load_ratio.tolist() == [0.5, 0.0]
    with pytest.raises(InputError) as caught:
        IntensityTable([1.0, 1.0 + 1e-15, 2.0], {"opening": [0.0, 1e300, 1e300]})
    assert caught.value.path == ("k_mpa_sqrt_mm", "opening")
    strength = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)

    def excess(*lasting: float) -> list[float]:
        k, reference = np.full(len(lasting), 1000.0), np.full(len(lasting), 200.0)
        return list(lasting_excess(k, np.array(lasting), reference, reference, strength, "continuous"))

    assert excess(0.0, 500.0) == [*excess(0.0), *excess(500.0)]


def test_a_surface_crack_is_placed_at_the_point_that_decides() -> None:
    strength = Strength(yield_strength_mpa=1000.0, ultimate_strength_mpa=1500.0, toughness_mpa_sqrt_mm=2000.0)
    crack = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=40.0, half_width_mm=200.0)
    found = find_critical_size(crack, Stress(membrane_mpa=400.0, static_membrane_mpa=1.0), strength)
    assert found.critical_mm is not None
    assert found.load_ratio_to_yield is not None
    line = float(assessment_line(found.load_ratio_to_yield, strength))
    assert found.fracture_ratio == pytest.approx(line, rel=1e-9)
    assert "critical-at-start" not in {each.code for each in found.findings}


def test_as_welded_an_overload_lowers_neither_range_nor_load_ratio() -> None:
    """Constants ten times as large from R = 0.5 on: 100 cycles of 100 and one of 150, whole and at the high ones."""
    law = GrowthLaw(low=(STAGE,), high=(Stage(coefficient=1e-11, exponent=3.0),))
    model = Retardation(model="willenborg", yield_strength_mpa=300.0)
    for low in (0.0, -0.5):
        mix = block_loading([1.5, 1.0], [1.5 * low, low], [1.0, 100.0], model, "in-entries")
        rate = drive(mix, law=law, condition="as-welded").mean_rate(unit(100.0)).item()
        assert rate == pytest.approx(1e-5 * (1.5**3 + 100.0) * (1.0 - low) ** 3 / 101.0, rel=1e-12)

"""Damage sums, forms below the knee, limits, classes, levels, interaction: exact cases and properties."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fatcore.curves.corrections import mean_stress
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, UnknownError
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.counting.levels import level_crossings, peak_count
from fatcore.spectrum.counting.matrix import (
    classing_error,
    damage_by_class,
    equal_edges,
    exceedance_curve,
    range_classes,
    range_mean_matrix,
)
from fatcore.spectrum.damage.below_knee import below_knee_curve, knee_of
from fatcore.spectrum.damage.combined import combined_damage
from fatcore.spectrum.damage.linear import damage_of_cycles, damage_sum, equivalent_range
from fatcore.spectrum.damage.mean_correction import correction_of_cycles
from fatcore.spectrum.multiaxial.planes import (
    largest_principal,
    plane_normal_stress,
    plane_ranges,
    worst_plane,
)

LINE = Curve(id="own", source="own-curve", log10_constants=(12.0,), slopes=(3.0,))
EN_71 = catalogue.find_curve("en-1993-1-9-2005-normal-71")
EXAMPLE = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]


def test_damage_of_blocks_and_their_shares() -> None:
    found = damage_sum([100.0, 50.0], [1e5, 8e5], LINE, damage_limit=0.5)
    assert found.damage == pytest.approx(0.2)
    assert found.cycle_share.tolist() == pytest.approx([0.5, 0.5])
    assert found.life_repeats == pytest.approx(2.5)
    assert found.largest_range_mpa == 100.0
    assert found.idle_count == 0.0
    assert found.equivalent_range_mpa == pytest.approx((0.2 * 1e12 / 9e5) ** (1 / 3))


def test_equivalent_range_gives_the_damage_back_on_the_first_slope() -> None:
    found = damage_sum([60.0, 40.0, 30.0], [1e5, 1e6, 1e6], EN_71, reference_cycles=2e6)
    line = below_knee_curve(EN_71, "elementary")
    assert 2e6 * line.damage_per_cycle(found.equivalent_range_mpa) == pytest.approx(found.damage)
    assert "equivalent-below-knee" in {finding.code for finding in found.findings}
    assert found.reference_cycles == 2e6


def test_cut_off_belongs_to_the_damaging_ranges() -> None:
    assert EN_71.cut_off_mpa is not None
    found = damage_sum([EN_71.cut_off_mpa, np.nextafter(EN_71.cut_off_mpa, 0.0)], [1.0, 2.0], EN_71)
    assert found.cycle_damage[0] > 0.0
    assert found.cycle_damage[1] == 0.0
    assert found.idle_count == 2.0


def test_no_damage_at_all_is_infinite() -> None:
    found = damage_sum([1.0, 0.0], [10.0, 5.0], EN_71)
    assert found.damage == 0.0
    assert found.life_repeats is None
    assert found.cycle_share.tolist() == [0.0, 0.0]
    with pytest.raises(InputError, match="no cycle"):
        damage_sum([10.0], [0.0], LINE)
    assert damage_sum([1e-100], [1e-10], LINE).life_repeats is None


def test_knee_belongs_to_the_damaging_ranges_in_the_original_form() -> None:
    knee = knee_of(EN_71)
    assert knee == EN_71.knees_mpa[0]
    original = below_knee_curve(EN_71, "original")
    assert original.damage_per_cycle(knee) > 0.0
    assert original.damage_per_cycle(np.nextafter(knee, 0.0)) == 0.0
    assert below_knee_curve(EN_71, "as-curve") is EN_71
    assert below_knee_curve(LINE, "original") is LINE


@given(arrays(np.float64, 5, elements=st.floats(0.1, 500.0)))
def test_forms_are_ordered(ranges: np.ndarray) -> None:
    counts = np.full(5, 1e4)
    original, reduced, elementary = (
        damage_sum(ranges, counts, EN_71, below_knee=form).damage
        for form in ("original", "reduced-slope", "elementary")
    )
    assert original <= reduced * (1 + 1e-12)
    assert reduced <= elementary * (1 + 1e-12)


def test_findings_of_the_forms() -> None:
    def codes(curve: Curve, form: str) -> set[str]:
        return {f.code for f in damage_sum([100.0], [1.0], curve, below_knee=form).findings}  # type: ignore[arg-type]

    assert "no-damage-below-knee" in codes(EN_71, "original")
    assert "no-knee" in codes(LINE, "elementary")
    assert codes(LINE, "as-curve") == {"damage-limit-doubtful", "damage-sum-scatter"}


@pytest.mark.parametrize(
    ("ranges", "counts", "options", "name"),
    [
        ([], [], {}, "range_mpa"),
        ([1.0], [1.0, 2.0], {}, "count"),
        ([-1.0], [1.0], {}, "range_mpa"),
        ([1.0], [-1.0], {}, "count"),
        ([np.nan], [1.0], {}, "range_mpa"),
        ([1.0], [np.inf], {}, "count"),
        ([1e200], [1.0], {}, "range_mpa"),
        ([1.0], [1.0], {"damage_limit": 0.0}, "damage_limit"),
        ([1.0], [1.0], {"below_knee": "best"}, "below_knee"),
        ([1.0], [1.0], {"reference_cycles": -1.0}, "reference_cycles"),
    ],
)
def test_bad_spectra(ranges: list[float], counts: list[float], options: dict[str, object], name: str) -> None:
    with pytest.raises(InputError) as caught:
        damage_sum(ranges, counts, LINE, **options)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_equivalent_range_broadcasts() -> None:
    assert equivalent_range([0.0, 1.0], 1e6, LINE).tolist() == pytest.approx([0.0, 100.0])


def test_mean_stress_correction_acts_cycle_by_cycle() -> None:
    cycles = rainflow(100.0 * np.array(EXAMPLE))
    full = damage_of_cycles(cycles, LINE)
    reduced = damage_of_cycles(
        cycles, LINE, effective_range=lambda low, high: mean_stress.effective_range_mpa(high, low)
    )
    by_hand = np.maximum(cycles.maximum_mpa, 0.0) - 0.6 * np.minimum(cycles.minimum_mpa, 0.0)
    assert reduced.damage == pytest.approx(float(cycles.count @ by_hand**3) / 1e12)
    assert reduced.damage < full.damage


def test_a_history_that_never_moves_has_no_damage_sum() -> None:
    with pytest.raises(InputError) as caught:
        damage_of_cycles(rainflow([3.0, 3.0]), LINE)
    assert caught.value.path == ("history_mpa",)


def test_interaction_of_single_slope_spectra_is_the_sum_of_damages() -> None:
    shear = Curve(id="own", source="own-curve", log10_constants=(16.0,), slopes=(5.0,))
    assert combined_damage(0.3, 0.4, LINE, shear).interaction_sum == pytest.approx(0.7)
    crane = combined_damage(0.3, 0.4, LINE, shear, form="en-13001-3-1")
    assert crane.interaction_sum == pytest.approx(0.7)
    loose = combined_damage(0.512, 0.0, LINE, shear, form="iiw-2016")
    assert loose.interaction_sum == pytest.approx(0.8**2 / 0.5)
    with pytest.raises(UnknownError):
        combined_damage(0.1, 0.1, LINE, shear, form="other")  # type: ignore[arg-type]
    with pytest.raises(UnknownError):
        combined_damage(0.1, 0.1, LINE, shear, form="iiw-2016", material="wood")
    with pytest.raises(InputError):
        combined_damage(-0.1, 0.1, LINE, shear)


def test_edges_of_classes() -> None:
    cycles = rainflow(EXAMPLE, "half")
    matrix = range_mean_matrix(cycles, [3.0, 4.0, 9.0], [-1.0, 0.0, 1.0])
    assert matrix.count.tolist() == [[1.0, 1.0], [0.5, 1.5]]  # 3 and 4 in the first row, mean 0 left
    classes = range_classes(cycles, equal_edges(0.0, 9.0, 9))
    assert classes.count.tolist() == [0, 0, 0.5, 1.5, 0, 0.5, 0, 1.0, 0.5]
    assert classes.range_mpa.tolist() == list(range(1, 10))
    assert classes.count.sum() == cycles.total_count


def test_upper_edges_never_lose_damage_and_the_error_estimate_holds() -> None:
    cycles = rainflow(np.random.default_rng(3).normal(size=4000) * 40.0)
    exact = damage_of_cycles(cycles, LINE).damage
    edges = equal_edges(0.0, float(cycles.range_mpa.max()), 40)
    upper = range_classes(cycles, edges)
    middle = range_classes(cycles, edges, representative="middle")
    assert damage_sum(upper.range_mpa, upper.count, LINE).damage >= exact
    change = damage_sum(middle.range_mpa, middle.count, LINE).damage / exact - 1.0
    assert abs(change) < 3.0 * middle.classing_error
    assert middle.classing_error < 0.01
    wide = range_classes(cycles, equal_edges(0.0, 400.0, 8), representative="middle", slope=5.0)
    assert {f.code for f in wide.findings} == {"classes-too-wide"}


def test_classing_error_of_evenly_spread_ranges() -> None:
    width, middle, slope = 2.0, 20.0, 5.0
    spread = np.linspace(middle - 1.0, middle + 1.0, 100_001)
    relative = float((spread**slope).mean() / middle**slope) - 1.0
    assert classing_error([middle], [1.0], [width], slope) == pytest.approx(relative, rel=2e-3)
    assert classing_error([middle], [0.0], [width], slope) == 0.0


def test_exceedance_curve_and_share_by_class() -> None:
    ranges, count = exceedance_curve(rainflow(EXAMPLE, "half"))
    assert ranges.tolist() == [9.0, 8.0, 6.0, 4.0, 3.0]
    assert count.tolist() == [0.5, 1.5, 2.0, 3.5, 4.0]
    share = damage_by_class(rainflow(EXAMPLE, "half"), LINE, [0.0, 4.0, 9.0])
    assert share.tolist() == pytest.approx([(0.5 * 27 + 1.5 * 64) / 1094, 1 - (0.5 * 27 + 1.5 * 64) / 1094])
    assert damage_by_class(rainflow(EXAMPLE), EN_71, [0.0, 9.0]).tolist() == [0.0]
    assert exceedance_curve(rainflow([1.0]))[0].size == 0


@pytest.mark.parametrize("edges", [[0.0], [0.0, 0.0, 9.0], [0.0, np.nan], [0.0, 8.0], [3.5, 9.0]])
def test_bad_edges(edges: list[float]) -> None:
    with pytest.raises(InputError) as caught:
        range_classes(rainflow(EXAMPLE), edges)
    assert caught.value.path == ("range_edges_mpa",)


def test_at_least_one_class() -> None:
    with pytest.raises(InputError):
        equal_edges(0.0, 1.0, 0)


@given(st.lists(st.integers(-5, 5).map(float), min_size=1, max_size=40))
def test_level_crossings_by_walking(history: list[float]) -> None:
    levels = np.arange(-5.5, 6.0, 0.5)
    expected = [
        sum(
            (a < level <= b) if level >= 0.0 else (a > level >= b)
            for a, b in zip(history, history[1:], strict=False)  # noqa: RUF007
        )
        for level in levels
    ]
    assert level_crossings(history, levels).tolist() == expected


def test_peaks_about_another_reference() -> None:
    found = peak_count([0.0, 5.0, 3.0, 6.0, 1.0], reference_mpa=4.0)
    assert found.maxima_mpa.tolist() == [6.0, 5.0]
    assert found.minima_mpa.tolist() == [3.0]
    assert found.range_mpa.tolist() == [3.0, 1.0]
    assert peak_count([1.0]).range_mpa.size == 0


def test_planes() -> None:
    assert plane_normal_stress([2.0], [0.0], 90.0)[0] == pytest.approx(0.0, abs=1e-15)
    assert largest_principal([0.0, 3.0], [2.0, 0.0]).tolist() == [2.0, 3.0]
    assert plane_ranges([0.0, 1.0], [0.0, 0.0], [0.0, 45.0]).tolist() == pytest.approx([1.0, 0.5])
    angle, size = worst_plane([0.0, 0.0], [-1.0, 1.0], 5.0)
    assert (abs(angle), size) == (45.0, pytest.approx(2.0))
    with pytest.raises(InputError):
        largest_principal([[1.0]], [[1.0]])
    with pytest.raises(InputError):
        largest_principal([1.0], [1.0, 2.0])


def test_mean_stress_correction_that_there_is_not_is_refused() -> None:
    cycles = rainflow(100.0 * np.array(EXAMPLE))
    assert correction_of_cycles("none", cycles) is None
    with pytest.raises(InputError, match="'all-of-it'") as caught:
        correction_of_cycles("all-of-it", cycles)  # type: ignore[arg-type]
    assert caught.value.path == ("mean_stress",)

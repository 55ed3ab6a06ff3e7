"""Frame, smoothing, weights, equivalent stress and biaxiality of the peak stress method."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.spatial.transform import Rotation

from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.stress import tensor
from fatcore.stress.materials import control_radius_of, material_findings, material_names
from fatcore.stress.mean_stress import mean_stress_coefficient, mean_stress_findings
from fatcore.stress.modes import MODES
from fatcore.stress.peak import equivalent as peak
from fatcore.stress.peak.calibration import calibrate_element
from fatcore.stress.peak.elements import ELEMENTS, choose_constant, constant_findings, element_constants
from fatcore.stress.peak.equivalent import _NO_OPENING
from fatcore.stress.peak.line_evaluation import evaluate_line, mean_stress_factors, peaks_from_tensors
from fatcore.stress.peak.peak_weights import PeakWeights, peak_weights
from fatcore.stress.weld_lines.frame import frame_findings, local_normal, moving_average, peak_components

STRESS = st.floats(-500.0, 500.0).map(lambda value: round(value, 6))  # denormal numbers are no stresses
TANGENT, BISECTOR = np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 1.0, 0.0]])


def weights(**changes: object) -> PeakWeights:
    given_values = {
        "opening_angle_deg": 0.0,
        "element": "tet10",
        "element_size_mm": 1.0,
        "notch_size_mm": 5.0,
    }
    return peak_weights(**{**given_values, **changes})  # type: ignore[arg-type]


def codes(outcome: PeakWeights, severity: str) -> list[str]:
    return [finding.code for finding in outcome.findings if finding.severity == severity]


# frame


def test_components_are_read_along_the_axes_of_the_frame() -> None:
    # normal = x cross y = z: opening zz, sliding yz, tearing zx
    found = peak_components([[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]], TANGENT, BISECTOR)
    assert found.tolist() == [[3.0, 5.0, 6.0]]
    assert local_normal(TANGENT, BISECTOR).tolist() == [[0.0, 0.0, 1.0]]


def test_reversed_line_keeps_opening_and_turns_sliding() -> None:
    stress = [[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]]
    assert peak_components(stress, -TANGENT, BISECTOR).tolist() == [[3.0, -5.0, 6.0]]


@given(arrays(np.float64, (4, 6), elements=STRESS), st.integers(0, 10_000))
def test_peaks_do_not_depend_on_the_global_frame(stress: np.ndarray, seed: int) -> None:
    turns = Rotation.random(5, rng=np.random.default_rng(seed)).as_matrix()
    tangent, bisector = np.array([turns[i, 0] for i in range(4)]), np.array([turns[i, 1] for i in range(4)])
    expected = peak_components(stress, tangent, bisector)
    axes = turns[4]
    turned = peak_components(tensor.rotate(stress, axes), tangent @ axes.T, bisector @ axes.T)
    assert turned == pytest.approx(expected, abs=1e-9)


def test_length_of_the_vectors_does_not_matter() -> None:
    stress = np.arange(6.0)[None, :]
    long = peak_components(stress, 1e150 * TANGENT, 1e-150 * BISECTOR)
    assert long == pytest.approx(peak_components(stress, TANGENT, BISECTOR))


def test_bisector_slightly_off_is_turned_into_the_plane_with_a_caution() -> None:
    tilted = BISECTOR + np.tan(np.radians(3.0)) * TANGENT
    stress = [[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]]
    assert peak_components(stress, TANGENT, tilted)[0] == pytest.approx([3.0, 5.0, 6.0])
    found = frame_findings(TANGENT, tilted)
    assert [(finding.code, finding.severity) for finding in found] == [("frame-not-square", "caution")]
    assert frame_findings(TANGENT, BISECTOR + 0.001 * TANGENT) == ()


@pytest.mark.parametrize(
    ("stress", "tangent", "bisector", "name"),
    [
        ([[1.0] * 6], TANGENT, BISECTOR + 0.3 * TANGENT, "bisector"),
        ([[1.0] * 6], 0.0 * TANGENT, BISECTOR, "tangent"),
        ([[1.0] * 6], TANGENT, TANGENT, "bisector"),
        ([[1.0] * 6], TANGENT, np.ones((2, 3)), "bisector"),
        ([[1.0] * 6] * 2, TANGENT, BISECTOR, "tensors_mpa"),
        ([[1.0] * 5], TANGENT, BISECTOR, "tensors_mpa"),
        ([[np.nan] * 6], TANGENT, BISECTOR, "tensors_mpa"),
        ([[1.0] * 6], [1.0, 0.0, 0.0], BISECTOR, "tangent"),
        (np.empty((0, 6)), np.empty((0, 3)), np.empty((0, 3)), "tangent"),
    ],
)
def test_frames_that_cannot_be_used_are_refused(stress: object, tangent: object, bisector: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        peak_components(stress, tangent, bisector)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


# moving mean


def test_open_line_takes_two_nodes_at_its_ends() -> None:
    assert moving_average([3.0, 6.0, 0.0, 9.0], closed=False).tolist() == [4.5, 3.0, 5.0, 4.5]


def test_closed_line_has_no_ends() -> None:
    assert moving_average([3.0, 6.0, 0.0, 9.0], closed=True).tolist() == [6.0, 3.0, 5.0, 4.0]


@given(arrays(np.float64, st.tuples(st.integers(3, 20), st.just(3)), elements=STRESS), st.integers(0, 19))
def test_closed_line_may_start_anywhere(peaks: np.ndarray, shift: int) -> None:
    moved = moving_average(np.roll(peaks, shift, axis=0), closed=True)
    assert moved == pytest.approx(np.roll(moving_average(peaks, closed=True), shift, axis=0), abs=1e-9)
    assert moved.mean(axis=0) == pytest.approx(peaks.mean(axis=0), abs=1e-9)


@given(arrays(np.float64, st.integers(1, 20), elements=STRESS))
def test_open_line_may_be_walked_either_way(peaks: np.ndarray) -> None:
    there = moving_average(peaks, closed=False)
    assert moving_average(peaks[::-1], closed=False) == pytest.approx(there[::-1], abs=1e-9)


def test_signs_cancel_before_anything_is_squared() -> None:
    assert moving_average([[1.0], [-1.0], [1.0], [-1.0]], closed=False)[0, 0] == 0.0


def test_a_constant_line_stays_as_it_is() -> None:
    assert moving_average(np.full((7, 3), 4.0), closed=False) == pytest.approx(np.full((7, 3), 4.0))


@pytest.mark.parametrize(("peaks", "closed"), [([], False), (1.0, False), ([1.0, 2.0], True), ([np.inf], False)])
def test_lines_that_are_none_are_refused(peaks: object, closed: bool) -> None:
    with pytest.raises(InputError):
        moving_average(peaks, closed)  # type: ignore[arg-type]


# weights


def test_weights_rise_with_the_element_as_the_singularity_falls() -> None:
    for angle, modes in ((0.0, ("opening", "sliding", "tearing")), (135.0, ("opening", "tearing"))):
        one, two = (weights(opening_angle_deg=angle, element_size_mm=d, notch_size_mm=50.0) for d in (1.0, 2.0))
        for mode in modes:
            power = np.log2(getattr(two, mode) / getattr(one, mode))
            assert power == pytest.approx(1.0 - getattr(one.eigenvalues, mode), rel=1e-12)


def test_weight_of_one_at_the_size_where_peak_and_equivalent_agree() -> None:
    found = weights(element="own", constants={"opening": 1.0, "sliding": 1.0, "tearing": 1.0}, element_size_mm=0.28)
    plane = np.sqrt(2.0 / (1.0 - 0.3**2))
    assert found.as_array() == pytest.approx(plane * np.sqrt(found.energy_coefficients.as_array()), rel=1e-12)


def test_sliding_is_left_out_where_it_is_not_singular() -> None:
    toe = weights(opening_angle_deg=135.0)
    assert toe.sliding is None
    assert toe.constants.sliding is None
    assert toe.as_array()[1] == 0.0
    assert "sliding-not-singular" in codes(toe, "note")


def test_scatter_of_every_constant_is_shown() -> None:
    shown = [finding for finding in weights().findings if finding.code == "element-constant"]
    assert [(f.field, f.value, f.severity) for f in shown] == [
        ("opening", 1.05, "caution"),
        ("sliding", 1.63, "caution"),
        ("tearing", 1.37, "caution"),
    ]
    assert (shown[0].low, shown[0].high) == pytest.approx((1.05 * 0.85, 1.05 * 1.15))
    assert "doubtful" in shown[1].message
    assert "1.01" in shown[0].message


def test_coarse_mesh_is_outside_per_mode() -> None:
    found = weights(element="quad4", element_size_mm=1.0, notch_size_mm=10.0)
    coarse = {f.field: (f.value, f.low) for f in found.findings if f.code == "mesh-too-coarse"}
    assert coarse == {"sliding": (10.0, 14.0), "tearing": (10.0, 12.0)}


@pytest.mark.parametrize(
    ("element", "angle", "least"),
    [
        ("quad4", 0.0, {"opening": 3.0, "sliding": 14.0, "tearing": 12.0}),
        ("quad4", 135.0, {"opening": 3.0, "tearing": 3.0}),
        ("quad4", 90.0, {"tearing": 12.0}),
        ("tet10", 0.0, {"opening": 3.0, "sliding": 1.0, "tearing": 3.0}),
        ("tet10", 90.0, {"opening": 1.0, "sliding": 1.0, "tearing": 3.0}),
        ("tet10", 135.0, {"opening": 1.0, "tearing": 3.0}),
        ("tet4", 0.0, {"opening": 5.0, "sliding": 5.0, "tearing": 5.0}),
    ],
)
def test_least_size_ratio_by_element_mode_and_angle(element: str, angle: float, least: dict[str, float]) -> None:
    for mode, ratio in least.items():
        assert choose_constant(element, mode, angle).least_size_ratio(angle) == ratio  # type: ignore[arg-type]


def test_size_ratio_at_its_limit_is_fine_enough() -> None:
    assert codes(weights(element_size_mm=0.1, notch_size_mm=0.3), "outside") == []
    assert "mesh-too-coarse" in codes(weights(element_size_mm=0.1, notch_size_mm=0.2999), "outside")


def test_mesh_without_reference_length_is_said_to_be_unchecked() -> None:
    assert "mesh-unchecked" in codes(weights(notch_size_mm=None), "caution")
    own = weights(element="own", constants={"opening": 1.0, "sliding": 1.0, "tearing": 1.0})
    assert "mesh-unchecked" in codes(own, "caution")


@pytest.mark.parametrize(
    ("angle", "mode", "value"),
    [
        (90.0, "opening", 1.05),
        (90.1, "opening", 1.21),  # between the ranges: the larger
        (119.9, "opening", 1.21),
        (120.0, "opening", 1.21),
        (140.0, "opening", 1.21),  # beyond the last: the nearest
        (45.0, "sliding", 2.65),
        (95.0, "sliding", 2.65),
        (135.0000000001, "tearing", 1.70),
    ],
)
def test_constant_by_angle(angle: float, mode: str, value: float) -> None:
    entry = choose_constant("tet10", mode, angle)  # type: ignore[arg-type]
    assert entry.constant == value
    severities = [finding.severity for finding in constant_findings(entry, "tet10", angle)]
    inside = angle in (90.0, 120.0, 135.0000000001) and mode != "sliding"
    assert severities == (["caution"] if inside else ["caution", "outside"])


def test_every_element_has_a_constant_for_every_mode() -> None:
    for element in ("quad4", "brick8", "tet10", "tet4"):
        for mode in ("opening", "sliding", "tearing"):
            entries = element_constants(element, mode)  # type: ignore[arg-type]
            assert entries
            assert all(entry.constant > 0.0 and entry.scatter_pct > 0.0 for entry in entries)
    assert element_constants("quad4", "opening") == element_constants("brick8", "opening")


def test_own_constant_replaces_the_published_one_of_its_mode() -> None:
    base, own = weights(), weights(constants={"opening": 2.1, "sliding": None})
    assert own.opening == pytest.approx(2.0 * base.opening)
    assert own.sliding == base.sliding
    assert codes(own, "caution").count("own-constant") == 1
    assert "stress/element_constants" in own.tables
    full = weights(constants={"opening": 1.0, "sliding": 1.0, "tearing": 1.0})
    assert codes(full, "outside").count("own-constant-below-scatter") == 2  # 1 is within the scatter of 1.05


def test_coefficients_are_named_in_the_result() -> None:
    assert "exact-coefficients" in codes(weights(), "note")
    fitted = weights(coefficients="published-fit")
    assert "published-fit-coefficients" in codes(fitted, "note")
    assert fitted.energy_coefficients.as_array().tolist() == [0.133, 0.34, 0.414]
    with pytest.raises(NotCoveredError):
        weights(coefficients="published-fit", poisson_ratio=0.25)


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"opening_angle_deg": 180.0}, ("opening_angle_deg",)),
        ({"element_size_mm": 0.0}, ("element_size_mm",)),
        ({"notch_size_mm": -1.0}, ("notch_size_mm",)),
        ({"control_radius_mm": 0.0}, ("control_radius_mm",)),
        ({"poisson_ratio": 0.6}, ("poisson_ratio",)),
        ({"element": "hex27"}, ("element",)),
        ({"element": "own"}, ("constants", "opening")),
        ({"constants": {"opening": 0.0}}, ("constants", "opening")),
        ({"constants": {"bending": 1.0}}, ("constants", "bending")),
        ({"coefficients": "guess"}, ("coefficients",)),
    ],
)
def test_weights_refuse(changes: dict[str, object], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        weights(**changes)
    assert caught.value.path == path


def test_unknown_element_lists_the_known_ones() -> None:
    with pytest.raises(UnknownError, match="tet10"):
        element_constants("hex27", "opening")


# equivalent stress and ratio


@given(arrays(np.float64, (5, 3), elements=STRESS), arrays(np.float64, (5, 3), elements=st.floats(0.5, 3.0)))
def test_equivalent_and_ratio_by_their_formulas(ranges: np.ndarray, factors: np.ndarray) -> None:
    f = np.array([1.1, 3.2, 2.0])
    energy = factors * (f * ranges) ** 2
    assert peak.equivalent_peak_stress(f, ranges, factors) == pytest.approx(np.sqrt(energy.sum(axis=1)))
    ratio = peak.biaxiality_ratio(f, ranges, factors)
    some = energy[:, 0] > _NO_OPENING**2 * energy.sum(axis=1)  # what rounding leaves of an opening stress is none
    assert ratio[some] == pytest.approx((energy[some, 1] + energy[some, 2]) / energy[some, 0])
    assert np.isinf(ratio[~some]).all()


@settings(max_examples=20)
@given(arrays(np.float64, (6, 3), elements=st.floats(1.0, 400.0)), st.floats(0.1, 10.0))
def test_scaling_and_signs(ranges: np.ndarray, factor: float) -> None:
    f = [1.1, 3.2, 2.0]
    base = peak.equivalent_peak_stress(f, ranges)
    assert peak.equivalent_peak_stress(f, -factor * ranges) == pytest.approx(factor * base)
    assert peak.biaxiality_ratio(f, factor * ranges) == pytest.approx(peak.biaxiality_ratio(f, -ranges))


def test_common_coefficient_leaves_the_ratio() -> None:
    ranges = np.array([[10.0, 4.0, 3.0]])
    plain = peak.biaxiality_ratio([1.0, 2.0, 3.0], ranges)
    assert peak.biaxiality_ratio([1.0, 2.0, 3.0], ranges, [0.7, 0.7, 0.7]) == pytest.approx(plain)


def test_blocks_make_no_difference() -> None:
    ranges = np.random.default_rng(7).normal(size=(20_001, 3))
    f = np.array([1.1, 3.2, 2.0])
    expected = np.sqrt(((f * ranges) ** 2).sum(axis=1))
    assert peak.equivalent_peak_stress(f, ranges) == pytest.approx(expected, rel=1e-14)
    shaped = peak.equivalent_peak_stress(f, ranges[:20_000].reshape(10, 2000, 3), [1.0, 1.0, 1.0])
    assert shaped.ravel() == pytest.approx(expected[:20_000], rel=1e-14)


def test_one_station_without_opening() -> None:
    assert peak.equivalent_peak_stress([1.0, 1.0, 1.0], [0.0, 3.0, 4.0]) == 5.0
    assert np.isinf(peak.biaxiality_ratio([1.0, 1.0, 1.0], [0.0, 0.0, 0.0]))


@pytest.mark.parametrize(
    ("f", "ranges", "factors", "name"),
    [
        ([1.0, 1.0], [1.0, 1.0, 1.0], None, "weights"),
        ([1.0, -1.0, 1.0], [1.0, 1.0, 1.0], None, "weights"),
        ([1.0, 1.0, 1.0], [1.0, 1.0], None, "ranges_mpa"),
        ([1.0, 1.0, 1.0], [np.nan, 1.0, 1.0], None, "ranges_mpa"),
        ([1.0, 1.0, 1.0], [1e200, 1.0, 1.0], None, "ranges_mpa"),
        ([1.0, 1.0, 1.0], [1.0, 1.0, 1.0], [-1.0, 1.0, 1.0], "coefficients_cw"),
        ([1.0, 1.0, 1.0], [[1.0, 1.0, 1.0]], [1.0, 1.0], "coefficients_cw"),
    ],
)
def test_equivalent_stress_refuses(f: object, ranges: object, factors: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        peak.equivalent_peak_stress(f, ranges, factors)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


# mean stress


@given(st.floats(-1e6, 1e6).filter(lambda r: abs(r) > 1e-6 and r != 1.0))
def test_coefficient_is_the_same_for_the_inverse_ratio(ratio: float) -> None:
    there, back = mean_stress_coefficient([ratio, 1.0 / ratio])
    assert there == pytest.approx(back, rel=1e-6)
    assert there >= 0.5


@given(st.floats(-400.0, 400.0), st.floats(-400.0, 400.0))
def test_coefficient_weighs_the_energies_of_both_ends(high: float, low: float) -> None:
    if high <= low or abs(high) < 1e-3 or high - low < 1e-2:
        return
    energy = abs(high**2 - low**2) if high * low > 0.0 else high**2 + low**2
    ratio = low / high
    assert float(mean_stress_coefficient(ratio)) * (high - low) ** 2 == pytest.approx(energy, rel=1e-6, abs=1e-6)


def test_coefficient_at_the_seams() -> None:
    found = mean_stress_coefficient([0.0, -1e-12, 1e-12, np.inf, -np.inf, 1.0])
    assert found == pytest.approx([1.0, 1.0, 1.0, 1.0, 1.0, 1.0])


def test_ratio_beyond_the_published_range_is_outside_for_opening_only() -> None:
    found = mean_stress_findings([-1.5, -1.0, 0.5, -np.inf])
    assert [(f.severity, f.count, f.low, f.high) for f in found] == [("outside", 2, -1.0, 1.0)]
    assert mean_stress_findings([-1.0, 0.99]) == ()
    assert mean_stress_findings([-5.0], mode="tearing") == ()


def test_a_ratio_must_be_a_number() -> None:
    with pytest.raises(InputError):
        mean_stress_coefficient([0.1, np.nan])


# a whole line


def test_line_as_welded() -> None:
    found = evaluate_line(weights(), [[10.0, 0.0, 0.0], [0.0, 5.0, 0.0], [20.0, 1.0, 2.0]])
    assert found.governing_index == 2
    assert found.opening_is_zero.tolist() == [False, True, False]
    assert np.isfinite(found.biaxiality_ratio).all()
    assert found.mean_stress_coefficients.tolist() == [1.0, 1.0, 1.0]


def test_line_stress_relieved_takes_each_mode_with_its_own_ratio() -> None:
    ratios = {"opening": -1.0, "sliding": 0.0, "tearing": 0.5}
    found = evaluate_line(weights(), [[10.0, 3.0, 2.0]], condition="stress-relieved", load_ratios=ratios)
    f = weights().as_array() * np.array([10.0, 3.0, 2.0])
    assert found.equivalent_stress_mpa[0] == pytest.approx(np.sqrt(0.5 * f[0] ** 2 + f[1] ** 2 + 3.0 * f[2] ** 2))
    assert "energy-mean-stress-2004" in found.sources


def test_line_stress_relieved_outside_the_published_ratios() -> None:
    ratios = {"opening": -2.0, "tearing": -2.0}
    toe = weights(opening_angle_deg=135.0)
    found = evaluate_line(toe, [[10.0, 3.0, 2.0]], condition="stress-relieved", load_ratios=ratios)
    outside = [f for f in found.findings if f.code == "load-ratio-outside"]
    assert len(outside) == 1
    assert outside[0].message.startswith("opening mode")


def test_line_says_what_is_not_counted() -> None:
    toe = weights(opening_angle_deg=135.0)
    with_sliding = evaluate_line(toe, [[10.0, 3.0, 2.0]])
    assert "sliding-not-counted" in [f.code for f in with_sliding.findings]
    assert "sliding-not-counted" not in [f.code for f in evaluate_line(toe, [[10.0, 0.0, 2.0]]).findings]


@pytest.mark.parametrize(
    ("peaks", "condition", "ratios", "name"),
    [
        ([[1.0, 2.0]], "as-welded", None, "peaks_mpa"),
        (np.empty((0, 3)), "as-welded", None, "peaks_mpa"),
        ([[1.0, 2.0, 3.0]], "ground", None, "condition"),
        ([[1.0, 2.0, 3.0]], "stress-relieved", None, "load_ratio"),
        ([[1.0, 2.0, 3.0]], "stress-relieved", {"opening": 0.1}, "load_ratio"),
        (
            [[1.0, 2.0, 3.0]],
            "stress-relieved",
            {"opening": 0.1, "sliding": 0.1, "tearing": np.inf},
            "load_ratio",
        ),
    ],
)
def test_line_refuses(peaks: object, condition: str, ratios: dict[str, float] | None, name: str) -> None:
    with pytest.raises(InputError) as caught:
        evaluate_line(weights(), peaks, condition=condition, load_ratios=ratios)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_factors_without_sliding_need_no_ratio_of_it() -> None:
    factors, _ = mean_stress_factors("stress-relieved", {"opening": 0.0, "tearing": 0.5}, with_sliding=False)
    assert factors == pytest.approx([1.0, 1.0, 3.0])


def test_peaks_of_a_line_with_and_without_mean() -> None:
    stress = np.zeros((3, 6))
    stress[:, 2] = [1.0, 2.0, 6.0]
    frame = np.repeat(TANGENT, 3, axis=0), np.repeat(BISECTOR, 3, axis=0)
    raw, silent = peaks_from_tensors(stress, *frame)
    assert raw[:, 0].tolist() == [1.0, 2.0, 6.0]
    assert [finding.code for finding in silent] == ["directions-as-given"]
    mean, found = peaks_from_tensors(stress, *frame, closed=True, average_over=3)
    assert mean[:, 0].tolist() == [3.0, 3.0, 3.0]
    assert [finding.code for finding in found] == ["directions-as-given", "moving-average", "node-above-mean"]
    assert peaks_from_tensors(stress, *frame, average_over=3)[0][:, 0].tolist() == [1.5, 3.0, 4.0]
    with pytest.raises(InputError):
        peaks_from_tensors(stress, *frame, average_over=2)


# materials and calibration


def test_materials_have_published_radii() -> None:
    assert [control_radius_of(name) for name in material_names()] == [0.28, 0.12, 0.1954]
    assert material_findings("aluminium-alloy")[0].source == "control-radius-review-2017"
    with pytest.raises(UnknownError):
        control_radius_of("cast-iron")


def test_calibration_finds_the_constant_that_made_the_peaks() -> None:
    sizes = np.array([0.5, 1.0, 2.0])
    peaks = 300.0 / (1.21 * sizes ** (1.0 - 0.6736))
    found = calibrate_element(intensity_mpa_mm_lambda=300.0, peak_mpa=peaks, element_size_mm=sizes, eigenvalue=0.6736)
    assert found.constant == pytest.approx(1.21, rel=1e-12)
    assert found.scatter_pct == pytest.approx(0.0, abs=1e-9)
    assert found.findings == ()


def test_calibration_states_its_scatter() -> None:
    found = calibrate_element(
        intensity_mpa_mm_lambda=[1.0, 1.1], peak_mpa=[1.0, 1.0], element_size_mm=[1.0, 1.0], eigenvalue=0.5
    )
    assert found.constants.tolist() == [1.0, 1.1]
    assert found.scatter_pct == pytest.approx(100.0 * 0.05 / 1.05)
    assert [finding.code for finding in found.findings] == ["few-meshes"]


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"peak_mpa": [1.0, 0.0]}, "peak_mpa"),
        ({"peak_mpa": [1.0, -1.0]}, "peak_mpa"),
        ({"peak_mpa": [1.0]}, "element_size_mm"),
        ({"element_size_mm": [1.0, 0.0]}, "element_size_mm"),
        ({"intensity_mpa_mm_lambda": [1.0, 1.0, 1.0]}, "intensity_mpa_mm_lambda"),
        ({"eigenvalue": 1.3}, "eigenvalue"),
        ({"peak_mpa": [1e-320, 1.0], "intensity_mpa_mm_lambda": 1e30}, "peak_mpa"),
        ({"peak_mpa": [1e10, 1.0], "intensity_mpa_mm_lambda": 5e-324}, "intensity_mpa_mm_lambda"),
        ({"element_size_mm": [1e30, 1.0], "intensity_mpa_mm_lambda": 1e-310}, "intensity_mpa_mm_lambda"),
    ],
)
def test_calibration_refuses(changes: dict[str, object], name: str) -> None:
    base = {
        "intensity_mpa_mm_lambda": 1.0,
        "peak_mpa": [1.0, 1.0],
        "element_size_mm": [1.0, 2.0],
        "eigenvalue": 0.5,
    }
    with pytest.raises(InputError) as caught:
        calibrate_element(**{**base, **changes})  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_what_is_said_of_a_constant_follows_its_status() -> None:
    said: dict[str, set[str]] = {}
    for element in ELEMENTS:
        for mode in MODES:
            for entry in element_constants(element, mode):
                first = constant_findings(entry, element, entry.low_deg)[0]
                said.setdefault(entry.support, set()).add(first.message)
    words = {"supported": "recomputed", "recalled": "not confirmed", "doubtful": "weakly supported"}
    assert set(said) == set(words)
    for support, messages in said.items():
        for other, word in words.items():
            assert all((word in message) == (other == support) for message in messages), support


def test_stress_relieved_needs_the_load_ratio_of_every_mode_unless_one_is_left_out() -> None:
    with pytest.raises(InputError, match="sliding"):
        mean_stress_factors("stress-relieved", {"opening": 0.0, "tearing": 0.5})

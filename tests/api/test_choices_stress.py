"""Each choice of the stress routes: the answer is the core's for that word, and not that of another word."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress.interaction import combine_crane, combine_en, combine_iiw
from fatcore.stress.notch.constants import notch_constants
from fatcore.stress.notch.energy import energy_from_intensities
from fatcore.stress.notch.fields import eigenvalues
from fatcore.stress.peak.calibration import calibrate_element
from fatcore.stress.peak.line_evaluation import mean_stress_factors
from fatcore.stress.peak.peak_weights import peak_weights
from fatcore.stress.section.joint import SectionLoads, section_stress
from fatcore.stress.structural.hot_spot import hot_spot_from_path, hot_spot_least_squares
from fatcore.stress.structural.linearise import linearise_path
from service.topics.stress.section import SectionRequest
from tests.shapes.corner import corner_of

from .choices import run

SECTION_DEFAULTS = {
    name: field.default for name, field in SectionRequest.model_fields.items() if not field.is_required()
}

OWN = {"opening": 1.4, "sliding": 3.4, "tearing": 1.9}
PEAKS = {"opening": [100.0, 80.0], "tearing": [30.0, 60.0]}
PEAK = {
    "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 8.0},
    "mesh": {"element": "quad4", "element_size_mm": 0.5},
    "peaks_mpa": PEAKS,
}
X = np.linspace(0.0, 24.0, 49)
STRESS = 100.0 + 80.0 * np.exp(-X / 3.0)
PATH = {"thickness_mm": 8.0, "distance_mm": X.tolist(), "stress_mpa": STRESS.tolist()}
REQUESTS = [
    ("POST", "stress/hot-spot", {**PATH, "rule": "least-squares"}),
    ("POST", "stress/peak", {**PEAK, "load_ratio": -0.5, "condition": "stress-relieved"}),
    ("POST", "stress/peak", {**PEAK, "mesh": {"element": "own", "element_size_mm": 0.5, "constants": OWN}}),
    (
        "POST",
        "stress/element-constant",
        {
            "mode": "opening",
            "opening_angle_deg": 90.0,
            "intensity_mpa_mm_lambda": 240.0,
            "peak_mpa": [200.0, 150.0],
            "element_size_mm": [0.5, 1.0],
        },
    ),
]


@pytest.mark.parametrize("element", ["quad4", "brick8", "tet10", "tet4", "own"])
def test_element_takes_its_own_constants(element: str) -> None:
    mesh = {"element": element, "element_size_mm": 0.5} | ({"constants": OWN} if element == "own" else {})
    answer = run("POST", "stress/peak", PEAK | {"mesh": mesh})
    weights = peak_weights(
        opening_angle_deg=135.0,
        element=element,
        element_size_mm=0.5,
        notch_size_mm=8.0,
        constants=OWN if element == "own" else None,
    )
    assert answer["weights"]["opening"] == pytest.approx(weights.opening, rel=1e-12)
    assert answer["constants"]["tearing"] == weights.constants.tearing


def test_elements_differ_but_for_the_brick_and_the_quad() -> None:
    found = {
        element: run("POST", "stress/peak", PEAK | {"mesh": {"element": element, "element_size_mm": 0.5}})["weights"]
        for element in ("quad4", "brick8", "tet10", "tet4")
    }
    assert found["quad4"] == found["brick8"]
    assert len({each["opening"] for each in found.values()}) == 3


@pytest.mark.parametrize("ratio", [-0.5, 0.3])
def test_condition_decides_whether_the_load_ratio_counts(ratio: float) -> None:
    relieved = run("POST", "stress/peak", PEAK | {"condition": "stress-relieved", "load_ratio": ratio})
    welded = run("POST", "stress/peak", PEAK)
    squared = (1.0 + ratio**2) / (1.0 - ratio) ** 2 if ratio < 0.0 else (1.0 + ratio) / (1.0 - ratio)
    share = np.array(relieved["equivalent_stress_mpa"]) / np.array(welded["equivalent_stress_mpa"])
    np.testing.assert_allclose(share, np.sqrt(squared), rtol=1e-12)
    factors, _ = mean_stress_factors("stress-relieved", dict.fromkeys(("opening", "tearing"), ratio), False)
    assert relieved["mean_stress_coefficients"]["opening"] == pytest.approx(factors[0])


@pytest.mark.parametrize("coefficients", ["exact", "published-fit"])
def test_coefficients_are_those_asked_for(coefficients: str) -> None:
    expected = notch_constants(90.0, 0.3, coefficients).energy_coefficients
    asked = {"opening_angle_deg": 90.0, "coefficients": coefficients}
    assert run("GET", "stress/notch-constants", asked)["energy_coefficients"]["opening"] == expected.opening
    answer = run(
        "POST",
        "stress/energy",
        asked
        | {
            "youngs_modulus_mpa": 206000.0,
            "control_radius_mm": 0.28,
            "intensities": {"k1_mpa_mm_lambda": [200.0]},
        },
    )
    energy = energy_from_intensities(
        k1_mpa_mm_lambda=[200.0],
        opening_angle_deg=90.0,
        youngs_modulus_mpa=206000.0,
        poisson_ratio=0.3,
        control_radius_mm=0.28,
        coefficients=coefficients,
    )
    assert answer["energy_density_mj_m3"] == energy.energy_density_mj_m3.tolist()
    notch = PEAK["notch"] | {"opening_angle_deg": 90.0}  # type: ignore[operator]
    peak = run("POST", "stress/peak", PEAK | {"notch": notch, "coefficients": coefficients})
    assert peak["energy_coefficients"]["opening"] == expected.opening


EXTRAPOLATED = {  # IIW 2016, exact weights of the straight line or parabola through the points
    "linear-fine": ([3.2, 8.0], [5.0 / 3.0, -2.0 / 3.0]),
    "linear-coarse": ([4.0, 12.0], [1.5, -0.5]),
    "quadratic": ([3.2, 7.2, 11.2], [2.52, -2.24, 0.72]),
    "fixed-fine": ([4.0, 8.0, 12.0], [3.0, -3.0, 1.0]),
    "fixed-coarse": ([5.0, 15.0], [1.5, -0.5]),
}


@pytest.mark.parametrize("rule", [*EXTRAPOLATED, "least-squares"])
def test_read_out_rule_is_the_one_asked_for(rule: str) -> None:
    request = {name: value for name, value in PATH.items() if name != "thickness_mm" or "fixed" not in rule}
    (found,) = run("POST", "stress/hot-spot", request | {"rule": rule})["hot_spot_stress_mpa"]
    if rule == "least-squares":
        core = hot_spot_least_squares(X, STRESS, 8.0, degree=1, window_low=0.4, window_high=1.5)
        assert found == pytest.approx(float(core.hot_spot_stress_mpa), rel=1e-12)
        return
    points, weights = EXTRAPOLATED[rule]
    assert found == pytest.approx(float(np.interp(points, X, STRESS) @ weights), rel=1e-9)
    core = hot_spot_from_path(X, STRESS, None if "fixed" in rule else 8.0, rule)
    assert found == pytest.approx(float(core.hot_spot_stress_mpa), rel=1e-12)


@pytest.mark.parametrize("degree", [1, 2])
def test_degree_of_the_fit(degree: int) -> None:
    request = PATH | {"rule": "least-squares", "degree": degree}
    (found,) = run("POST", "stress/hot-spot", request)["hot_spot_stress_mpa"]
    window = (X >= 3.2) & (X <= 12.0)
    assert found == pytest.approx(np.polyfit(X[window], STRESS[window], degree)[-1], rel=1e-9)


@pytest.mark.parametrize("integration", ["exact-moment", "trapezoid"])
def test_integration_through_the_thickness(integration: str) -> None:
    depth, stress = [0.0, 2.0, 5.0, 8.0], [200.0, 90.0, -20.0, -60.0]
    asked = {"distance_mm": depth, "stress_mpa": stress, "integration": integration}
    core = linearise_path(depth, stress, integration)
    assert run("POST", "stress/linearise", asked)["bending_mpa"] == pytest.approx(core.bending_mpa, rel=1e-14)
    x, s = np.array(depth), np.array(stress)
    fine = np.linspace(0.0, 8.0, 8001) if integration == "exact-moment" else x
    moment = np.interp(fine, x, s) * (4.0 - fine)
    bending = 6.0 / 64.0 * float(np.sum(0.5 * (moment[1:] + moment[:-1]) * np.diff(fine)))
    assert core.bending_mpa == pytest.approx(bending, rel=1e-6)


def test_form_of_interaction_is_the_one_asked_for() -> None:
    both = {"normal_utilisation": [0.8], "shear_utilisation": [0.7]}
    crane = {"form": "en-13001-3-1", "normal_slope": 4.0, "shear_slope": 6.0}
    expected: list[tuple[dict[str, Any], Any, float]] = [
        ({"form": "en-1993-1-9"}, combine_en([0.8], [0.7]), 0.8**3 + 0.7**5),
        (
            {"form": "iiw-2016", "proportional": True},
            combine_iiw([0.8], [0.7], proportional=True, material="steel"),
            0.8**2 + 0.7**2,
        ),
        (crane, combine_crane([0.8], [0.7], normal_slope=4.0, shear_slope=6.0), 0.8**4 + 0.7**6),
    ]
    for asked, core, written_out in expected:
        (found,) = run("POST", "stress/interaction", both | asked)["interaction_sum"]
        assert found == pytest.approx(written_out, rel=1e-12)
        assert found == pytest.approx(core.interaction_sum[0], rel=1e-14)


@pytest.mark.parametrize(("material", "limit"), [("steel", 0.5), ("aluminium", 1.0)])
def test_material_sets_the_limit_of_stresses_out_of_phase(material: str, limit: float) -> None:
    asked = {
        "form": "iiw-2016",
        "normal_utilisation": [0.6],
        "shear_utilisation": [0.3],
        "proportional": False,
        "material": material,
    }
    (found,) = run("POST", "stress/interaction", asked)["utilisation"]
    assert found == pytest.approx(np.sqrt((0.6**2 + 0.3**2) / limit), rel=1e-12)


@pytest.mark.parametrize("mode", ["opening", "sliding", "tearing"])
def test_own_constant_takes_the_exponent_of_its_mode(mode: str) -> None:
    asked = REQUESTS[3][2] | {"mode": mode}  # type: ignore[operator]
    exponent = getattr(eigenvalues(90.0), mode)
    core = calibrate_element(
        intensity_mpa_mm_lambda=240.0,
        peak_mpa=[200.0, 150.0],
        element_size_mm=[0.5, 1.0],
        eigenvalue=exponent,
    )
    found = run("POST", "stress/element-constant", asked)
    assert found["constant"] == core.constant
    assert found["constants"][0] == pytest.approx(240.0 / (200.0 * 0.5 ** (1.0 - exponent)), rel=1e-12)


@pytest.mark.parametrize("average_over", [1, 3])
def test_peaks_of_tensors_are_averaged_over_as_many_nodes(average_over: int) -> None:
    stress = [100.0, 130.0, 90.0, 120.0, 110.0]
    zero = [0.0] * 5
    asked = {
        "notch": PEAK["notch"],
        "mesh": {"element": "tet10", "element_size_mm": 1.0},
        "tensors_mpa": {"xx": zero, "yy": stress, "zz": zero, "xy": zero, "yz": zero, "zx": zero},
        "tangent": [[1.0, 0.0, 0.0]] * 5,
        "bisector": [[0.0, 0.0, 1.0]] * 5,
        "average_over": average_over,
    }
    found = run("POST", "stress/peak", asked)["peaks_mpa"]["opening"]
    assert found[2] == pytest.approx(np.mean(stress[2 - average_over // 2 : 3 + average_over // 2]), rel=1e-12)


@pytest.mark.parametrize(
    ("ends", "first", "last"), [([], 115.0, 115.0), (["start"], 120.0, 115.0), (["end"], 115.0, 350.0 / 3)]
)
def test_ends_on_a_plane_of_symmetry_are_averaged_with_their_image(ends: list[str], first: float, last: float) -> None:
    stress = [100.0, 130.0, 90.0, 120.0, 110.0]
    zero = [0.0] * 5
    asked = {
        "notch": PEAK["notch"],
        "mesh": {"element": "tet10", "element_size_mm": 1.0},
        "tensors_mpa": {"xx": zero, "yy": stress, "zz": zero, "xy": zero, "yz": zero, "zx": zero},
        "tangent": [[1.0, 0.0, 0.0]] * 5,
        "bisector": [[0.0, 0.0, 1.0]] * 5,
        "average_over": 3,
        "symmetric_ends": ends,
    }
    found = run("POST", "stress/peak", asked)["peaks_mpa"]["opening"]
    assert [found[0], found[-1]] == pytest.approx([first, last])


def test_ends_on_a_plane_belong_to_tensors() -> None:
    with pytest.raises(InputError, match="only with tensors_mpa") as refused:
        run("POST", "stress/peak", {**PEAK, "symmetric_ends": ["start"]})
    assert refused.value.path == ("symmetric_ends",)


ELEMENTS = ("tet4", "tet10", "brick8", "brick20", "wedge6", "wedge15", "pyramid5", "pyramid13")


@pytest.mark.parametrize("element", ELEMENTS)
def test_elements_of_a_mesh_are_of_the_kind_named(element: str) -> None:
    points, cells = corner_of(element)
    blocks = [{"element": element, "nodes": cells.tolist()}]
    (line,) = run("POST", "stress/weld-lines", {"points_mm": points.tolist(), "element_blocks": blocks})["lines"]
    assert line["elements"] == [element]
    assert line["node_id"] == [int(np.flatnonzero((points == [1.0, y, 1.0]).all(axis=1))[0]) for y in range(5)]


def test_section_has_as_many_attachments_as_asked_for() -> None:
    loads = {"attachment_membrane_mpa": 10.0}
    sizes = {
        "attachments": 2,
        "plate_thickness_mm": 8.0,
        "attachment_thickness_mm": 8.0,
        "plate_leg_mm": 5.0,
        "gap_mm": 8.0,
    }
    sizes |= {"control_radius_mm": 0.28}
    found = {}
    for attachments in (1, 2):
        asked = sizes | {"attachments": attachments, "support_span_mm": 80.0 if attachments == 1 else None}
        core = section_stress(**{**SECTION_DEFAULTS, **asked, "loads": SectionLoads(**loads)})
        answer = run("POST", "stress/section", asked | {"loads": loads})
        found[attachments] = [list(each["equivalent_stress_mpa"]) for each in answer["section_points"]]
        assert found[attachments] == [each.equivalent_stress_mpa.tolist() for each in core.section_points]
    assert found[1] != found[2]

"""Answers of the cross-section solver against published formulas of joints, scaling, symmetry, and wrong input."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.intensity.weld.root_gap import geometry_factor
from fatcore.errors import FatcoreError
from fatcore.errors import at as errors_at
from fatcore.stress.notch.energy import energy_from_intensities
from fatcore.stress.section import joint
from fatcore.stress.section._cases import CASES
from fatcore.stress.section._remarks import point_remarks
from fatcore.stress.section.joint import SectionLoads, section_stress
from fatcore.stress.section.results import SectionPoint, SectionStress

JOINT: dict[str, Any] = {
    "attachments": 2,
    "plate_thickness_mm": 12.0,
    "attachment_thickness_mm": 12.0,
    "plate_leg_mm": 8.0,
    "gap_mm": 12.0,
    "control_radius_mm": 0.28,
}
STEEL = {"youngs_modulus_mpa": 206_000.0, "poisson_ratio": 0.3, "control_radius_mm": 0.28}
EVERY = {
    "plate_membrane_mpa": 80.0,
    "plate_bending_mpa": -30.0,
    "attachment_membrane_mpa": 50.0,
    "attachment_bending_mpa": 20.0,
    "attachment_shear_mpa": 10.0,
    "plate_tearing_mpa": 15.0,
    "attachment_tearing_mpa": -25.0,
}


def solve(**changes: Any) -> SectionStress:
    given = {"loads": {"plate_membrane_mpa": 100.0}, **changes}
    with errors_at("loads"):
        loads = SectionLoads(**given.pop("loads"))
    return section_stress(**{**JOINT, **given}, loads=loads)


def at(outcome: SectionStress, location: str) -> SectionPoint:
    return next(point for point in outcome.section_points if point.location == location)


def codes(outcome: SectionStress) -> set[str]:
    return {finding.code for finding in outcome.findings}


def toe_formula(thickness: float, attachment: float, leg: float) -> float:
    """Fatigue Fract. Eng. Mater. Struct. 21 (1998) 1089-1103, from memory: non-load-carrying fillet toe."""
    width = 2.0 * leg / thickness
    factor = 1.212 + 0.495 * np.exp(-0.985 * width)
    return float(factor - 1.259 * np.exp(-1.120 * width - 0.485 * attachment / thickness))


def test_fillet_toe_of_the_published_formula() -> None:
    """The 1998 paper, from memory, for 12 mm, 12 mm, 8 mm at 100 MPa: K1 = 263.52, stress 202.66 MPa."""
    fused, unfused = solve(gap_mm=0.0), solve()
    assert at(fused, "plate-toe").k1_mpa_mm_lambda[0] == pytest.approx(263.52, rel=2e-3)
    assert fused.equivalent_stress_mpa == pytest.approx(202.66, rel=2e-3)
    assert at(unfused, "plate-toe").k1_mpa_mm_lambda[0] == pytest.approx(263.52, rel=1e-2)


@pytest.mark.parametrize(
    ("thickness", "attachment", "leg"),
    [(12, 12, 6), (12, 6, 6), (12, 24, 12), (6, 12, 6), (50, 50, 16), (13, 3, 5), (25, 12, 8)],
)
def test_fillet_toe_in_other_proportions(thickness: float, attachment: float, leg: float) -> None:
    """The same formula, a fit with one power of the thickness: the two differ by up to 4.1 % here."""
    sizes = {
        "attachments": 2,
        "plate_thickness_mm": thickness,
        "attachment_thickness_mm": attachment,
        "plate_leg_mm": leg,
    }
    found = solve(**sizes, gap_mm=0.0, loads={"plate_membrane_mpa": 1.0})
    k1 = at(found, "plate-toe").k1_mpa_mm_lambda[0]
    assert k1 / thickness**0.326417 == pytest.approx(toe_formula(thickness, attachment, leg), rel=0.045)


@pytest.mark.uncounted
@pytest.mark.parametrize("leg_over_thickness", [0.3, 0.5, 0.75, 1.0, 1.2])
@pytest.mark.parametrize("gap", [3.0, 6.0, 10.0])
def test_root_gap_of_the_published_formula(leg_over_thickness: float, gap: float) -> None:
    """J. Struct. Div. ASCE 105 (1979) 1727-1740, from memory; the through plate has twice the thickness.

    The formula has no thickness of that plate: with equal plates the short gaps differ by up to 6 %.
    """
    leg, sizes = (
        10.0 * leg_over_thickness,
        {"attachments": 2, "plate_thickness_mm": 20.0, "attachment_thickness_mm": 10.0},
    )
    found = solve(**sizes, plate_leg_mm=leg, gap_mm=gap, loads={"attachment_membrane_mpa": 1.0})
    factor = at(found, "root").k1_mpa_mm_lambda[0] / np.sqrt(np.pi * gap / 2.0)
    published = float(geometry_factor(gap / (10.0 + 2.0 * leg), leg_over_thickness))
    assert factor == pytest.approx(published, rel=0.03)


def test_meshes_agree_and_sector_energy_confirms_the_intensities() -> None:
    found = solve(loads=EVERY)
    for point in found.section_points:
        assert point.error_pct < 0.3
        assert point.direct_equivalent_stress_mpa == pytest.approx(point.equivalent_stress_mpa, rel=0.08)
    toe = at(solve(gap_mm=0.0), "plate-toe")
    assert toe.direct_equivalent_stress_mpa == pytest.approx(toe.equivalent_stress_mpa, rel=0.005)


@pytest.mark.uncounted
def test_finer_mesh_is_within_the_stated_error(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = solve(loads=EVERY)
    monkeypatch.setattr(joint, "_FINE", 0.2)
    finer = solve(loads=EVERY)
    assert at(solve(gap_mm=0.0), "plate-toe").error_pct == 0.1  # never less, even where the meshes agree better
    for old, new in zip(usual.section_points, finer.section_points, strict=True):
        change = np.abs(old.equivalent_stress_mpa - new.equivalent_stress_mpa).max()
        assert 100.0 * change <= old.error_pct * new.equivalent_stress_mpa.max()


def test_equal_plates_fully_fused_are_alike_turned_by_a_right_angle() -> None:
    found = solve(gap_mm=0.0, loads=dict.fromkeys(CASES, 1.0))
    on_plate = {unit.load: unit for unit in at(found, "plate-toe").unit_loads}
    on_attachment = {unit.load: unit for unit in at(found, "attachment-toe").unit_loads}
    for kind in ("membrane_mpa", "bending_mpa", "tearing_mpa"):
        for here, there in (("plate", "attachment"), ("attachment", "plate")):
            one = on_plate[f"{here}_{kind}"].equivalent_stress_mpa
            assert one == pytest.approx(on_attachment[f"{there}_{kind}"].equivalent_stress_mpa, rel=3e-3)


@pytest.mark.uncounted
@pytest.mark.parametrize("scale", [0.3, 5.0])
def test_intensities_scale_with_size_to_one_minus_lambda(scale: float) -> None:
    small, large = (
        solve(
            attachments=2,
            plate_thickness_mm=12.0 * s,
            attachment_thickness_mm=10.0 * s,
            plate_leg_mm=7.0 * s,
            gap_mm=6.0 * s,
            loads=EVERY,
            control_radius_mm=0.28 * s,
        )
        for s in (1.0, scale)
    )
    for old, new in zip(small.section_points, large.section_points, strict=True):
        for mode, exponent in (("k1", 0.5 if old.location == "root" else 1 - 0.673583), ("k3", None)):
            power = exponent if exponent is not None else (0.5 if old.location == "root" else 0.2)
            name = f"{mode}_mpa_mm_lambda"
            np.testing.assert_allclose(getattr(new, name), getattr(old, name) * scale**power, rtol=1e-5)
        np.testing.assert_allclose(new.equivalent_stress_mpa, old.equivalent_stress_mpa, rtol=1e-6)


def test_loads_superpose_and_corners_follow_by_symmetry() -> None:
    root = at(solve(loads=EVERY), "root")
    unit = {part.load: part for part in root.unit_loads}
    for corner, k1, k3 in zip(root.corners, root.k1_mpa_mm_lambda, root.k3_mpa_mm_lambda, strict=True):
        side = 1.0 if corner.startswith("right") else -1.0
        level = 1.0 if corner.endswith("upper") else -1.0
        sign = dict.fromkeys(CASES, 1.0) | {
            "plate_bending_mpa": level,
            "attachment_bending_mpa": side,
            "attachment_shear_mpa": side,
            "plate_tearing_mpa": side,
            "attachment_tearing_mpa": level,
        }
        assert k1 == pytest.approx(sum(EVERY[n] * sign[n] * unit[n].k1_mpa_mm_lambda for n in CASES))
        assert k3 == pytest.approx(sum(EVERY[n] * sign[n] * unit[n].k3_mpa_mm_lambda for n in CASES))


def test_answer_agrees_with_the_energy_of_its_own_intensities() -> None:
    found = solve(loads=EVERY)
    root = at(found, "root")
    energy = energy_from_intensities(
        root.k1_mpa_mm_lambda,
        root.k2_mpa_mm_lambda,
        root.k3_mpa_mm_lambda,
        opening_angle_deg=0.0,
        youngs_modulus_mpa=206_000.0,
        control_radius_mm=0.28,
    )
    np.testing.assert_allclose(root.equivalent_stress_mpa, energy.equivalent_stress_mpa)
    assert energy.sliding_mj_m3 is not None
    assert energy.tearing_mj_m3 is not None
    ratio = (energy.sliding_mj_m3 + energy.tearing_mj_m3) / energy.opening_mj_m3
    np.testing.assert_allclose(root.biaxiality_ratio, ratio)
    worst = at(found, found.governing_point)
    index = worst.corners.index(found.governing_corner)
    assert found.equivalent_stress_mpa == worst.equivalent_stress_mpa[index]
    assert found.equivalent_stress_mpa == max(p.equivalent_stress_mpa.max() for p in found.section_points)


def test_stress_is_independent_of_the_modulus_and_tearing_alone_has_no_ratio() -> None:
    loads = {"attachment_tearing_mpa": 40.0}
    steel, light = solve(loads=loads), solve(loads=loads, youngs_modulus_mpa=70_000.0)
    assert steel.equivalent_stress_mpa == pytest.approx(light.equivalent_stress_mpa)
    assert np.isinf(at(steel, "root").biaxiality_ratio).all()


def test_wider_supports_add_bending_of_the_plate() -> None:
    """One attachment, pulled: 20 mm more span add a bending moment of P * 20 / 4 to the plate."""
    one = {"attachments": 1, "loads": {"attachment_membrane_mpa": 1.0}}
    near, far = solve(**one, support_span_mm=120.0), solve(**one, support_span_mm=140.0)
    bending = solve(attachments=1, loads={"plate_bending_mpa": 1.0})
    added = 6.0 * (12.0 * 20.0 / 4.0) / 12.0**2
    for location in ("plate-toe", "root"):
        change = at(far, location).k1_mpa_mm_lambda - at(near, location).k1_mpa_mm_lambda
        assert change == pytest.approx(added * at(bending, location).k1_mpa_mm_lambda, rel=2e-3)
    assert "reaction-shared" in codes(near)
    assert at(near, "root").corners == ("right-upper", "left-upper")


def test_what_is_doubtful_is_said() -> None:
    closing = solve()  # pull in the plate closes the gap across it
    assert {"plane-section", "gap-closes", "energy-not-singular"} <= codes(closing)
    opening = solve(loads={"attachment_membrane_mpa": 1.0})
    assert not {"gap-closes", "meshes-differ", "sector-not-meshed"} & codes(opening)
    large = solve(control_radius_mm=20.0)
    assert "sector-not-meshed" in codes(large)
    assert all(point.direct_equivalent_stress_mpa is None for point in large.section_points)
    coarse = dataclasses.replace(at(opening, "root"), error_pct=2.0)
    assert point_remarks(coarse, opening.equivalent_stress_mpa)[0].code == "meshes-differ"
    assert not point_remarks(coarse, 10.0 * opening.equivalent_stress_mpa)


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"attachments": 3}, ("attachments",)),
        ({"plate_thickness_mm": -12.0}, ("plate_thickness_mm",)),
        ({"plate_thickness_mm": float("nan")}, ("plate_thickness_mm",)),
        ({"attachment_thickness_mm": 200.0}, ("attachment_thickness_mm",)),
        ({"plate_leg_mm": 0.0}, ("plate_leg_mm",)),
        ({"plate_leg_mm": 500.0}, ("plate_leg_mm",)),
        ({"attachment_leg_mm": 30.0}, ("attachment_leg_mm",)),
        ({"attachment_leg_mm": -1.0}, ("attachment_leg_mm",)),
        ({"gap_mm": 13.0}, ("gap_mm",)),
        ({"gap_mm": -1.0}, ("gap_mm",)),
        ({"gap_mm": 0.1}, ("gap_mm",)),
        ({"loads": {}}, ("loads",)),
        ({"loads": {"plate_membrane_mpa": 0.0}}, ("loads",)),
        ({"loads": {"plate_membrane_mpa": 1e9}}, ("loads", "plate_membrane_mpa")),
        ({"loads": {"plate_membrane_mpa": 1e-300}}, ("loads", "plate_membrane_mpa")),
        ({"support_span_mm": 100.0}, ("support_span_mm",)),
        ({"attachments": 1, "loads": {"attachment_membrane_mpa": 1.0}}, ("support_span_mm",)),
        (
            {"attachments": 1, "loads": {"attachment_membrane_mpa": 1.0}, "support_span_mm": 30.0},
            ("support_span_mm",),
        ),
        ({"youngs_modulus_mpa": 0.0}, ("youngs_modulus_mpa",)),
        ({"poisson_ratio": 0.5}, ("poisson_ratio",)),
        ({"control_radius_mm": 0.0}, ("control_radius_mm",)),
    ],
)
def test_wrong_input_is_refused_by_name(changes: dict[str, Any], path: tuple[str, ...]) -> None:
    with pytest.raises(FatcoreError) as caught:
        solve(**changes)
    assert caught.value.path == path


@pytest.mark.parametrize("attachments", [1, 2])
def test_last_digits_of_the_sizes_do_not_change_the_mesh(attachments: int) -> None:
    """Another processor may round sines otherwise: no triangle may hang on the last digit."""
    loads = {"plate_bending_mpa": 40.0, "attachment_shear_mpa": 10.0}
    usual, touched = (
        solve(attachments=attachments, plate_thickness_mm=t, attachment_leg_mm=5.0, gap_mm=6.0, loads=loads)
        for t in (8.0, 8.0 * (1.0 + 4e-16))
    )
    for old, new in zip(usual.section_points, touched.section_points, strict=True):
        np.testing.assert_allclose(new.k1_mpa_mm_lambda, old.k1_mpa_mm_lambda, rtol=3e-10)
        assert new.error_pct == old.error_pct


@pytest.mark.parametrize("size", [1e-6, 1.0, 1e3])
def test_stress_of_the_whole_energy_is_as_small_or_large_as_the_loads(size: float) -> None:
    """Equivalent stress with E W = s^2 (1 - nu^2) / 2 of plane strain; energy given for E = 1."""
    response: Any = SimpleNamespace(energy=np.array([[1.0, 0.25], [0.25, 2.0]]))
    factors = size * np.array([[1.0, 0.0], [1.0, -2.0], [0.0, 0.0]])
    energy = size**2 * np.array([1.0, 1.0 - 1.0 + 8.0, 0.0])
    found = joint._direct(response, factors, 0.3)
    assert found == pytest.approx(np.sqrt(2.0 * energy / 0.91), rel=1e-12, abs=0.0)
    below_zero: Any = SimpleNamespace(energy=np.array([[-1e-18]]))  # rounding
    assert joint._direct(below_zero, np.ones((1, 1)), 0.3) == pytest.approx([0.0], abs=0.0)


def test_mesh_error_is_the_largest_change_over_the_corners(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes = {"attachments": 2, "plate_thickness_mm": 10.0, "plate_leg_mm": 6.0}
    pulled = {"attachment_membrane_mpa": 60.0, "attachment_bending_mpa": 25.0, "attachment_tearing_mpa": 15.0}
    fine = solve(**sizes, loads=pulled)
    monkeypatch.setattr(joint, "_FINE", 0.5)
    coarse = solve(**sizes, loads=pulled)
    for new, old in zip(fine.section_points, coarse.section_points, strict=True):
        k1, k3 = (getattr(new, k) - getattr(old, k) for k in ("k1_mpa_mm_lambda", "k3_mpa_mm_lambda"))
        k2 = 0.0 if new.k2_mpa_mm_lambda is None else new.k2_mpa_mm_lambda - old.k2_mpa_mm_lambda
        change = energy_from_intensities(k1, k2, k3, opening_angle_deg=new.opening_angle_deg, **STEEL)
        share = 100.0 * change.equivalent_stress_mpa.max() / new.equivalent_stress_mpa.max()
        assert new.error_pct == pytest.approx(max(share, 0.1), rel=0.06)  # told with two digits
    assert any(point.error_pct > 0.1 for point in fine.section_points)

"""Families of cracks at the ends of their limits, angles and bodies; arguments by role; formulas worked by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.family import Bound, Parameter
from fatcore.cracks.intensity.plate import double_edge, edge, edge_factors, specimens
from fatcore.cracks.intensity.solid import tube
from fatcore.cracks.intensity.weld import toe, toe_detail
from fatcore.errors import InputError, NotCoveredError, UnknownError

UP, DOWN = 1.0 + 1e-6, 1.0 - 1e-6
PLATE: dict[str, Any] = {"half_length_mm": 10.0, "thickness_mm": 100.0}
FORCE: dict[str, Any] = {"width_mm": 100.0, "thickness_mm": 10.0, "force_n": 1e3}


def codes(name: str, size: float, **given: Any) -> set[str]:
    return {each.code for each in FAMILIES[name].intensity(size, **given).findings}


# family, what leads to the ratio, its two ends inside [None: no end], code
LIMITS: list[tuple[str, Any, float | None, float | None, str]] = [
    ("surface", lambda x: (10.0 * x, PLATE), None, 2.0, "aspect-ratio"),
    ("surface", lambda x: (1.0, PLATE | {"half_width_mm": 10.0 / x}), None, 0.5, "relative-width"),
    ("corner", lambda x: (x, {"surface_length_mm": 1.0, "thickness_mm": 10.0}), 0.2, 2.0, "aspect-ratio"),
    ("embedded", lambda x: (x, {"half_length_mm": 1.0, "thickness_mm": 10.0}), 0.2, 1.0, "aspect-ratio"),
    ("edge-free", lambda x: (100.0 * x, {"width_mm": 100.0, "form": "polynomial"}), None, 0.6, "polynomial-alpha"),
    ("edge-clamped", lambda x: (1.0, {"width_mm": 20.0, "free_length_mm": 20.0 * x}), 2.0, None, "length-over-width"),
    ("centre", lambda x: (50.0 * x, {"width_mm": 100.0, "form": "feddersen"}), None, 0.8, "feddersen-alpha"),
    ("double-edge", lambda x: (50.0 * x, {"width_mm": 100.0, "form": "cubic"}), None, 0.7, "cubic-alpha"),
    ("specimen-compact", lambda x: (100.0 * x, FORCE), 0.2, None, "compact-alpha"),
    ("specimen-middle", lambda x: (50.0 * x, FORCE), None, 0.95, "middle-alpha"),
    ("specimen-bend", lambda x: (10.0, FORCE | {"span_mm": 100.0 * x}), 4.0, 4.0, "span-over-width"),
    (
        "tube-axial-surface",
        lambda x: (
            4.0,
            {"half_length_mm": 8.0, "thickness_mm": 10.0, "inner_radius_mm": 10.0 * x, "pressure_mpa": 1.0},
        ),
        4.0,
        10.0,
        "axial-radius-over-thickness",
    ),
    (
        "tube-axial-surface",
        lambda x: (
            10 * x,
            {"half_length_mm": 40.0, "thickness_mm": 10.0, "inner_radius_mm": 60.0, "pressure_mpa": 1.0},
        ),
        None,
        0.8,
        "axial-relative-depth",
    ),
    (
        "tube-axial-through",
        lambda x: (20.0 * x, {"mean_radius_mm": 40.0, "thickness_mm": 10.0, "pressure_mpa": 1.0}),
        None,
        5.0,
        "shell-parameter",
    ),
    (
        "tube-circumferential",
        lambda x: (180.0 * x, {"mean_radius_mm": 60.0, "thickness_mm": 10.0}),
        None,
        0.55,
        "angle-over-pi",
    ),
    (
        "tube-circumferential",
        lambda x: (18.0, {"mean_radius_mm": 10.0 * x, "thickness_mm": 10.0}),
        5.0,
        20.0,
        "radius-over-thickness",
    ),
    ("root-gap", lambda x: (10.0 * x, {"thickness_mm": 10.0, "leg_mm": 5.0}), 0.1, 0.7, "gap-over-width"),
    (
        "root-gap",
        lambda x: (10.0 * x, {"thickness_mm": 10.0, "leg_mm": 10.0 * x}),
        0.2,
        1.2,
        "leg-over-thickness",
    ),
    (
        "surface-at-toe",
        lambda x: (10.0, PLATE | {"half_length_mm": 20.0, "footprint_mm": 100.0 * x, "form": "solid"}),
        0.5,
        2.75,
        "solid-footprint-over-thickness",
    ),
    (
        "surface-at-detail",
        lambda x: (10.0, PLATE | {"detail": "transverse", "weld_height_mm": 100.0 * x, "weld_leg_mm": 50.0}),
        0.2,
        1.0,
        "weld-height-over-thickness",
    ),
    (
        "surface-at-detail",
        lambda x: (10.0, PLATE | {"detail": "cruciform-fillet", "weld_height_mm": 50.0, "weld_leg_mm": 100.0 * x}),
        0.2,
        0.5,
        "fillet-leg-over-thickness",
    ),
]


@pytest.mark.parametrize(("name", "made", "low", "high", "code"), LIMITS)
def test_a_family_says_where_its_source_ends(
    name: str, made: Any, low: float | None, high: float | None, code: str
) -> None:
    for end, inside in ((low, UP), (high, DOWN)):
        if end is None:
            continue
        size, given = made(end * inside if low != high else end)
        assert f"{code}-outside" not in codes(name, size, **given)
        size, given = made(end / inside**2)
        assert f"{code}-outside" in codes(name, size, **given)


@pytest.mark.parametrize(
    ("name", "size", "given", "whole"),
    [
        ("surface", 10.0, {"half_length_mm": 20.0, "thickness_mm": 10.0}, True),
        ("embedded", 5.0, {"half_length_mm": 20.0, "thickness_mm": 10.0}, True),
        ("edge-free", 20.0, {"width_mm": 20.0}, False),
        ("centre", 10.0, {"width_mm": 20.0}, False),
        ("double-edge", 10.0, {"width_mm": 20.0}, False),
        ("specimen-compact", 100.0, FORCE, False),
        ("specimen-middle", 50.0, FORCE, False),
        ("root-gap", 10.0, {"thickness_mm": 10.0, "leg_mm": 5.0}, False),
        ("tube-circumferential", 180.0, {"mean_radius_mm": 60.0, "thickness_mm": 10.0}, False),
    ],
)
def test_a_crack_as_large_as_its_body_is_refused_unless_it_just_goes_through(
    name: str, size: float, given: dict[str, Any], whole: bool
) -> None:
    family = FAMILIES[name]
    family.intensity(size * DOWN, **given)
    for refused in [size] * (not whole) + [size * UP]:
        with pytest.raises(InputError) as caught:
            family.intensity(refused, **given)
        assert caught.value.path == (family.size,)
    if whole:
        family.intensity(size, **given)


def test_a_bound_belongs_to_the_body_or_not() -> None:
    for inclusive, words in ((True, "at most 2"), (False, "below 2")):
        bound = Bound("share", 2.0, inclusive=inclusive)
        bound.check({"share": np.array([1.0, 2.0 - 1e-9])}, "depth_mm")
        bound.check({"other": np.array([9.0])}, "depth_mm")
        if inclusive:
            bound.check({"share": np.array([2.0])}, "depth_mm")
        with pytest.raises(InputError, match=words) as caught:
            bound.check({"share": np.array([1.0, 2.0 + 1e-9 * inclusive])}, "depth_mm")
        assert caught.value.path == ("depth_mm",)


def test_an_argument_is_checked_by_its_role() -> None:
    angle = Parameter("angle_deg", "angle", 90.0)
    assert [float(angle.checked(value)) for value in (0.0, 180.0)] == [0.0, 180.0]
    assert float(Parameter("force_n", "load").checked(-1.0)) == -1.0
    assert Parameter("width_mm", "length", None).checked(None) is None
    assert Parameter("form", "choice", choices=("a", "b")).checked("b") == "b"
    for parameter, wrong in (
        (angle, -1e-9),
        (angle, 180.0 + 1e-9),
        (angle, "x"),
        (angle, None),
        (Parameter("width_mm", "length"), 0.0),
        (Parameter("force_n", "load"), math.inf),
        (Parameter("form", "choice", choices=("a", "b")), "c"),
    ):
        with pytest.raises(InputError) as caught:
            parameter.checked(wrong)
        assert caught.value.path == (parameter.name,)


def test_angles_of_a_corner_end_at_its_side() -> None:
    given = {"surface_length_mm": 1.0, "thickness_mm": 10.0}
    FAMILIES["corner"].intensity(1.0, **given, angle_deg=90.0)
    with pytest.raises(InputError):
        FAMILIES["corner"].intensity(1.0, **given, angle_deg=90.0001)


def test_a_closed_crack_is_named_where_any_size_is_closed() -> None:
    given = {"width_mm": 20.0, "membrane_mpa": [1.0, -1.0]}
    assert "closed-crack" in {f.code for f in FAMILIES["edge-free"].intensity([1.0, 1.0], **given).findings}
    assert "closed-crack" not in codes("edge-free", 1.0, width_mm=20.0, membrane_mpa=0.0)


def test_one_size_without_a_finite_value_is_not_covered() -> None:
    toe_crack = {"half_length_mm": 5.0, "thickness_mm": 10.0, "footprint_mm": 25.0, "form": "solid"}
    with pytest.raises(NotCoveredError) as caught:
        FAMILIES["surface-at-toe"].intensity([2.0, 0.01], **toe_crack, point="surface")
    assert caught.value.path == ("depth_mm",)


def test_a_tube_thinner_than_the_fit_is_refused() -> None:
    for radius, covered in ((20.0, False), (20.0 * UP, True)):
        given = {"mean_radius_mm": radius, "thickness_mm": 10.0}
        if covered:
            FAMILIES["tube-circumferential"].intensity(9.0, **given)
            continue
        with pytest.raises(NotCoveredError) as caught:
            FAMILIES["tube-circumferential"].intensity(9.0, **given)
        assert caught.value.path == ("mean_radius_mm",)


def test_specimens_in_numbers_of_their_standards() -> None:
    """[astm-e647] compact and eccentric at a/W = 0.5, [astm-e399] bend with a span of four widths or another."""
    per_root = 1e3 / (10.0 * 10.0)  # P / (B sqrt(W))
    compact = 2.5 / 0.5**1.5 * (0.886 + 4.64 * 0.5 - 13.32 * 0.25 + 14.72 * 0.125 - 5.6 * 0.0625)
    assert float(specimens.compact(50.0, **FORCE)) == pytest.approx(per_root * compact)
    lead = 1.99 - 0.25 * (2.15 - 3.93 * 0.5 + 2.7 * 0.25)
    bend = 3.0 * math.sqrt(0.5) * lead / (2.0 * 2.0 * 0.5**1.5)
    assert float(specimens.bend(50.0, **FORCE)) == pytest.approx(4.0 * per_root * bend)
    assert float(specimens.bend(50.0, **FORCE, span_mm=800.0)) == pytest.approx(8.0 * per_root * bend)
    middle = math.sqrt(math.pi * 25.0 / math.cos(math.pi / 4.0))
    assert float(specimens.middle(25.0, **FORCE)) == pytest.approx(middle)


def test_double_edge_cracks_by_the_printed_cosine() -> None:
    """[tada-paris-irwin-2000] (1 + 0.122 cos^4) sqrt(tan x / x), x = pi a / W; a quarter of the width."""
    quarter = (1.0 + 0.122 * math.cos(math.pi / 4.0) ** 4) * math.sqrt(4.0 / math.pi)
    found = double_edge.stress_intensity(25.0, width_mm=100.0, membrane_mpa=2.0)
    assert float(found) == pytest.approx(2.0 * quarter * math.sqrt(25.0 * math.pi))


def test_edge_cracks_by_the_printed_forms() -> None:
    """[tada-paris-irwin-2000] at a/W = 0.5: sqrt(tan x / x) / cos x with x = pi / 4."""
    sine = cosine = math.sqrt(0.5)
    root = math.sqrt(4.0 / math.pi)
    pull = root * (0.752 + 2.02 * 0.5 + 0.37 * (1.0 - sine) ** 3) / cosine
    bend = root * (0.923 + 0.199 * (1.0 - sine) ** 4) / cosine
    assert float(edge.tension_free(0.5)) == pytest.approx(pull)
    assert float(edge.bending(0.5)) == pytest.approx(bend)
    both = edge.stress_intensity(10.0, width_mm=20.0, membrane_mpa=3.0, bending_mpa=2.0, form="handbook")
    assert float(both) == pytest.approx((3.0 * pull + 2.0 * bend) * math.sqrt(10.0 * math.pi))
    powers = 1.122 - 0.231 * 0.5 + 10.55 * 0.25 - 21.71 * 0.125 + 30.382 * 0.0625
    assert float(edge.tension_free(0.5, "polynomial")) == pytest.approx(powers)
    with pytest.raises(UnknownError):
        edge_factors.tension(np.array(0.5), "none")


@pytest.mark.parametrize("bad", [-1e-9, 1.0])
def test_factors_of_an_edge_end_with_the_plate(bad: float) -> None:
    for factor in (edge.tension_free, edge.bending, edge.bending_prevented, edge.clamped_long):
        assert np.isfinite(factor(0.0))
        assert np.isfinite(factor(1.0 - 1e-9))
        with pytest.raises(InputError) as caught:
            factor(bad)
        assert caught.value.path == ("alpha",)


def test_tube_cracks_by_the_printed_forms() -> None:
    """[tada-paris-irwin-2000] sqrt(1 + 1.25 l^2) up to 1, then 0.6 + 0.9 l."""
    assert tube.axial_through_factor([0.5, 1.0, 2.0]).tolist() == pytest.approx([math.sqrt(1.3125), 1.5, 2.4])
    # [zahoor-np-6301] A = (0.125 R/t - 0.25)^(1/4) up to 10, (0.4 R/t - 3)^(1/4) beyond
    for slender, level in ((5.0, 0.375), (10.0, 1.0), (10.05, 1.02), (20.0, 5.0)):
        tension, bending = tube.circumferential_factors(0.1, slender)
        low, high = 0.1**1.5, 0.1**4.24
        assert float(tension) == pytest.approx(1.0 + level**0.25 * (5.3303 * low + 18.773 * high))
        assert float(bending) == pytest.approx(1.0 + level**0.25 * (4.5967 * low + 2.6422 * high))


def test_details_of_toes_need_their_dimensions_and_are_held_at_one() -> None:
    weld: dict[str, Any] = {"weld_height_over_thickness": 0.5, "weld_leg_over_thickness": 0.5}
    assert float(toe_detail.detail_magnification("transverse", 1.0, **weld)) == 1.0
    assert toe_detail.needs("transverse") == set(weld)
    assert len(toe_detail.needs("longitudinal")) >= 4
    assert float(toe_detail.detail_magnification("cruciform-fillet", 0.01, **weld)) > 1.0
    with pytest.raises(NotCoveredError):
        toe_detail.detail_magnification("cruciform-fillet", 0.01, **weld | {"weld_height_over_thickness": 0.5 * UP})
    with pytest.raises(InputError, match="needs weld_height_over_thickness, weld_leg_over_thickness") as caught:
        toe_detail.detail_magnification("transverse", 0.01)
    assert caught.value.path == ("weld_height_over_thickness",)
    family = {"half_length_mm": 5.0, "thickness_mm": 10.0, "detail": "transverse"}
    with pytest.raises(InputError, match="needs weld_height_mm") as missing:
        FAMILIES["surface-at-detail"].intensity(1.0, **family, weld_leg_mm=5.0)
    assert missing.value.path == ("weld_height_mm",)


def test_the_plane_form_of_a_toe_by_its_printed_branches() -> None:
    """[jcss-pmc-3] membrane, L/B <= 2: 0.51 (L/B)^0.27 x^-0.31 up to 0.05 (L/B)^0.55, 0.83 x^(-0.15 (L/B)^0.46)."""
    border = 0.05 * 1.0
    near, far = (toe.plane(x, 1.0).membrane for x in (border, border * UP))
    assert float(near) == pytest.approx(0.51 * border**-0.31)
    assert float(far) == pytest.approx(max(0.83 * (border * UP) ** -0.15, 1.0))
    two, long = (toe.plane(0.01, length).membrane for length in (2.0, 2.0 * UP))
    assert float(two) == pytest.approx(0.51 * 2.0**0.27 * 0.01**-0.31)
    assert float(long) == pytest.approx(0.615 * 0.01**-0.31)
    assert toe.surface_point_depth_mm() == 0.15

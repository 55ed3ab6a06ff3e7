"""Weight functions in whole numbers: the lengths of a body, its end, sources, moments of a straight path."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PathProfile, PolynomialProfile
from fatcore.cracks.intensity.weld import toe
from fatcore.errors import InputError, NotCoveredError, UnknownError

EVEN = PolynomialProfile([100.0], 1.0)


@pytest.mark.parametrize(
    ("point", "lengths", "name"),
    [
        ("half-plane", {"thickness_mm": 10.0}, "thickness_mm"),
        ("centre", {"half_length_mm": 10.0}, "half_length_mm"),
        ("edge", {"thickness_mm": 10.0, "half_length_mm": 10.0}, "half_length_mm"),
        ("edge", {"thickness_mm": 10.0, "half_width_mm": 10.0}, "half_width_mm"),
        ("edge", {}, "thickness_mm"),
        ("deepest", {"thickness_mm": 10.0}, "half_length_mm"),
        ("deepest", {"thickness_mm": 10.0, "half_length_mm": [1.0, 2.0, 3.0]}, "half_length_mm"),
        ("deepest", {"thickness_mm": [10.0] * 3, "half_length_mm": 3.0}, "thickness_mm"),
    ],
)
def test_a_weight_function_takes_the_lengths_of_its_body_alone(point: str, lengths: dict[str, Any], name: str) -> None:
    with pytest.raises(InputError) as caught:
        weight.stress_intensity(EVEN, [1.0, 2.0], point=point, **lengths)
    assert caught.value.path == (name,)
    if name not in lengths:
        assert str(caught.value).endswith(f"{name} is needed for this geometry")


def test_a_weight_function_ends_with_its_plate() -> None:
    def found(depth: float, point: str, **lengths: float) -> set[str]:
        return {each.code for each in weight.stress_intensity(EVEN, depth, point=point, **lengths).findings}

    ellipse = {"thickness_mm": 10.0, "half_length_mm": 20.0, "half_width_mm": 50.0}
    assert "deep-crack" in found(10.0, "deepest", **ellipse)
    assert found(8.0, "deepest", **ellipse) == set()
    assert found(2.0, "surface", thickness_mm=10.0, half_length_mm=20.0) == {"wide-plate"}
    assert found(2.0, "centre") == {"wide-plate"}
    assert found(8.0, "edge", thickness_mm=10.0) == set()
    assert found(8.01, "edge", thickness_mm=10.0) == {"edge-alpha-outside"}
    assert "relative-width-outside" in found(2.0, "deepest", **ellipse | {"half_width_mm": 39.0})
    for depth, point, lengths, name in (
        (10.001, "deepest", ellipse, "depth_mm"),
        (10.0, "edge", {"thickness_mm": 10.0}, "depth_mm"),
        (2.0, "deepest", ellipse | {"half_width_mm": 20.0}, "half_length_mm"),
    ):
        with pytest.raises(InputError) as caught:
            found(depth, point, **lengths)
        assert caught.value.path == (name,)


def test_sources_of_a_weight_function_are_those_of_its_point() -> None:
    def sources(point: str, **lengths: float) -> set[str]:
        return set(weight.stress_intensity(EVEN, 1.0, point=point, **lengths).sources)

    assert sources("half-plane") == sources("centre") == {"weight-universal-1991"}
    assert sources("edge", thickness_mm=10.0) == {"weight-universal-1991", "edge-collocation"}
    assert sources("edge-published", thickness_mm=10.0) == {"weight-universal-1991", "weight-edge-1992"}
    assert {"weight-universal-1991", "weight-surface-1991"} < sources(
        "surface", thickness_mm=10.0, half_length_mm=2.0, half_width_mm=20.0
    )


def test_moments_of_a_straight_path_are_those_of_the_polynomial() -> None:
    """Stress 3 - x over 2 mm, then 1: at a depth of 2 mm the polynomial 3 - x, below and beyond a longer path."""
    path, line = PathProfile([0.0, 2.0], [3.0, 1.0]), PolynomialProfile([3.0, -1.0], 1.0)
    depth = np.array([0.5, 2.0])
    assert path.tip_moments(depth) == pytest.approx(line.tip_moments(depth), rel=1e-12)
    assert path.mouth_moments(depth) == pytest.approx(line.mouth_moments(depth), rel=1e-12)
    # half of the crack at 1 from v = 1/2 on: integrals over v of 1/sqrt(v), 1, sqrt(v), v
    step = PathProfile([0.0, 2.0], [3.0, 1.0]).mouth_moments(np.array([4.0]))[1].item()
    assert step == pytest.approx(0.5 * 2.0 + 0.5 * 1.0)
    assert path.reach_mm == 2.0
    assert line.reach_mm == math.inf
    for size in (2.0, 2.01):
        left = {each.code for each in weight.stress_intensity(path, size, point="half-plane").findings}
        assert left == ({"depth-mm-outside"} if size > 2.0 else set())


def test_one_size_without_a_finite_value_is_not_covered() -> None:
    with pytest.raises(NotCoveredError) as caught:
        weight.stress_intensity(PolynomialProfile([1.0, 1e300], 1.0), [1.0, 1e30], point="half-plane")
    assert caught.value.path == ("depth_mm",)


def test_a_length_that_is_not_used_is_refused_with_those_that_are() -> None:
    for point, words in (("half-plane", "no length besides the depth: its body has no end"), ("edge", "thickness_mm")):
        with pytest.raises(InputError, match=f"{point} takes {words}"):
            weight.stress_intensity(EVEN, 1.0, 2.0, point=point)


def test_one_closed_or_floored_or_doubted_size_is_enough_to_say_so() -> None:
    def codes(name: str, sizes: Any, **given: Any) -> set[str]:
        return {each.code for each in FAMILIES[name].intensity(sizes, **given).findings}

    edges = {"width_mm": 20.0, "form": "handbook"}
    assert "handbook-bending-low" in codes("edge-free", [1.0, 2.0], **edges, bending_mpa=[0.0, 10.0])
    assert "handbook-bending-low" not in codes("edge-free", [1.0, 2.0], **edges, membrane_mpa=1.0)
    # [jcss-pmc-3] bending falls to 1 at 0.13 of the plate, membrane at 0.29
    toe_crack = {"half_length_mm": 5.0, "thickness_mm": 10.0, "footprint_mm": 10.0}
    assert "magnification-floor" not in codes("surface-at-toe", 1.0, **toe_crack)
    assert "magnification-floor" in codes("surface-at-toe", 2.0, **toe_crack)
    assert "magnification-floor" in codes("surface-at-toe", [1.0, 2.0], **toe_crack)


@pytest.mark.parametrize(
    ("name", "form", "sources"),
    [
        ("edge-free", "accurate", ("edge-collocation",)),
        ("edge-free", "handbook", ("tada-paris-irwin-2000",)),
        ("edge-free", "polynomial", ("tada-paris-irwin-2000",)),
        ("edge-clamped", "accurate", ("edge-clamped-closed-form", "edge-collocation")),
        ("edge-clamped", "handbook", ("edge-clamped-closed-form", "tada-paris-irwin-2000")),
        ("edge-clamped", "twelve-term", ("bs-8571-2014",)),
        ("centre", "tada", ("tada-paris-irwin-2000",)),
        ("centre", "feddersen", ("feddersen-1966",)),
    ],
)
def test_a_form_names_its_own_sources(name: str, form: str, sources: tuple[str, ...]) -> None:
    given = {"width_mm": 20.0, "form": form} | ({"free_length_mm": 80.0} if name == "edge-clamped" else {})
    assert FAMILIES[name].intensity(2.0, **given).sources == sources


def test_both_forms_of_a_toe_bend_alike_and_differ_under_tension() -> None:
    plane, solid = (toe.front_magnification(1.0, 4.0, 10.0, 15.0, form) for form in ("plane", "solid"))
    deep, shore = toe.plane(0.1, 1.5), toe.plane(0.015, 1.5)  # the surface point as at a depth of 0.15 mm
    assert plane == (deep.membrane, deep.bending, shore.membrane, shore.bending)
    assert (solid.deepest_bending, solid.surface_bending) == (deep.bending, shore.bending)
    assert solid.deepest_tension != plane.deepest_tension
    assert solid.surface_tension != plane.surface_tension
    with pytest.raises(UnknownError) as caught:
        toe.front_magnification(1.0, 4.0, 10.0, 15.0, "other")
    assert caught.value.path == ("form",)

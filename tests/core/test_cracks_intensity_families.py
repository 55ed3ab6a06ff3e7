"""Every family by name: one uniform call, limits as findings, impossible cracks refused with a path."""

from __future__ import annotations

import inspect
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.intensity import families
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.family import REQUIRED
from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weld.toe_detail import DETAILS
from fatcore.errors import FatcoreError, InputError, NotCoveredError, UnknownError
from fatcore.quantities import quantity
from fatcore.sources import source
from fatcore.tables import load

VALUES: dict[str, Any] = {
    "half_length_mm": 5.0,
    "thickness_mm": 10.0,
    "half_width_mm": 50.0,
    "width_mm": 40.0,
    "surface_length_mm": 4.0,
    "free_length_mm": 160.0,
    "force_n": 1e4,
    "inner_radius_mm": 60.0,
    "mean_radius_mm": 100.0,
    "pressure_mpa": 10.0,
    "leg_mm": 6.0,
    "footprint_mm": 25.0,
    "detail": "transverse",
    "weld_height_mm": 6.0,
    "weld_leg_mm": 6.0,
    "membrane_mpa": 100.0,
    "bending_mpa": 10.0,
}
LOADS = ("membrane_mpa", "bending_mpa", "force_n", "pressure_mpa")


def arguments(name: str, **changes: Any) -> dict[str, Any]:
    known = [parameter.name for parameter in FAMILIES[name].parameters]
    return {key: value for key, value in {**VALUES, **changes}.items() if key in known}


@pytest.mark.parametrize("name", FAMILIES)
def test_outcome_equals_the_fast_function(name: str) -> None:
    family = families.family(name)
    outcome = family.intensity([4.0, 4.5], **arguments(name))
    defaults = {p.name: p.default for p in family.parameters if p.name not in VALUES}
    assert np.array_equal(outcome.k_mpa_sqrt_mm, family.k(np.array([4.0, 4.5]), **defaults, **arguments(name)))
    assert (outcome.family, outcome.crack_size_mm.tolist()) == (name, [4.0, 4.5])
    assert np.isfinite(outcome.k_mpa_sqrt_mm).all()


@pytest.mark.parametrize("name", FAMILIES)
def test_intensity_is_linear_in_the_loads(name: str) -> None:
    loads = {key: -3.0 * VALUES[key] for key in LOADS}
    one, other = (FAMILIES[name].intensity(4.0, **arguments(name, **change)) for change in ({}, loads))
    assert other.k_mpa_sqrt_mm == pytest.approx(-3.0 * float(one.k_mpa_sqrt_mm), rel=1e-12)


CHOICES = [
    (name, parameter.name, choice)
    for name, each in FAMILIES.items()
    for parameter in each.parameters
    for choice in (parameter.choices or [None] if parameter.role == "choice" else [])
] + [(name, None, None) for name in FAMILIES]
MORE = {  # what a choice needs besides
    "cruciform-fillet": {"weld_height_mm": 4.0, "weld_leg_mm": 4.0},
    "longitudinal": {"attachment_length_mm": 50.0, "attachment_thickness_mm": 8.0, "toe_angle_deg": 45.0},
}
CHOICES.remove(("surface-at-toe", "point", "surface"))  # its source takes the toe's factor at 0.15 mm, of any plate


@pytest.mark.parametrize(("name", "parameter", "choice"), CHOICES)
@pytest.mark.parametrize(("size", "times"), [(4.5, 4.0), (3.5, 0.3)])
def test_intensity_grows_with_the_root_of_the_size_of_all(
    name: str, parameter: str | None, choice: str | None, size: float, times: float
) -> None:
    """A body twice as large in every length has the root of two times the intensity under the same stress."""
    given = arguments(name) | ({parameter: choice} if parameter else {}) | MORE.get(choice or "", {})
    lengths = {key: times * value for key, value in given.items() if key.endswith("_mm")}
    larger = given | lengths | {key: times**2 * value for key, value in given.items() if key == "force_n"}
    family = FAMILIES[name]
    angle = quantity(family.size).unit == "deg"
    one = family.intensity(size, **given)
    other = family.intensity(size if angle else times * size, **larger)
    assert float(other.k_mpa_sqrt_mm) == pytest.approx(np.sqrt(times) * float(one.k_mpa_sqrt_mm), rel=1e-9)


@pytest.mark.parametrize("name", FAMILIES)
def test_everything_is_registered(name: str) -> None:
    family = FAMILIES[name]
    outcome = family.intensity(4.0, **arguments(name))
    assert outcome.sources
    assert all(source(key) for key in (*outcome.sources, *(limit.source for limit in family.limits)))
    assert all(load(table)["revision"] >= 1 for table in outcome.tables)
    assert all(quantity(item.name).meaning for item in family.parameters)
    assert quantity(family.size).unit in ("mm", "deg")


@pytest.mark.parametrize("name", FAMILIES)
def test_negative_missing_unknown_and_ragged(name: str) -> None:
    family = FAMILIES[name]
    with pytest.raises(InputError) as caught:
        family.intensity(-1.0, **arguments(name))
    assert caught.value.path == (family.size,)
    with pytest.raises(UnknownError):
        family.intensity(4.0, **arguments(name), colour=1.0)
    for parameter in family.parameters:
        if parameter.role == "length" and parameter.name in VALUES:
            with pytest.raises(InputError) as caught:
                family.intensity(4.0, **arguments(name, **{parameter.name: -1.0}))
            assert caught.value.path == (parameter.name,)
    first = next(p.name for p in family.parameters if p.role != "choice")
    with pytest.raises(InputError) as caught:
        family.intensity([4.0, 4.1], **arguments(name, **{first: [VALUES[first]] * 3}))
    assert first in caught.value.path


@pytest.mark.parametrize("name", [n for n in FAMILIES if n not in ("embedded-infinite", "tube-axial-through")])
def test_crack_larger_than_the_body(name: str) -> None:
    with pytest.raises(FatcoreError) as caught:
        FAMILIES[name].intensity(2000.0, **arguments(name, half_length_mm=5000.0, surface_length_mm=2000.0))
    assert caught.value.path == (FAMILIES[name].size,)


def codes(name: str, size: float, **changes: Any) -> list[str]:
    return [finding.code for finding in FAMILIES[name].intensity(size, **arguments(name, **changes)).findings]


@pytest.mark.parametrize(
    ("name", "size", "changes", "expected"),
    [
        ("surface", 2.0, {}, []),
        ("surface", 12.5, {"thickness_mm": 40.0}, ["aspect-ratio-outside"]),
        ("surface", 9.0, {"half_length_mm": 9.0, "membrane_mpa": 0.0}, ["deep-crack", "closed-crack"]),
        ("surface", 2.0, {"half_length_mm": 26.0}, ["relative-width-outside"]),
        (
            "surface",
            8.0,
            {"half_length_mm": 800.0, "half_width_mm": None},
            ["wide-plate", "slender-crack-too-deep"],
        ),
        ("corner", 0.5, {}, ["aspect-ratio-outside"]),
        ("embedded", 0.5, {}, ["aspect-ratio-outside"]),
        ("edge-free", 10.0, {"form": "polynomial"}, []),
        ("edge-free", 30.0, {"form": "polynomial"}, ["polynomial-alpha-outside"]),
        ("edge-free", 10.0, {"form": "handbook"}, ["handbook-bending-low"]),
        ("edge-free", 10.0, {"form": "handbook", "bending_mpa": 0.0}, []),
        ("edge-clamped", 10.0, {"free_length_mm": 40.0}, ["length-over-width-outside"]),
        (
            "edge-clamped",
            10.0,
            {"form": "twelve-term"},
            ["clamped-long-length-outside", "unconfirmed-coefficients"],
        ),
        ("centre", 18.0, {"form": "feddersen"}, ["feddersen-alpha-outside"]),
        ("centre", 18.0, {"width_mm": None}, ["wide-plate"]),
        ("double-edge", 18.0, {"form": "cubic"}, ["cubic-alpha-outside"]),
        ("specimen-compact", 4.0, {}, ["compact-alpha-outside"]),
        ("specimen-middle", 19.5, {}, ["middle-alpha-outside"]),
        ("specimen-bend", 10.0, {"span_mm": 100.0}, ["span-over-width-outside"]),
        ("tube-axial-surface", 9.0, {}, ["axial-aspect-ratio-outside", "axial-relative-depth-outside"]),
        ("tube-axial-through", 200.0, {}, ["shell-parameter-outside"]),
        (
            "tube-circumferential",
            120.0,
            {"mean_radius_mm": 30.0},
            ["angle-over-pi-outside", "radius-over-thickness-outside"],
        ),
        ("root-gap", 9.0, {}, ["gap-over-width-outside"]),
        ("surface-at-toe", 1.0, {"bending_mpa": 0.0}, ["sharp-toe"]),
        ("surface-at-toe", 5.0, {}, ["sharp-toe", "magnification-floor"]),
        (
            "surface-at-toe",
            0.04,
            {"form": "solid", "half_length_mm": 1.0},
            ["solid-relative-depth-outside", "solid-aspect-ratio-outside"],
        ),
        ("surface-at-detail", 1.0, {}, ["sharp-toe", "unconfirmed-coefficients"]),
    ],
)
def test_findings(name: str, size: float, changes: dict[str, Any], expected: list[str]) -> None:
    found = codes(name, size, **changes)
    assert found[: len(expected)] == expected
    assert len(found) == len(expected) or name == "surface-at-toe"


def test_solid_form_tells_that_it_is_unconfirmed() -> None:
    outcome = FAMILIES["surface-at-toe"].intensity(2.0, **arguments("surface-at-toe", form="solid", point="surface"))
    assert "unconfirmed-coefficients" in [finding.code for finding in outcome.findings]
    assert "toe-solid-2000" in outcome.sources


LONG = {
    "attachment_thickness_mm": 10.0,
    "attachment_length_mm": 200.0,
    "width_mm": 40.0,
    "toe_angle_deg": 45.0,
}


def test_details() -> None:
    family = FAMILIES["surface-at-detail"]
    size = {"half_length_mm": 5.0, "thickness_mm": 10.0, "membrane_mpa": 100.0}
    outcome = family.intensity(1.0, detail="longitudinal", **LONG, **size)
    assert [f.code for f in outcome.findings][-1] == "doubtful-length-term"
    fillet = {"detail": "cruciform-fillet", "weld_height_mm": 1.0, "weld_leg_mm": 4.0}
    found = [f.code for f in family.intensity(1.0, **fillet, **size).findings]
    assert found[0] == "fillet-height-over-thickness-outside"
    with pytest.raises(NotCoveredError):
        family.intensity(1.0, **{**fillet, "weld_height_mm": 6.0}, **size)
    with pytest.raises(InputError):
        family.intensity(1.0, detail="transverse", **size)


@pytest.mark.parametrize("miss", [-1e-9, 0.0, 1e-9])
def test_a_long_attachment_is_doubted_beyond_the_length_of_the_table(miss: float) -> None:
    most = load("cracks/intensity_toe_detail")["longitudinal"]["doubtful_length"]
    shape = {**LONG, "attachment_length_mm": 10.0 * most * (1.0 + miss), "thickness_mm": 10.0}
    outcome = FAMILIES["surface-at-detail"].intensity(
        1.0, detail="longitudinal", half_length_mm=5.0, membrane_mpa=100.0, **shape
    )
    messages = [f.message for f in outcome.findings if f.code == "doubtful-length-term"]
    assert [f"beyond {most:g} thicknesses" in message for message in messages] == [True] * (miss > 0.0)


@pytest.mark.parametrize("name", FAMILIES)
def test_what_is_not_given_is_the_same_by_family_and_by_function_and_no_load_is_zero(name: str) -> None:
    plain = inspect.signature(FAMILIES[name].k).parameters
    for each in FAMILIES[name].parameters:
        if each.role == "load" and each.default is not REQUIRED:
            assert each.default == 0.0
        if each.name in plain:
            required = plain[each.name].default is inspect.Parameter.empty
            assert required == (each.default is REQUIRED)
            assert required or plain[each.name].default == each.default


def test_names_and_angles() -> None:
    with pytest.raises(UnknownError):
        families.family("other")
    with pytest.raises(UnknownError) as caught:
        FAMILIES["edge-free"].intensity(1.0, **arguments("edge-free"), form="other")
    assert caught.value.path == ("form",)
    with pytest.raises(InputError) as angle:
        FAMILIES["corner"].intensity(1.0, **arguments("corner"), angle_deg=91.0)
    assert angle.value.path == ("angle_deg",)
    with pytest.raises(NotCoveredError):
        FAMILIES["tube-circumferential"].intensity(9.0, **arguments("tube-circumferential", mean_radius_mm=20.0))
    with pytest.raises(InputError) as missing:
        FAMILIES["edge-free"].intensity(1.0)
    assert missing.value.path == ("width_mm",)


@given(st.floats(0.5, 9.5), st.floats(0.0, 180.0))
def test_surface_family_at_any_angle(depth: float, angle: float) -> None:
    outcome = FAMILIES["surface"].intensity(
        depth, half_length_mm=5.0, thickness_mm=10.0, angle_deg=angle, membrane_mpa=1.0
    )
    y = surface.geometry_factors(depth, 5.0, 10.0, angle_deg=angle)
    assert outcome.k_mpa_sqrt_mm == pytest.approx(float(y.tension) * np.sqrt(np.pi * depth), rel=1e-12)


def test_proportions_without_a_finite_value() -> None:
    with pytest.raises(NotCoveredError) as caught:
        FAMILIES["surface-at-toe"].intensity(0.01, **arguments("surface-at-toe", form="solid", point="surface"))
    assert caught.value.path == ("depth_mm",)


def test_edge_default_is_the_accurate_form() -> None:
    outcome = FAMILIES["edge-free"].intensity(12.0, width_mm=40.0, bending_mpa=1.0)
    assert outcome.k_mpa_sqrt_mm == pytest.approx(float(edge.bending(0.3, "accurate")) * np.sqrt(12.0 * np.pi))
    assert outcome.sources == ("edge-collocation",)


def test_toe_details_are_all_offered() -> None:
    assert DETAILS == ("cruciform-fillet", "k-butt", "longitudinal", "transverse")

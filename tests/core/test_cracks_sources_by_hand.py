"""Where the equations of each family, and the ends of their ranges, were published; tables they read."""

from __future__ import annotations

import math
from typing import Any

import pytest

from fatcore.cracks.configurations.function_crack import FunctionCrack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.fracture.critical_size import find_critical_size
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.weight_function.intensity import LIMITS as WEIGHT_LIMITS
from fatcore.cracks.intensity.weld.toe import LIMITS as SOLID_LIMITS

PLATE = ("newman-raju-1981", "newman-raju-1984")
SOURCES: dict[str, tuple[str, ...]] = {
    "double-edge": ("tada-paris-irwin-2000",),
    "edge-bending-prevented": ("harris-1967",),
    "specimen-compact": ("astm-e647",),
    "specimen-middle": ("astm-e647",),
    "specimen-bend": ("astm-e399",),
    "specimen-eccentric": ("astm-e647",),
    "corner": ("newman-raju-1984",),
    "embedded": ("newman-raju-1984",),
    "embedded-infinite": ("irwin-1962",),
    "surface": PLATE,
    "tube-axial-surface": ("newman-raju-1982", *PLATE),
    "tube-axial-through": ("tada-paris-irwin-2000",),
    "tube-circumferential": ("zahoor-np-6301",),
    "surface-at-toe": (*PLATE, "jcss-pmc-3"),
    "surface-at-detail": (*PLATE, "toe-detail-1993"),
    "root-gap": ("frank-fisher-1979",),
    "centre": (),  # by the form that is chosen
    "edge-free": (),
    "edge-clamped": (),
}
# end of a range -> where it is printed, by the family that speaks of it
ENDS: dict[tuple[str, str], str] = {
    ("centre", "feddersen_alpha"): "feddersen-1966",
    ("double-edge", "cubic_alpha"): "tada-paris-irwin-2000",
    ("edge-free", "polynomial_alpha"): "tada-paris-irwin-2000",
    ("edge-clamped", "clamped_long_alpha"): "bs-8571-2014",
    ("edge-clamped", "clamped_long_length"): "bs-8571-2014",
    ("edge-clamped", "length_over_width"): "edge-clamped-closed-form",
    ("specimen-compact", "compact_alpha"): "astm-e647",
    ("specimen-middle", "middle_alpha"): "astm-e647",
    ("specimen-bend", "span_over_width"): "astm-e399",
    ("corner", "aspect_ratio"): "newman-raju-1984",
    ("corner", "relative_depth"): "newman-raju-1984",
    ("corner", "relative_width"): "newman-raju-1984",
    ("embedded", "aspect_ratio"): "newman-raju-1984",
    ("embedded", "relative_depth"): "newman-raju-1984",
    ("embedded", "relative_width"): "newman-raju-1984",
    ("surface", "aspect_ratio"): "newman-raju-1984",  # beyond a semicircle
    ("surface", "relative_depth"): "newman-raju-1981",
    ("surface", "relative_width"): "newman-raju-1981",
    ("tube-axial-surface", "axial_aspect_ratio"): "newman-raju-1982",
    ("tube-axial-surface", "axial_relative_depth"): "newman-raju-1982",
    ("tube-axial-surface", "axial_radius_over_thickness"): "newman-raju-1982",
    ("tube-circumferential", "angle_over_pi"): "zahoor-np-6301",
    ("tube-circumferential", "radius_over_thickness"): "zahoor-np-6301",
    ("tube-axial-through", "shell_parameter"): "tada-paris-irwin-2000",
    ("surface-at-toe", "solid_relative_depth"): "toe-solid-2000",
    ("surface-at-toe", "solid_aspect_ratio"): "toe-solid-2000",
    ("surface-at-toe", "solid_footprint_over_thickness"): "toe-solid-2000",
    ("surface-at-detail", "toe_angle_deg"): "toe-detail-1993",
    ("root-gap", "leg_over_thickness"): "frank-fisher-1979",
    ("root-gap", "gap_over_width"): "frank-fisher-1979",
}
TABLES: dict[str, set[str]] = {
    "surface": {"surface"},
    "corner": {"corner", "surface"},  # the shape of the ellipse is that of the surface crack
    "embedded": {"embedded", "surface"},
    "embedded-infinite": set(),
    "tube-axial-surface": {"tube", "surface"},
    "surface-at-toe": {"surface", "toe_plane", "toe_solid"},
    "surface-at-detail": {"surface", "toe_detail"},
    "root-gap": {"root_gap"},
    "double-edge": {"double_edge"},
}


def test_every_family_is_here() -> None:
    assert set(SOURCES) == set(FAMILIES)


@pytest.mark.parametrize("name", SOURCES)
def test_a_family_names_where_its_equations_were_published(name: str) -> None:
    assert FAMILIES[name].sources == SOURCES[name]


@pytest.mark.parametrize(("name", "ratio"), ENDS)
def test_the_end_of_a_range_names_where_it_is_printed(name: str, ratio: str) -> None:
    (limit,) = (each for each in FAMILIES[name].limits if each.name == ratio)
    assert limit.source == ENDS[name, ratio]


@pytest.mark.parametrize("name", TABLES)
def test_a_family_names_the_tables_that_it_reads(name: str) -> None:
    assert set(FAMILIES[name].tables) == {f"cracks/intensity_{table}" for table in TABLES[name]}


def test_ends_of_weight_functions_and_of_the_solid_form_name_theirs() -> None:
    assert {limit.source for limit in WEIGHT_LIMITS} == {"weight-edge-1992"}
    assert {limit.source for limit in SOLID_LIMITS} == {"toe-solid-2000"}


def test_cracks_that_grow_name_the_sources_of_their_intensity() -> None:
    surface: dict[str, Any] = {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
    toe = SurfaceCrack(**surface, toe_footprint_mm=15.0)
    assert SurfaceCrack(**surface).sources == PLATE
    assert toe.sources == (*PLATE, "jcss-pmc-3")
    assert toe.tables == ("cracks/intensity_surface", "cracks/intensity_toe_plane")
    assert CentreCrack(half_length_mm=1.0).sources == ("tada-paris-irwin-2000",)
    for form, source in (("accurate", "edge-collocation"), ("handbook", "tada-paris-irwin-2000")):
        assert EdgeCrack(depth_mm=1.0, width_mm=20.0, form=form).sources == (source,)  # type: ignore[arg-type]
    table = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 2.0], {"opening": [1.0, 2.0]}))
    assert (table.sources, table.tables) == (("user-table",), ())
    assert FunctionCrack(crack_size_mm=1.0, largest_mm=2.0, intensity=lambda a: a).sources == ()


@pytest.mark.parametrize("scale", [1.0, 1e-6])
def test_a_critical_size_knows_no_scale_of_stress(scale: float) -> None:
    """Stress, strength, toughness and modulus in another unit: the same size of the unloaded state."""
    strength = Strength(
        yield_strength_mpa=1000.0 * scale,
        ultimate_strength_mpa=1500.0 * scale,
        toughness_mpa_sqrt_mm=2000.0 * scale,
        youngs_modulus_mpa=206000.0 * scale,
    )
    stress = Stress(membrane_mpa=-100.0 * scale, static_membrane_mpa=400.0 * scale)
    found = find_critical_size(CentreCrack(half_length_mm=0.5), stress, strength)
    line = 1.08**-0.5 * (0.3 + 0.7 * math.exp(-0.206 * 0.4**6))  # [bs-7910-2013] at Lr = 0.4, mu = 0.206
    assert found.critical_mm == pytest.approx((line * 2000.0 / 400.0) ** 2 / math.pi, rel=1e-9)
    assert found.load_ratio_to_yield == pytest.approx(0.4)

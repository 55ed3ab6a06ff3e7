"""Tables, families and stress paths of cracks in whole numbers, each rule at its bound."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.function_crack import FunctionCrack, family_crack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import (
    Stress,
    Stressed,
    lasting_stress,
    linear_parts_mpa,
    path_findings,
    residual_doubts,
)
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.errors import InputError, NotCoveredError
from fatcore.findings import Finding

UP, DOWN = 1.0 + 1e-6, 1.0 - 1e-6
ROWS = IntensityTable([1.0, 2.0, 4.1, 20.6], {"opening": [10.0, 20.0, 30.0, 40.0]})
SURFACE: dict[str, Any] = {"depth_mm": 2.0, "half_length_mm": 4.0, "thickness_mm": 10.0, "half_width_mm": 40.0}


def at(*sizes: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array(sizes)


def codes(found: Any) -> list[str]:
    return [each.code for each in found]


def one(found: Any, code: str) -> Finding:
    (finding,) = (each for each in found if each.code == code)
    return finding  # type: ignore[no-any-return]


@pytest.mark.parametrize(
    ("size", "code"),
    [
        (0.5, None),  # before the table: another finding
        (1.0, None),
        (1.5, None),  # twice the size is trusted
        (2.0, None),
        (2.1, "table-coarse"),  # from 2 to 4.1: more than twice
        (4.1, None),
        (4.2, "table-too-coarse"),  # from 4.1 to 20.6: more than five times
        (20.6, None),
        (30.0, None),
    ],
)
def test_rows_that_lie_far_apart_are_doubted_between_them(size: float, code: str | None) -> None:
    found = ROWS.coarse_findings(at(size))
    assert codes(found) == ([code] if code else [])
    if code == "table-coarse":
        assert "at 2 and 4.1 mm, a step of 2.05 times the size, where steps up to 2 are trusted" in found[0].message
    assert codes(ROWS.intensity(size).findings) == (
        [code] if code else ["crack-size-mm-outside"] * (not 1.0 <= size <= 20.6)
    )


def test_the_widest_of_several_steps_is_the_one_named() -> None:
    assert "at 4.1 and 20.6 mm, a step of 5.02" in ROWS.coarse_findings(at(5.0, 2.1))[0].message
    five = IntensityTable([1.0, 5.0, 5.0 * 5.0 * UP], {"opening": [10.0, 20.0, 30.0]})
    assert codes(five.coarse_findings(at(2.0))) == ["table-coarse"]
    assert codes(five.coarse_findings(at(2.0, 6.0))) == ["table-too-coarse"]


@pytest.mark.parametrize(
    ("smallest", "largest", "code"),
    [
        (1.0, 2.0, []),
        (0.5, 2.0, []),
        (1.0, 2.1, ["table-coarse"]),
        (2.0, 4.1, ["table-coarse"]),
        (1.5, 4.2, ["table-too-coarse"]),
        (4.1, 5.0, ["table-too-coarse"]),
        (20.6, 30.0, []),
    ],
)
def test_a_crack_that_passes_such_rows_is_doubted(smallest: float, largest: float, code: list[str]) -> None:
    assert codes(ROWS.grown_findings(smallest, largest)) == code
    crack = TabledCrack(crack_size_mm=1.0, table=ROWS)
    beyond = ["crack-size-mm-outside"] * (smallest < 1.0 or largest > 20.6)
    assert codes(crack.findings(at(smallest, largest), at(smallest, largest))) == [*beyond, *code]


def test_outside_a_table_the_root_of_the_size_and_the_last_tangent_go_on() -> None:
    straight = IntensityTable([1.0, 2.0, 3.0], {"opening": [10.0, 20.0, 30.0], "sliding": [-4.0, -4.0, -4.0]})
    assert straight.k(0.25).item() == pytest.approx(5.0)
    assert straight.k([3.5, 5.0]).tolist() == pytest.approx([35.0, 50.0])
    assert straight.k([0.25, 5.0], "sliding").tolist() == pytest.approx([-2.0, -4.0])
    closed = straight.intensity([1.0, 2.0])
    assert closed.crack_closed is not None
    assert closed.crack_closed.tolist() == [False, False]
    turning = IntensityTable([1.0, 2.0], {"opening": [-1.0, 0.0]}, [0.5, 1.0])
    found = turning.intensity([1.0, 2.0])
    assert found.crack_closed is not None
    assert found.crack_closed.tolist() == [True, False]
    assert turning.aspect([0.5, 1.5, 9.0]).tolist() == pytest.approx([0.5, 0.75, 1.0])
    assert IntensityTable([1.0, 2.0], {"sliding": [1.0, 2.0]}).intensity(1.0).crack_closed is None


def test_aspect_ratios_of_another_count_than_the_sizes_are_refused() -> None:
    with pytest.raises(InputError, match="aspect_ratio has 2 entries where 3 were expected") as refused:
        IntensityTable([1.0, 2.0, 3.0], {"opening": [1.0, 2.0, 3.0]}, [0.5, 1.0])
    assert refused.value.path == ("aspect_ratio",)


def test_one_size_beyond_any_number_is_not_covered() -> None:
    for level in ({}, {"sliding": [1.0, 1.0]}):  # one mode of two is enough
        steep = IntensityTable([1.0, 2.0], {"opening": [0.0, 1e300]} | level)
        with pytest.raises(NotCoveredError) as caught:
            steep.intensity([1.5, 1e30])
        assert caught.value.path == ("crack_size_mm",)


def test_a_table_crack_says_what_it_holds() -> None:
    crack = TabledCrack(crack_size_mm=1.5, table=IntensityTable([1.0, 2.0], {"tearing": [1.0, 2.0]}))
    assert crack.start() == (1.5, 1.5)
    assert crack.largest() == (2.0, math.inf)
    assert crack.modes == ("tearing",)
    near = crack.findings(at(1.5, 2.0 * (1.0 + 1e-10)), at(1.5, 2.0))
    assert codes(near) == []
    assert codes(crack.findings(at(1.5, 2.0 * (1.0 + 1e-8)), at(1.5, 2.0))) == ["crack-size-mm-outside"]


def test_a_crack_given_by_its_intensity_has_no_section_and_sheds_nothing() -> None:
    crack = FunctionCrack(crack_size_mm=1.0, largest_mm=4.0, intensity=lambda a: 100.0 * np.sqrt(a))
    opening, bending = crack.unit_intensity(at(1.0, 4.0), at(1.0, 4.0))
    assert (opening.tolist(), bending.tolist()) == ([[100.0, 200.0]], [[0.0, 0.0]])
    deeper, longer = crack.compliance_derivatives(at(1.0, 4.0), at(1.0, 4.0))
    assert deeper.shape == (3, 2)
    assert not deeper.any()
    assert not longer.any()
    assert crack.largest() == (4.0, math.inf)
    assert crack.findings(at(1.0), at(1.0)) == ()
    for wrong, path in (
        (lambda: crack.section, "sharing"),
        (lambda: crack.lost_area_ratio(at(1.0), at(1.0)), "end"),
    ):
        with pytest.raises(InputError) as caught:
            wrong()
        assert caught.value.path == (path,)


def test_a_family_is_a_crack_of_one_size_by_its_own_names() -> None:
    """K = S sqrt(pi a) of a centre crack in a wide plate."""
    centre = family_crack("centre", 1.0, 4.0, {"membrane_mpa": 100.0})
    assert centre.intensity(at(1.0, 4.0)).tolist() == pytest.approx(
        [100.0 * math.sqrt(math.pi * a) for a in (1.0, 4.0)]
    )
    assert (centre.size_kind, centre.end_sizes) == ("half-length", ("half_length_mm",))
    for field, first, last in (("start_mm", -1.0, 4.0), ("largest_mm", 1.0, -1.0)):
        with pytest.raises(InputError) as caught:
            family_crack("centre", first, last, {"membrane_mpa": 100.0})
        assert caught.value.path == (field,)
    with pytest.raises(InputError) as caught:
        family_crack("centre", 1.0, 4.0, {"membrane_mpa": "a"})
    assert caught.value.path == ("parameters", "membrane_mpa")


@pytest.mark.parametrize(
    ("distance", "stress", "width", "parts"),
    [
        ((0.0, 10.0), (100.0, 100.0), 10.0, (100.0, 0.0)),
        ((0.0, 10.0), (100.0, -100.0), 10.0, (0.0, 100.0)),
        ((0.0, 5.0, 10.0), (100.0, 0.0, -100.0), 10.0, (0.0, 100.0)),
        ((0.0, 10.0), (100.0, 0.0), 20.0, (25.0, 50.0)),  # 500 N/mm with an arm of 20 / 3; the end value goes on
        ((0.0, 20.0), (100.0, -100.0), 10.0, (50.0, 50.0)),  # the rest of the path lies beyond the wall
    ],
)
def test_a_path_has_the_force_and_moment_of_its_parts(
    distance: tuple[float, ...], stress: tuple[float, ...], width: float, parts: tuple[float, float]
) -> None:
    """By a fine sum over the section: force over width, 6 moment over width^2."""
    depth = (np.arange(200_000) + 0.5) * width / 200_000
    value = np.interp(depth, distance, stress)
    fine = value.mean(), 6.0 * (value * (0.5 * width - depth)).mean() / width
    assert linear_parts_mpa(distance, stress, width) == pytest.approx(fine, abs=1e-6)
    assert fine == pytest.approx(parts, abs=1e-6)
    assert Stress(distance_mm=distance, stress_mpa=stress).parts_mpa(width) == pytest.approx(fine, abs=1e-6)


def test_a_stress_is_membrane_and_bending_or_a_path() -> None:
    assert Stress(membrane_mpa=3.0, bending_mpa=4.0).parts_mpa(10.0) == (3.0, 4.0)
    path: dict[str, Any] = {"distance_mm": (0.0, 1.0), "stress_mpa": (1.0, 2.0)}
    for given, name in (
        (path | {"membrane_mpa": 1.0}, "membrane_mpa"),
        (path | {"bending_mpa": 1.0}, "membrane_mpa"),
        ({"element_size_mm": 1.0}, "element_size_mm"),
        ({"distance_mm": (0.0, 1.0), "stress_mpa": (1.0,)}, "stress_mpa"),
        ({"stress_mpa": (1.0, 2.0)}, "distance_mm"),
        ({"distance_mm": (0.0, 1.0)}, "stress_mpa"),
    ):
        with pytest.raises(InputError) as caught:
            Stress(**given)
        assert caught.value.path[0] in (name, "stress_mpa", "distance_mm")
        if name in ("membrane_mpa", "element_size_mm"):
            assert caught.value.path == (name,)
    with pytest.raises(InputError) as caught:
        Stress(distance_mm=(0.0, 2.0, 1.0), stress_mpa=(1.0, 2.0, 3.0))
    assert caught.value.path == ("distance_mm", 2)


def test_a_path_that_ends_before_the_crack_does_leaves_its_limit() -> None:
    short = Stress(distance_mm=(0.0, 5.0), stress_mpa=(1.0, 2.0))
    assert path_findings(Stress(membrane_mpa=1.0), 10.0, 6.0) == ()
    assert codes(path_findings(short, 10.0, 5.0)) == ["path-shorter-than-wall"]
    deep = path_findings(short, 10.0, 6.0)
    assert codes(deep) == ["path-shorter-than-wall", "depth-mm-outside"]
    assert (deep[1].high, deep[1].value) == (5.0, 6.0)


def test_lasting_stress_is_named_where_there_is_any() -> None:
    assert lasting_stress(Stress(membrane_mpa=1.0)) == []
    for given in ({"static_membrane_mpa": 5.0}, {"static_bending_mpa": 5.0}):
        assert codes(lasting_stress(Stress(**given))) == ["lasting-stress"]  # type: ignore[arg-type]
    found = one(lasting_stress(Stress(static_membrane_mpa=5.0, static_bending_mpa=6.0)), "lasting-stress")
    assert "5 MPa membrane and 6 MPa bending" in found.message


def test_residual_stress_is_asked_for_where_something_depends_on_it() -> None:
    assert residual_doubts([], 0.0, takes_stress=True) == []
    assert residual_doubts(["toughness"], [0.0, 1.0], takes_stress=True) == []
    (plate,) = residual_doubts(["zones", "toughness"], [0.0, -1.0], takes_stress=True)
    assert plate.message.startswith("zones and toughness hold no tensile")
    assert (plate.field, plate.message.endswith("give static_membrane_mpa")) == ("static_membrane_mpa", True)
    (table,) = residual_doubts(["toughness"], 0.0, takes_stress=False)
    assert (table.field, "compare with a plate" in table.message) == ("crack", True)


def test_a_crack_under_its_stress() -> None:
    """K = Y (Pm + Pb) sqrt(pi a) of a centre crack at the surface that bending opens; lasting stress beside it."""
    crack = CentreCrack(half_length_mm=1.0)
    root, none = math.sqrt(math.pi), np.zeros((3, 1))
    unit = Stressed(crack, Stress(membrane_mpa=100.0, bending_mpa=40.0), None).unit(at(1.0), at(1.0), none)
    assert unit.opening.ravel().tolist() == pytest.approx([140.0 * root, 60.0 * root])
    assert unit.static == 0.0
    stress = Stress(membrane_mpa=100.0, static_membrane_mpa=30.0, static_bending_mpa=20.0)
    held = Stressed(crack, stress, None, raised=2.0).unit(at(1.0), at(1.0), none)
    assert held.opening.ravel().tolist() == pytest.approx([200.0 * root] * 2)
    assert np.ravel(held.static).tolist() == pytest.approx([100.0 * root, 20.0 * root])
    bent = Stressed(crack, Stress(static_bending_mpa=20.0), None).unit(at(1.0), at(1.0), none)
    assert np.ravel(bent.static).tolist() == pytest.approx([20.0 * root, -20.0 * root])


def test_a_constant_path_is_membrane_stress() -> None:
    """The weight function of the edge is within a few per cent of the closed factors; a toe magnifies all of it."""
    constant = Stress(distance_mm=(0.0, 10.0), stress_mpa=(100.0, 100.0))
    none = np.zeros((3, 1))
    cracks: tuple[CrackConfiguration, ...] = (
        EdgeCrack(depth_mm=2.0, width_mm=10.0),
        SurfaceCrack(**SURFACE),
        SurfaceCrack(**SURFACE, toe_footprint_mm=15.0),
    )
    for crack in cracks:
        depth, length = (at(size) for size in crack.start())
        stresses = constant, Stress(membrane_mpa=100.0)
        path, plain = (Stressed(crack, each, None).unit(depth, length, none) for each in stresses)
        assert path.opening == pytest.approx(plain.opening, rel=0.06)


def test_kinks_are_at_the_inner_points_of_a_path() -> None:
    crack = EdgeCrack(depth_mm=2.0, width_mm=10.0)
    path = Stress(distance_mm=(0.0, 2.0, 4.0), stress_mpa=(3.0, 2.0, 1.0))
    rows = Stressed(crack, path, None).discontinuities(at(2.0, 4.0), at(2.0, 4.0))
    assert rows is not None
    assert rows.tolist() == [[0.0, pytest.approx(math.log(2.0))], [pytest.approx(-math.log(2.0)), 0.0]]
    assert Stressed(crack, Stress(membrane_mpa=1.0), None).discontinuities(at(2.0), at(2.0)) is None
    for points, known in ((301, True), (302, False)):
        many = Stress(distance_mm=tuple(np.linspace(0.0, 10.0, points)), stress_mpa=(1.0,) * points)
        assert (Stressed(crack, many, None).discontinuities(at(2.0), at(2.0)) is not None) == known

"""Sharing, plates and edges in whole numbers: stiffness beside a crack, and what each crack says of itself."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from fatcore.cracks.configurations.configuration import CrackConfiguration, initial_compliance, reference_mpa
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import (
    Member,
    Section,
    Sharing,
    end_stiffness_ratio,
    share_load,
    sharing_findings,
)
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.errors import InputError, NotCoveredError
from tests.core.test_cracks_configurations_by_hand import DOWN, SURFACE, UP, at, codes, one


def test_a_section_is_a_rectangle() -> None:
    section = Section(width_mm=6.0, breadth_mm=2.0)
    assert section.area_mm2 == 12.0
    assert section.modulus == 12.0


@pytest.mark.parametrize(
    ("more", "ratio"),
    [
        ({"grips": "rigid"}, math.inf),
        ({"grips": "free"}, 0.0),
        # E I / L = 200000 * 36 / 72 = 1e5 N*mm per rad
        ({"grips": "flexible", "grip_stiffness_nmm": 5e5}, 5.0),
        ({"grips": "rigid", "series_rotational_stiffness_nmm": 3e5}, 3.0),
        ({"grips": "flexible", "grip_stiffness_nmm": 5e5, "series_rotational_stiffness_nmm": 3e5}, 3.0),
        ({"grips": "flexible", "grip_stiffness_nmm": 5e5, "series_rotational_stiffness_nmm": 7e5}, 5.0),
        (
            {
                "grips": "free",
                "members": (Member(axial_stiffness_n_per_mm=1e3, rotational_stiffness_nmm=1e5, offset_mm=20.0),),
            },
            5.0,
        ),
    ],
)
def test_stiffness_of_the_ends_over_that_of_the_member(more: dict[str, Any], ratio: float) -> None:
    sharing = Sharing(length_mm=72.0, youngs_modulus_mpa=200_000.0, **more)
    section = Section(width_mm=6.0, breadth_mm=2.0)
    assert end_stiffness_ratio(sharing, section) == pytest.approx(ratio)
    doubted = "rigid-grips-deep-crack" in codes(sharing_findings(sharing, section, [0.1, 0.7]))
    assert doubted == (ratio > 10.0)


@pytest.mark.parametrize(("stiffness", "doubted"), [(1e6 * DOWN, False), (1e6, False), (1e6 * UP, True)])
def test_ends_ten_times_as_stiff_as_the_member_count_as_rigid(stiffness: float, doubted: bool) -> None:
    sharing = Sharing(length_mm=72.0, youngs_modulus_mpa=200_000.0, grips="flexible", grip_stiffness_nmm=stiffness)
    found = sharing_findings(sharing, Section(width_mm=6.0, breadth_mm=2.0), [0.7])
    assert ("rigid-grips-deep-crack" in codes(found)) == doubted
    if doubted:
        assert one(found, "rigid-grips-deep-crack").message.startswith("ends 10 times as stiff as the member")


def test_limits_and_doubts_of_sharing_each_at_its_bound() -> None:
    section = Section(width_mm=20.0, breadth_mm=5.0)

    def found(depth: float = 0.1, **given: Any) -> Any:
        values: dict[str, Any] = {"length_mm": 80.0, "grips": "free"}
        return sharing_findings(Sharing(**values | given), section, [depth, 0.05])

    assert "length-over-width-outside" not in codes(found(length_mm=40.0))
    assert "length-over-width-outside" in codes(found(length_mm=39.9))
    assert "relative-depth-outside" not in codes(found(0.9))
    assert "relative-depth-outside" in codes(found(0.91))
    assert "modulus-implausible" in codes(found(youngs_modulus_mpa=206.0))
    assert "Young's modulus of 206,000 MPa" in one(found(), "sharing-stiffness").message
    assert "nothing-shares" in codes(found())
    for shares in (
        {"grips": "rigid"},
        {"members": (Member(axial_stiffness_n_per_mm=1.0),)},
        {"control": "displacement"},
    ):
        assert "nothing-shares" not in codes(found(**shares))
    deep = one(found(0.7, grips="rigid"), "rigid-grips-deep-crack")
    assert deep.message.startswith("ends that cannot turn were assumed")
    assert "beyond 0.6 of the wall" in deep.message


def test_a_member_of_half_the_stiffness_takes_its_share() -> None:
    """No crack: E A / L = 200000 * 12 / 24 = 1e5 N/mm, all the stress stays; twice as soft, the rest is shed.

    An added compliance that makes the member half as stiff beside one of 1e5: 2 F in whole, u = 2 F / 1.5e5, so
    that the member carries 2/3 of its force; the joint has 1.5 / 2 of its stiffness.
    """
    section = Section(width_mm=6.0, breadth_mm=2.0)
    beside = Member(axial_stiffness_n_per_mm=1e5)
    model = Sharing(length_mm=24.0, youngs_modulus_mpa=200_000.0, grips="rigid", plane="stress", members=(beside,))
    soft = 1e-5 * 12.0**2 * 200_000.0 / 2.0  # of 2 y^2 / (E A^2) = 1e-5 mm/N
    found = share_load(model, section, [[0.0, soft], [0.0, 0.0], [0.0, 0.0]], 100.0, 0.0)
    assert found.membrane_mpa.tolist() == pytest.approx([100.0, 200.0 / 3.0])
    assert found.stiffness_ratio.tolist() == pytest.approx([1.0, 0.75])
    assert found.bending_mpa.tolist() == [0.0, 0.0]
    # stored energy less the work of the force: -F u / 2 with F = 2400 N, u = 0.012 and 0.016 mm
    assert found.potential_nmm.tolist() == pytest.approx([-14.4, -19.2])


def test_a_surface_crack_says_what_it_is() -> None:
    crack, wide = SurfaceCrack(**SURFACE), SurfaceCrack(depth_mm=2.0, half_length_mm=4.0, thickness_mm=10.0)
    assert crack.section == Section(10.0, 80.0)
    assert (crack.is_wide, wide.is_wide) == (False, True)
    assert (crack.largest(), wide.largest()) == ((10.0, 40.0), (10.0, math.inf))
    assert (
        wide.longest_half_mm,
        SurfaceCrack(depth_mm=2.0, half_length_mm=300.0, thickness_mm=10.0).longest_half_mm,
    ) == (
        500.0,
        600.0,
    )
    ends = crack.end_excess(at(10.0), at(40.0))
    assert {name: value.item() for name, value in ends.items()} == {"through-thickness": 0.0, "across-width": 0.0}
    over = wide.end_excess(at(5.0), at(1000.0))
    assert over["through-thickness"].item() == pytest.approx(-math.log(2.0))
    assert over["shape-out-of-range"].item() == pytest.approx(math.log(2.0))
    assert crack.relative_depth(at(5.0)).item() == 0.5
    assert crack.without_toe() is crack
    assert crack.discontinuities(at(2.0), at(4.0)) is None
    toe = SurfaceCrack(**SURFACE, toe_footprint_mm=15.0, toe_form="solid")
    assert (toe.without_toe(), len(toe.sources), len(toe.tables)) == (
        crack,
        len(crack.sources) + 1,
        len(crack.tables) + 1,
    )
    assert codes(SurfaceCrack(depth_mm=0.2, half_length_mm=1.0, thickness_mm=0.4).doubts()) == ["length-small"]
    with pytest.raises(InputError) as caught:
        SurfaceCrack(**SURFACE, toe_form="solid")
    assert caught.value.path == ("toe_form",)


@pytest.mark.parametrize(("half_width", "lost"), [(None, 0.5 / 2.0), (19.9, 50.0 / 199.0), (20.0, 0.25), (40.0, 0.25)])
def test_the_lost_part_of_a_narrow_plate_is_that_of_its_whole_width(half_width: float | None, lost: float) -> None:
    """[bs-7910-2013] (a / t) / (1 + t / c), in a plate narrower than c + t a side a c / (t W); a 5, c 10, t 10."""
    crack = SurfaceCrack(depth_mm=2.0, half_length_mm=4.0, thickness_mm=10.0, half_width_mm=half_width)
    assert crack.lost_area_ratio(at(5.0), at(10.0)).item() == pytest.approx(lost)


@pytest.mark.parametrize(("half_length", "left"), [(39.59, True), (39.6, False)])
def test_a_crack_through_the_wall_goes_on_where_a_plate_is_left(half_length: float, left: bool) -> None:
    on = SurfaceCrack(**SURFACE).after_break_through(half_length)
    assert (on is not None) == left
    if on is not None:
        assert (on.half_length_mm, on.width_mm, on.thickness_mm) == (half_length, 80.0, 10.0)
    wide = SurfaceCrack(depth_mm=2.0, half_length_mm=4.0, thickness_mm=10.0).after_break_through(half_length)
    assert wide is not None
    assert (wide.half_length_mm, wide.width_mm, wide.thickness_mm) == (half_length, None, 10.0)


def test_findings_of_a_surface_crack_are_those_of_its_proportions() -> None:
    assert codes(SurfaceCrack(**SURFACE).findings(at(2.0), at(4.0))) == []
    assert "relative-width-outside" in codes(SurfaceCrack(**SURFACE).findings(at(2.0), at(35.0)))
    assert "aspect-ratio-outside" in codes(SurfaceCrack(**SURFACE).findings(at(9.0), at(4.0)))
    footprint = {"toe_footprint_mm": 100.0}
    for form, reported in ((None, False), ("plane", False), ("solid", True)):
        found = SurfaceCrack(**SURFACE | footprint | {"toe_form": form}).findings(at(2.0), at(4.0))
        assert ("footprint-over-thickness-outside" in codes(found)) == reported


def test_an_edge_and_a_centre_crack_say_what_they_are() -> None:
    edge = EdgeCrack(depth_mm=2.0, width_mm=10.0, thickness_mm=5.0)
    centre = CentreCrack(half_length_mm=2.0, width_mm=20.0, thickness_mm=5.0)
    wide = CentreCrack(half_length_mm=2.0)
    assert (edge.start(), edge.largest(), edge.section) == ((2.0, 2.0), (9.9, math.inf), Section(10.0, 5.0))
    assert (centre.start(), centre.largest(), centre.section) == ((2.0, 2.0), (9.9, math.inf), Section(5.0, 20.0))
    assert wide.largest() == (math.inf, math.inf)
    assert edge.end_excess(at(9.9), at(9.9))["separated"].item() == pytest.approx(0.0, abs=1e-12)
    assert (edge.lost_area_ratio(at(5.0), at(5.0)).item(), edge.relative_depth(at(5.0)).item()) == (0.5, 0.5)
    assert (centre.lost_area_ratio(at(5.0), at(5.0)).item(), wide.lost_area_ratio(at(5.0), at(5.0)).item()) == (
        0.5,
        0.0,
    )
    assert centre.at_front(np.array([[1.0, 4.0], [3.0, 2.0]]))[0].tolist() == [3.0, 4.0]
    shown = centre.shown_sizes(at(2.0, 3.0), at(2.0, 3.0))
    assert shown[0] is not None
    assert shown[0].tolist() == [5.0, 5.0]
    assert wide.shown_sizes(at(2.0), at(2.0))[0] is None
    assert edge.shown_sizes(at(2.0), at(2.0))[1] is None
    assert codes(EdgeCrack(depth_mm=0.1, width_mm=0.4).doubts()) == ["length-small"]
    for crack in (edge, centre):
        with pytest.raises(NotCoveredError) as caught:
            _ = CentreCrack.wall_mm.fget(centre) if crack is centre else centre.path_intensity(None, at(1.0), at(1.0))  # type: ignore[attr-defined, arg-type]
        assert caught.value.path == ("distance_mm",)


def test_the_compliance_of_a_wide_centre_crack_is_known() -> None:
    """K = sqrt(pi a): integral of K^2 over both tips, 2 B pi a da = B pi a^2; an edge has one tip, a front of B."""
    centre = CentreCrack(half_length_mm=3.0, thickness_mm=5.0)
    assert initial_compliance(centre, 3.0, 3.0).tolist() == pytest.approx([5.0 * math.pi * 9.0, 0.0, 0.0])
    edge = EdgeCrack(depth_mm=0.01, width_mm=1000.0, thickness_mm=5.0)
    tension, mixed, bending = initial_compliance(edge, 0.01, 0.01)
    assert tension == pytest.approx(1.1215**2 * 5.0 * math.pi * 1e-4 / 2.0, rel=1e-3)
    assert mixed == pytest.approx(tension, rel=1e-3) == pytest.approx(bending, rel=1e-3)


def test_the_first_crack_is_grown_from_nothing_in_its_own_shape() -> None:
    """Half ellipse of 2 by 4 mm: both derivatives over the share of its size, by adaptive quadrature."""
    crack = SurfaceCrack(**SURFACE)

    def rate(share: float, part: int) -> float:
        deeper, longer = crack.compliance_derivatives(at(2.0 * share), at(4.0 * share))
        return float((deeper + longer)[part, 0] / share)

    found = initial_compliance(crack, 2.0, 4.0)
    for part in range(3):
        assert float(found[part]) == pytest.approx(quad(rate, 0.0, 1.0, args=(part,))[0], rel=1e-6)


def test_an_edge_crack_bends_and_a_centre_crack_does_not() -> None:
    """Half of the section lost: 2 Pm in the middle, (1.5 Pm + sqrt(...)) / 0.75 at an edge that is free to bend."""

    def of(crack: CrackConfiguration) -> float:
        return float(reference_mpa(crack, at(5.0), at(5.0), at(40.0), at(0.0))[0])

    assert of(CentreCrack(half_length_mm=2.0, width_mm=20.0)) == pytest.approx(80.0)
    assert of(EdgeCrack(depth_mm=2.0, width_mm=10.0)) == pytest.approx((60.0 + math.hypot(60.0, 60.0)) / 0.75)

"""Ends of growth and what is said of first sizes, thresholds, paths and ends, each rule at its edge."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import block_loading, constant_loading
from fatcore.cracks.fracture.assessment import Strength
from fatcore.cracks.growth._life_findings import _of_break_through
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.errors import InputError
from fatcore.findings import Finding

EDGE = EdgeCrack(depth_mm=1.0, width_mm=40.0, thickness_mm=10.0)
PLATE = SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0, half_width_mm=50.0)
TABLE = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 20.0], {"opening": [200.0, 900.0]}))
PULL = Stress(membrane_mpa=100.0)
STEEL = paris(5.21e-13, 3.0)
TOUGH = Strength(yield_strength_mpa=355.0, ultimate_strength_mpa=510.0, toughness_mpa_sqrt_mm=3000.0)
MIX = block_loading([1.0, 0.1], [0.0, 0.0], [1.0, 9.0])


def grown(**more: Any) -> GrowthOutcome:
    given = {"crack": EDGE, "stress": PULL, "law": STEEL, "loading": constant_loading()}
    return grow(**(given | {"end": EndCriteria(depth_mm=10.0)} | more))


def codes(outcome: GrowthOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def one(outcome: GrowthOutcome, code: str) -> Finding:
    (found,) = (each for each in outcome.findings if each.code == code)
    return found


def refused(**more: Any) -> tuple[str, tuple[Any, ...]]:
    with pytest.raises(InputError) as caught:
        grown(**more)
    return str(caught.value), caught.value.path


# first size and threshold


@pytest.mark.parametrize(("depth", "reported"), [(0.1, False), (0.0999, True)])
def test_a_flaw_below_a_tenth_of_a_millimetre_is_small(depth: float, reported: bool) -> None:
    outcome = grown(crack=replace(EDGE, depth_mm=depth), end=EndCriteria(depth_mm=0.2))
    assert ("first-flaw-small" in codes(outcome)) is reported
    if reported:
        assert one(outcome, "first-flaw-small").field == "depth_mm"
        assert one(outcome, "first-flaw-small").message.startswith("the first crack of 0.0999 mm is below 0.1 mm:")


@pytest.mark.parametrize(
    ("depth", "threshold", "first", "small"),
    [
        (1.0, 100.0, False, True),  # the ninth tenth of the cycles sleeps
        (0.999, 100.0, True, True),
        (0.999, 1.0, False, False),
        (0.999, 9000.0, True, True),  # everything rests
    ],
)
def test_a_threshold_of_long_cracks_is_doubted_for_short_ones_and_small_cycles(
    depth: float, threshold: float, first: bool, small: bool
) -> None:
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=threshold)
    outcome = grown(crack=replace(EDGE, depth_mm=depth), law=law, loading=MIX)
    assert ("threshold-of-long-cracks" in codes(outcome)) is first
    assert ("small-cycles-left-out" in codes(outcome)) is small
    for code in {"threshold-of-long-cracks", "small-cycles-left-out"} & codes(outcome):
        assert (one(outcome, code).severity, one(outcome, code).field) == ("caution", "threshold")
    if small:
        share = "100 %" if outcome.below_cutoff else "90 %"
        assert one(outcome, "small-cycles-left-out").message.startswith(f"{share} of the cycles of the block")
    if first:
        assert "at a first size of 0.999 mm;" in one(outcome, "threshold-of-long-cracks").message


def test_a_mean_curve_is_named() -> None:
    for statistic in ("mean", "median"):
        outcome = grown(law=replace(STEEL, statistic=statistic, name="a curve"))
        found = one(outcome, "mean-growth-curve")
        assert found.message.startswith(f"a curve is a {statistic} curve:")
        assert (found.severity, found.field) == ("caution", "law")


# paths


def path(*, mesh: float | None = None, end: float = 40.0) -> Stress:
    return Stress(distance_mm=(0.0, end), stress_mpa=(100.0, 100.0), element_size_mm=mesh)


def test_a_path_of_an_unknown_mesh_is_doubted() -> None:
    found = one(grown(stress=path()), "path-mesh-unknown")
    assert (found.severity, found.field) == ("caution", "element_size_mm")


def test_a_crack_deeper_than_an_element_depends_on_the_mesh_at_the_notch_alone() -> None:
    for mesh, code, severity in ((1.0, "path-mesh", "note"), (1.001, "path-inside-element", "caution")):
        outcome = grown(stress=path(mesh=mesh))
        assert (one(outcome, code).severity, one(outcome, code).field) == (severity, "element_size_mm")
        assert len({"path-mesh", "path-inside-element", "path-mesh-unknown"} & codes(outcome)) == 1


def test_the_share_of_a_life_inside_an_element_is_that_of_two_lives() -> None:
    stress = path(mesh=3.0)
    inside, whole = (grown(stress=stress, end=EndCriteria(depth_mm=depth)).life_cycles for depth in (3.0, 10.0))
    assert inside is not None
    assert whole is not None
    message = one(grown(stress=stress), "path-inside-element").message
    share = float(message.partition(" %")[0])
    assert share == pytest.approx(100.0 * inside / whole, abs=0.1)
    assert "one element of the notch (3 mm)" in message
    all_inside = one(grown(stress=stress, end=EndCriteria(depth_mm=2.0)), "path-inside-element").message
    assert all_inside.startswith("100 % of the life was spent inside one element")


def test_a_crack_at_rest_rests_inside_an_element_or_beyond_it() -> None:
    at_once = grown(stress=path(mesh=1.5), law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=9000.0))
    assert one(at_once, "path-inside-element").message.startswith("the crack came to rest inside one element")
    falls = Stress(distance_mm=(0.0, 2.0, 40.0), stress_mpa=(400.0, 0.0, 0.0), element_size_mm=1.5)
    later = grown(stress=falls, law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=330.0))
    assert later.below_cutoff
    assert later.final_depth_mm is not None
    assert later.final_depth_mm > 1.5
    assert one(later, "path-inside-element").message.startswith("the crack came to rest beyond one element")


def test_a_toe_is_counted_twice_on_a_path_alone() -> None:
    toe = replace(PLATE, toe_footprint_mm=12.0)
    end = EndCriteria(depth_mm=5.0)
    assert one(grown(crack=toe, stress=path(end=10.0), end=end), "toe-counted-twice").field == "toe_footprint_mm"
    assert "toe-counted-twice" not in codes(grown(crack=toe, end=end))
    assert "toe-counted-twice" not in codes(grown(crack=PLATE, stress=path(end=10.0), end=end))


# ends


def test_an_end_at_the_start_is_a_life_of_nothing() -> None:
    found = one(grown(end=EndCriteria(depth_mm=0.5)), "ended-at-start")
    assert (found.severity, found.field) == ("caution", "end_reason")
    assert "ended-at-start" not in codes(grown())
    at_rest = grown(law=paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=9000.0))
    assert "ended-at-start" not in codes(at_rest)


def test_a_crack_that_goes_through_is_said_to_be_raised_only_when_it_is() -> None:
    assert [each.code for each in _of_break_through(1.0)] == ["through-crack"]
    plain, raised = _of_break_through(1.25)
    assert (plain.code, plain.severity, plain.field) == ("through-crack", "note", None)
    assert (raised.code, raised.severity, raised.field) == ("through-crack-raised", "note", "grow_through")
    assert raised.message.endswith("was raised by 1.25")


def test_strengths_that_no_end_looks_for_are_named() -> None:
    fracture, collapse = "fracture (no toughness)", "collapse (no yield strength)"
    for more, missing in (
        ({}, (fracture, collapse)),
        ({"toughness_mpa_sqrt_mm": 3000.0}, (collapse,)),
        ({"yield_strength_mpa": 355.0}, (fracture,)),
        ({"strength": TOUGH}, ()),
        ({"toughness_mpa_sqrt_mm": 3000.0, "yield_strength_mpa": 355.0}, ()),
    ):
        end = EndCriteria(depth_mm=2.0, **more)  # type: ignore[arg-type]
        assert end.not_looked_for == missing
        assert end.by_strength is bool(more)
        outcome = grown(end=end)
        assert outcome.history.strength_checked is (not missing)
        if missing:
            message = f"growth did not look for {' nor '.join(missing)}: the crack"
            assert one(outcome, "strength-not-checked").message.startswith(message)
            assert one(outcome, "strength-not-checked").field == "end"
        else:
            assert "strength-not-checked" not in codes(outcome)


def test_residual_stress_is_missed_where_strength_is_looked_for_as_welded() -> None:
    strong = EndCriteria(depth_mm=2.0, toughness_mpa_sqrt_mm=3000.0)
    held = replace(PULL, static_membrane_mpa=20.0)
    assert "no-residual-stress" in codes(grown(end=strong))
    assert "no-residual-stress" not in codes(grown())
    assert "no-residual-stress" not in codes(grown(end=strong, stress=held))
    assert "no-residual-stress" not in codes(grown(end=strong, condition="stress-relieved"))
    for condition in ("as-welded", "stress-relieved"):
        assert "lasting-stress" in codes(grown(end=strong, stress=held, condition=condition))
        assert "lasting-stress" not in codes(grown(stress=held, condition=condition))


def test_figures_of_a_material_that_look_like_another_unit_are_doubted() -> None:
    plain = codes(grown(end=EndCriteria(depth_mm=2.0, strength=TOUGH)))
    for more in (
        {"yield_strength_mpa": 3.55},
        {"toughness_mpa_sqrt_mm": 30.0},
        {"strength": replace(TOUGH, yield_strength_mpa=3.55, ultimate_strength_mpa=5.1)},
    ):
        tiny = grown(stress=Stress(membrane_mpa=1.0), end=EndCriteria(depth_mm=2.0, **more))  # type: ignore[arg-type]
        assert codes(tiny) - plain


# what an end needs


def test_an_end_is_a_size_that_the_crack_has() -> None:
    assert refused(end=EndCriteria(half_length_mm=3.0)) == (
        "this crack has no half_length_mm: as an end it takes depth_mm",
        ("end", "half_length_mm"),
    )
    centre = CentreCrack(half_length_mm=1.0, width_mm=40.0)
    assert refused(crack=centre, end=EndCriteria(depth_mm=3.0)) == (
        "this crack has no depth_mm: as an end it takes half_length_mm",
        ("end", "depth_mm"),
    )
    two = EndCriteria(depth_mm=3.0, half_length_mm=3.0)
    assert refused(crack=TABLE, stress=Stress(), end=two) == (
        "both name the one size of this crack: give one of them",
        ("end", "half_length_mm"),
    )
    assert grown(crack=PLATE, end=two).end_reason in ("size", "length")


def test_a_crack_in_a_wide_plate_needs_an_end_of_any_kind() -> None:
    wide = CentreCrack(half_length_mm=1.0)
    assert refused(crack=wide, end=EndCriteria()) == (
        "a crack in a wide plate needs an end: a size, a toughness or cycles",
        ("end",),
    )
    assert refused(crack=wide, end=EndCriteria(yield_strength_mpa=355.0))[1] == ("end",)
    for end in (
        EndCriteria(half_length_mm=3.0),
        EndCriteria(toughness_mpa_sqrt_mm=3000.0),
        EndCriteria(cycles=1e4),
        EndCriteria(strength=TOUGH),
    ):
        assert grown(crack=wide, end=end).life_cycles is not None
    assert grown(crack=replace(wide, width_mm=40.0), end=EndCriteria()).end_reason == "separated"


def test_a_given_stress_intensity_has_no_ligament() -> None:
    for more in ({"yield_strength_mpa": 355.0}, {"strength": TOUGH}):
        (name,) = more
        message, location = refused(crack=TABLE, stress=Stress(), end=EndCriteria(**more))  # type: ignore[arg-type]
        assert (message, location) == ("a crack given by its stress intensity has no ligament stress", ("end", name))
    assert grown(crack=TABLE, stress=Stress(), end=EndCriteria(toughness_mpa_sqrt_mm=600.0)).end_reason == "fracture"
    assert refused(crack=TABLE) == ("the given stress intensity holds its stress: leave the stress out", ("stress",))


def test_an_end_by_stiffness_needs_what_shares_the_load() -> None:
    assert refused(end=EndCriteria(stiffness_ratio=0.9)) == (
        "an end by stiffness needs sharing",
        ("end", "stiffness_ratio"),
    )
    assert refused(end=EndCriteria(grow_through=True)) == (
        "only a surface crack can go on as a through crack",
        ("end", "grow_through"),
    )
    with pytest.raises(InputError, match="only with strength") as caught:
        EndCriteria(line="plateau")
    assert caught.value.path == ("line",)
    around = Sharing(length_mm=200.0, grips="rigid", members=(Member(axial_stiffness_n_per_mm=2e5),))
    assert refused(crack=replace(EDGE, thickness_mm=None), sharing=around)[1][0] == "crack"


def test_something_has_to_cycle() -> None:
    level = block_loading([1.0, 0.5], [1.0, 0.5], [1.0, 1.0], transitions="in-entries")
    assert refused(loading=level)[1] == ("loading", "maximum")
    one_cycles = block_loading([1.0, 0.5], [1.0, 0.4], [1.0, 1.0], transitions="in-entries")
    assert grown(loading=one_cycles).life_cycles is not None
    text = "nothing cycles: give membrane_mpa, bending_mpa or a path for load factor 1"
    lasting = Stress(static_membrane_mpa=100.0, static_bending_mpa=50.0)
    for stress in (Stress(), lasting, Stress(distance_mm=(0.0, 40.0), stress_mpa=(0.0, 0.0))):
        assert refused(stress=stress)[0] == text
    for stress in (Stress(bending_mpa=100.0), Stress(distance_mm=(0.0, 40.0), stress_mpa=(0.0, 100.0))):
        assert grown(stress=stress).end_reason
    idle = replace(TABLE, table=IntensityTable([1.0, 20.0], {"opening": [0.0, 0.0]}))
    later = replace(TABLE, table=IntensityTable([1.0, 20.0], {"opening": [0.0, 900.0]}))
    assert grown(crack=later, stress=Stress()).below_cutoff
    assert refused(crack=idle, stress=Stress())[0].startswith("nothing cycles: the stress intensity for load factor 1")


def test_a_criterion_needs_several_modes() -> None:
    assert refused(criterion="energy") == ("a criterion has a meaning only with several modes", ("criterion",))
    mixed = IntensityTable([1.0, 20.0], {"opening": [200.0, 900.0], "sliding": [50.0, 200.0]})
    table = TabledCrack(crack_size_mm=1.0, table=mixed)
    assert grown(crack=table, stress=Stress(), criterion="energy").life_cycles is not None

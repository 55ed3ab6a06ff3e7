"""What is said of a life, at the edge of each rule: rests, falling forces, choices that make a life longer, ends."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.plates import TOO_LONG, SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack, EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.law import GrowthLaw, Stage, paris
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth import _arrest_findings, _beside, _life_findings
from fatcore.cracks.growth._life_findings import averaging_error
from fatcore.cracks.growth._phase import Phase
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.history import History
from fatcore.cracks.growth.integration._step import State, Step
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.figures import figure
from fatcore.findings import Finding

PLATE = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=2.0, half_width_mm=50.0)
PULL = Stress(membrane_mpa=100.0)
STEEL = paris(5.21e-13, 3.0)
HELD = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=63.0)
BLOCK = block_loading([1.0, 0.5], [0.0, 0.0], [1.0, 9.0])


def drive(law: GrowthLaw = STEEL, loading: CrackLoading | None = None, **more: Any) -> Drive:
    return Drive(law=law, loading=loading or constant_loading(), **({"condition": "as-welded"} | more))


def phase(depth: float, reason: str, thickness: float = 2.0, law: GrowthLaw = HELD, steps: int = 1) -> Phase:
    """A phase of one step that ends at a depth."""
    origin = State(-1.0, -1.0, 0.0, np.zeros(0), 1.0)
    ln_depth = np.zeros(11)
    ln_depth[0] = np.log(depth)
    step = Step(origin, 2.0, ln_depth, np.zeros(11), np.zeros((0, 11)), two_lengths=True)
    stressed = Stressed(replace(PLATE, thickness_mm=thickness, depth_mm=0.5 * thickness), PULL, None)
    return Phase(stressed, (step,) * steps, reason, origin, drive(law))


def said(found: list[Finding]) -> list[tuple[str, str, str | None]]:
    return [(each.code, each.severity, each.field) for each in found]


def grown(**more: Any) -> GrowthOutcome:
    given = {"crack": EdgeCrack(depth_mm=1.0, width_mm=40.0), "stress": PULL, "law": STEEL}
    return grow(**(given | {"loading": constant_loading(), "end": EndCriteria(depth_mm=10.0)} | more))


def one(outcome: GrowthOutcome, code: str) -> Finding:
    (found,) = (each for each in outcome.findings if each.code == code)
    return found


def codes(outcome: GrowthOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


# at rest


@pytest.mark.parametrize(("thickness", "reported"), [(2.0, False), (1.999, True), (4.0, False)])
def test_a_crack_that_rests_beyond_half_the_wall_has_grown(thickness: float, reported: bool) -> None:
    found = _arrest_findings.rest_findings(phase(1.0, "arrest", thickness))
    assert ("arrest-after-growth" in {each.code for each in found}) is reported
    assert _arrest_findings.rest_findings(phase(1.0, "size", thickness)) == []
    assert all(
        each.code != "arrest-after-growth" for each in _arrest_findings.rest_findings(phase(9.0, "arrest", steps=0))
    )
    if reported:
        assert said(found)[-1] == ("arrest-after-growth", "caution", "life_cycles")
        assert "came to rest at 1 mm of 2.00 mm" in found[-1].message


def test_a_crack_that_compression_holds_closed_is_not_below_its_threshold() -> None:
    pressed = replace(PULL, static_membrane_mpa=-150.0)
    for law in (STEEL, HELD):
        outcome = grown(stress=pressed, law=law, condition="stress-relieved")
        assert outcome.life_cycles is None
        found = one(outcome, "closed-by-compression")
        assert (found.severity, found.field) == ("caution", "life_cycles")
        assert "below-threshold" not in codes(outcome)


def test_compression_holds_a_crack_closed_of_which_one_side_has_no_load() -> None:
    """Membrane and bending of one size leave the far surface of a through crack without any range."""
    half = Stress(membrane_mpa=50.0, bending_mpa=50.0, static_membrane_mpa=-300.0)
    crack, end = CentreCrack(half_length_mm=1.0, width_mm=40.0), EndCriteria(half_length_mm=5.0)
    assert "closed-by-compression" in codes(grown(crack=crack, end=end, stress=half, condition="stress-relieved"))


def test_a_crack_without_any_range_left_says_so() -> None:
    """Bending alone presses the far half of the wall together: an edge crack whose path has no stress."""
    path = Stress(distance_mm=(0.0, 1.0, 2.0, 40.0), stress_mpa=(0.0, 0.0, 0.0, 100.0))
    for condition in ("as-welded", "stress-relieved"):
        outcome = grown(stress=path, condition=condition)
        assert outcome.below_cutoff
        assert (one(outcome, "no-range").severity, one(outcome, "no-range").field) == ("caution", "life_cycles")


def test_the_largest_range_and_its_threshold_are_named() -> None:
    law = paris(5.21e-13, 3.0, threshold_mpa_sqrt_mm=900.0)
    outcome = grown(law=law, loading=BLOCK)
    k = float(EdgeCrack(depth_mm=1.0, width_mm=40.0).unit_intensity(np.ones(1), np.ones(1))[0][0, 0])
    assert f"the largest is {figure(100.0 * k)} MPa√mm, the threshold 900;" in one(outcome, "below-threshold").message


# falling force


@pytest.mark.parametrize(("shares", "reported"), [((1.0 / 3.0, 1.0), False), ((1.0, 0.3333), True), ((0.2, 1.0), True)])
def test_a_force_that_falls_below_a_third_is_doubted(
    shares: tuple[float, float], reported: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = iter(shares)
    monkeypatch.setattr(_arrest_findings, "lowest_share", lambda *_: next(left))
    phases: Any = [SimpleNamespace(reason="size", drive=None, unit=None) for _ in shares]
    found = _arrest_findings.force_findings(phases)
    assert said(found) == ([("driving-force-falls", "caution", "life_cycles")] if reported else [])
    if reported:
        assert f"falls to {figure(100.0 * min(shares))} % of" in found[0].message


def test_a_force_that_dies_away_is_outside_whatever_it_did_before() -> None:
    found = _arrest_findings.force_findings([phase(1.0, "size"), phase(1.5, "driving-force-vanishes")])
    assert said(found) == [("driving-force-vanishes", "outside", "life_cycles")]
    assert found[0].message.startswith("at 1.5 mm the stress intensity of the load fell to 0.1 of")


# choices that make a life longer


def credited(with_choice: float | None, without: float | None, *drives: Drive) -> list[Finding]:
    (this,) = drives or (drive(criterion="energy"),)

    def relive(_: Drive) -> Any:
        return [SimpleNamespace(reason="arrest" if without is None else "size", cycles=without)]

    return list(_beside.credit_findings(this, with_choice, without, relive))


OVERLOADED = block_loading(
    [2.0, 1.0], [0.0, 0.0], [1.0, 9.0], Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=1.0)
)


def test_lives_that_differ_by_a_thousandth_are_the_same() -> None:
    assert credited(1.001, 1.0) == credited(1.0, 1.001) == credited(None, None) == []
    for with_choice, without in ((1.0011, 1.0), (1.0, 1.0011), (None, 1.0), (1.0, None)):
        found = credited(with_choice, without)
        assert found[0].code == "criterion-does-less"
        # with as many digits as tell them apart
        words = ["infinite" if each is None else f"{each:.4g} cycles" for each in (without, with_choice)]
        assert found[0].message.endswith(f"; without it the life is {words[0]}, with it {words[1]}")


@pytest.mark.parametrize(
    ("life", "beside", "reported"), [(10.0, 1.0, False), (10.1, 1.0, True), (None, 1.0, True), (9.0, None, False)]
)
def test_choices_that_make_a_life_more_than_ten_times_longer_decide(
    life: float | None, beside: float | None, reported: bool
) -> None:
    found = credited(life, beside)
    assert ("credits-decide" in {each.code for each in found}) is reported
    if reported:
        assert said(found)[-1] == ("credits-decide", "outside", "life_cycles")
        assert found[-1].message.startswith("with the criterion energy the life is more than 10 times that without: ")


def test_retardation_that_changes_nothing_is_said_all_the_same() -> None:
    (found,) = credited(100.0, 100.0, drive(loading=OVERLOADED))
    assert (found.code, found.severity) == ("retardation-counted", "caution")
    assert found.field == "life_without_retardation_cycles"
    assert found.message.endswith("; here it changes nothing: the life is 100 cycles")


def test_two_choices_are_also_counted_together() -> None:
    """Without retardation 5, without the criterion 8, without both 0.9: together more than ten times."""
    both = drive(loading=OVERLOADED, criterion="energy")

    def relive(other: Drive) -> Any:
        plain = other.loading.retardation is None
        assert other.criterion == "largest"
        return [SimpleNamespace(reason="size", cycles=0.9 if plain else 8.0)]

    found = list(_beside.credit_findings(both, 10.0, 5.0, relive))
    assert [each.code for each in found] == ["retardation-counted", "criterion-does-less", "credits-decide"]
    assert found[0].message.endswith("without it the life is 5 cycles, with it 10 cycles")
    assert found[1].message.endswith("without it the life is 8 cycles, with it 10 cycles")
    assert found[2].message.startswith("with retardation and the criterion energy the life")
    assert found[2].message.endswith(": 10 cycles in place of 0.9 cycles")


def test_an_opening_function_of_own_constants_is_a_choice() -> None:
    stage = Stage(coefficient=5.21e-13, exponent=3.0)
    own = GrowthLaw(low=(stage,), effect=LoadRatioEffect(kind="elber"))
    found = credited(100.0, 50.0, drive(own, condition="stress-relieved"))
    assert said(found) == [("closure-counted", "caution", "load_ratio_effect")]
    assert credited(100.0, 50.0, drive(own)) == []
    assert credited(100.0, 50.0, drive(replace(own, name="a code"), condition="stress-relieved")) == []
    assert credited(100.0, 50.0, drive(condition="stress-relieved")) == []

    def relive(other: Drive) -> Any:
        assert not other.law.effect.closure
        return [SimpleNamespace(reason="size", cycles=50.0)]

    assert len(list(_beside.credit_findings(drive(own, condition="stress-relieved"), 100.0, None, relive))) == 1


def test_one_phase_of_two_with_a_ramp_is_enough_to_say_so() -> None:
    plain = phase(1.0, "size")
    ramped = replace(plain, drive=plain.drive.with_ramp())
    for phases, reported in (([plain, plain], False), ([ramped, plain], True), ([plain, ramped], True)):
        found = _life_findings._of_ends(phases, plain.drive, EndCriteria(depth_mm=1.0))
        assert ("hovers-at-threshold" in {each.code for each in found}) is reported


def test_the_largest_stress_of_a_path_is_the_one_that_looks_like_another_unit() -> None:
    for stress in (Stress(distance_mm=(0.0, 40.0), stress_mpa=(100.0, 0.0)), Stress(bending_mpa=-100.0)):
        stressed = Stressed(EdgeCrack(depth_mm=1.0, width_mm=40.0), stress, None)
        assert _life_findings._sizes_of_input(stressed, drive()) == []
        tiny = _life_findings._sizes_of_input(stressed, drive(loading=constant_loading(1e-3, 0.0)))
        assert [each.field for each in tiny] == ["stress"]
        assert _life_findings._sizes_of_input(stressed, drive(loading=constant_loading(-1.0, -2.0))) == []


def test_a_crack_too_long_for_a_half_ellipse_is_outside() -> None:
    found = _life_findings._of_ends([phase(1.0, TOO_LONG)], drive(), EndCriteria(depth_mm=1.0))
    assert (TOO_LONG, "outside", "half_width_mm") in said(found)


def test_of_a_plain_life_no_special_end_is_said() -> None:
    special = {"ended-at-start", "ended-at-break-through", "no-plate-left", "crack-runs", "coarse-integration"}
    special |= {"hovers-at-threshold", "through-crack", TOO_LONG, "driving-force-vanishes"}
    assert not special & (codes(grown()) | codes(grown(law=HELD)))
    assert not special & codes(grown(crack=replace(PLATE, thickness_mm=12.0), end=EndCriteria(grow_through=False)))


def test_one_cycle_in_a_thousand_below_the_threshold_is_left_out_too() -> None:
    rare = block_loading([1.0, 0.1], [0.0, 0.0], [999.0, 1.0], transitions="in-entries")
    outcome = grown(crack=EdgeCrack(depth_mm=0.9, width_mm=40.0), law=HELD, loading=rare)
    assert {"small-cycles-left-out", "threshold-of-long-cracks"} <= codes(outcome)
    assert one(outcome, "small-cycles-left-out").message.startswith("0.1 % of the cycles")


# mean over a block


def history(life: float, deepest: list[float], surface: list[float] | None = None) -> History:
    return History(
        end_reason="size",
        outside_codes=(),
        block_cycles=10.0,
        strength_checked=True,
        elapsed_cycles=np.linspace(0.0, life, len(deepest)),
        depth_mm=np.ones(len(deepest)),
        delta_k_deepest_mpa_sqrt_mm=np.ones(len(deepest)),
        rate_deepest_mm_per_cycle=np.array(deepest),
        rate_surface_mm_per_cycle=None if surface is None else np.array(surface),
    )


def test_a_mean_is_wrong_by_a_block_and_one_more_for_each_e_fold_of_the_rate() -> None:
    blocks = drive(loading=BLOCK)
    assert averaging_error(history(1000.0, [1.0, 2.0, np.e**2]), blocks) == pytest.approx(3.0 * 10.0 / 1000.0)
    assert averaging_error(history(1000.0, [0.0, 1.0, np.e, np.inf]), blocks) == pytest.approx(2.0 * 10.0 / 1000.0)
    assert averaging_error(history(1000.0, [1.0, 1.0], [0.5, np.e]), blocks) == pytest.approx(2.0 * 10.0 / 1000.0)
    assert averaging_error(history(1000.0, [1.0, 1.0]), blocks) == pytest.approx(10.0 / 1000.0)
    assert averaging_error(history(1000.0, [1.0, 2.0]), drive()) is None
    assert averaging_error(history(0.0, [1.0, 2.0]), blocks) is None
    assert averaging_error(history(1000.0, [0.0, np.inf]), blocks) is None


def test_with_retardation_the_error_of_the_mean_is_an_estimate() -> None:
    for loading, word in ((BLOCK, "bounds"), (OVERLOADED, "estimates")):
        (found,) = _life_findings._of_blocks(drive(loading=loading), 0.01)
        assert (found.code, found.severity, found.field) == ("block-average", "note", "averaging_error")
        assert f"averaging_error {word} the relative error" in found.message
    few, long = (_life_findings._of_blocks(drive(loading=BLOCK), error)[1] for error in (0.254, 1.5))
    assert (few.code, few.severity, few.field) == ("few-blocks", "caution", "averaging_error")
    assert "may be wrong by 25.4 %" in few.message
    assert (long.code, long.severity, long.field) == ("block-longer-than-life", "outside", "life_cycles")
    assert "may be wrong by 150 %" in long.message

"""What is said of a growth law and its drive, each rule at its bound; closure, closed forms, whole-number blocks."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving import closed_form, law_sets
from fatcore.cracks.driving.driving_findings import drive_findings
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, convert_coefficient, paris, user_defined_law
from fatcore.cracks.driving.law_findings import law_findings
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation, block_loading, constant_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.loading import Drive, UnitIntensity
from fatcore.cracks.driving.transitions import transition_cycles
from fatcore.errors import InputError
from fatcore.findings import Finding

STAGE, FLAT = Stage(coefficient=5e-13, exponent=3.0), Stage(coefficient=5e-10, exponent=2.0)
LAW = GrowthLaw(low=(STAGE,))
EFFECTS = {
    "none": LoadRatioEffect(),
    "walker": LoadRatioEffect(kind="walker", walker_exponent=0.5),
    "forman": LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=3000.0),
    "elber": LoadRatioEffect(kind="elber"),
    "schijve": LoadRatioEffect(kind="schijve"),
    "newman": LoadRatioEffect(kind="newman", constraint=2.0, stress_over_flow=0.3),
}


def of_law(law: GrowthLaw, condition: Any = "stress-relieved", ratio: float = 0.0) -> dict[str, Finding]:
    return {each.code: each for each in law_findings(law, condition, np.array([0.0, ratio]))}


def of_drive(law: GrowthLaw, loading: CrackLoading, *units: UnitIntensity, **more: Any) -> dict[str, Finding]:
    given: dict[str, Any] = {"law": law, "loading": loading, "condition": "stress-relieved"}
    units = units or (UnitIntensity(np.array([[100.0, 200.0]])),)
    return {each.code: each for each in drive_findings(law, Drive(**given | more), units)}


@pytest.mark.parametrize("kind", EFFECTS)
def test_own_constants_must_hold_at_the_ratio_they_are_used_at_unless_the_law_speaks_of_it(kind: str) -> None:
    law = GrowthLaw(low=(STAGE,), effect=EFFECTS[kind])
    speaks = kind not in ("walker", "forman")
    assert ("own-constants-as-welded" in of_law(law, "as-welded")) == speaks
    assert "own-constants-as-welded" not in of_law(law)
    for ratio, high in ((0.5 - 1e-6, False), (0.5 - 1e-12, True), (0.5, True), (0.8, True)):
        found = of_law(law, ratio=ratio)
        assert ("own-constants-high-load-ratio" in found) == (speaks and high)
        assert "own-constants-high-load-ratio" not in of_law(law, "as-welded", ratio)
    if speaks:
        assert "up to 0.8: they must hold" in found["own-constants-high-load-ratio"].message


def test_constants_for_high_ratios_or_a_published_law_speak_for_themselves() -> None:
    two = GrowthLaw(low=(STAGE,), high=(STAGE,))
    for condition in ("as-welded", "stress-relieved"):
        assert not [code for code in of_law(two, condition, 0.8) if code.startswith("own-constants")]
    assert of_law(law_sets.named_law("bs7910-2013/air-mean"), "as-welded", 0.8) == {}


def test_constants_end_at_their_highest_load_ratio() -> None:
    bounded = GrowthLaw(low=(STAGE,), name="own", highest_load_ratio=0.5, sources=("paris-1963",))
    assert of_law(bounded, ratio=0.5) == {}
    left = of_law(bounded, ratio=0.6)["load-ratio-outside"]
    assert (left.high, left.value, left.source) == (0.5, 0.6, "paris-1963")
    assert "constants of own" in left.message
    assert law_sets.named_law("bs7910-2013/air-mean").highest_load_ratio == GrowthLaw(low=(STAGE,)).highest_load_ratio
    assert LAW.highest_load_ratio == 1.0


def test_a_law_whose_second_stage_is_steeper_is_doubted() -> None:
    for low, high, reported in (
        ((STAGE,), (), False),
        ((STAGE, FLAT), (), False),
        ((FLAT, STAGE), (), True),
        ((STAGE,), (FLAT, STAGE), True),
    ):
        assert ("stages-in-another-order" in of_law(GrowthLaw(low=low, high=high))) == reported


def test_own_constants_are_doubted_by_size_exponent_threshold_and_toughness() -> None:
    assert set(of_law(LAW)) == {"law-rate"}
    assert set(of_law(GrowthLaw(low=(Stage(coefficient=5e-16, exponent=3.0),)))) == {"law-rate-implausible"}
    fast = of_law(GrowthLaw(low=(Stage(coefficient=1.04e-11, exponent=3.0),)))
    assert set(fast) == {"law-rate", "law-rate-of-aluminium"}
    assert "is 4.52 times as fast" in fast["law-rate-of-aluminium"].message  # 1.04e-11 / 2.3e-12 [bs-7910-2013]
    assert "gives 0.0013 mm a cycle at 500 MPa√mm" in fast["law-rate"].message
    assert "2.36e-5 to 0.000288 for steel, 0.00176 to 0.00176 for aluminium" in fast["law-rate"].message
    steep = GrowthLaw(low=(STAGE,), high=(Stage(coefficient=1e-33, exponent=11.0),))
    assert "an exponent of 11: growth laws of metals have 1 to 10" in of_law(steep)["exponent-implausible"].message
    metres = GrowthLaw(low=(STAGE,), threshold=Threshold(intercept_mpa_sqrt_mm=2.0))
    said = of_law(metres)["threshold-implausible"].message  # aluminium at R = 1, and steel at R = 0 [barsom-rolfe]
    assert "a threshold of 2 MPa√mm: published ones lie between 21 and 191" in said
    tough = GrowthLaw(low=(STAGE,), effect=LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=2e5))
    assert "toughness-implausible" in of_law(tough)


def test_one_sample_with_a_threshold_makes_a_threshold() -> None:
    assert not Threshold(intercept_mpa_sqrt_mm=np.array([0.0, 60.0])).is_zero
    assert Threshold(intercept_mpa_sqrt_mm=np.array([0.0, 0.0])).is_zero


@pytest.mark.parametrize("kind", EFFECTS)
def test_as_welded_no_opening_function_is_used_and_one_of_aluminium_is_named(kind: str) -> None:
    law = GrowthLaw(low=(STAGE,), effect=EFFECTS[kind])
    closes = kind in ("elber", "schijve", "newman")
    welded, relieved = (of_drive(law, constant_loading(), condition=c) for c in ("as-welded", "stress-relieved"))
    assert ("closure-without-bonus" in welded) == closes
    assert "closure-without-bonus" not in relieved
    assert "closure-of-one-alloy" not in welded
    assert ("closure-of-one-alloy" in relieved) == (kind == "elber")


@pytest.mark.parametrize("kind", EFFECTS)
def test_load_ratios_that_the_source_of_an_effect_does_not_speak_of_are_reported(kind: str) -> None:
    law = GrowthLaw(low=(STAGE,), effect=EFFECTS[kind])
    lowest, source = {
        "walker": (0.0, "walker-1970"),
        "forman": (0.0, "forman-1967"),
        "elber": (-0.1, "elber-1971"),
        "schijve": (-1.0, "schijve-closure"),
        "newman": (-2.0, "newman-1984"),
    }.get(kind, (None, None))
    limit = law.effect.limit
    assert (None if limit is None else limit.low, None if limit is None else limit.source) == (lowest, source)
    left = constant_loading(1.0, -3.0)
    found = of_drive(law, left)
    assert ("load-ratio-convention" in found) == ("load-ratio-outside" in found) == (lowest is not None)
    assert "load-ratio-convention" not in of_drive(law, left, condition="as-welded")
    if limit is not None and lowest is not None:
        assert limit.high == (0.7 if kind == "elber" else 1.0)
        assert "load-ratio-convention" not in of_drive(law, constant_loading(1.0, lowest))
        words = (
            f"the {kind} law takes the open part" if kind in ("walker", "forman") else f"the opening function {kind}"
        )
        assert words in found["load-ratio-convention"].message


def test_lasting_stress_as_welded_is_reported_where_there_is_one() -> None:
    row = np.array([[100.0]])
    plain, pulled = UnitIntensity(row), UnitIntensity(np.array([[100.0, 200.0]]), np.array([[0.0, 50.0]]))
    welded = {"condition": "as-welded"}
    assert "static-stress-as-welded" not in of_drive(LAW, constant_loading(), plain, **welded)
    assert "static-stress-as-welded" not in of_drive(LAW, constant_loading(), pulled)
    found = of_drive(LAW, constant_loading(), plain, pulled, **welded)["static-stress-as-welded"]
    assert "plastic zones" not in found.message
    assert "only where it exceeds 0.5" in found.message
    slowed = block_loading([1.0], [0.0], [1.0], Retardation(model="willenborg", yield_strength_mpa=300.0))
    assert "plastic zones" in of_drive(LAW, slowed, pulled, **welded)["static-stress-as-welded"].message


def test_modes_are_said_to_be_combined_where_there_are_several() -> None:
    row = np.array([[100.0]])
    assert "modes-combined" not in of_drive(LAW, constant_loading(), UnitIntensity(row))
    for mode in ("sliding", "tearing"):
        found = of_drive(LAW, constant_loading(), UnitIntensity(row, **{mode: row}), criterion="richard")
        assert "by the criterion richard" in found["modes-combined"].message


def test_the_first_size_says_whether_the_range_looks_like_another_unit() -> None:
    for first, reported in ((9.99, True), (10.0, False)):
        assert ("intensity-small" in of_drive(LAW, constant_loading(), UnitIntensity(np.array([[first, 500.0]])))) == (
            reported
        )


def test_cycles_between_entries_are_weighed_at_the_first_size() -> None:
    """Entries from 1 to 0.9 and from -1 to -1.1, between them one from 1 to -1.1 a pass; K = 100 at the first size.

    Stress-relieved the open part is 100 of it against 10 of the first entry: (100 / 10)^3 / 1000 cycles = 1.
    """
    found = of_drive(LAW, block_loading([1.0, -1.0], [0.9, -1.1], [1000.0, 50.0]))["block-transitions"]
    assert "1 cycles a repeat between the entries were counted besides them" in found.message
    assert "the largest goes from -1.1 to 1, a range of 2.1 load factors" in found.message
    assert "an effective range of 100 MPa√mm counts of them against 10 of the entries" in found.message
    assert "they grow the crack 1 times as much as the entries" in found.message
    assert "block-transitions" not in of_drive(LAW, constant_loading())


@pytest.mark.parametrize(
    ("count", "high", "low", "code"),
    [
        (1000.0, 1.0, 0.9, "entries-without-largest-cycle"),  # the missing cycle grows the crack as much as all
        (20_001.0, 1.0, 0.9, "block-transitions"),  # less than a twentieth of all
        (19_999.0, 1.0, 0.9, "entries-without-largest-cycle"),
    ],
)
def test_entries_that_hold_no_largest_cycle_are_doubted(count: float, high: float, low: float, code: str) -> None:
    mix = block_loading([high, -1.0], [low, -1.1], [count, 50.0], transitions="in-entries")
    found = of_drive(LAW, mix)
    assert code in found
    assert "entries that reach both extremes hold 0 cycles a repeat, a complete count holds at least 0.5" in (
        found[code].message
    )


@pytest.mark.parametrize(("whole", "complete"), [(0.49, False), (0.5, True), (1.0, True)])
def test_half_a_cycle_between_both_extremes_makes_a_count_complete(whole: float, complete: bool) -> None:
    """A residue has half a cycle at least [astm-e1049]."""
    mix = block_loading([1.0, -1.0, 1.0], [0.9, -1.1, -1.1], [1e6, 50.0, whole], transitions="in-entries")
    found = of_drive(LAW, mix)
    assert ("transitions-in-entries" in found) == complete
    assert ("block-transitions" in found) != complete
    if not complete:
        assert "hold 0.49 cycles a repeat" in found["block-transitions"].message


def test_what_lies_between_entries_is_told_for_rates_that_are_none_too() -> None:
    """A threshold of 50 leaves the entries without growth; one of 150 the cycle between them too."""
    mix = block_loading([1.0, -1.0], [0.9, -1.1], [1000.0, 50.0])
    for threshold, words in ((50.0, "grow the crack instead of the entries"), (150.0, "no more than the entries")):
        law = paris(5e-13, 3.0, threshold_mpa_sqrt_mm=threshold)
        assert words in of_drive(law, mix)["block-transitions"].message


def test_cycles_between_entries_are_weighed_at_the_point_that_they_drive_most() -> None:
    """At the second point, half as high, a threshold of 8 leaves the entries without growth."""
    mix, points = block_loading([1.0, -1.0], [0.9, -1.1], [1000.0, 50.0]), UnitIntensity(np.array([[50.0], [100.0]]))
    found = of_drive(paris(5e-13, 3.0, threshold_mpa_sqrt_mm=8.0), mix, points)["block-transitions"]
    assert "an effective range of 100 MPa√mm counts of them against 10" in found.message
    assert "1 times as much" in found.message


def test_stages_and_thresholds_of_an_own_law_are_those_given() -> None:
    law = user_defined_law((FLAT, STAGE), "mm-MPa")
    assert law.low == (FLAT, STAGE)
    assert (law.name, law.threshold_form, law.sources) == ("own constants", "cut", ("paris-1963",))
    with pytest.raises(InputError) as caught:
        user_defined_law((STAGE,), "mm-MPa", threshold_form="cut")
    assert caught.value.path == ("threshold_form",)
    threshold = Threshold(intercept_mpa_sqrt_mm=60.0)
    shifted = user_defined_law((STAGE,), "mm-MPa", threshold=threshold, threshold_form="shifted")
    assert (shifted.threshold, shifted.threshold_form) == (threshold, "shifted")
    assert paris(1.0, 3.0).low[0].coefficient == 1.0
    # 1 m/cycle is 1000 mm/cycle, 1 MPa√m is sqrt(1000) MPa√mm
    assert convert_coefficient([1.0, 2.0], [2.0, 4.0], "m-MPa").tolist() == pytest.approx([1.0, 2e-3])


def test_a_stage_that_is_steeper_first_holds_below_where_they_meet() -> None:
    """1e-14 K^4 and 1e-10 K^2 meet at 100: the smaller rate below and above, where the steep one stands first."""
    steep, flat = Stage(coefficient=1e-14, exponent=4.0), Stage(coefficient=1e-10, exponent=2.0)
    assert GrowthLaw(low=(steep, flat)).rate_mm_per_cycle([10.0, 1000.0]) == pytest.approx([1e-10, 1e-4])
    assert GrowthLaw(low=(flat, steep)).rate_mm_per_cycle([10.0, 1000.0]) == pytest.approx([1e-8, 1e-2])
    rows = GrowthLaw(low=(steep, flat), high=(flat,)).events(np.array([100.0]), np.array([0.7]))
    assert rows.ravel().tolist() == pytest.approx([100.0, 0.0, 0.2], abs=1e-8)


def test_a_threshold_ramp_has_two_kinks() -> None:
    threshold = Threshold(intercept_mpa_sqrt_mm=60.0)
    ramped = GrowthLaw(low=(STAGE,), threshold=threshold, threshold_ramp=0.1)
    assert ramped.events(np.array([60.0]), np.array([0.0])).ravel().tolist() == pytest.approx([6.0, -6.0])
    rates = ramped.rate_mm_per_cycle([54.0, 57.0, 60.0, 63.0, 66.0]) / (5e-13 * np.array([54, 57, 60, 63, 66]) ** 3)
    assert rates.tolist() == pytest.approx([0.0, 0.25, 0.5, 0.75, 1.0], abs=1e-12)


def test_closed_forms_of_growth() -> None:
    """m = 3: N = 2 (1/sqrt(a0) - 1/sqrt(a1)) / (C (Y S sqrt(pi))^3); m = 2: N = ln(a1 / a0) / (C Y^2 S^2 pi)."""
    cubic = 2.0 * (1.0 - 0.5) / (1e-12 * (2.0 * 100.0 * math.sqrt(math.pi)) ** 3)
    square = math.log(4.0) / (1e-9 * 4.0 * 1e4 * math.pi)
    assert closed_form.life_between_cycles(1.0, 4.0, 100.0, 1e-12, 3.0, 2.0) == pytest.approx(cubic)
    assert closed_form.life_between_cycles(1.0, 4.0, 100.0, 1e-9, 2.0, 2.0) == pytest.approx(square)
    assert closed_form.life_between_cycles(1.0, 1.0, 100.0, 1e-9, 2.0) == 0.0
    assert closed_form.first_crack_mm(4.0, cubic, 100.0, 1e-12, 3.0, 2.0) == pytest.approx(1.0)
    assert closed_form.first_crack_mm(4.0, square, 100.0, 1e-9, 2.0, 2.0) == pytest.approx(1.0)
    plain = float(closed_form.life_between_cycles(1.0, 4.0, 200.0, 1e-12, 3.0))
    assert plain == pytest.approx(cubic)
    assert closed_form.first_crack_mm(4.0, plain, 200.0, 1e-12, 3.0) == pytest.approx(1.0)
    assert closed_form.critical_crack_mm(600.0, 100.0, 2.0) == pytest.approx(9.0 / math.pi)
    assert closed_form.critical_crack_mm(600.0, 100.0) == pytest.approx(36.0 / math.pi)
    with pytest.raises(InputError) as caught:
        closed_form.life_between_cycles([1.0, 2.0], [4.0, 1.9], 100.0, 1e-12, 3.0)
    assert caught.value.path == ("last_mm",)


def test_the_equivalent_of_a_mix_is_its_power_mean() -> None:
    assert closed_form.equivalent_range([3.0, 1.0], [1.0, 3.0], 2.0) == pytest.approx(math.sqrt(12.0 / 4.0))
    assert closed_form.equivalent_range([2.0, 0.0, -1.0], [1.0, 2.0, 1.0], 1.0) == pytest.approx(0.5)
    assert closed_form.equivalent_range([0.0, -1.0], [1.0, 1.0], 3.0) == 0.0


def test_the_worse_of_both_orders_of_an_entry_counts() -> None:
    """The sequence of [astm-e1049], closed: 5 -1 3 -4 4 -2 1 -3 as entries; low ends first it holds more."""
    found = transition_cycles([5.0, 3.0, 4.0, 1.0], [-1.0, -4.0, -2.0, -3.0])
    assert found.maximum.tolist() == [5.0, 4.0, 3.0, 1.0]
    assert found.minimum.tolist() == [-4.0, -3.0, -2.0, -1.0]
    assert found.cycles.tolist() == [1.0] * 4
    for high, low in (([2.0, 2.0, 3.0], [-2.0, 0.0, -3.0]), ([1.0, 3.0, -1.0], [-2.0, -3.0, -2.0])):
        assert transition_cycles(high, low).cycles.size == 0  # each lies inside the next
    nested = transition_cycles([3.0, 2.0], [0.0, -1.0])
    assert (nested.maximum.tolist(), nested.minimum.tolist()) == ([3.0, 2.0], [-1.0, 0.0])

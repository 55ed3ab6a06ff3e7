"""The whole check on small lines: exact numbers, invariances, verdicts, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.line import Mesh, Notch, WeldLine, select_judged_stations
from fatcore.check.loading import Block, BlockLoading, CycleBatch, HistoryLoading, LoadState
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import load_ratio
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.stress.peak.peak_weights import peak_weights

PAIR = Resistance(
    rule="biaxiality",
    curve=catalogue.find_curve("peak-stress-opening"),
    shear_curve=catalogue.find_curve("peak-stress-shear"),
)
TOE = Notch(kind="toe", opening_angle_deg=135.0, notch_size_mm=5.0)
ROOT = Notch(kind="root", opening_angle_deg=0.0, notch_size_mm=20.0)
QUAD = Mesh(element="quad4", element_size_mm=1.0)


def line(peaks: Any, notch: Notch = TOE, **more: Any) -> WeldLine:
    cases = {"pull": np.atleast_2d(np.array(peaks, dtype=float))} if not isinstance(peaks, dict) else peaks
    size = len(next(iter(cases.values())))
    given_cases = {name: np.array(values, dtype=float) for name, values in cases.items()}
    return WeldLine(
        **{
            "name": "toe",
            "position_mm": np.arange(size) * 5.0,
            "cases": given_cases,
            "notch": notch,
            "mesh": QUAD,
            **more,
        }
    )


def constant(cycles: float = 1e6, **factors: tuple[float, float]) -> BlockLoading:
    states = {name: LoadState(maximum=top, minimum=bottom) for name, (top, bottom) in factors.items()}
    return BlockLoading(blocks=(Block(factors=states, cycles=cycles),))


def checked(lines: Any, loading: Any, target: Target | None = None, **more: Any) -> CheckOutcome:
    resistance = more.pop("resistance", PAIR)
    if isinstance(loading, BlockLoading) and len(loading.blocks) == 1:
        resistance = replace(resistance, amplitude="constant")
    several = [lines] if isinstance(lines, WeldLine) else lines
    return check_lines(several, loading, resistance, target or Target(), **more)


def test_toe_of_the_published_worked_chain() -> None:
    """Opening peak range 200 MPa, quad elements of 1 mm, 135 deg: life on the design curve [derived]."""
    outcome = checked(line([200.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)))
    assert outcome.equivalent_stress_mpa == pytest.approx(212.258, abs=5e-4)
    assert outcome.life_cycles == pytest.approx(7.9398e5, abs=5.0)
    assert outcome.curve == "peak-stress-opening"
    assert outcome.damage == pytest.approx(1e6 / 7.9398e5, rel=1e-5)
    assert outcome.utilisation == pytest.approx(outcome.damage ** (1 / 3), rel=1e-9)
    assert outcome.verdict == "fail"
    assert outcome.allowable_stress_mpa == pytest.approx(156.0 * 2.0 ** (1 / 3), rel=1e-9)


def test_fifty_per_cent_survival_gives_the_mean_life() -> None:
    outcome = checked(line([200.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)), Target(survival_probability=0.5))
    assert outcome.life_cycles == pytest.approx(2.05e6, rel=0.01)  # 2.0496e6 with 214 MPa; 1.90 is rounded


@pytest.mark.parametrize(
    ("tearing", "curve"),
    [(0.0, "peak-stress-opening"), (30.0, "peak-stress-opening"), (200.0, "peak-stress-shear")],
)
def test_biaxiality_chooses_the_curve(tearing: float, curve: str) -> None:
    outcome = checked(line([100.0, 0.0, tearing]), constant(pull=(1.0, 0.0)))
    weights = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    ratio = (weights.tearing * tearing / (weights.opening * 100.0)) ** 2
    assert outcome.curve == curve
    assert outcome.biaxiality_ratio == pytest.approx(ratio)


def test_pure_shear_has_no_ratio_and_takes_the_shear_curve() -> None:
    outcome = checked(line([0.0, 0.0, 100.0]), constant(pull=(1.0, 0.0)))
    assert outcome.biaxiality_ratio is None
    assert outcome.curve == "peak-stress-shear"


def test_cases_are_superposed_before_ranges_are_taken() -> None:
    peaks = {"pull": [[100.0, 0.0, 0.0]], "side": [[-100.0, 0.0, 0.0]]}
    together = checked(line(peaks), constant(pull=(1.0, 0.0), side=(1.0, 0.0)))
    assert together.equivalent_stress_mpa == 0.0
    assert together.life_cycles is None
    assert together.utilisation == 0.0
    assert together.allowable_stress_mpa is None
    assert together.factor_to_limit is None
    assert any(finding.code == "nothing-cycles" for finding in together.findings)
    apart = checked(line(peaks), constant(pull=(1.0, 0.0), side=(0.0, 1.0)))
    assert apart.equivalent_stress_mpa == pytest.approx(212.258, abs=5e-4)


@given(factor=st.floats(0.05, 20.0), opening=st.floats(5.0, 300.0), tearing=st.floats(0.0, 300.0))
@settings(max_examples=40)
def test_utilisation_is_inverse_to_the_factor_on_the_loads(factor: float, opening: float, tearing: float) -> None:
    base = checked(line([opening, 0.0, tearing]), constant(pull=(1.0, -0.5)))
    scaled = checked(line([opening, 0.0, tearing]), constant(pull=(factor, -0.5 * factor)))
    assert scaled.utilisation == pytest.approx(factor * base.utilisation, rel=1e-8)
    assert base.factor_to_limit is not None
    just = checked(
        line([opening, 0.0, tearing]),
        constant(pull=(base.factor_to_limit, -0.5 * base.factor_to_limit)),
    )
    assert just.damage == pytest.approx(1.0, rel=1e-7)


def test_load_factor_resistance_factor_and_repeats() -> None:
    base = checked(line([80.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)))
    loaded = checked(line([80.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)), Target(load_factor=1.2))
    weaker = checked(line([80.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)), Target(resistance_factor=1.2))
    longer = checked(line([80.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)), Target(repeats=8.0))
    stricter = checked(line([80.0, 0.0, 0.0]), constant(pull=(1.0, 0.0)), Target(damage_limit=0.125))
    assert loaded.utilisation == pytest.approx(1.2 * base.utilisation)
    assert loaded.equivalent_stress_mpa == pytest.approx(1.2 * base.equivalent_stress_mpa)
    assert weaker.utilisation == pytest.approx(1.2 * base.utilisation)
    assert longer.utilisation == pytest.approx(2.0 * base.utilisation)
    assert longer.damage == pytest.approx(8.0 * base.damage)
    assert stricter.utilisation == pytest.approx(2.0 * base.utilisation)
    assert base.life_repeats == pytest.approx(1.0 / base.damage)


def test_blocks_add_up_as_the_same_cycles_in_a_history() -> None:
    toe = line([[90.0, 0.0, 10.0], [60.0, 0.0, 70.0]])
    blocks = BlockLoading(
        blocks=(
            Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=3.0),
            Block(factors={"pull": LoadState(maximum=0.6, minimum=0.1)}, cycles=2.0),
        )
    )
    history = HistoryLoading(channels={"pull": np.array([0.0, 1, 0, 1, 0, 1, 0.1, 0.6, 0.1, 0.6, 0.1, 0])})
    one, other = checked(toe, blocks), checked(toe, history)
    np.testing.assert_allclose(other.lines[0].damage, one.lines[0].damage, rtol=1e-12)
    assert other.utilisation == pytest.approx(one.utilisation, rel=1e-9)
    assert {finding.code for finding in one.findings} >= {"transitions-added"}


def test_stress_relieved_counts_the_load_ratio() -> None:
    """c_w = 0.5 at R = -1, 1 at R = 0, 3 at R = 0.5 on the energy."""
    toe = line([100.0, 0.0, 0.0])
    full = checked(toe, constant(pull=(1.0, -1.0)))
    relieved = checked(toe, constant(pull=(1.0, -1.0)), condition="stress-relieved")
    raised = checked(toe, constant(pull=(2.0, 1.0)), condition="stress-relieved")
    zero = checked(toe, constant(pull=(1.0, 0.0)), condition="stress-relieved")
    assert relieved.equivalent_stress_mpa == pytest.approx(math.sqrt(0.5) * full.equivalent_stress_mpa)
    assert raised.equivalent_stress_mpa == pytest.approx(math.sqrt(3.0) * zero.equivalent_stress_mpa)
    assert relieved.verdict != "undecided"


@pytest.mark.parametrize("ends", [(0.0, -1.0), (-1.0, -2.0), (0.5, -1.0)])
def test_compression_in_a_relieved_joint_is_undecided(ends: tuple[float, float]) -> None:
    toe = line([100.0, 0.0, 0.0])
    outcome = checked(toe, constant(pull=ends), condition="stress-relieved")
    assert outcome.verdict == "undecided"
    assert any(f.severity == "outside" and f.field == "load_ratio" for f in outcome.findings)
    as_welded = checked(toe, constant(pull=ends))
    weights = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    assert as_welded.equivalent_stress_mpa == pytest.approx(weights.opening * 100.0 * (ends[0] - ends[1]))


def test_a_coarse_mesh_makes_the_point_undecided() -> None:
    coarse = line([50.0, 0.0, 0.0], mesh=Mesh(element="quad4", element_size_mm=2.5))
    assert checked(coarse, constant(pull=(1.0, 0.0))).verdict == "undecided"


def test_a_mode_that_carries_nothing_does_not_make_it_undecided() -> None:
    root = Notch(kind="root", opening_angle_deg=0.0, notch_size_mm=5.0)  # fine for opening, too coarse for sliding
    opened = checked(line([50.0, 0.0, 0.0], root), constant(pull=(1.0, 0.0)))
    sheared = checked(line([50.0, 20.0, 0.0], root), constant(pull=(1.0, 0.0)))
    assert opened.verdict == "pass"
    assert sheared.verdict == "undecided"
    assert any("carries" in f.message and f.severity == "caution" for f in opened.findings)


def test_ends_are_shown_but_not_judged() -> None:
    peaks = [[300.0, 0, 0], [50.0, 0, 0], [60.0, 0, 0], [40.0, 0, 0], [900.0, 0, 0]]
    outcome = checked(line(peaks, exclude_ends_mm=5.0), constant(pull=(1.0, 0.0)))
    assert outcome.lines[0].governing_index == 2
    assert outcome.lines[0].equivalent_stress_mpa[4] > 900.0
    assert any(f.code == "ends-not-judged" for f in outcome.findings)
    loop = checked(line(peaks, exclude_ends_mm=5.0, closed=True), constant(pull=(1.0, 0.0)))
    assert loop.lines[0].governing_index == 4


def test_the_worst_of_several_lines_governs() -> None:
    mild = line([40.0, 0.0, 0.0], name="mild")
    hard = line([90.0, 0.0, 0.0], name="hard")
    outcome = checked([mild, hard, line([60.0, 0.0, 0.0], name="middle")], constant(pull=(1.0, 0.0)))
    assert outcome.governing_line == 1
    assert outcome.utilisation == max(single.governing_utilisation for single in outcome.lines)
    assert {f.line for f in outcome.findings if f.code == "biaxiality-below"} == {"mild", "hard", "middle"}


def test_governing_station_is_the_largest_utilisation_of_all() -> None:
    """Brute force over every station, with slopes 3 and 5 and both curves between the bounds."""
    rng = np.random.default_rng(5)
    peaks = rng.uniform(1.0, 150.0, (40, 3)) * [1.0, 0.0, 1.0]
    whole = checked(line(peaks), constant(2e7, pull=(1.0, 0.0)))
    each = [checked(line([row]), constant(2e7, pull=(1.0, 0.0))).utilisation for row in peaks]
    assert whole.utilisation == pytest.approx(max(each), rel=1e-10)
    assert whole.lines[0].governing_index == int(np.argmax(each))


def test_straight_curves_give_what_looking_up_every_range_gives() -> None:
    """A cut-off far below every range changes no damage, but the way to the utilisation."""
    rng = np.random.default_rng(6)
    peaks = rng.uniform(1.0, 150.0, (40, 3)) * [1.0, 0.0, 1.0]
    history = HistoryLoading(channels={"pull": rng.normal(size=60)})
    for loading in (constant(2e7, pull=(1.0, 0.0)), history):
        cut = replace(
            PAIR,
            curve=replace(PAIR.curve, cut_off_mpa=1e-6),
            shear_curve=replace(PAIR.shear_curve, cut_off_mpa=1e-6),
        )
        straight, looked_up = (checked(line(peaks), loading, resistance=pair) for pair in (PAIR, cut))
        np.testing.assert_allclose(straight.lines[0].utilisation, looked_up.lines[0].utilisation, rtol=1e-11)


def test_stresses_that_are_next_to_nothing_keep_their_utilisation() -> None:
    peaks = np.array([[1e-60, 0.0, 1e-60], [1.0, 0.0, 1.0]])
    found = checked(line(peaks), constant(2e7, pull=(1.0, 0.0))).lines[0].utilisation
    assert found[0] == pytest.approx(1e-60 * found[1], rel=1e-9)


def nominal(normal: float, shear: float) -> WeldLine:
    return line({"bump": [[normal, shear]]}, name="end", basis="nominal", notch=None, mesh=None)


def fixed(rule: str) -> Resistance:
    return Resistance(
        rule="fixed",
        curve=catalogue.find_curve("en-1993-1-9-2005-normal-71", loading="variable"),
        shear_curve=catalogue.find_curve("en-1993-1-9-2005-shear-80", loading="variable"),
        interaction=rule,  # type: ignore[arg-type]
    )


def test_damage_sum_of_normal_and_shear_is_the_published_form() -> None:
    """EN 1993-1-9 (8.3) with utilisations 0.8 and 0.7 at 2e6 cycles: 0.512 + 0.16807 on the first slopes."""
    outcome = checked(nominal(71.0 * 0.8, 80.0 * 0.7), constant(2e6, bump=(1.0, 0.0)), resistance=fixed("damage-sum"))
    assert outcome.damage == pytest.approx(0.68007, abs=5e-6)
    assert outcome.biaxiality_ratio is None


def test_quadratic_interactions() -> None:
    """IIW form with utilisations 0.8 and 0.6: exactly 1.0 proportional, root of 2 non-proportional."""
    stresses = nominal(71.0 * 0.8, 80.0 * 0.6)
    loading = constant(2e6, bump=(1.0, 0.0))
    together = checked(stresses, loading, resistance=fixed("quadratic-proportional"))
    apart = checked(stresses, loading, resistance=fixed("quadratic-non-proportional"))
    assert together.utilisation == pytest.approx(1.0, rel=1e-9)
    assert apart.utilisation == pytest.approx(math.sqrt(2.0), rel=1e-9)


def test_fixed_curve_on_the_peak_basis() -> None:
    one = Resistance(rule="fixed", curve=catalogue.find_curve("peak-stress-opening"))
    outcome = checked(line([100.0, 0.0, 200.0]), constant(pull=(1.0, 0.0)), resistance=one)
    assert outcome.curve == "peak-stress-opening"
    assert outcome.biaxiality_ratio is not None


def test_normal_stress_alone_on_one_curve() -> None:
    one = Resistance(rule="fixed", curve=catalogue.find_curve("en-1993-1-9-2005-normal-71"))
    outcome = checked(nominal(71.0, 0.0), constant(2e6, bump=(1.0, 0.0)), resistance=one)
    assert outcome.utilisation == pytest.approx(1.0, rel=1e-9)
    assert outcome.life_cycles == pytest.approx(2e6)


def test_a_curve_without_survival_says_so_and_is_not_moved() -> None:
    from fatcore.curves.curve import Curve
    from fatcore.errors import NotCoveredError

    own = Resistance(
        rule="fixed",
        curve=Curve.from_point(id="own", source="peak-stress-review-2020", range_mpa=71.0, slopes=[3]),
    )
    loading = constant(2e6, bump=(1.0, 0.0))
    outcome = checked(nominal(71.0, 0.0), loading, resistance=own)
    assert [f.severity for f in outcome.findings if f.code == "survival-unknown"] == ["caution"]
    assert outcome.utilisation == pytest.approx(1.0, rel=1e-9)
    with pytest.raises(NotCoveredError) as caught:
        checked(nominal(71.0, 0.0), loading, Target(survival_probability=0.99), resistance=own)
    assert caught.value.path == ("target", "survival_probability")


def test_progress_is_told_every_station_once() -> None:
    told: list[int] = []
    history = HistoryLoading(channels={"pull": np.array([0.0, 1.0, 0.0])})
    checked(line([[1.0, 0, 0], [2.0, 0, 0], [3.0, 0, 0]]), history, progress=told.append)
    assert sum(told) == 3


def test_history_that_does_not_move() -> None:
    still = HistoryLoading(channels={"pull": np.array([1.0, 1.0, 1.0])})
    outcome = checked(line([[10.0, 0, 0]]), still)
    assert outcome.utilisation == 0.0
    assert outcome.verdict == "undecided"


def test_load_ratio_is_infinite_where_the_maximum_is_zero() -> None:
    zeros: FloatArray = np.zeros((1, 1, 1))
    batch = CycleBatch(
        stations=[0],
        range_mpa=zeros + 2,
        minimum_mpa=zeros - 2,
        maximum_mpa=zeros,
        count=np.ones(1),
        cycles=1.0,
    )
    assert load_ratio(batch).item() == math.inf


BAD_LINES = {
    "position": lambda: line([[1, 0, 0], [2, 0, 0]], position_mm=np.array([1.0, 1.0])),
    "ragged case": lambda: line([[1, 0, 0], [2, 0, 0]], position_mm=np.array([1.0, 2.0, 3.0])),
    "not finite": lambda: line([[math.nan, 0, 0]]),
    "ends": lambda: select_judged_stations(line([[1, 0, 0], [2, 0, 0]], exclude_ends_mm=9.0)),
    "no lines": lambda: check_lines([], constant(pull=(1, 0)), PAIR, Target()),
    "names": lambda: checked([line([1, 0, 0]), line([1, 0, 0])], constant(pull=(1, 0))),
    "case unknown": lambda: checked(line([1, 0, 0]), constant(push=(1, 0))),
    "no notch": lambda: checked(line([1, 0, 0], notch=None), constant(pull=(1, 0))),
    "no mesh": lambda: checked(line([1, 0, 0], mesh=None), constant(pull=(1, 0))),
    "peak with shear curve": lambda: checked(line([1, 0, 0]), constant(pull=(1, 0)), resistance=fixed("damage-sum")),
    "nominal with rule": lambda: checked(nominal(1, 0), constant(bump=(1, 0))),
    "shear without curve": lambda: checked(
        nominal(1, 1),
        constant(bump=(1, 0)),
        resistance=Resistance(rule="fixed", curve=catalogue.find_curve("en-1993-1-9-2005-normal-71")),
    ),
    "rule without shear curve": lambda: Resistance(rule="biaxiality", curve=PAIR.curve),
    "bounds": lambda: Resistance(
        rule="biaxiality", curve=PAIR.curve, shear_curve=PAIR.shear_curve, lower=0.6, upper=0.5
    ),
    "no factors": lambda: Block(factors={}, cycles=1.0),
    "no cycles": lambda: constant(0.0, pull=(1, 0)),
    "no channels": lambda: HistoryLoading(channels={}),
    "ragged channels": lambda: HistoryLoading(channels={"a": np.zeros(3), "b": np.zeros(4)}),
    "channel not finite": lambda: HistoryLoading(channels={"a": np.array([0.0, math.inf])}),
    "repeats": lambda: Target(repeats=0.0),
}


@pytest.mark.parametrize("case", BAD_LINES)
def test_refused(case: str) -> None:
    with pytest.raises(InputError):
        BAD_LINES[case]()  # type: ignore[no-untyped-call]


def test_unused_case_is_told() -> None:
    both = line({"pull": [[1.0, 0, 0]], "side": [[5.0, 0, 0]]})
    outcome = checked(both, constant(pull=(1.0, 0.0)))
    assert any(f.code == "case-not-loaded" and "side" in f.message for f in outcome.findings)


def test_quadratic_interaction_looks_at_every_station() -> None:
    """The station with the largest damage sum need not have the largest quadratic utilisation."""
    cases = {"bump": [[60.0, 0.0], [40.0, 60.0], [10.0, 20.0]]}
    ends = line(cases, basis="nominal", notch=None, mesh=None)
    outcome = checked(ends, constant(2e6, bump=(1.0, 0.0)), resistance=fixed("quadratic-proportional"))
    assert outcome.lines[0].governing_index == 1
    assert outcome.utilisation == pytest.approx(math.hypot(40 / 71, 60 / 80), rel=1e-9)


def test_definitions_of_a_cycle_are_compared_out_of_phase() -> None:
    phase = np.linspace(0.0, 2 * math.pi, 41)
    cases = {"pull": [[100.0, 0.0, 0.0]], "side": [[0.0, 0.0, 60.0]]}
    turning = HistoryLoading(channels={"pull": np.sin(phase), "side": np.cos(phase)})
    outcome = checked(line(cases), turning)
    assert any(f.code == "not-proportional" for f in outcome.findings)
    together = HistoryLoading(channels={"pull": np.sin(phase), "side": np.sin(phase)})
    assert not any(f.code == "not-proportional" for f in checked(line(cases), together).findings)


def test_batches_of_stations_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    from fatcore.check import loading as module

    peaks = np.random.default_rng(2).uniform(1.0, 100.0, (30, 3)) * [1.0, 0.0, 1.0]
    whole = checked(line(peaks), constant(pull=(1.0, 0.0)))
    monkeypatch.setattr(module, "BATCH_VALUES", 1)
    single = checked(line(peaks), constant(pull=(1.0, 0.0)))
    np.testing.assert_array_equal(single.lines[0].damage, whole.lines[0].damage)
    assert single.utilisation == whole.utilisation
    assert single.lines[0].governing_index == whole.lines[0].governing_index


def test_one_curve_looks_at_every_station() -> None:
    one = Resistance(rule="fixed", curve=catalogue.find_curve("en-1993-1-9-2005-normal-71"))
    ends = line({"bump": [[30.0, 0.0], [55.0, 0.0], [40.0, 0.0]]}, basis="nominal", notch=None, mesh=None)
    outcome = checked(ends, constant(2e6, bump=(1.0, 0.0)), resistance=one)
    assert outcome.lines[0].governing_index == 1
    assert outcome.utilisation == pytest.approx(55.0 / 71.0, rel=1e-9)


def test_an_undecided_line_that_does_not_govern_is_told() -> None:
    coarse = line([20.0, 0.0, 0.0], name="coarse", mesh=Mesh(element="quad4", element_size_mm=2.5))
    outcome = checked([line([60.0, 0.0, 0.0]), coarse], constant(pull=(1.0, 0.0)))
    assert (outcome.verdict, outcome.deciding_lines) == ("undecided", ("coarse",))
    (told,) = [f for f in outcome.findings if f.code == "other-lines-undecided"]
    assert "coarse" in told.message

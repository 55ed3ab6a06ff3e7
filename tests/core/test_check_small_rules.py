"""Small rules of a check that a verdict may hang on: what decides where nothing does damage, and ends that belong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fatcore.check.complete import _allowable
from fatcore.check.findings.choices import BOUNDS_LOWER
from fatcore.check.line import Material
from fatcore.check.loading import CycleBatch
from fatcore.check.stations import _shares
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.making import strength_of
from fatcore.check.strength.resistance import Target
from fatcore.check.strength.strength import PeakStrength
from fatcore.check.transitions import _in_step
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from tests.core.test_check_lines import PAIR, checked, constant, line


def codes(outcome: object) -> set[str]:
    return {finding.code for finding in outcome.findings}  # type: ignore[attr-defined]


def with_cut_off(name: str) -> Curve:
    curve = catalogue.find_curve(name)
    return Curve(
        id=name,
        source=curve.source,
        log10_constants=curve.log10_constants[:1],
        slopes=curve.slopes[:1],
        cut_off_mpa=50.0,
    )


STRENGTH = PeakStrength(
    weights=np.ones(3),
    opening_curve=with_cut_off("peak-stress-opening"),
    shear_curve=with_cut_off("peak-stress-shear"),
    lower=0.05,
    upper=0.5,
    relieved=False,
)


def test_where_nothing_does_damage_the_largest_cycle_names_the_curve() -> None:
    """Two cycles below the cut-off: the larger one is shear, so that the shear curve is named, not the other."""
    small = np.array([[2.0, 1.0]])
    judged = Judged(equivalent_mpa=small, ratio=np.array([[10.0, 0.0]]), second_mpa=0.0 * small, count=np.ones(2))
    for columns, curve in (([0, 1], 1), ([1, 0], 1)):
        turned = replace(judged, equivalent_mpa=small[:, columns], ratio=judged.ratio[:, columns])
        total, decided = STRENGTH.damage(turned)
        assert total[0] == 0.0
        assert decided[0] == curve


def test_moved_bounds_do_not_lower_a_station_without_stress() -> None:
    """Bounds that no cycle is near of are a choice to look at, not a limit left, also where a station rests."""
    moved = replace(PAIR, lower=0.1)
    outcome = checked(line([[100.0, 0.0, 0.0]] * 4 + [[0.0, 0.0, 0.0]]), constant(pull=(1.0, 0.0)), resistance=moved)
    assert "bounds-moved" in codes(outcome)
    assert BOUNDS_LOWER not in codes(outcome)


def test_a_load_ratio_of_minus_one_is_within_the_published_ones() -> None:
    """Beside a weak station that leaves them, the one that fails at exactly -1 fails for certain."""
    peaks = {"pull": [[200.0, 0.0, 0.0], [20.0, 0.0, 0.0]], "hold": [[0.0, 0.0, 0.0], [4.0, 0.0, 0.0]]}
    loading = constant(pull=(1.0, -1.0), hold=(-1.0, -1.0))
    outcome = checked(line(peaks), loading, condition="stress-relieved")
    assert outcome.verdict == "fail"
    left = [finding for finding in outcome.findings if finding.severity == "outside"]
    assert [finding.code for finding in left] == ["load-ratio-outside"]


def test_a_mode_counts_by_its_largest_cycle_or_by_its_many_small_ones() -> None:
    """One opening cycle of 100 MPa, a million sliding ones of 90, and one where nothing moves."""
    ranges = np.array([[[100.0, 0.0, 0.0], [0.0, 90.0, 0.0], [0.0, 0.0, 0.0]]])
    batch = CycleBatch(
        stations=range(1),
        range_mpa=ranges,
        maximum_mpa=ranges,
        minimum_mpa=0.0 * ranges,
        count=np.array([1.0, 1e6, 1.0]),
        cycles=1e6 + 2.0,
    )
    judged = STRENGTH.judge(batch)
    opening, sliding, tearing = _shares(batch, judged, STRENGTH)[0]
    assert opening == 1.0
    assert sliding > 0.99
    assert tearing == 0.0


def test_without_use_there_is_no_allowable_range() -> None:
    assert _allowable(100.0, 0.5) == 200.0
    assert _allowable(100.0, 0.0) is None
    assert _allowable(0.0, 0.5) is None


def test_states_that_are_all_equal_are_in_step() -> None:
    states = np.ones((1, 4, 3))
    level = states[..., 0]
    ends = (states[:, :2], states[:, :2])
    one = np.zeros(1, dtype=np.intp)
    assert _in_step(states, level, ends, one, one).all()


def test_shares_of_modes_are_those_of_the_published_weights_where_constants_are_own() -> None:
    """Half of a constant halves the weight that the check uses, not the one by which a mode may carry little."""
    bare = line([[100.0, 0.0, 0.0]] * 3)
    assert bare.mesh is not None
    own = replace(bare, mesh=replace(bare.mesh, constants={"opening": 0.5 * 1.38}))
    found = [strength_of(each, PAIR, Target(), Material(), "as-welded", "exact")[0] for each in (bare, own)]
    plain, halved = (each for each in found if isinstance(each, PeakStrength))
    np.testing.assert_array_equal(plain.published_weights, plain.weights)
    np.testing.assert_allclose(halved.published_weights, plain.weights)
    assert halved.weights[0] < 0.6 * plain.weights[0]

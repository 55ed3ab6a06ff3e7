"""Where two places or two curves are used alike: the first one is named, rounding does not choose."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.check import loading
from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.line import WeldLine
from fatcore.check.loading import Block, BlockLoading, LoadState
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import InteractionStrength
from fatcore.curves.standards import catalogue

NORMAL = catalogue.find_curve("en-1993-1-9-2005-normal-71")
PULL = BlockLoading(blocks=(Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=2e6),))


def checked(*lines: list[float]) -> CheckOutcome:
    made = [
        WeldLine(
            name=f"line {place}",
            basis="nominal",
            position_mm=5.0 * np.arange(len(normal)),
            cases={"pull": np.array([[each, 0.0] for each in normal])},
        )
        for place, normal in enumerate(lines)
    ]
    return check_lines(made, PULL, Resistance(rule="fixed", curve=NORMAL), Target())


@pytest.mark.parametrize("values_a_batch", [1, loading.BATCH_VALUES])
@pytest.mark.parametrize(
    ("stresses", "governing"),
    [
        ([40.0, 50.0, 50.0], 1),
        ([40.0, 50.0, 50.0 * (1.0 + 1e-12)], 1),
        ([50.0 * (1.0 + 1e-12), 50.0, 40.0], 0),
        ([40.0, 50.0, 50.0 * (1.0 + 1e-6)], 2),
        ([50.0 * (1.0 + 1e-6), 50.0, 40.0], 0),
    ],
)
def test_the_first_of_equal_stations_governs_in_one_batch_and_in_many(
    monkeypatch: pytest.MonkeyPatch, values_a_batch: int, stresses: list[float], governing: int
) -> None:
    monkeypatch.setattr(loading, "BATCH_VALUES", values_a_batch)
    outcome = checked(stresses)
    assert outcome.lines[0].governing_index == governing
    by_line = checked(*([each, 1.0] for each in stresses))
    assert by_line.governing_line == governing


@pytest.mark.parametrize(("shear_mpa", "decides"), [(49.0, 0), (50.0, 0), (51.0, 1), (0.0, 0)])
def test_the_normal_curve_is_named_unless_shear_does_more_damage(shear_mpa: float, decides: int) -> None:
    both = InteractionStrength(normal_curve=NORMAL, shear_curve=NORMAL, rule="damage-sum")
    ranges = [np.array([[each]]) for each in (50.0, shear_mpa)]
    judged = Judged(
        equivalent_mpa=ranges[0],
        second_mpa=ranges[1],
        ratio=np.full((1, 1), np.inf),
        count=np.ones(1),
    )
    damage, index = both.damage(judged)
    assert index.tolist() == [decides]
    assert damage == pytest.approx(sum(NORMAL.damage_per_cycle(each).item() for each in ranges))

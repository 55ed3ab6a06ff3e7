"""The check on arrays against plain loops over stations, orders and cycles, on seeded random requests."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.check.complete import check_lines
from fatcore.check.line import WeldLine
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, LoadState
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.transitions import MOST_ORDERED
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.require import FloatArray
from tests.core.readable_check import Station, check_stations
from tests.core.test_check_lines import QUAD, ROOT, TOE

OPENING, SHEAR = (catalogue.find_curve(f"peak-stress-{kind}") for kind in ("opening", "shear"))
BENT = Curve.from_point(
    id="bent", source="own", range_mpa=120.0, slopes=(3.0, 5.0), knee_cycles=(1e6,), cut_off_cycles=1e8
)
CASES = ("a", "b", "c")


def levels(rng: np.random.Generator, size: tuple[int, ...]) -> FloatArray:
    """Whole numbers make ties between states and between cycles, the others none."""
    return rng.integers(-4, 5, size) / 2.0 if rng.random() < 0.5 else rng.normal(size=size)


def some_lines(rng: np.random.Generator) -> list[WeldLine]:
    found = []
    for number in range(rng.integers(1, 4)):
        size = int(rng.integers(1, 6))
        cases = {name: rng.choice([2.0, 12.0]) * levels(rng, (size, 3)) for name in CASES}
        notch, places = (TOE, ROOT)[rng.integers(2)], np.arange(size) * 1.0
        found.append(WeldLine(name=f"line {number}", position_mm=places, cases=cases, notch=notch, mesh=QUAD))
    return found


def some_blocks(rng: np.random.Generator) -> BlockLoading:
    found = []
    for _ in range(rng.integers(1, MOST_ORDERED + 1)):
        named = [name for name in CASES if rng.random() < 0.8] or ["a"]
        ends = levels(rng, (len(named), 2)).tolist()
        states = {name: LoadState(maximum=one, minimum=other) for name, (one, other) in zip(named, ends, strict=True)}
        found.append(Block(factors=states, cycles=float(rng.choice([1.0, 30.0, 1e4]))))
    return BlockLoading(blocks=tuple(found), transitions="in-entries" if rng.random() < 0.2 else "added")


def some_history(rng: np.random.Generator) -> HistoryLoading:
    definition: Any = rng.choice(["governing", "independent", "path"])
    residue: Any = rng.choice(["closed", "half"])
    samples = rng.integers(2, 15)
    channels = {name: levels(rng, (samples,)) for name in CASES}
    return HistoryLoading(channels=channels, residue=residue, definition=definition)


def some_target(rng: np.random.Generator, *, own_curve: bool) -> Target:
    return Target(
        repeats=float(rng.choice([1.0, 200.0])),
        load_factor=float(rng.choice([1.0, 1.3, 0.8])),
        resistance_factor=float(rng.choice([1.0, 1.15])),
        # a curve of one's own states no survival probability to be moved from
        survival_probability=None if own_curve else (None, 0.977)[rng.integers(2)],
    )


@pytest.mark.uncounted
@pytest.mark.parametrize("seed", range(150))
def test_arrays_say_what_plain_loops_say(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lines = some_lines(rng)
    loading = some_history(rng) if rng.random() < 0.2 else some_blocks(rng)
    curve, condition = (OPENING, BENT)[rng.integers(2)], ("as-welded", "stress-relieved")[rng.integers(2)]
    lower, upper = ((0.05, 0.5), (0.2, 0.3))[rng.integers(2)]
    resistance = Resistance(rule="biaxiality", curve=curve, shear_curve=SHEAR, lower=lower, upper=upper)
    target = some_target(rng, own_curve=curve is BENT)
    outcome = check_lines(lines, loading, resistance, target, condition=condition)  # type: ignore[arg-type]
    for line, found in zip(lines, outcome.lines, strict=True):
        plain = Station(*np.array(check_stations(line, loading, resistance, target, condition)).T)
        np.testing.assert_allclose(found.damage, target.repeats * np.array(plain.damage), rtol=1e-11)
        np.testing.assert_allclose(found.utilisation, plain.utilisation, rtol=1e-9)
        np.testing.assert_allclose(found.equivalent_stress_mpa, plain.equivalent_mpa, rtol=1e-11, atol=1e-12)


def test_lines_on_two_bases_go_apart() -> None:
    """One fixed curve for peaks of three modes and for normal stress: each line is as if it were alone."""
    peak = WeldLine(name="toe", position_mm=np.zeros(1), cases={"a": np.array([[90.0, 0, 9]])}, notch=TOE, mesh=QUAD)
    plain = WeldLine(name="seam", basis="nominal", position_mm=np.zeros(1), cases={"a": np.array([[40.0, 0.0]])})
    loading = BlockLoading(blocks=(Block(factors={"a": LoadState(maximum=1.0, minimum=0.0)}, cycles=1e4),) * 2)
    resistance = Resistance(rule="fixed", curve=OPENING)
    both = check_lines([peak, plain], loading, resistance, Target())
    for number, line in enumerate((peak, plain)):
        alone = check_lines([line], loading, resistance, Target())
        assert both.lines[number].damage == alone.lines[0].damage

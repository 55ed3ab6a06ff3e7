"""One specimen under several names has no scatter between specimens: its levels and its readings tell."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from fatcore.trials.growth.alike import alike_findings
from fatcore.trials.growth.evaluation import evaluate_growth
from fatcore.trials.growth.outcome import GrowthRateOutcome, GrowthTest
from fatcore.trials.growth.specimen import GrowthSpecimen

EXAMPLE = Path("openapi_examples/trials/growth-rate-plate.json")
TESTS: list[dict[str, Any]] = json.loads(EXAMPLE.read_text("utf-8"))["request"]["tests"][:3]
REDUCTIONS = ("secant", "seven-point")
ONE, ON_CURVE = "specimens-as-one", "readings-on-one-curve"
CODES = {"near-copies", "specimens-not-told-apart", ONE, ON_CURVE}


def cut(test: dict[str, Any], readings: slice, name: str) -> GrowthTest:
    return made(test, name, np.array(test["size_mm"])[readings], np.array(test["cycles"])[readings])


def made(test: dict[str, Any], name: str, size: Any, cycles: Any) -> GrowthTest:
    return GrowthTest(name=name, specimen=GrowthSpecimen(**test["specimen"]), size_mm=size, cycles=cycles)


def whole(test: dict[str, Any]) -> GrowthTest:
    return cut(test, slice(None), test["name"])


def evaluated(tests: Sequence[GrowthTest], reduction: Any = "secant") -> GrowthRateOutcome:
    return evaluate_growth(tests, reduction=reduction, confidence=0.95)


def codes(found: GrowthRateOutcome) -> set[str]:
    return {each.code for each in found.findings} & CODES


@pytest.mark.parametrize("reduction", REDUCTIONS)
def test_three_plates_are_told_apart(reduction: str) -> None:
    assert codes(evaluated([whole(each) for each in TESTS], reduction)) == set()


@pytest.mark.parametrize("reduction", REDUCTIONS)
@pytest.mark.parametrize(
    "parts",
    [
        [slice(0, None, 2), slice(1, None, 2)],
        [slice(0, 18), slice(18, None)],
        [slice(18, None), slice(0, 18)],
        [slice(0, None, 3), slice(1, None, 3), slice(2, None, 3)],
    ],
    ids=["every-second", "halves", "halves-turned", "every-third"],
)
def test_one_plate_cut_into_several_is_one(parts: list[slice], reduction: str) -> None:
    found = evaluated([cut(TESTS[0], part, str(part)) for part in parts], reduction)
    assert codes(found) == {"specimens-not-told-apart", ONE, ON_CURVE}
    assert {each.severity for each in found.findings if each.code == ONE} == {"outside"}


def test_a_plate_that_stands_twice_among_others_is_said() -> None:
    parts = [cut(TESTS[0], slice(start, None, 2), str(start)) for start in (0, 1)]
    found = evaluated([*parts, *map(whole, TESTS[1:])])
    assert codes(found) == {ON_CURVE}
    (said,) = [each for each in found.findings if each.code == ON_CURVE]
    assert "'0' and '1'" in said.message


def test_several_pairs_are_counted() -> None:
    parts = [cut(TESTS[0], slice(start, None, 3), str(start)) for start in range(3)]
    (said,) = [each for each in evaluated(parts).findings if each.code == ON_CURVE]
    assert "'0' and '1', and 2 more pair(s)" in said.message


@pytest.mark.parametrize("factor", [1.0, 1.03])
def test_copies_with_other_cycles_are_said(factor: float) -> None:
    size, cycles = np.array(TESTS[0]["size_mm"]), np.array(TESTS[0]["cycles"])
    copy = made(TESTS[0], "copy", size, factor * cycles + 5000.0)
    found = evaluated([whole(TESTS[0]), copy])
    (said,) = [each for each in found.findings if each.code == "near-copies"]
    assert ("the same but for one factor" in said.message) == (factor > 1.0)
    assert (ONE in codes(found)) == (factor == 1.0)


def test_a_second_plate_from_another_size_or_count_does_not_go_on_with_the_first() -> None:
    """It begins where the first one ends in size or in cycles, but not in both, or not in its rate."""
    size, cycles = np.array(TESTS[1]["size_mm"]), np.array(TESTS[1]["cycles"])
    first = cut(TESTS[0], slice(0, 18), "first")
    end = float(first.cycles[-1])
    for behind in (
        made(TESTS[1], "size", size[18:], cycles[18:] - cycles[18]),
        made(TESTS[1], "cycles", size[:18], cycles[:18] + end + 1.0),
        made(TESTS[1], "rate", size[18:], cycles[18:] - cycles[18] + 20.0 * end),
    ):
        assert not codes(evaluated([first, behind])) & {ONE, ON_CURVE}


def test_few_readings_say_nothing_of_one_curve() -> None:
    parts = [cut(TESTS[0], slice(0, 4), "a"), cut(TESTS[0], slice(0, 16, 5), "b")]
    assert ON_CURVE not in codes(evaluated(parts))


def test_levels_are_compared_by_the_squares_of_both_models() -> None:
    """F of one line against lines of one exponent, by least squares of the general-purpose package."""
    found = evaluated([whole(each) for each in TESTS])
    x = [np.log10(each.delta_k_mpa_sqrt_mm) for each in found.specimens]
    y = np.log10(np.concatenate([each.rate_mm_per_cycle for each in found.specimens]))
    both = np.concatenate(x)
    groups = np.repeat(np.eye(3), [len(each) for each in x], axis=0)
    squares = [
        float(np.linalg.lstsq(np.column_stack([both, design]), y, rcond=None)[1][0])
        for design in (np.ones_like(both), groups)
    ]
    freedom = len(both) - 4
    statistic = (squares[0] - squares[1]) / 2 / (squares[1] / freedom)
    assert found.pooled is not None
    assert found.pooled.levels_chance == pytest.approx(stats.f.sf(statistic, 2, freedom), rel=1e-6)


def test_no_noise_leaves_the_levels_told_apart() -> None:
    """Exact lines of two plates, where nothing scatters within."""
    size, cycles = np.array(TESTS[0]["size_mm"]), np.array(TESTS[0]["cycles"])
    found = evaluated([whole(TESTS[0]), made(TESTS[0], "fast", size, 0.5 * cycles)])
    assert found.pooled is not None
    assert found.pooled.levels_chance < 1e-6


def test_the_upper_law_of_few_specimens_is_called_no_better_than_it_is() -> None:
    found = evaluated([cut(TESTS[0], slice(start, None, 2), str(start)) for start in (0, 1)])
    (said,) = [each for each in found.findings if each.code == "few-specimens"]
    assert "may lie too low; test 5 or more" in said.message


@pytest.mark.parametrize("reduction", REDUCTIONS)
def test_sound_sets_with_noisy_readings_are_not_refused(reduction: str) -> None:
    """Four plates whose constants scatter by 0.08 decades, read to 0.05 mm, 20 sets: nothing is outside."""
    drawn = np.random.default_rng(12)
    size, cycles = np.array(TESTS[0]["size_mm"]), np.array(TESTS[0]["cycles"])
    for _ in range(20):
        tests = []
        for number in range(4):
            read = np.maximum.accumulate(size + drawn.normal(0.0, 0.05, size.size))
            tests.append(made(TESTS[0], str(number), read, cycles * 10.0 ** drawn.normal(0.0, 0.08)))
        found = evaluated(tests, reduction)
        assert not [each.code for each in found.findings if each.severity == "outside"]


def test_many_specimens_are_compared_in_little_time() -> None:
    """200 specimens make 19,900 pairs; the bound leaves room for a busy machine."""
    drawn, size, cycles = np.random.default_rng(2), np.array(TESTS[0]["size_mm"]), np.array(TESTS[0]["cycles"])
    tests = [
        made(TESTS[0], str(number), size + 0.001 * number, cycles * 10.0 ** drawn.normal(0.0, 0.1))
        for number in range(200)
    ]
    found = evaluated(tests)
    begun = time.process_time()
    alike_findings(tests, found.specimens)
    assert time.process_time() - begun < 5.0

"""What must not change an answer about a spectrum, and what must never make it better."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.base.envelope import evaluate
from service.topics.registry import load

pytestmark = pytest.mark.uncounted

STEEL = "iiw-2016-normal-steel-80"
FEW = settings(max_examples=40, deadline=None)
STRESS = st.integers(-300, 300).map(float)
HISTORIES = st.lists(STRESS, min_size=2, max_size=30).filter(lambda values: len(set(values)) > 1)
FACTORS = st.sampled_from([1.0, 1.01, 1.5, 3.0])
CURVES = st.sampled_from(
    [STEEL, "en-1993-1-9-2005-normal-71", {"name": "own", "log10_constants": [12.0], "slopes": [3.0]}]
)
RESIDUES = st.sampled_from(["half", "closed"])


def answer_of(name: str, request: dict[str, Any]) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(evaluate(load()["POST", f"spectrum/{name}"], request).content())
    return content["answer"]  # type: ignore[no-any-return]


def damage(request: dict[str, Any]) -> float:
    return float(answer_of("damage", request)["damage"])


@given(HISTORIES, RESIDUES, CURVES)
@FEW
def test_a_history_upside_down_or_backwards_does_the_same(history: list[float], residue: str, curve: Any) -> None:
    request = {"history_mpa": history, "residue": residue, "curve": curve}
    once = damage(request)
    assert damage({**request, "history_mpa": [-value for value in history]}) == pytest.approx(once, rel=1e-9)
    shifted = [value + 100.0 for value in history]
    assert damage({**request, "history_mpa": shifted}) == pytest.approx(once, rel=1e-9)
    if residue == "closed":
        assert damage({**request, "history_mpa": history[::-1]}) == pytest.approx(once, rel=1e-9)


@given(HISTORIES, CURVES)
@FEW
def test_a_record_that_repeats_does_no_less_than_one_that_happens_once(history: list[float], curve: Any) -> None:
    request = {"history_mpa": history, "curve": curve}
    closed, half = (damage({**request, "residue": residue}) for residue in ("closed", "half"))
    assert closed >= half * (1.0 - 1e-12)
    assert damage(request) == closed


@given(HISTORIES, RESIDUES, FACTORS, CURVES)
@FEW
def test_more_stress_never_does_less(history: list[float], residue: str, factor: float, curve: Any) -> None:
    request = {"history_mpa": history, "residue": residue, "curve": curve}
    larger = {**request, "history_mpa": [factor * value for value in history]}
    assert damage(larger) >= damage(request) * (1.0 - 1e-12)
    assert damage({**request, "repeats": factor}) == pytest.approx(factor * damage(request))


@given(HISTORIES, st.lists(st.integers(0, 250).map(float), min_size=2, max_size=2).map(sorted), RESIDUES)
@FEW
def test_a_wider_gate_never_adds_damage(history: list[float], gates: list[float], residue: str) -> None:
    request = {"history_mpa": history, "curve": STEEL, "residue": residue}
    span = max(history) - min(history)
    found = [damage({**request, "hysteresis_threshold_mpa": gate}) for gate in (0.0, *gates) if gate <= span]
    assert all(later <= earlier * (1.0 + 1e-9) for earlier, later in pairwise(found))


BLOCKS = st.lists(st.tuples(st.floats(1.0, 400.0), st.floats(1.0, 1e7)), min_size=1, max_size=6)


@given(BLOCKS, CURVES, st.floats(0.01, 0.99))
@FEW
def test_a_block_split_in_two_does_the_same(blocks: list[tuple[float, float]], curve: Any, share: float) -> None:
    ranges, counts = (list(column) for column in zip(*blocks, strict=True))
    request = {"curve": curve, "range_mpa": ranges, "count": counts}
    once = answer_of("damage", request)
    split = {
        "range_mpa": [*ranges, ranges[0]],
        "count": [counts[0] * share, *counts[1:], counts[0] * (1 - share)],
    }
    twice = answer_of("damage", {**request, **split})
    for name in ("damage", "equivalent_range_mpa", "total_count", "largest_range_mpa"):
        assert twice[name] == pytest.approx(once[name], rel=1e-9)


@given(BLOCKS, CURVES, st.sampled_from(["as-curve", "original", "elementary", "reduced-slope"]))
@FEW
def test_the_damage_is_that_of_the_equivalent_range_of_the_same_answer(
    blocks: list[tuple[float, float]], curve: Any, form: str
) -> None:
    ranges, counts = (list(column) for column in zip(*blocks, strict=True))
    body = {"range_mpa": ranges, "count": counts, "curve": curve, "below_knee": form}
    first = damage({"range_mpa": [400.0], "count": [1.0], "curve": curve})  # on the first slope
    for reference in (None, 2e6):
        found = answer_of("damage", {**body, "reference_cycles": reference, "repeats": 7.0})
        power = (found["equivalent_range_mpa"] / 400.0) ** 3.0
        assert found["damage"] == pytest.approx(found["reference_cycles"] * first * power, rel=1e-9)


@given(HISTORIES, st.integers(1, 60), st.floats(1.0, 9.0))
@FEW
def test_classes_at_their_upper_edges_keep_all_cycles_and_all_damage(
    history: list[float], classes: int, slope: float
) -> None:
    answer = answer_of("cycles", {"history_mpa": history, "classes": classes, "slope": slope})
    count, upper = np.array(answer["classes"]["count"]), np.array(answer["classes"]["range_edges_mpa"][1:])
    assert count.sum() == answer["total_count"]
    exact = sum(n * r**slope for n, r in zip(answer["count"], answer["range_mpa"], strict=True))
    assert float(count @ upper**slope) >= exact * (1.0 - 1e-12)


@given(st.floats(10.0, 1000.0), st.floats(2.0, 1e9), st.floats(0.3, 5.0), st.floats(2.0, 9.0), FACTORS)
@FEW
def test_steps_grow_with_their_spectrum(
    largest: float, cycles: float, shape: float, slope: float, factor: float
) -> None:
    request = {"largest_range_mpa": largest, "cycles": cycles, "shape_exponent": shape}

    def blocks(**changes: float) -> float:
        found = answer_of("steps", {**request, **changes})
        return float(np.array(found["count"]) @ np.array(found["range_mpa"]) ** slope)

    for chosen in ({}, {"slope": slope}):
        once = blocks(**chosen)
        bigger = blocks(**chosen, largest_range_mpa=factor * largest)
        assert bigger == pytest.approx(once * factor**slope, rel=1e-9)
    # the closed form of few cycles is carried by ranges above the largest one, which more cycles make rarer
    assert blocks(cycles=factor * cycles) >= blocks() * (1.0 - 1e-9)


DENSITY = {"frequency_hz": [0.0, 2.0, 9.0, 10.0], "duration_s": 1e6}
LEVELS = st.lists(st.floats(0.0, 1e4), min_size=4, max_size=4).filter(lambda found: max(found) > 1e-3)


@given(LEVELS, FACTORS, CURVES)
@FEW
def test_a_stronger_or_longer_random_stress_never_does_less(levels: list[float], factor: float, curve: Any) -> None:
    request = {**DENSITY, "density_mpa2_per_hz": levels, "curve": curve}
    once = answer_of("random", request)["damage"]
    louder = answer_of("random", {**request, "density_mpa2_per_hz": [factor * v for v in levels]})["damage"]
    longer = answer_of("random", {**request, "duration_s": factor * 1e6})["damage"]
    for name, value in once.items():
        if value is not None:
            assert louder[name] >= value * (1.0 - 1e-9)
            assert longer[name] == pytest.approx(factor * value, rel=1e-9)


@given(LEVELS, st.sampled_from([0.1, 10.0, 1000.0]))
@FEW
def test_another_unit_of_time_changes_no_damage(levels: list[float], unit: float) -> None:
    request = {**DENSITY, "density_mpa2_per_hz": levels, "curve": STEEL}
    once = answer_of("random", request)
    other = answer_of(
        "random",
        {
            "frequency_hz": [unit * value for value in DENSITY["frequency_hz"]],  # type: ignore[attr-defined]
            "density_mpa2_per_hz": [value / unit for value in levels],
            "duration_s": 1e6 / unit,
            "curve": STEEL,
        },
    )
    for name, value in once["damage"].items():
        if value is not None:
            assert other["damage"][name] == pytest.approx(value, rel=1e-6)


LONG = st.fixed_dictionaries(
    {
        "largest_range_mpa": st.floats(20.0, 800.0),
        "reference_cycles": st.floats(1e3, 1e9),
        "shape_exponent": st.floats(0.4, 3.0),
        "curve": CURVES,
    }
)


@given(LONG, FACTORS)
@FEW
def test_a_worse_long_term_spectrum_never_gives_a_better_answer(request: dict[str, Any], factor: float) -> None:
    once = answer_of("long-term", request)
    larger = answer_of("long-term", {**request, "largest_range_mpa": factor * request["largest_range_mpa"]})
    assert larger["damage"] >= once["damage"] * (1.0 - 1e-9)
    more = answer_of("long-term", {**request, "cycles": factor * request["reference_cycles"]})
    assert more["damage"] == pytest.approx(factor * once["damage"], rel=1e-9)
    assert more["allowable_range_mpa"] <= once["allowable_range_mpa"] * (1.0 + 1e-9)
    strict = answer_of("long-term", {**request, "damage_limit": once["damage_limit"] / factor})
    assert strict["allowable_range_mpa"] <= once["allowable_range_mpa"] * (1.0 + 1e-9)
    at_limit = answer_of("long-term", {**request, "largest_range_mpa": once["allowable_range_mpa"]})
    assert at_limit["damage"] == pytest.approx(once["damage_limit"], rel=1e-6)


@given(HISTORIES, st.sampled_from([(0.9, 0.977), (0.5, 0.95), (0.95, 0.999)]))
@FEW
def test_a_higher_survival_never_does_less_damage(history: list[float], survivals: tuple[float, float]) -> None:
    request = {"history_mpa": history, "curve": STEEL}
    low, high = (damage({**request, "survival_probability": survival}) for survival in survivals)
    assert high >= low * (1.0 - 1e-12)

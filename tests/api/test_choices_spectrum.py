"""Every named choice of the spectrum routes gives the answer of its own rule, and not the default's."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

import numpy as np
import pytest
from pydantic import BaseModel

from fatcore.curves.corrections.mean_stress import effective_range_mpa, mean_stress_factor
from fatcore.curves.standards import catalogue
from fatcore.spectrum.counting import count as counting
from fatcore.spectrum.counting import levels
from fatcore.spectrum.damage import shapes
from fatcore.spectrum.damage.below_knee import below_knee_curve
from fatcore.spectrum.multiaxial.definitions import weighted_range
from fatcore.spectrum.multiaxial.modes import mode_cycles
from service.base.envelope import evaluate
from service.topics.registry import load

HISTORY = [0.0, 20.0, 10.0, 100.0, 40.0, 110.0, -60.0, 5.0]
STEEL = "iiw-2016-normal-steel-80"
EN = "en-1993-1-9-2005-normal-71"
TWO = {"name": "two slopes", "log10_constants": [12.0, 13.0], "slopes": [3.0, 4.0], "cut_off_cycles": 1e11}
MODES = {
    "modes_mpa": {"a": [0.0, 80.0, 81.0, 50.0, 83.0, -30.0], "b": [0.0, 60.0, 0.0, 40.0, 0.0, 30.0]},
    "weights": {"a": 1.0, "b": 1.5},
}


def answer_of(name: str, request: dict[str, Any]) -> dict[str, Any]:
    method = "GET" if name.endswith("crane-class") else "POST"
    content: dict[str, Any] = json.loads(evaluate(load()[method, f"spectrum/{name}"], request).content())["answer"]
    return content


def counted(rule: str) -> Any:
    if rule == "four-point":
        return counting.four_point(HISTORY).counted
    if rule == "simple-range":
        return levels.simple_ranges(HISTORY)
    return counting.range_pair(HISTORY) if rule == "range-pair" else counting.rainflow(HISTORY, "closed")


@pytest.mark.parametrize("rule", ["rainflow", "four-point", "range-pair", "simple-range"])
def test_rule_of_counting(rule: str) -> None:
    answer = answer_of("cycles", {"history_mpa": HISTORY, "rule": rule})
    assert answer["range_mpa"] == counted(rule).range_mpa.tolist()
    assert answer["count"] == counted(rule).count.tolist()
    default = answer_of("cycles", {"history_mpa": HISTORY})
    assert (answer["range_mpa"] == default["range_mpa"]) == (rule == "rainflow")
    assert bool(answer["residue_mpa"]) == (rule == "four-point")


@pytest.mark.parametrize("residue", ["closed", "half"])
def test_residue(residue: Any) -> None:
    answer = answer_of("cycles", {"history_mpa": HISTORY, "residue": residue})
    cycles = counting.rainflow(HISTORY, residue)
    assert answer["range_mpa"] == cycles.range_mpa.tolist()
    found = answer_of("damage", {"history_mpa": HISTORY, "curve": STEEL, "residue": residue})["damage"]
    curve = catalogue.find_curve(STEEL, loading="variable")
    assert found == pytest.approx(float(cycles.count @ curve.damage_per_cycle(cycles.range_mpa)), rel=1e-12)
    default = answer_of("damage", {"history_mpa": HISTORY, "curve": STEEL})["damage"]
    assert (found == default) == (residue == "closed")
    modes = answer_of("damage", {**MODES, "curve": STEEL, "residue": residue})
    both = mode_cycles(list(MODES["modes_mpa"].values()), [1.0, 1.5], residue=residue)
    assert modes["total_count"] == both.count.sum()


@pytest.mark.parametrize("loading", ["variable", "constant"])
def test_loading(loading: Any) -> None:
    request = {"range_mpa": [40.0], "count": [1e7], "curve": EN}
    found = answer_of("damage", {**request, "loading": loading})["damage"]
    curve = catalogue.find_curve(EN, loading=loading)
    assert found == pytest.approx(1e7 * float(curve.damage_per_cycle(40.0)), rel=1e-12)
    assert (found == answer_of("damage", request)["damage"]) == (loading == "variable")


@pytest.mark.parametrize("form", ["as-curve", "original", "elementary", "reduced-slope"])
def test_form_below_the_knee(form: Any) -> None:
    request = {"range_mpa": [5.0, 0.5], "count": [1e6, 1e12], "curve": TWO}
    found = answer_of("damage", {**request, "below_knee": form})["damage"]
    given = {**TWO, "name": "x"}
    by_core = below_knee_curve(own(given), form)
    expected = float(np.array([1e6, 1e12]) @ by_core.damage_per_cycle([5.0, 0.5]))
    assert found == pytest.approx(expected, rel=1e-12)
    assert (found == answer_of("damage", request)["damage"]) == (form == "as-curve")


def own(spec: dict[str, Any]) -> Any:
    from service.topics.curves.models import UserDefinedCurve, curve_from

    return curve_from(UserDefinedCurve(**spec))


@pytest.mark.parametrize("definition", ["governing", "independent", "path"])
def test_definition_of_a_cycle_of_several_modes(definition: Any) -> None:
    request = {**MODES, "curve": STEEL}
    found = answer_of("damage", {**request, "definition": definition})
    cycles = mode_cycles(list(MODES["modes_mpa"].values()), [1.0, 1.5], residue="closed", definition=definition)
    ranges = weighted_range(cycles, [1.0, 1.5])
    curve = catalogue.find_curve(STEEL, loading="variable")
    expected = float(cycles.count @ curve.damage_per_cycle(ranges))
    assert found["damage"] == pytest.approx(expected, rel=1e-12)
    assert found["damage"] == pytest.approx(found["definitions"]["damage"][definition], rel=1e-12)
    assert (found["damage"] == answer_of("damage", request)["damage"]) == (definition == "governing")


@pytest.mark.parametrize("choice", ["none", "compression-in-part", "low-residual-stress", "medium-residual-stress"])
def test_correction_for_the_mean_stress(choice: str) -> None:
    request = {"history_mpa": HISTORY, "curve": STEEL}
    found = answer_of("damage", {**request, "mean_stress": choice})["damage"]
    cycles = counting.rainflow(HISTORY, "closed")
    ranges = cycles.range_mpa
    if choice == "compression-in-part":
        ranges = effective_range_mpa(cycles.maximum_mpa, cycles.minimum_mpa)
    elif choice != "none":
        word: Any = choice.partition("-")[0]
        ranges = ranges / mean_stress_factor(cycles.minimum_mpa / cycles.maximum_mpa, word)
    curve = catalogue.find_curve(STEEL, loading="variable")
    assert found == pytest.approx(float(cycles.count @ curve.damage_per_cycle(ranges)), rel=1e-9)
    assert (found == answer_of("damage", request)["damage"]) == (choice == "none")


# from memory: EN 13001-1, factors doubling from 1/32 to 1 and cycles doubling from 1.6e4 to 8e6
FACTORS = {"Q0": 0.0313, "Q1": 0.0625, "Q2": 0.125, "Q3": 0.25, "Q4": 0.5, "Q5": 1.0}
CYCLES = dict(
    zip(
        [f"U{k}" for k in range(10)],
        [1.6e4, 3.2e4, 6.3e4, 1.25e5, 2.5e5, 5e5, 1e6, 2e6, 4e6, 8e6],
        strict=True,
    )
)


@pytest.mark.parametrize("spectrum", FACTORS)
@pytest.mark.parametrize("cycles", CYCLES)
def test_crane_classes_take_the_upper_limit_of_both(spectrum: Any, cycles: Any) -> None:
    found = answer_of("crane-class", {"spectrum_class": spectrum, "cycles_class": cycles})
    core = shapes.crane_class(spectrum, cycles)
    assert found["spectrum_factor"] == core.spectrum_factor == FACTORS[spectrum]
    assert found["cycles"] == core.cycles == CYCLES[cycles]
    assert found["history_parameter"] == pytest.approx(FACTORS[spectrum] * CYCLES[cycles] / 2e6)
    limits = {"S02": 0.002, "S01": 0.004, "S0": 0.008, "S1": 0.016, "S2": 0.032, "S3": 0.063, "S4": 0.125}
    limits |= {"S5": 0.25, "S6": 0.5, "S7": 1.0, "S8": 2.0, "S9": 4.0}
    assert found["history_parameter"] <= limits[found["history_class"]] * (1.0 + 1e-9)
    lower = [limit for name, limit in limits.items() if limit < limits[found["history_class"]]]
    assert all(found["history_parameter"] > limit for limit in lower)


TESTED = {
    ("cycles", "rule"),
    ("cycles", "residue"),
    ("damage", "loading"),
    ("damage", "residue"),
    ("damage", "definition"),
    ("damage", "below_knee"),
    ("damage", "mean_stress"),
    ("crane-class", "spectrum_class"),
    ("crane-class", "cycles_class"),
}


def choices(annotation: Any) -> Iterator[str]:
    """The words of every literal inside an annotation."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    for part in get_args(annotation):
        if not isinstance(part, str):
            yield from choices(part)


def test_every_choice_of_a_spectrum_route_is_in_this_file() -> None:
    found = set()
    for (_, name), calculation in load().items():
        if calculation.topic == "spectrum":
            model: type[BaseModel] = calculation.request
            for field, info in model.model_fields.items():
                if field != "corrections" and len(set(choices(info.annotation))) > 1:
                    found.add((name.partition("/")[2], field))
    assert found == TESTED

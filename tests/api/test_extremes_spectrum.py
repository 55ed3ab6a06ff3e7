"""Numbers of every size through all routes of spectra and curves: finite numbers or a refusal that points."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.base.envelope import evaluate
from service.base.problems import Problem
from service.topics.registry import load

REGISTER = load()
MANY = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
CATALOGUE = (
    "iiw-2016-normal-steel-80",
    "en-1993-1-9-2005-normal-71",
    "dnv-rp-c203-2016-b1-air",
    "iiw-2016-shear-steel-100",
    "peak-stress-opening",
)


def sized(low: float, high: float) -> st.SearchStrategy[float]:
    """Log-uniform numbers with both ends, denormal ones among them."""
    exponents = st.floats(low, high)
    return st.one_of(exponents.map(lambda x: 10.0**x), st.sampled_from([10.0**low, 10.0**high]))


WIDE = sized(-320.0, 30.0)
SIGNED = st.one_of(st.just(0.0), WIDE, WIDE.map(lambda x: -x))
FROM_0 = st.one_of(st.just(0.0), WIDE)
SHARE = st.one_of(st.floats(0.001, 0.999), sized(-300.0, -1.0), st.just(1.0 - 1e-16))
OFTEN = st.one_of(st.none(), WIDE)


@st.composite
def own_curve(draw: st.DrawFn) -> dict[str, Any]:
    size = draw(st.integers(1, 3))
    slopes = draw(st.lists(sized(-6.0, 3.0), min_size=size, max_size=size))
    shape: dict[str, Any] = {"slopes": sorted(slopes)}
    if draw(st.booleans()):
        shape["log10_constants"] = draw(st.lists(st.floats(-299.0, 299.0), min_size=size, max_size=size))
    else:
        shape.update(range_mpa=[draw(WIDE)], life_cycles=[draw(WIDE)])
        shape["knee_cycles"] = sorted(draw(st.lists(WIDE, min_size=size - 1, max_size=size - 1)))
    return {**shape, "cut_off_cycles": draw(OFTEN), "sd_log10_cycles": draw(OFTEN)}


CURVES = st.one_of(st.sampled_from(CATALOGUE), own_curve())
SLOPES = st.one_of(st.sampled_from([1.0, 3.0, 50.0]), st.floats(1.0, 50.0))
SHAPES = st.one_of(st.sampled_from([0.1, 1.0, 2.0, 10.0]), st.floats(0.1, 10.0))
TOTALS = st.one_of(sized(0.01, 30.0), sized(-15.0, 0.0).map(lambda x: 1.0 + x))
HISTORY = st.lists(SIGNED, min_size=1, max_size=8)
EDGES = st.one_of(st.none(), st.lists(SIGNED, min_size=2, max_size=5).map(sorted))


def request(required: dict[str, Any], **optional: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(required, optional=optional)


def columns(**parts: st.SearchStrategy[float]) -> st.SearchStrategy[dict[str, list[float]]]:
    rows = st.lists(st.tuples(*parts.values()), min_size=2, max_size=6)
    return rows.map(lambda found: dict(zip(parts, map(list, zip(*found, strict=True)), strict=True)))


COUNT = request(
    {"history_mpa": HISTORY},
    rule=st.sampled_from(["rainflow", "four-point", "range-pair", "simple-range"]),
    residue=st.sampled_from(["half", "closed"]),
    hysteresis_threshold_mpa=FROM_0,
    slope=SLOPES,
    range_edges_mpa=EDGES,
    mean_edges_mpa=EDGES,
    levels_mpa=EDGES,
    list_peaks=st.booleans(),
)
TIMES = {"residue": st.sampled_from(["half", "closed"])}
CORRECTED = st.sampled_from(["none", "compression-in-part", "low-residual-stress"])
MODES = {
    "modes_mpa": columns(a=SIGNED, b=SIGNED),
    "weights": st.fixed_dictionaries({"a": SIGNED, "b": SIGNED}),
}
LOADING = st.one_of(
    columns(range_mpa=WIDE, count=FROM_0),
    request({"history_mpa": HISTORY}, hysteresis_threshold_mpa=FROM_0, mean_stress=CORRECTED, **TIMES),
    request(MODES, definition=st.sampled_from(["governing", "independent", "path"]), **TIMES),
)
SUM = request(
    {"curve": CURVES},
    below_knee=st.sampled_from(["as-curve", "original", "elementary", "reduced-slope"]),
    repeats=WIDE,
    damage_limit=OFTEN,
    reference_cycles=OFTEN,
    list_cycles=st.booleans(),
    range_edges_mpa=EDGES,
)
DENSITY = columns(frequency_hz=FROM_0, density_mpa2_per_hz=FROM_0).map(
    lambda found: {**found, "frequency_hz": sorted(f + k * 1e-3 for k, f in enumerate(found["frequency_hz"]))}
)
NARROW = st.tuples(sized(-3.0, 3.0), sized(-16.0, -1.0), WIDE).map(
    lambda found: {
        "frequency_hz": [found[0], found[0] * (1.0 + found[1])],
        "density_mpa2_per_hz": [found[2], found[2]],
    }
)
RANDOM = request({"curve": CURVES, "duration_s": WIDE}, damage_limit=OFTEN, levels_mpa=EDGES)
LONG = request(
    {"curve": CURVES, "largest_range_mpa": WIDE, "reference_cycles": TOTALS, "shape_exponent": SHAPES},
    cycles=OFTEN,
    damage_limit=OFTEN,
)
STEPS = request(
    {"largest_range_mpa": WIDE, "cycles": TOTALS, "shape_exponent": SHAPES},
    slope=st.one_of(st.none(), SLOPES),
)
MOVED = {"survival_probability": st.one_of(st.none(), SHARE)}
LIVES = request(
    {"curve": CURVES, "stress_range_mpa": st.lists(FROM_0, min_size=1, max_size=4)},
    yield_strength_mpa=OFTEN,
    **MOVED,
)
STRENGTHS = request({"curve": CURVES, "life_cycles": st.lists(WIDE, min_size=1, max_size=4)}, **MOVED)


def merged(*parts: st.SearchStrategy[dict[str, Any]]) -> st.SearchStrategy[dict[str, Any]]:
    return st.tuples(*parts).map(lambda found: {key: value for part in found for key, value in part.items()})


ROUTES = {
    "spectrum/cycles": COUNT,
    "spectrum/damage": merged(SUM, LOADING),
    "spectrum/random": merged(RANDOM, st.one_of(DENSITY, NARROW)),
    "spectrum/long-term": LONG,
    "spectrum/steps": STEPS,
    "curves/life": LIVES,
    "curves/strength": STRENGTHS,
}


@pytest.mark.parametrize("name", ROUTES)
@given(data=st.data())
@MANY
def test_numbers_of_every_size_are_answered_in_finite_numbers_or_refused(name: str, data: st.DataObject) -> None:
    status, where = outcome(name, data.draw(ROUTES[name]))
    assert status == 200 or (status == 422 and where)


def outcome(name: str, given_: dict[str, Any]) -> tuple[int, str]:
    """Status, and the pointer of a refusal."""
    try:
        content = evaluate(REGISTER["POST", name], given_).content()
    except Problem as problem:
        return problem.status, problem.errors[0][0]
    json.loads(content, parse_constant=lambda word: pytest.fail(f"{word} in an answer"))
    return 200, ""

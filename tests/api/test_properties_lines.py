"""What must not change a weld line, and what must never make it better, over the routes that take lines."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fatcore.errors import InputError
from fatcore.stress.weld_lines.geometry import notch_bisector, order_along_line, tangents_along, weld_side
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.topics.registry import load
from tests.notch_models import helix, tube

COMPONENTS = ("xx", "yy", "zz", "xy", "yz", "zx")
RANK = {"pass": 0, "undecided": 1, "fail": 1}  # a load beyond the range of the curves leaves a fail undecided
MODELS = {"loop": lambda: tube(135.0, 24), "climbing": lambda: helix(0.0, 24)}

vectors = st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3)
signs = st.sampled_from([1.0, -1.0])
models = st.sampled_from(sorted(MODELS))


def answer(request: dict[str, Any], name: str = "check") -> dict[str, Any]:
    content: dict[str, Any] = json.loads(evaluate(load()["POST", name], request).content())["answer"]
    return content


def line_of(model: Any, mesh: float | None = None) -> dict[str, Any]:
    steps = np.linalg.norm(np.diff(model.points, axis=0), axis=1)
    return {
        "name": "line",
        "notch": {"kind": "root" if model.angle_deg == 0.0 else "toe", "opening_angle_deg": model.angle_deg},
        "mesh": {
            "element": "own",
            "element_size_mm": mesh or float(np.median(steps)),
            "constants": model.constants(),
        },
        "position_mm": np.concatenate([[0.0], np.cumsum(steps)]).tolist(),
        "coordinates_mm": model.points.tolist(),
        "closed": model.closed,
        "average_over": 3,
        "tangent": model.tangent.tolist(),
        "bisector": model.bisector.tolist(),
        "cases": {
            case: {"tensors_mpa": dict(zip(COMPONENTS, model.tensors(case).T.tolist(), strict=True))}
            for case in model.intensities
        },
    }


def request_of(line: dict[str, Any], factor: float = 1.0) -> dict[str, Any]:
    factors = {
        "pull": {"maximum": 0.25 * factor, "minimum": 0.0},
        "twist": {"maximum": 0.1 * factor, "minimum": -0.05 * factor},
    }
    return {"lines": [line], "loading": {"kind": "constant", "cycles": 2e6, "factors": factors}}


@given(name=models, turn=vectors, shift=vectors, tangents=signs, bisectors=signs)
@settings(max_examples=12)
def test_a_turned_and_moved_line_is_the_same_line(
    name: str, turn: list[float], shift: list[float], tangents: float, bisectors: float
) -> None:
    """Whichever way all tangents or all bisectors point: ranges do not know the sign of a shear stress."""
    model = MODELS[name]()
    plain = answer(request_of(line_of(model)))["lines"][0]
    line = line_of(model.turned(Rotation.from_rotvec(turn), 100.0 * np.array(shift)))
    line["tangent"] = (tangents * np.array(line["tangent"])).tolist()
    line["bisector"] = (bisectors * np.array(line["bisector"])).tolist()
    found = answer(request_of(line))["lines"][0]
    np.testing.assert_allclose(found["equivalent_stress_mpa"], plain["equivalent_stress_mpa"], rtol=1e-9)
    assert found["verdict"] == plain["verdict"]
    assert found["governing_utilisation"] == pytest.approx(plain["governing_utilisation"], rel=1e-9)


@given(name=models, start=st.integers(0, 23), back=st.booleans())
@settings(max_examples=12)
def test_where_a_line_starts_and_which_way_it_runs_changes_nothing(name: str, start: int, back: bool) -> None:
    model = MODELS[name]()
    order = np.roll(np.arange(24), -start if model.closed else 0)
    moved = model.of(order[::-1] if back else order)
    plain, found = (answer(request_of(line_of(one)))["lines"][0] for one in (model, moved))
    shown = np.array(found["equivalent_stress_mpa"])
    np.testing.assert_allclose(
        shown[np.argsort(order[::-1] if back else order)], plain["equivalent_stress_mpa"], rtol=1e-9
    )
    assert found["verdict"] == plain["verdict"]


@given(name=models, sign=signs)
@settings(max_examples=4)
def test_a_unit_case_turned_round_together_with_its_factors_is_the_same(name: str, sign: float) -> None:
    model = MODELS[name]()
    plain = answer(request_of(line_of(model)))
    model.intensities["pull"] = sign * model.intensities["pull"]
    request = request_of(line_of(model))
    # the parallel stresses of the model are no intensities: they do not turn, and must not count
    for end in ("maximum", "minimum"):
        request["loading"]["factors"]["pull"][end] *= sign
    found = answer(request)
    assert found["utilisation"] == pytest.approx(plain["utilisation"], rel=1e-9)
    assert found["verdict"] == plain["verdict"]


@given(name=models, factor=st.floats(1.0, 4.0), base=st.floats(0.3, 2.0))
@settings(max_examples=12)
def test_a_larger_load_is_never_better(name: str, factor: float, base: float) -> None:
    line = line_of(MODELS[name]())
    small, large = (answer(request_of(line, one)) for one in (base, base * factor))
    assert large["utilisation"] >= small["utilisation"] * (1.0 - 1e-9)
    assert RANK[large["verdict"]] >= RANK[small["verdict"]]


@given(name=models, factor=st.floats(1.0, 20.0), way=signs)
@settings(max_examples=15)
def test_a_mesh_size_away_from_the_nodes_never_helps_to_pass(name: str, factor: float, way: float) -> None:
    """The farther it is from their distance, the worse its findings; below it there is no caution."""
    model = MODELS[name]()
    spacing = float(np.median(np.linalg.norm(np.diff(model.points, axis=0), axis=1)))
    line = line_of(model, spacing * factor**way)
    envelope = evaluate(load()["POST", "check"], request_of(line)).envelope()
    codes = ("mesh-size-not-spacing", "mesh-size-doubtful")
    severity = {f["severity"] for f in envelope["findings"] if f["code"] in codes}
    wrong = factor > (1.9 if way > 0.0 else 1.3)
    assert severity == ({"outside"} if wrong else {"caution"} if factor > 1.3 else set())
    assert not wrong or envelope["answer"]["verdict"] == "undecided"


@given(
    name=models,
    where=st.integers(0, 23),
    count=st.integers(1, 12),
    which=st.sampled_from(["tangent", "bisector"]),
)
@settings(max_examples=20)
def test_directions_turned_round_on_a_part_of_a_line_are_refused(name: str, where: int, count: int, which: str) -> None:
    """In check and in the peak route alike."""
    model = MODELS[name]()
    line = line_of(model)
    turned = {(where + i) % 24 for i in range(count)} if model.closed else set(range(where, min(24, where + count)))
    assume(0 < len(turned) < 24)
    line[which] = [[-x for x in v] if i in turned else v for i, v in enumerate(line[which])]
    peak = {key: line[key] for key in ("notch", "mesh", "tangent", "bisector", "closed", "average_over")}
    bodies = {"check": request_of(line), "stress/peak": {**peak, **line["cases"]["pull"]}}
    for route, body in bodies.items():
        with pytest.raises(Problem) as refused:
            answer(body, route)
        assert f"/{which}" in refused.value.errors[0][0]


@given(seed=st.integers(0, 1000), hint=vectors)
@settings(max_examples=25)
def test_a_hint_gives_the_true_bisector_or_is_refused(seed: int, hint: list[float]) -> None:
    """Any point as hint to the weld inside a loop: inside it is right, outside it is refused, never half."""
    model = tube(135.0, 24)
    points = model.points[np.random.default_rng(seed).permutation(24)]
    points = points[order_along_line(points).index]
    tangent, point = tangents_along(points, closed=True), np.array([20.0 * hint[0], 20.0 * hint[1], 0.0])
    assume(abs(np.hypot(*point[:2]) - 30.0) > 1.0)
    truth = -np.cos(np.radians(67.5)) * points / 30.0 - [0.0, 0.0, np.sin(np.radians(67.5))]
    try:
        side = weld_side(tangent, [0.0, 0.0, 1.0], points_mm=points, towards_mm=point)
    except InputError:
        assert np.hypot(*point[:2]) > 29.0
        return
    np.testing.assert_allclose(notch_bisector(tangent, [0.0, 0.0, 1.0], side, 135.0), truth, atol=1e-12)

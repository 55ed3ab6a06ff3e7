"""Models besides the bracket with known answers, through `toeline lines` and the routes."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from service import cli
from service.base.envelope import evaluate
from service.topics.registry import load
from tests.bracket import bracket_request
from tests.notch_models import MESH, NU, RADIUS, NotchModel, helix, tube

Array = np.ndarray

COMPONENTS = ("xx", "yy", "zz", "xy", "yz", "zx")


def table_and_map(
    model: NotchModel, geometry: bool, average_over: int, order: bool = False, side: str | None = None
) -> tuple[str, str]:
    """A wide table with names, separators and decimal signs of its own, and its map.

    side : what the rule says of plate and weld; with geometry the table then has the tangent only
    """
    columns: dict[str, Array] = {f"Pos {axis}": model.points[:, i] for i, axis in enumerate("XYZ")}
    if geometry:
        for name, vectors in (("t", model.tangent), ("b", model.bisector))[: 1 if side else 2]:
            columns |= {f"{name}{i}": vectors[:, i] for i in range(3)}
    if order:
        columns["no"] = np.arange(len(model.points), dtype=float)
    for case in model.intensities:
        columns |= {f"{case}/{c}": model.tensors(case)[:, i] for i, c in enumerate(COMPONENTS)}
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";")
    writer.writerow(columns)
    for row in zip(*columns.values(), strict=True):
        writer.writerow([repr(float(value)).replace(".", ",") for value in row])
    cases = "".join(
        f"[table.cases.{case}]\n" + "".join(f'{c} = "{case}/{c}"\n' for c in COMPONENTS) for case in model.intensities
    )
    frame = 'tangent = {x="t0", y="t1", z="t2"}\n' if geometry else ""
    frame += 'bisector = {x="b0", y="b1", z="b2"}\n' if geometry and not side else ""
    frame += 'order = "no"\n' if order else ""
    middle = model.points.mean(axis=0).tolist()
    side = side or f"plate_normal = {model.normal[0].tolist()}\nweld_towards_mm = {middle}"
    constants = ", ".join(f"{mode} = {value!r}" for mode, value in model.constants().items() if value)
    text = f"""
[table]
form = "wide"
delimiter = ";"
decimal = ","
coordinates_mm = {{x="Pos X", y="Pos Y", z="Pos Z"}}
{frame}{cases}
[[lines]]
match = "*"
kind = "{"root" if model.angle_deg == 0.0 else "toe"}"
notch_size_mm = "not-judged"
opening_angle_deg = {model.angle_deg}
element = "own"
element_size_mm = {MESH}
constants = {{{constants}}}
average_over = {average_over}
{"" if frame.count("bisector") else side}
{"closed = true" if order and model.closed else ""}
[request]
material = {{name = "invented", poisson_ratio = {NU}, control_radius_mm = {RADIUS}}}
[request.loading]
kind = "constant"
cycles = 2e6
factors = {{pull = {{maximum = 0.5, minimum = -0.1}}, twist = {{maximum = 0.2, minimum = -0.4}}}}
"""
    return out.getvalue(), text


FACTORS = {"pull": 0.6, "twist": 0.6}


def request_of(tmp_path: Path, table: str, table_map: str) -> dict[str, Any]:
    (tmp_path / "table.csv").write_text(table, encoding="utf-8-sig", newline="")
    (tmp_path / "map.toml").write_text(table_map, encoding="utf-8")
    out = tmp_path / "check.json"
    arguments = ["lines", str(tmp_path / "table.csv"), "--map", str(tmp_path / "map.toml"), "-o", str(out)]
    assert cli.main(arguments) == 0
    request: dict[str, Any] = json.loads(out.read_text(encoding="utf-8"))
    return request


def answer(name: str, request: dict[str, Any]) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(evaluate(load()["POST", name], request).content())["answer"]
    return content


MODELS = {
    "loop, root": lambda: tube(0.0),
    "loop, toe": lambda: tube(135.0),
    "helix, root": lambda: helix(0.0),
    "helix, toe of 120 deg": lambda: helix(120.0),
}
TURN, SHIFT = Rotation.from_rotvec([0.7, -1.1, 0.4]), np.array([500.0, -30.0, 1e3])


@pytest.mark.parametrize("average_over", [1, 3])
@pytest.mark.parametrize("placed", ["as built", "turned"])
@pytest.mark.parametrize("case", MODELS)
def test_check_gives_the_averaged_energy_of_every_node(
    tmp_path: Path, case: str, placed: str, average_over: int
) -> None:
    model = MODELS[case]()
    model = model.turned(TURN, SHIFT) if placed == "turned" else model
    request = request_of(tmp_path, *table_and_map(model, True, average_over))
    (line,) = answer("check", request)["lines"]
    assert request["lines"][0]["closed"] is model.closed
    stress, ratio = model.equivalent(FACTORS, average_over)
    np.testing.assert_allclose(line["equivalent_stress_mpa"], stress, rtol=1e-9)
    np.testing.assert_allclose(line["biaxiality_ratio"], ratio, rtol=1e-8)
    opened = np.where(ratio <= 0.5, stress / 156.0, 0.0)
    sheared = np.where(ratio >= 0.05, stress / 257.0, 0.0)
    np.testing.assert_allclose(line["damage"], np.maximum(opened**3, sheared**5), rtol=1e-8)
    utilisation = np.maximum(opened, sheared)
    assert line["governing_index"] == int(np.argmax(utilisation))
    assert line["governing_utilisation"] == pytest.approx(utilisation.max(), rel=1e-9)


@pytest.mark.parametrize("case", MODELS)
def test_peak_route_gives_the_same_of_one_load_case(case: str) -> None:
    model = MODELS[case]().turned(TURN, SHIFT)
    columns = dict(zip(COMPONENTS, model.tensors("twist").T.tolist(), strict=True))
    request = {
        "notch": {"kind": "root", "opening_angle_deg": model.angle_deg},
        "mesh": {"element": "own", "element_size_mm": MESH, "constants": model.constants()},
        "material": {"name": "invented", "poisson_ratio": NU, "control_radius_mm": RADIUS},
        "tensors_mpa": columns,
        "tangent": model.tangent.tolist(),
        "bisector": model.bisector.tolist(),
        "closed": model.closed,
        "average_over": 3,
    }
    stress, ratio = model.equivalent({"twist": 1.0}, 3)
    found = answer("stress/peak", request)
    np.testing.assert_allclose(found["equivalent_stress_mpa"], stress, rtol=1e-9)
    np.testing.assert_allclose(found["biaxiality_ratio"], ratio, rtol=1e-8)
    assert found["governing_index"] == int(np.argmax(stress))


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("case", MODELS)
def test_nodes_in_any_order_change_nothing_but_the_start(tmp_path: Path, case: str, seed: int) -> None:
    """Means over neighbours are the same at every node, wherever the line starts and whatever its way."""
    model = MODELS[case]()
    shuffled = model.of(np.random.default_rng(seed).permutation(len(model.points)))
    lines = [
        answer("check", request_of(tmp_path, *table_and_map(one, True, 3)))["lines"][0] for one in (model, shuffled)
    ]
    plain, other = (sorted(line["equivalent_stress_mpa"]) for line in lines)
    np.testing.assert_allclose(other, plain, rtol=1e-12)
    assert lines[1]["governing_utilisation"] == pytest.approx(lines[0]["governing_utilisation"], rel=1e-12)
    assert lines[1]["verdict"] == lines[0]["verdict"]


@pytest.mark.parametrize("case", MODELS)
def test_a_line_listed_backwards_has_the_same_equivalents(tmp_path: Path, case: str) -> None:
    """Reversed tangents turn the signs of sliding and tearing, not the ranges."""
    model = MODELS[case]()
    back = model.of(np.arange(len(model.points))[::-1])
    back.tangent = -back.tangent
    back.intensities = {name: values * [1, -1, -1] for name, values in back.intensities.items()}
    there = answer("check", request_of(tmp_path, *table_and_map(model, True, 3, order=True)))["lines"][0]
    again = answer("check", request_of(tmp_path, *table_and_map(back, True, 3, order=True)))["lines"][0]
    np.testing.assert_allclose(again["equivalent_stress_mpa"][::-1], there["equivalent_stress_mpa"], rtol=1e-12)


@pytest.mark.parametrize("angle", [0.0, 135.0])
@pytest.mark.parametrize("placed", ["as built", "turned"])
def test_geometry_from_coordinates_plate_and_side_alone(tmp_path: Path, angle: float, placed: str) -> None:
    """Tangents of evenly spaced nodes on a circle are exact by symmetry, so that nothing is lost."""
    model = tube(angle)
    model = model.turned(TURN, SHIFT) if placed == "turned" else model
    shuffled = model.of(np.random.default_rng(4).permutation(len(model.points)))
    (line,) = answer("check", request_of(tmp_path, *table_and_map(shuffled, False, 3)))["lines"]
    stress, _ = model.equivalent(FACTORS, 3)
    np.testing.assert_allclose(sorted(line["equivalent_stress_mpa"]), sorted(stress), rtol=1e-9)


def test_turned_bracket_gives_the_same_numbers() -> None:
    """The whole check of the bracket in another frame: all numbers to 1e-9, all words alike."""
    request = bracket_request("d1p50")
    turned = json.loads(json.dumps(request))
    matrix = TURN.as_matrix()
    for line in turned["lines"]:
        for name in ("tangent", "bisector"):
            line[name] = TURN.apply(line[name]).tolist()
        line["coordinates_mm"] = (TURN.apply(line["coordinates_mm"]) + SHIFT).tolist()
        for case in line["cases"].values():
            s = np.array([case["tensors_mpa"][c] for c in COMPONENTS])
            full = np.array([[s[0], s[3], s[5]], [s[3], s[1], s[4]], [s[5], s[4], s[2]]])
            moved = np.einsum("ij,jkn,lk->iln", matrix, full, matrix)
            places = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))
            case["tensors_mpa"] = {c: moved[at].tolist() for c, at in zip(COMPONENTS, places, strict=True)}
    here, there = answer("check", request), answer("check", turned)
    for one, other in zip(here["lines"], there["lines"], strict=True):
        for name in ("equivalent_stress_mpa", "damage", "utilisation", "allowable_stress_mpa"):
            np.testing.assert_allclose(other[name], one[name], rtol=1e-9)
        # where opening nearly vanishes the ratio is a quotient of rounding
        np.testing.assert_allclose(other["biaxiality_ratio"], one["biaxiality_ratio"], rtol=1e-7)
        assert (other["governing_index"], other["curve"], other["verdict"]) == (
            one["governing_index"],
            one["curve"],
            one["verdict"],
        )


def test_reversed_bracket_gives_the_same_numbers() -> None:
    request = bracket_request("d1p50")
    back = json.loads(json.dumps(request))
    for line in back["lines"]:
        line["position_mm"] = [line["position_mm"][-1] - value for value in reversed(line["position_mm"])]
        line["tangent"] = [[-value for value in vector] for vector in reversed(line["tangent"])]
        for name in ("bisector", "coordinates_mm", "node_id"):
            line[name] = line[name][::-1]
        for case in line["cases"].values():
            case["tensors_mpa"] = {name: column[::-1] for name, column in case["tensors_mpa"].items()}
    here, there = answer("check", request), answer("check", back)
    assert there["governing"]["line"] == here["governing"]["line"]
    for one, other in zip(here["lines"], there["lines"], strict=True):
        np.testing.assert_allclose(other["equivalent_stress_mpa"][::-1], one["equivalent_stress_mpa"], rtol=1e-9)
        assert other["governing_utilisation"] == pytest.approx(one["governing_utilisation"], rel=1e-9)
        assert other["governing_index"] == len(one["damage"]) - 1 - one["governing_index"]

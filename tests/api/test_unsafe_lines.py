"""Weld lines whose geometry, order, mesh size or map would give a number that is too good."""

from __future__ import annotations

import json
from typing import Any

import httpx
import numpy as np
import pytest

from service.topics.check.text import check_text
from tests.bracket import bracket_request

COMPONENTS = ("xx", "yy", "zz", "xy", "yz", "zx")


def line_of(name: str, tag: str = "d1p50", **changes: Any) -> dict[str, Any]:
    """A check of one line of the bracket."""
    request = bracket_request(tag)
    request["lines"] = [{**line, **changes} for line in request["lines"] if line["name"] == name]
    return request


def post(client: httpx.Client, request: dict[str, Any], path: str = "check") -> httpx.Response:
    return client.post(f"/v1/{path}", json=request)


def refusal(client: httpx.Client, request: dict[str, Any], path: str = "check") -> str:
    reply = post(client, request, path)
    assert reply.status_code == 422, reply.text[:300]
    (error,) = reply.json()["errors"]
    return f"{error['pointer']}: {error['message']}"


@pytest.mark.parametrize(
    ("size", "severity"),
    [
        (0.75, "outside"),
        (0.7, "outside"),
        (0.15, "outside"),
        (1.5e-3, "outside"),
        (1.1, "outside"),
        (1.2, None),
        (1.5, None),
        (2.5, "caution"),
    ],
)
def test_a_mesh_size_that_the_nodes_contradict_is_undecided(
    client: httpx.Client, size: float, severity: str | None
) -> None:
    """The mesh has 1.5 mm (nodes 1.48 mm apart); half of it would lower the utilisation by a fifth."""
    answer = post(client, line_of("R1N_toe_plate", mesh={"element": "tet10", "element_size_mm": size})).json()
    codes = ("mesh-size-not-spacing", "mesh-size-doubtful")
    found = [f["severity"] for f in answer["findings"] if f["code"] in codes]
    assert found == ([severity] if severity else [])
    assert (answer["answer"]["verdict"] == "undecided") is (severity == "outside")


def test_metres_for_millimetres_are_undecided(client: httpx.Client) -> None:
    request = line_of("R1N_toe_plate")
    (line,) = request["lines"]
    line["position_mm"] = [value / 1e3 for value in line["position_mm"]]
    line["exclude_ends_mm"] = 0.003
    line.pop("coordinates_mm", None)
    assert post(client, request).json()["answer"]["verdict"] == "undecided"


def test_mid_side_nodes_in_the_line_are_undecided(client: httpx.Client) -> None:
    """Twice as many nodes as elements have corners: what a line of all nodes looks like."""
    request = line_of("R1N_toe_plate")
    (line,) = request["lines"]
    line["position_mm"] = [value / 2 for value in line["position_mm"]]
    line.pop("coordinates_mm", None)
    assert post(client, request).json()["answer"]["verdict"] == "undecided"


def turned(line: dict[str, Any], name: str, stations: slice) -> None:
    line[name] = [
        [-x for x in vector] if index in range(*stations.indices(len(line[name]))) else vector
        for index, vector in enumerate(line[name])
    ]


@pytest.mark.parametrize("stations", [slice(None, None, 2), slice(20, None), slice(7, 8)])
@pytest.mark.parametrize("name", ["tangent", "bisector"])
def test_directions_that_turn_round_are_refused(client: httpx.Client, name: str, stations: slice) -> None:
    """Every other tangent turned: the mean over three took the sliding and tearing peaks away."""
    request = line_of("R1N_root")
    turned(request["lines"][0], name, stations)
    assert f"/lines/0/{name}/" in refusal(client, request)
    assert "turns by 180 deg" in refusal(client, request)
    case = request["lines"][0]["cases"]["lateral"]
    peak = {key: request["lines"][0][key] for key in ("notch", "mesh", "tangent", "bisector", "average_over")}
    assert f"/{name}/" in refusal(client, {**peak, **case}, "stress/peak")


def test_a_line_turned_as_a_whole_is_the_same_line(client: httpx.Client) -> None:
    plain = post(client, line_of("R1N_root")).json()["answer"]
    for names in (["tangent"], ["bisector"], ["tangent", "bisector"]):
        request = line_of("R1N_root")
        for name in names:
            turned(request["lines"][0], name, slice(None))
        answer = post(client, request).json()["answer"]
        np.testing.assert_allclose(
            answer["lines"][0]["equivalent_stress_mpa"], plain["lines"][0]["equivalent_stress_mpa"], rtol=1e-9
        )


def ring_request(**changes: Any) -> dict[str, Any]:
    """A toe round a tube of radius 20 under a stress along x that is largest at the seam, 48 nodes."""
    angle = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    radial = np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    tangent = np.column_stack([-np.sin(angle), np.cos(angle), 0 * angle])
    half = np.radians(67.5)
    bisector = -np.cos(half) * radial + [0.0, 0.0, -np.sin(half)]
    step = float(np.linalg.norm(20 * (radial[1] - radial[0])))
    columns = {name: [0.0] * 48 for name in COMPONENTS} | {"xx": (np.cos(angle) ** 2 * (100 + np.cos(angle))).tolist()}
    line = {
        "name": "ring",
        "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 8.0},
        "mesh": {"element": "tet10", "element_size_mm": 2.6},
        "position_mm": (step * np.arange(48)).tolist(),
        "coordinates_mm": (20 * radial).tolist(),
        "node_id": list(range(100, 148)),
        "exclude_ends_mm": 10.0,
        "tangent": tangent.tolist(),
        "bisector": bisector.tolist(),
        "average_over": 3,
        "closed": True,
        "cases": {"pull": {"tensors_mpa": columns}},
    }
    loading = {"kind": "constant", "cycles": 2e6, "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}}
    return {"lines": [{**line, **changes}], "loading": loading}


@pytest.mark.parametrize("given", ["coordinates", "tangents"])
def test_a_loop_taken_as_open_is_refused(client: httpx.Client, given: str) -> None:
    """Its seam would be an excluded end, where the stress is largest."""
    changes = {} if given == "coordinates" else {"coordinates_mm": None}
    assert post(client, ring_request(**changes)).json()["answer"]["governing"]["index"] == 0
    assert "said to be open" in refusal(client, ring_request(closed=False, **changes))


def test_a_loop_that_lists_its_first_node_twice_is_refused(client: httpx.Client) -> None:
    """The mean over three would count that node twice."""
    request = ring_request()
    (line,) = request["lines"]
    for name in ("coordinates_mm", "tangent", "bisector"):
        line[name].append(line[name][0])
    line["position_mm"].append(48 * line["position_mm"][1])
    line["node_id"].append(999)
    columns = line["cases"]["pull"]["tensors_mpa"]
    for column in columns.values():
        column.append(column[0])
    assert "list the nodes of a loop once" in refusal(client, request)


def test_an_open_line_taken_as_a_loop_is_refused(client: httpx.Client) -> None:
    request = line_of("R1N_root", closed=True)
    assert "/lines/0/closed: the line is said to be closed" in refusal(client, request)
    request["lines"][0].pop("coordinates_mm", None)
    assert "/lines/0/closed: the line is said to be closed" in refusal(client, request)


CONTRADICTIONS: dict[str, tuple[dict[str, Any], str]] = {
    "positions of another unit": (
        {"position_mm": (np.arange(48) * 2.6e-3).tolist()},
        "/lines/0/coordinates_mm/1",
    ),
    "a node twice": ({"node_id": [100, *range(100, 147)]}, "/lines/0/node_id"),
    "nodes of another line": ({"node_id": [1, 2]}, "/lines/0/node_id"),
    "coordinates of another line": (
        {"coordinates_mm": [[0, 0, 0.5], [1, 0, 0.5]]},
        "/lines/0/coordinates_mm",
    ),
    "tangents across the line": (
        {"tangent": [[0, 0, 1.0]] * 48, "bisector": ring_request()["lines"][0]["coordinates_mm"]},
        "/lines/0/tangent/",
    ),
}


@pytest.mark.parametrize("case", CONTRADICTIONS)
def test_places_that_contradict_each_other_are_refused(client: httpx.Client, case: str) -> None:
    changes, pointer = CONTRADICTIONS[case]
    assert refusal(client, ring_request(**changes)).startswith(pointer)


def test_the_governing_point_has_its_place_and_its_node(client: httpx.Client) -> None:
    request = ring_request()
    answer = post(client, request).json()["answer"]
    index = answer["governing"]["index"]
    assert answer["governing"]["coordinates_mm"] == request["lines"][0]["coordinates_mm"][index]
    assert answer["governing"]["node_id"] == 100 + index
    assert answer["lines"][0]["node_id"] == request["lines"][0]["node_id"]
    table = client.post("/v1/check", json=request, headers={"accept": "text/csv"}).text.splitlines()
    row = dict(zip(table[0].split(","), table[1 + index].split(","), strict=True))
    assert (row["node_id"], float(row["x_mm"]), float(row["z_mm"])) == ("100", 20.0, 0.0)


def test_lines_without_places_leave_their_cells_empty(client: httpx.Client) -> None:
    request = ring_request()
    bare = {**request["lines"][0], "name": "bare", "coordinates_mm": None, "node_id": None}
    request["lines"].append(bare)
    answer = post(client, request).json()["answer"]
    assert answer["lines"][1]["coordinates_mm"] is None
    table = client.post("/v1/check", json=request, headers={"accept": "text/csv"}).text.splitlines()
    row = dict(zip(table[0].split(","), table[-1].split(","), strict=True))
    assert (row["line"], row["node_id"], row["x_mm"]) == ("bare", "", "")
    alone = {**request, "lines": [bare]}
    assert post(client, alone).json()["answer"]["governing"]["node_id"] is None
    header = client.post("/v1/check", json=alone, headers={"accept": "text/csv"}).text.splitlines()[0]
    assert "x_mm" not in header
    assert "node_id" not in header


def test_two_lines_under_one_name_are_not_averaged_across_their_gap(client: httpx.Client) -> None:
    request = line_of("R1N_root")
    (line,) = request["lines"]
    line["position_mm"] = [value + 40.0 * (index > 20) for index, value in enumerate(line["position_mm"])]
    line.pop("coordinates_mm", None)
    assert "/lines/0/position_mm: stations 20 and 21" in refusal(client, request)
    line["average_over"] = 1
    found = post(client, request).json()["findings"]
    assert "mesh-size-uneven" in [finding["code"] for finding in found]


def test_directions_that_nothing_uses_are_refused(client: httpx.Client) -> None:
    request = ring_request(cases={"pull": {"peaks_mpa": {"opening": [1.0] * 48}}})
    assert refusal(client, request) == "/lines/0/tangent: tangent: only with tensors_mpa"


def peak_request(**changes: Any) -> dict[str, Any]:
    line = ring_request()["lines"][0]
    keys = ("notch", "mesh", "tangent", "bisector", "closed", "average_over")
    return {**{key: line[key] for key in keys}, **line["cases"]["pull"], **changes}


def test_peak_route_compares_the_mesh_size_where_it_can(client: httpx.Client) -> None:
    line = ring_request()["lines"][0]
    places = {key: line[key] for key in ("position_mm", "coordinates_mm")}

    def codes(request: dict[str, Any]) -> list[str]:
        return [f["code"] for f in post(client, request, "stress/peak").json()["findings"] if "mesh-size" in f["code"]]

    assert codes(peak_request()) == ["mesh-size-on-faith"]
    for given in (
        {"position_mm": places["position_mm"]},
        {"coordinates_mm": places["coordinates_mm"]},
        places,
    ):
        assert codes(peak_request(**given)) == []
        assert codes(peak_request(mesh={"element": "tet10", "element_size_mm": 1.2}, **given)) == [
            "mesh-size-not-spacing"
        ]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"position_mm": [0.0, 1.0]}, "/position_mm: position_mm has 2 entries"),
        ({"coordinates_mm": [[0.0, 1.0, 2.0]]}, "/coordinates_mm: coordinates_mm has 1 entry"),
        (
            {"coordinates_mm": ring_request()["lines"][0]["coordinates_mm"], "closed": False},
            "said to be open",
        ),
        ({"position_mm": [*(2.6 * np.arange(47)), 500.0]}, "/position_mm: stations 46 and 47"),
    ],
)
def test_peak_route_refuses_what_contradicts(client: httpx.Client, changes: dict[str, Any], message: str) -> None:
    assert message in refusal(client, json.loads(json.dumps(peak_request(**changes))), "stress/peak")


def test_an_angle_in_radians_is_doubted(client: httpx.Client) -> None:
    notch = {"kind": "toe", "opening_angle_deg": 2.356, "notch_size_mm": 8.0}
    for path, request in (("check", ring_request(notch=notch)), ("stress/peak", peak_request(notch=notch))):
        codes = {f["code"]: f["severity"] for f in post(client, request, path).json()["findings"]}
        assert codes["kind-against-angle"] == "caution"


def test_what_another_basis_does_not_use_is_said(client: httpx.Client) -> None:
    line = ring_request()["lines"][0]
    keep = {key: line[key] for key in ("name", "notch", "mesh", "position_mm", "average_over")}
    request = {
        "lines": [{**keep, "basis": "nominal", "cases": {"pull": {"normal_mpa": [10.0] * 48}}}],
        "loading": ring_request()["loading"],
        "curves": {"rule": "fixed", "curve": "iiw-2016-normal-steel-71"},
    }
    codes = [finding["code"] for finding in post(client, request).json()["findings"]]
    assert "mesh-not-used" in codes
    assert "peaks-not-averaged" in codes


def test_the_terminal_and_the_report_name_the_node(client: httpx.Client) -> None:
    request = ring_request()
    assert "0 mm, node 100, at (20, 0, 0)" in check_text(post(client, request).json())
    page = client.post("/v1/check", json=request, headers={"accept": "text/html"}).text
    assert "station 0, 0 mm, node 100, at (20, 0, 0)" in page.replace("\u00a0", " ")

"""Weld lines over HTTP: a VTU body gives what the command line gives, within limits; JSON bodies the same."""

from __future__ import annotations

import json
from typing import Any

import httpx
import numpy as np
import pytest

from service.cli import main
from service.mesh.formats.vtu import read_vtu
from service.topics.stress import weld_lines
from tests.shapes.files import FOLDER, MODELS, expected

URL = "/v1/stress/weld-lines"
XML = {"content-type": "application/xml"}
FACTOR = {"length_factor": "1"}


def posted(client: httpx.Client, name: str, **query: str) -> Any:
    body = (FOLDER / f"{name}.vtu").read_bytes()
    return client.post(URL, content=body, params={**FACTOR, **query}, headers=XML)


@pytest.mark.parametrize("name", MODELS)
def test_a_vtu_body_gives_what_the_command_line_gives(
    client: httpx.Client, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    symmetry = {"symmetry": "y=0"} if name.endswith("half") else {}
    answer = posted(client, name, **symmetry).json()["answer"]
    main(["lines", str(FOLDER / f"{name}.vtu"), "--list", "--json", *(["--symmetry", "y=0"] if symmetry else [])])
    listed = json.loads(capsys.readouterr().out)
    assert len(answer["lines"]) == len(expected(name))
    assert answer["left_out"] == listed["left_out"]
    for one, other in zip(answer["lines"], listed["lines"], strict=True):
        assert one.pop("cases") == {}
        assert one == other


def test_stresses_come_with_the_lines_as_a_check_takes_them(client: httpx.Client) -> None:
    answer = posted(
        client,
        "stiffener-hex8",
        cases="pull:S_tension, side:S_lateral",
        components="xx,yy,zz,xy,yz,zx",
        stress_factor="2",
    ).json()["answer"]
    raw = read_vtu((FOLDER / "stiffener-hex8.vtu").read_bytes())
    for line in answer["lines"]:
        assert list(line["cases"]) == ["pull", "side"]
        tensors = line["cases"]["pull"]["tensors_mpa"]
        rows = np.column_stack([tensors[name] for name in ("xx", "yy", "zz", "xy", "yz", "zx")])
        assert rows == pytest.approx(2.0 * raw.point_data["S_tension"][line["node_id"]])


def test_metres_and_limits_of_the_search_come_in_the_query(client: httpx.Client) -> None:
    metres = posted(client, "stiffener-hex8", length_factor="1000").json()["answer"]["lines"]
    assert [line["length_mm"] for line in metres] == pytest.approx([30_000.0] * 6)
    none = posted(client, "stiffener-hex8", least_nodes="17", opening_limit_deg="150.5").json()["answer"]
    assert none["lines"] == []
    assert {each["reason"] for each in none["left_out"]} == {"short"}


def test_a_json_mesh_gives_the_same_as_its_file(client: httpx.Client) -> None:
    raw = read_vtu((FOLDER / "stiffener-hex8.vtu").read_bytes())
    blocks = [{"element": kind, "nodes": nodes.tolist()} for kind, nodes in raw.cells]
    points = raw.points.astype(float).tolist()
    found = client.post(URL, json={"points_mm": points, "element_blocks": blocks}).json()["answer"]
    assert found == posted(client, "stiffener-hex8").json()["answer"]


@pytest.mark.parametrize(
    ("query", "where", "message"),
    [
        ({"length_factor": ""}, "/length_factor", "number"),
        ({"length_factor": "0"}, "/length_factor", "above zero"),
        ({"length_factor": "1e300"}, "/length_factor", "below 1e30"),
        ({"length_factor": "nan"}, "/length_factor", "above zero"),
        ({"cases": "a:S_tension"}, "/stress_factor", "needed"),
        ({"cases": "a:S_tension", "stress_factor": "1"}, "/cases/a", "components"),
        ({"cases": "a:S_none", "stress_factor": "1"}, "/cases/a", "no array"),
        ({"cases": "a", "stress_factor": "1"}, "/cases/a", "once, with its array"),
        (
            {"cases": "a:S_tension,a:S_lateral", "stress_factor": "1", "components": "xx,yy,zz,xy,yz,zx"},
            "/cases/a",
            "once",
        ),
        ({"components": "xx,yy", "cases": "a:S_tension", "stress_factor": "1"}, "/components", "xx,yy,zz"),
        ({"symmetry": "w=0"}, "/symmetry/0", "a plane like"),
        ({"kink_deg": "wide"}, "/kink_deg", "number"),
        ({"kink_deg": "200"}, "/kink_deg", "less than 180"),
        ({"nonsense": "1"}, "/nonsense", ""),
        ({"symetry": "y=0"}, "/symetry", "unknown key, did you mean 'symmetry'"),
        ({"stress_factor": "1"}, "/stress_factor", "only with cases"),
    ],
)
def test_queries_that_do_not_fit_are_refused_at_their_place(
    client: httpx.Client, query: dict[str, str], where: str, message: str
) -> None:
    answer = posted(client, "stiffener-hex8", **query)
    assert answer.status_code == 422, answer.text
    errors = answer.json()["errors"]
    assert any(each["pointer"].removeprefix("#") == where and message in each["message"] for each in errors), errors


@pytest.mark.parametrize(
    ("body", "message"),
    [
        (b"", "not a VTU file"),
        (b"<VTKFile", "cut off"),
        (b'<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><VTKFile>&x;</VTKFile>', "entities"),
    ],
)
def test_bodies_that_are_no_mesh_are_refused(client: httpx.Client, body: bytes, message: str) -> None:
    answer = client.post(URL, content=body, params=FACTOR, headers=XML)
    assert answer.status_code == 422
    assert message in answer.text
    assert "root:" not in answer.text


def test_meshes_beyond_the_limits_are_refused(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weld_lines, "MAX_VTU_BYTES", 1000)
    assert "larger than the limit" in posted(client, "stiffener-hex8").text
    monkeypatch.undo()
    monkeypatch.setattr(weld_lines, "MAX_POINTS", 100)
    assert posted(client, "stiffener-hex8").status_code == 413


def test_tensors_for_other_points_than_the_mesh_are_refused(client: httpx.Client) -> None:
    request = {
        "points_mm": [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 1.0]],
        "element_blocks": [{"element": "tet4", "nodes": [[0, 1, 2, 3], [1, 2, 3, 4]]}],
        "tensors_mpa": {"a": [[0.0] * 6] * 4},
    }
    answer = client.post(URL, json=request)
    assert answer.status_code == 422
    assert "4 tensors where the mesh has 5 points" in answer.text


def test_a_repeated_request_has_the_same_digest_and_another_mesh_another_one(client: httpx.Client) -> None:
    first, again = (posted(client, "stiffener-hex8").json()["record"] for _ in range(2))
    assert first == again
    assert posted(client, "stiffener-hex8", length_factor="2").json()["record"] != first

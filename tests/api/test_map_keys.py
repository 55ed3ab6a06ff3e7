"""Every key of a map is told with its meaning, out of the models that validate it, and written once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from service.lines.map import REQUIRED, TableMap
from service.mesh.layout import MeshMap
from service.mesh.map_keys import all_keys, guide, keys_json
from tests.api.remake_map_keys import PAGE


def rows(part: str) -> dict[str, Any]:
    return {row.key: row for row in all_keys()[part]}


@pytest.mark.parametrize("part", ["table", "mesh", "request"])
def test_every_key_has_a_meaning_and_a_kind(part: str) -> None:
    for row in all_keys()[part]:
        assert row.meaning.strip(" :;"), row.key
        assert row.kind, row.key
        assert "anything" not in row.kind, row.key
    keys = [row.key for row in all_keys()[part]]
    twice = {key for key in keys if keys.count(key) > 1}
    assert twice <= {"request.loading.cycles"}  # a number of cycles, or which cycles a history counts


@pytest.mark.parametrize(("part", "model"), [("table", TableMap), ("mesh", MeshMap)])
def test_no_key_of_the_models_is_missing(part: str, model: Any) -> None:
    told = {key.partition(".")[0].removesuffix("[]") for key in rows(part)}
    assert told == set(model.model_fields) - {"request"}
    inside = {key.removeprefix("lines[].") for key in rows(part) if key.startswith("lines[].")}
    rule = model.model_fields["lines"].annotation.__args__[0]
    assert set(rule.model_fields) <= inside


def test_keys_say_unit_bounds_choices_default_and_need() -> None:
    table, mesh, request = rows("table"), rows("mesh"), rows("request")
    size = table["lines[].notch_size_mm"]
    assert (size.unit, size.kind, size.default) == ("mm", "number above 0 | not-judged", "needed unless skip = true")
    assert all(table[f"lines[].{name}"].default == "needed unless skip = true" for name in REQUIRED)
    assert table["table.form"].kind == "long | wide"
    assert table["table.stress_factor"].default == "1.0"
    assert table["table.case"].meaning == "column that names the load case, of a long table"
    assert mesh["mesh.symmetry"].kind == "list of text"
    assert mesh["mesh.cases.<name>.step"].kind == "whole number at least 0"
    assert table["lines[].curves"].meaning.startswith("of these lines, in place of request.curves")
    assert request["request.target.damage_limit"].kind == "number above 0"
    assert request["request.curves.curve"].meaning.startswith("with rule = fixed: ")
    assert request["request.curves.curve"].meaning.endswith("; its keys as in request.curves.opening_curve")
    assert request["request.loading.blocks"].meaning.startswith("with kind = blocks: ")
    assert request["request.loading.history[].file"].default == "needed"
    assert request["request.growth"].meaning.endswith("POST /v1/check")
    assert not [
        key for key in request if key.startswith(("request.lines", "request.growth.", "request.loading.channels"))
    ]
    meanings = [row.meaning for row in all_keys()["request"] if row.key == "request.loading.cycles"]
    assert len(meanings) == 2


def test_the_page_of_the_guides_is_the_list_itself() -> None:
    assert PAGE.read_text(encoding="utf-8") == guide(), "python -m tests.api.remake_map_keys"


def test_the_command_shows_the_keys(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["lines", "--keys"]) == 0
    text = capsys.readouterr().out
    assert "lines[].notch_size_mm: number above 0 | not-judged [mm]; needed unless skip = true\n" in text
    assert "table.stress_factor: number above 0; default 1.0\n    to MPa" in text
    out = tmp_path / "keys.json"
    assert cli.main(["lines", "--keys", "--json", "-o", str(out)]) == 0
    told = json.loads(out.read_text(encoding="utf-8"))
    assert set(told) == {"table", "mesh", "request"}
    assert set(told["mesh"][0]) == {"key", "meaning", "unit", "kind", "default"}


@pytest.mark.parametrize("more", [["table.csv"], ["--map", "map.toml"], ["--list"]])
def test_keys_go_with_nothing_else(more: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["lines", "--keys", *more]) == 2
    assert "--keys goes with" in capsys.readouterr().err


def test_without_a_file_the_command_says_what_it_wants(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["lines", "--map", "map.toml"]) == 2
    assert "name a mesh or a table" in capsys.readouterr().err


def test_the_service_lists_the_same_keys(client: httpx.Client) -> None:
    answer = client.get("/v1/map-keys").raise_for_status().json()["answer"]
    assert answer == keys_json()
    (form,) = [row for row in answer["table"] if row["key"] == "table.form"]
    assert (form["kind"], form["default"]) == ("long | wide", "needed")

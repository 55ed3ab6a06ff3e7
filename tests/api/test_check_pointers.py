"""Refusals of the geometry of a line point at what was sent, not at a load case."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from fatcore.errors import InputError
from fatcore.stress.peak.line_evaluation import peaks_from_tensors
from tests.api.report_pages import example

Change = Callable[[dict[str, Any]], None]


def loop(line: dict[str, Any]) -> None:
    line.update(closed=True, symmetric_ends=["start"])


def loop_of_two(line: dict[str, Any]) -> None:
    for name, values in line.items():
        line[name] = values[:2] if isinstance(values, list) else values
    for case in line["cases"].values():
        case["tensors_mpa"] = {name: values[:2] for name, values in case["tensors_mpa"].items()}
    line.update(closed=True, exclude_ends_mm=0.0)


def one_row_less(line: dict[str, Any]) -> None:
    tensors = line["cases"]["lateral"]["tensors_mpa"]
    line["cases"]["lateral"]["tensors_mpa"] = {name: values[:-1] for name, values in tensors.items()}


@pytest.mark.parametrize(
    ("change", "where"),
    [(loop, "/symmetric_ends"), (loop_of_two, "/closed"), (one_row_less, "/cases/lateral/tensors_mpa")],
)
def test_what_a_line_is_refused_for_is_pointed_at(client: httpx.Client, change: Change, where: str) -> None:
    request = copy.deepcopy(example("check/bracket-hanger"))
    request["lines"] = request["lines"][:1]
    change(request["lines"][0])
    found = client.post("/v1/check", json=request)
    assert found.status_code == 422
    assert [each["pointer"] for each in found.json()["errors"]] == [f"/lines/0{where}"]


def test_tensors_of_one_load_case_are_a_table() -> None:
    frame = [[1.0, 0.0, 0.0]] * 2, [[0.0, 1.0, 0.0]] * 2
    with pytest.raises(InputError, match="table of stations"):
        peaks_from_tensors([[[1.0] * 6] * 2], *frame)

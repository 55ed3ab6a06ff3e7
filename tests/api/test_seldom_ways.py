"""Ways that are seldom gone: problems from other processes, the state of the heavy lane for other processes, densities
beyond all numbers, columns of yes and no in a report."""

from __future__ import annotations

import asyncio
import json
import pickle
from pathlib import Path

import httpx
import pytest

from service.base.problems import Problem
from service.http import metrics as module
from service.http.metrics import FOLDER, Metrics
from service.http.settings import Settings
from service.pool.lanes import Lanes
from service.report.inputs import _value

RANDOM = Path(__file__).parents[2] / "openapi_examples" / "spectrum" / "random-flat.json"


def test_a_problem_is_the_same_behind_another_process() -> None:
    told = Problem(422, "no", [("/x", "wrong")], kind="urn:k", title="T", headers={"H": "1"})
    found = pickle.loads(pickle.dumps(told))
    assert (found.body(), found.headers) == (told.body(), told.headers)


@pytest.mark.skipif(not module.installed(), reason="the extra 'metrics' is not installed")
def test_the_state_of_the_lane_is_written_down_for_other_processes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    metrics, told = Metrics(), list[bool]()
    metrics.lanes = Lanes(Settings(), lambda: None)
    monkeypatch.setenv(FOLDER, str(tmp_path))
    monkeypatch.setattr(module, "_EVERY_S", 0.001)
    monkeypatch.setattr(metrics, "_tell", lambda: told.append(True))

    async def run() -> None:
        async with metrics.told():
            while len(told) < 3:
                await asyncio.sleep(0.001)

    asyncio.run(run())
    assert len(told) >= 3
    (tmp_path / "gauge_livesum_4000001.db").write_bytes(b"")
    assert isinstance(metrics.text(), str)
    assert list(tmp_path.glob("gauge_live*")) == []  # of a process that is gone


def test_a_damage_beyond_all_numbers_is_refused(client: httpx.Client) -> None:
    request = json.loads(RANDOM.read_text(encoding="utf-8"))["request"]
    curve = {"name": "steep", "log10_constants": [12.9], "slopes": [99.0]}
    answer = client.post("/v1/spectrum/random", json={**request, "density_mpa2_per_hz": [1e30, 1e30], "curve": curve})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/density_mpa2_per_hz"


def test_a_column_of_yes_and_no_is_counted() -> None:
    assert _value([True, False, True], "X", "specimen_failed") == "2 yes and 1 no"

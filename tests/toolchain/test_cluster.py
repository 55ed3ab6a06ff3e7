"""A batch by a real Dask cluster on this machine: the bytes of local work, and a killed worker loses nothing."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from service import cli
from service.base.problems import Problem
from service.batch.file import local_answers, resume
from service.jobs.cluster import on_cluster

distributed = pytest.importorskip("distributed", reason="the extra distributed is not installed")
pytestmark = [pytest.mark.toolchain, pytest.mark.filterwarnings("ignore")]
ROOT = Path(__file__).parents[2]
CHECK = ROOT / "openapi_examples" / "check" / "one-toe-constant.json"


@pytest.fixture(scope="module", autouse=True)
def found_by_workers() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:  # their processes begin with the path of this one
        patch.syspath_prepend(str(ROOT))
        yield


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    options = {"n_workers": 2, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with distributed.LocalCluster(**options) as found:
        yield found


def source(count: int) -> list[bytes]:
    request = json.loads(CHECK.read_bytes())["request"]
    rows = [{"id": n, "calculation": "check", "input": {**request, "title": f"part {n}"}} for n in range(count)]
    return [*(json.dumps(row).encode() for row in rows), b"{", json.dumps(rows[3]).encode()]


def test_a_batch_by_a_cluster_has_the_bytes_of_a_local_one(cluster: Any, tmp_path: Path) -> None:
    given, here, there = tmp_path / "in", tmp_path / "here", tmp_path / "there"
    given.write_bytes(b"\n".join(source(20)))
    assert cli.main(["batch", str(given), "-o", str(here)]) == 1
    assert cli.main(["batch", str(given), "-o", str(there), "--dask", cluster.scheduler_address]) == 1
    assert there.read_bytes() == here.read_bytes()


def test_a_killed_worker_loses_nothing(cluster: Any, tmp_path: Path) -> None:
    here, there, lines = tmp_path / "here", tmp_path / "there", source(60)
    resume(lines, here, local_answers)
    killed: list[int] = []

    def finished(count: int) -> None:
        if count and len(killed) == 0:
            killed.append(next(iter(cluster.workers.values())).pid)
            os.kill(killed[0], signal.SIGKILL)

    with on_cluster(cluster.scheduler_address) as each:
        count = resume(lines, there, partial(local_answers, each=each), finished)
    assert killed
    assert (count.answered, count.problems) == (60, 2)
    assert there.read_bytes() == here.read_bytes()


def test_a_cluster_that_loses_all_its_workers_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.jobs.cluster._WAIT_S", 4)
    monkeypatch.setattr("service.jobs.cluster._LOOK_S", 2)
    options = {"n_workers": 1, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with distributed.LocalCluster(**options) as alone:
        lost = pytest.raises(Problem, match="every worker of the cluster has ended")
        with lost, on_cluster(alone.scheduler_address) as each:
            results = each(time.sleep, [0.0] * 4 + [60.0] * 4)
            next(results)
            alone.scale(0)
            list(results)


def test_a_cluster_that_is_not_there_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.jobs.cluster._WAIT_S", 1)
    with pytest.raises(Problem, match="cannot be reached, or has no worker"), on_cluster("tcp://127.0.0.1:9"):
        pass

"""A real server of two processes: keys that are read again while it runs, and an audit log that both write."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

from service.access.keys import digest_of

pytestmark = pytest.mark.toolchain
ROOT = Path(__file__).parents[2]


def entry(key: str) -> str:
    return json.dumps({"team": key, "sha256": digest_of(key), "scopes": ["calculations"], "expires": "never"}) + "\n"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def status(url: str, key: str) -> int:
    try:
        # a connection of its own, so that both processes are asked
        return httpx.get(f"{url}/v1/sources", headers={"X-API-Key": key}, timeout=10.0).status_code
    except httpx.TransportError:
        return 0


def children(parent: int) -> list[int]:
    """Processes of the server that answer requests."""
    found = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    return [int(each) for each in found if b"spawn_main" in Path(f"/proc/{each}/cmdline").read_bytes()]


def wait_until(true: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + 40.0
    while not true():
        assert time.monotonic() < deadline, what
        time.sleep(0.2)


def test_keys_are_read_again_by_all_processes_and_a_broken_file_changes_nothing(tmp_path: Path) -> None:
    keys, audit, log = tmp_path / "keys", tmp_path / "audit", tmp_path / "log"
    keys.write_text(entry("first"))
    port = free_port()
    command = [sys.executable, "-m", "service", "serve", "--port", str(port), "--workers", "2"]
    settings = {**os.environ, "TOELINE_KEYS_FILE": str(keys), "TOELINE_AUDIT_LOG": str(audit)}
    url = f"http://127.0.0.1:{port}"
    with (
        log.open("wb") as output,
        subprocess.Popen(command, cwd=ROOT, env=settings, stdout=output, stderr=output) as run,
    ):
        try:
            wait_until(lambda: status(url, "first") == 200, "the service did not start")
            assert status(url, "second") == 401
            for address in ("sources?key=hidden", "sources?%6bey=hidden", "sources%3Fkey%3Dhidden", "hidden"):
                assert httpx.get(f"{url}/v1/{address}").status_code in (401, 404)
            keys.write_text(entry("second"))
            run.send_signal(signal.SIGHUP)
            wait_until(lambda: all(status(url, "second") == 200 for _ in range(8)), "the keys were not read again")
            assert [status(url, "first") for _ in range(8)] == [401] * 8
            keys.write_text("nonsense")
            run.send_signal(signal.SIGHUP)
            wait_until(lambda: log.read_text().count("the keys stay as they were") == 1, "no error in the log")
            assert [status(url, "second") for _ in range(8)] == [200] * 8
            for process in children(run.pid):  # those that take their place have the old keys too
                os.kill(process, signal.SIGKILL)
            time.sleep(1.0)
            wait_until(lambda: all(status(url, "second") == 200 for _ in range(8)), "the processes did not come back")
        finally:
            run.terminate()
            run.wait(30.0)
    assert "GET /v1/sources?... HTTP" in log.read_text()
    assert "hidden" not in log.read_text() + audit.read_text()
    lines = [json.loads(line) for line in audit.read_text().splitlines()]
    assert {line["team"] for line in lines} == {"first", "second", None}
    assert {line["calculation"] for line in lines} == {"sources"}
    assert {line["outcome"] for line in lines} == {"answered", "refused"}

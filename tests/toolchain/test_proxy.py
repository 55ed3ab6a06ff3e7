"""nginx with the configuration for operators before two replicas: one is killed under load, and nothing is lost."""

from __future__ import annotations

import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

ROOT = Path(__file__).parents[2]
CONFIGURATION = ROOT / "service/deploy/nginx.conf"
NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
CLIENTS, SECONDS = 4, 6.0
LIFE = "/v1/curves/iiw-2016-normal-steel-80/life?stress_range_mpa=90"
CHECK = json.loads((ROOT / "openapi_examples/check/one-toe-constant.json").read_bytes())["request"]

pytestmark = [
    pytest.mark.toolchain,
    pytest.mark.skipif(NGINX is None, reason="no nginx here: install the package nginx"),
]


def free_port() -> int:
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        port: int = tried.getsockname()[1]
        return port


def placed(folder: Path, ports: list[int]) -> Path:
    """The configuration with free ports and folders of its own."""
    text = CONFIGURATION.read_text()
    for given, port in zip((8000, 8001, 8002), ports, strict=True):
        text = text.replace(f"127.0.0.1:{given}", f"127.0.0.1:{port}")
    text = text.replace("/run/nginx.pid", str(folder / "nginx.pid")).replace("/dev/stdout", str(folder / "access.log"))
    temporary = "".join(f"    {each}_temp_path {folder / each};\n" for each in ("client_body", "proxy"))
    target = folder / "nginx.conf"
    target.write_text(text.replace("http {\n", f"http {{\n{temporary}", 1))
    return target


def ready(port: int) -> None:
    deadline = time.monotonic() + 40.0
    while time.monotonic() < deadline:
        try:
            if httpx.get(f"http://127.0.0.1:{port}/health/ready").status_code == 200:
                return
        except httpx.HTTPError:
            pass
        time.sleep(0.1)
    pytest.fail("a server did not start")


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, subprocess.Popen[bytes], Path]]:
    """Address of the proxy, the first of its replicas, and the folder of the proxy."""
    tmp_path.chmod(0o755)
    ports = [free_port() for _ in range(3)]
    service = [sys.executable, "-m", "service", "serve", "--port"]
    assert NGINX is not None
    proxy = [NGINX, "-c", str(placed(tmp_path, ports)), "-p", str(tmp_path), "-g", "daemon off;"]
    commands = [[*service, str(ports[1])], [*service, str(ports[2])], proxy]
    with ExitStack() as stack, (tmp_path / "log").open("wb") as log:
        running = []
        for command in commands:
            process = subprocess.Popen(command, cwd=ROOT, stdout=log, stderr=log)
            stack.callback(process.wait)
            stack.callback(process.terminate)
            running.append(process)
        for port in (*ports[1:], ports[0]):
            ready(port)
        yield f"http://127.0.0.1:{ports[0]}", running[0], tmp_path


def test_a_replica_killed_under_load_loses_no_request(
    served: tuple[str, subprocess.Popen[bytes], Path],
) -> None:
    url, replica, folder = served
    stop = threading.Event()
    answers: Counter[bytes] = Counter()
    lock = threading.Lock()

    def asking(kind: int) -> list[int]:
        statuses = []
        with httpx.Client(base_url=url, timeout=60.0) as client:
            while not stop.is_set():
                found = client.get(LIFE) if kind % 2 else client.post("/v1/check", json=CHECK)
                statuses.append(found.status_code)
                with lock:
                    answers[found.content] += 1
        return statuses

    with ThreadPoolExecutor(CLIENTS) as pool:
        asked = [pool.submit(asking, kind) for kind in range(CLIENTS)]
        time.sleep(SECONDS / 2)
        replica.send_signal(signal.SIGKILL)
        time.sleep(SECONDS / 2)
        stop.set()
        statuses = [status for each in asked for status in each.result()]
    assert set(statuses) == {200}
    assert len(answers) == 2  # the same bytes from both replicas
    log = (folder / "access.log").read_text()
    assert len(re.findall(r"127\.0\.0\.1:\d+, 127\.0\.0\.1:\d+$", log, re.MULTILINE)) >= 1  # sent again
    assert "stress_range_mpa" not in log


def test_the_counters_of_one_replica_are_not_shown_as_those_of_all(
    served: tuple[str, subprocess.Popen[bytes], Path],
) -> None:
    url, _, _ = served
    assert httpx.get(f"{url}/metrics").status_code == 404
    answer = httpx.get(f"{url}{LIFE}", headers={"X-Request-ID": "run-7"})
    assert answer.status_code == 200

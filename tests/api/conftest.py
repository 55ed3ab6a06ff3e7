"""A real server on a free port of this machine, once for each test process, and a client for it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
import uvicorn

from service import cli
from service.http.app import create_app
from service.http.connections import BoundedConnection
from service.http.settings import Settings

Run = Callable[..., tuple[int, str]]


class Server(uvicorn.Server):
    """uvicorn in a thread, on a port that the system chose; heavy work in threads, where no processes are wanted."""

    def __init__(self, settings: Settings, *, processes: bool = False, keep_alive_s: int = 120) -> None:
        super().__init__(
            uvicorn.Config(
                create_app(replace(settings, worker_processes=processes)),
                port=0,
                log_level="error",
                lifespan="off",
                timeout_keep_alive=keep_alive_s,
                http=BoundedConnection,
            )
        )
        self.thread = threading.Thread(target=self.run, daemon=True)

    def __enter__(self) -> str:
        self.thread.start()
        deadline = time.monotonic() + 30.0
        while not self.started and time.monotonic() < deadline:
            time.sleep(0.01)
        assert self.started, "the test server did not start"
        port = self.servers[0].sockets[0].getsockname()[1]
        return f"http://127.0.0.1:{port}"

    def __exit__(self, *_: object) -> None:
        self.should_exit = True
        self.thread.join(timeout=10.0)


@pytest.fixture(scope="session")
def base_url() -> Iterator[str]:
    with Server(Settings()) as url:
        yield url


@pytest.fixture(scope="session")
def client(base_url: str) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=base_url, timeout=60.0) as connected:
        yield connected


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """A command in an empty folder: its exit code and what it prints, the errors where it ends by one."""
    monkeypatch.chdir(tmp_path)

    def run(*command: str) -> tuple[int, str]:
        code = cli.main([*command])
        printed = capsys.readouterr()
        return code, printed.out if code in (0, 1) else printed.err

    return run

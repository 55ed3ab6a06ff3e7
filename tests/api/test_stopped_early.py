"""Ctrl-C while packages are still imported: no trace, and the exit code of shells."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

import service.__main__ as start

STOPPED_AT = """
import os, signal, sys

class Finder:
    def find_spec(self, name, *_):
        if name == {name!r}:
            os.kill(os.getpid(), signal.SIGINT)

signal.signal(signal.SIGINT, signal.{handler})
sys.meta_path.insert(0, Finder())
sys.argv = ["toeline", "--version"]
from service.__main__ import main
sys.exit(main())
"""


def ended(name: str, handler: str = "default_int_handler") -> tuple[int, str, str]:
    """Exit code and texts of a command that gets Ctrl-C when a module is about to be imported."""
    code = STOPPED_AT.format(name=name, handler=handler)
    root = Path(start.__file__).parents[1]
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root)
    return found.returncode, found.stdout, found.stderr


@pytest.mark.parametrize("name", ["argparse", "service.cli"])
def test_a_command_is_stopped_without_a_trace_while_it_starts(name: str) -> None:
    assert ended(name) == (130, "", "toeline: stopped\n")


def test_a_command_in_the_background_goes_on() -> None:
    code, out, err = ended("service.cli", "SIG_IGN")
    assert (code, out.split()[0], err) == (0, "toeline", "")


def test_the_handler_before_is_there_while_a_command_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    monkeypatch.setattr("service.cli.main", lambda: seen.append(signal.getsignal(signal.SIGINT)) or 7)
    before = signal.getsignal(signal.SIGINT)
    signal.signal(signal.SIGINT, signal.default_int_handler)  # it is ignored where the tests run in the background
    try:
        assert start.main() == 7
        assert seen == [signal.default_int_handler]
        assert signal.getsignal(signal.SIGINT) is start._stop
    finally:
        signal.signal(signal.SIGINT, before)


def test_a_stop_says_so_and_ends_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[object] = []
    monkeypatch.setattr("os.write", lambda *given: done.append(given))
    monkeypatch.setattr("os._exit", done.append)
    start._stop()
    assert done == [(2, b"toeline: stopped\n"), 130]

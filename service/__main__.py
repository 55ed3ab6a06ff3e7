"""The command line, as `toeline` and python -m service: Ctrl-C ends it without a trace, however early it comes."""

from __future__ import annotations

import os
import signal
import sys
from typing import Any

STOPPED = 130  # by Ctrl-C, as shells number it


def main() -> int:
    """Runs one command and returns its exit code; while packages are imported nothing needs tidying up."""
    before = signal.getsignal(signal.SIGINT)
    listens = before is not signal.SIG_IGN  # a command in the background is not meant
    if listens:
        signal.signal(signal.SIGINT, _stop)
    try:
        from .cli import main as run

        signal.signal(signal.SIGINT, before)
        return run()
    finally:
        if listens:
            signal.signal(signal.SIGINT, _stop)


def _stop(*_: Any) -> None:
    os.write(2, b"toeline: stopped\n")
    os._exit(STOPPED)


if __name__ == "__main__":
    sys.exit(main())

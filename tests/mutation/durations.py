"""Plugin of the run that builds the map of reach: writes down how long each test took and which failed."""

from __future__ import annotations

import json
import os
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest

TARGET = "MUTATION_DURATIONS"
_seen: dict[str, dict[str, Any]] = defaultdict(lambda: {"seconds": 0.0, "failed": False})


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _seen[report.nodeid]["seconds"] += report.duration
    _seen[report.nodeid]["failed"] |= not report.passed


def pytest_sessionfinish(session: pytest.Session) -> None:
    if TARGET in os.environ and not hasattr(session.config, "workerinput"):
        Path(os.environ[TARGET]).write_text(json.dumps(_seen), encoding="utf-8")

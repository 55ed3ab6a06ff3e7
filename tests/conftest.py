"""One profile of random tests for all, and which tests count no covered lines."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator

import pytest
from hypothesis import settings

# the same cases in every run, no time limit a case
settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")


def is_counted(item: pytest.Item) -> bool:
    """Whether the lines that a test reaches count as covered: not those of real programs and long runs.

    To follow their lines doubles their time, and other tests reach these lines on purpose.
    """
    return not (item.get_closest_marker("toolchain") or item.get_closest_marker("uncounted"))


def is_measured(config: pytest.Config) -> bool:
    """Whether coverage follows lines here, and not for the map of lines and tests, which wants all tests.

    A debugger follows lines too, and keeps following all of them.
    """
    return type(sys.gettrace()).__module__.startswith("coverage") and not config.getoption("cov_context", None)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Uncounted tests come last, since what is computed once a process is to be computed while lines count."""
    if is_measured(config):
        items.sort(key=lambda each: not is_counted(each))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Follows no line of an uncounted test, in its threads neither."""
    if is_counted(item) or not is_measured(item.config):
        return (yield)
    here, in_threads = sys.gettrace(), threading.gettrace()
    sys.settrace(None)
    threading.settrace(None)  # type: ignore[arg-type]
    try:
        return (yield)
    finally:
        sys.settrace(here)
        threading.settrace(in_threads)  # type: ignore[arg-type]

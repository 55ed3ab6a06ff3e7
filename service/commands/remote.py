"""What commands share that may ask a running service instead of calculating here."""

from __future__ import annotations

import argparse
import os
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

from ..base.problems import Problem
from ..base.rules.active import active_policy
from ..jobs.in_order import MOST_JOBS, Each, cores, several
from .texts.parser import decimal, whole

if TYPE_CHECKING:
    from ..client.client import Client


KEY_VARIABLE = "TOELINE_API_KEY"


def add_server(command: argparse.ArgumentParser) -> None:
    """Adds the options of the service's address."""
    command.add_argument(
        "--server",
        metavar="URL",
        help=f"ask this service instead of calculating here; its key is read from {KEY_VARIABLE}",
    )
    command.add_argument(
        "--timeout", type=decimal, default=300.0, metavar="S", help="longest wait for one answer, in s (default 300)"
    )


def add_jobs(command: argparse.ArgumentParser) -> None:
    """Adds the option of several workers."""
    text = (
        "work with so many processes, with --server so many requests at once; 0: as many as there are cores (default 1)"
    )
    command.add_argument("--jobs", type=whole, default=1, metavar="N", help=text)


def workers(given: argparse.Namespace, tasks: int) -> AbstractContextManager[Each]:
    """What works off so many tasks with the workers that the command line asks for, in the order of the tasks.

    Raises : Problem for a number of workers that cannot be
    """
    if not 0 <= given.jobs <= MOST_JOBS:
        raise Problem(400, f"--jobs takes a whole number from 0 (all cores) to {MOST_JOBS}")
    return several(max(1, min(given.jobs or cores(), tasks)), of_server=given.server is not None)


def connect(given: argparse.Namespace) -> Client:
    """A client of the service that the command line names.

    Raises : Problem when the address is no web address or the time limit not positive
    """
    if not given.server.startswith(("http://", "https://")):
        raise Problem(400, f"--server takes an address like http://127.0.0.1:8000, not {given.server!r}")
    if not given.timeout > 0.0:
        raise Problem(400, "--timeout takes a positive number of seconds")
    # imported here: the client pulls in the models of every topic, which other commands start without
    from ..client.client import Client

    policy = active_policy()
    return Client(
        given.server,
        api_key=os.environ.get(KEY_VARIABLE) or None,
        timeout_s=given.timeout,
        policy_digest=None if policy is None else policy.digest,
    )

"""What commands share that may ask a running service instead of calculating here."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING

from ..base.problems import Problem

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
        "--timeout", type=float, default=300.0, metavar="S", help="longest wait for one answer (default 300)"
    )


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

    return Client(given.server, api_key=os.environ.get(KEY_VARIABLE) or None, timeout_s=given.timeout)

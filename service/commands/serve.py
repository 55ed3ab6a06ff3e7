"""toeline serve: the service itself."""

from __future__ import annotations

import argparse
import os

from ..base.problems import Problem
from ..base.rules.active import active_policy
from ..client.exit_codes import PASSED
from ..jobs.in_order import cores
from .texts.help import Commands, add_command
from .texts.parser import whole
from .texts.under_policy import DIGEST_VARIABLE, VARIABLE, add_policy


def add(commands: Commands) -> None:
    """Adds the command serve."""
    serve = add_command(commands, "serve", "start the service", ("serve", "serve --port 9000 --workers 4"))
    serve.add_argument("--host", default="127.0.0.1", metavar="HOST", help="address to listen on (default 127.0.0.1)")
    serve.add_argument("--port", type=whole, default=8000, metavar="N", help="port to listen on (default 8000)")
    serve.add_argument("--workers", type=whole, default=1, metavar="N", help="processes (default 1)")
    add_policy(serve)
    serve.set_defaults(run=_serve)


def _serve(given: argparse.Namespace) -> int:
    import uvicorn

    from ..http.connections import BoundedConnection
    from ..http.metrics import counted_together
    from ..http.settings import Settings
    from ..http.telemetry.tracing import require_packages

    _hand_on_policy(given)
    os.environ.setdefault("TOELINE_MAX_RUNNING", str(max(1, cores() // given.workers)))
    try:
        settings = Settings.from_environment()
        require_packages()
    except ValueError as error:
        raise Problem(422, str(error)) from error
    with counted_together(given.workers):
        uvicorn.run(
            f"{__package__.rpartition('.')[0]}.http.app:app",
            host=given.host,
            port=given.port,
            workers=given.workers,
            http=BoundedConnection,
            timeout_graceful_shutdown=settings.stop_s,
        )
    return PASSED


def _hand_on_policy(given: argparse.Namespace) -> None:
    """Every process of the service reads the policy for itself, and all must find the same."""
    policy = active_policy()
    if policy is not None:
        os.environ[VARIABLE] = given.policy or os.environ[VARIABLE]
        os.environ[DIGEST_VARIABLE] = policy.digest

"""toeline serve: the service itself."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from ...access.access import require_guarded
from ...access.audit import AuditLog
from ...base.problems import Problem
from ...base.rules.active import active_policy
from ...client.exit_codes import PASSED
from ...jobs.in_order import cores
from ..texts.help import Commands, add_command
from ..texts.parser import whole
from ..texts.under_policy import DIGEST_VARIABLE, VARIABLE, add_policy

if TYPE_CHECKING:
    from ...http.settings import Settings


def add(commands: Commands) -> None:
    """Adds the command serve."""
    serve = add_command(commands, "serve", "start the service", ("serve", "serve --port 9000 --workers 4"))
    serve.add_argument("--host", default="127.0.0.1", metavar="HOST", help="address to listen on (default 127.0.0.1)")
    serve.add_argument("--port", type=whole, default=8000, metavar="N", help="port to listen on (default 8000)")
    serve.add_argument("--workers", type=whole, default=1, metavar="N", help="processes (default 1)")
    serve.add_argument(
        "--no-keys", action="store_true", help="ask for no key on an address that other machines reach (HOST)"
    )
    add_policy(serve)
    serve.set_defaults(run=_serve)


def _serve(given: argparse.Namespace) -> int:
    import uvicorn

    from ...access.hangup import Processes
    from ...access.listening import listening
    from ...http.connections import BoundedConnection
    from ...http.metrics import counted_together

    _hand_on_policy(given)
    settings = _settings(given)
    app = f"{__package__.partition('.')[0]}.http.app:app"
    options: dict[str, Any] = {
        "host": given.host,
        "port": given.port,
        "http": BoundedConnection,
        "timeout_graceful_shutdown": settings.stop_s,
    }
    if given.workers == 1:
        uvicorn.run(app, **options)
        return PASSED
    config = uvicorn.Config(app, workers=given.workers, **options)
    with counted_together(given.workers), _copied_keys(settings) as renew:
        Processes(config, [listening(config)], renew).run()
    return PASSED


@contextmanager
def _copied_keys(settings: Settings) -> Iterator[Callable[[], None]]:
    """Lets the processes read a copy of the file of keys; a function that makes it anew."""
    from ...access.hangup import copy_keys
    from ...http.security import access_of

    if not settings.keys_file:
        yield lambda: None
        return
    with TemporaryDirectory(prefix="toeline-keys-") as folder:
        target = os.environ["TOELINE_KEYS_FILE"] = os.path.join(folder, "keys")

        def renew() -> None:
            copy_keys(settings.keys_file, target, lambda path: access_of(replace(settings, keys_file=path)))

        renew()
        yield renew


def _settings(given: argparse.Namespace) -> Settings:
    """The settings, as every process of the server will read them; Problem for what would keep one from starting."""
    from ...http.security import access_of
    from ...http.settings import Settings
    from ...http.telemetry.tracing import require_packages

    if given.workers < 1:
        raise Problem(422, "--workers must be 1 or more")
    os.environ.setdefault("TOELINE_MAX_RUNNING", str(max(1, cores() // given.workers)))
    os.environ["TOELINE_WORKERS"] = str(given.workers)
    if given.no_keys:
        os.environ["TOELINE_NO_KEYS"] = "1"
    try:
        settings = Settings.from_environment()
        require_packages()
    except ValueError as error:
        raise Problem(422, str(error)) from error
    asks_key = access_of(settings).asks_key
    require_guarded(given.host, asks_key=asks_key, open_on_purpose=settings.no_keys)
    AuditLog(settings.audit_log or None)
    return settings


def _hand_on_policy(given: argparse.Namespace) -> None:
    """Every process of the service reads the policy for itself, and all must find the same."""
    policy = active_policy()
    if policy is not None:
        os.environ[VARIABLE] = given.policy or os.environ[VARIABLE]
        os.environ[DIGEST_VARIABLE] = policy.digest

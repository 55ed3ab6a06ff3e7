"""toeline serve: the service itself."""

from __future__ import annotations

import argparse

from ..client.exit_codes import PASSED
from .shared import Commands


def add(commands: Commands) -> None:
    """Adds the command serve."""
    serve = commands.add_parser("serve", help="start the service")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (default 127.0.0.1)")
    serve.add_argument("--port", type=int, default=8000, help="port to listen on (default 8000)")
    serve.add_argument("--workers", type=int, default=1, help="processes (default 1)")
    serve.set_defaults(run=_serve)


def _serve(given: argparse.Namespace) -> int:
    import uvicorn

    app = f"{__package__.rpartition('.')[0]}.http.app:app"
    uvicorn.run(app, host=given.host, port=given.port, workers=given.workers)
    return PASSED

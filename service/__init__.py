"""toeline: fatigue checks of welded joints over HTTP, on the command line and from Python."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .base.rules.active import under
    from .client.batch import BatchItem, BatchResult
    from .client.client import AsyncClient, Client
    from .client.errors import AnswerError, ClientError, ProblemError
    from .http.app import create_app
    from .policy.reading import read_policy

__all__ = [
    "AnswerError",
    "AsyncClient",
    "BatchItem",
    "BatchResult",
    "Client",
    "ClientError",
    "ProblemError",
    "create_app",
    "read_policy",
    "under",
]

_HOMES = {
    "AnswerError": "client.errors",
    "AsyncClient": "client.client",
    "BatchItem": "client.batch",
    "BatchResult": "client.batch",
    "Client": "client.client",
    "ClientError": "client.errors",
    "ProblemError": "client.errors",
    "create_app": "http.app",
    "read_policy": "policy.reading",
    "under": "base.rules.active",
}


def __getattr__(name: str) -> Any:
    """Imports what is exported when it is first used: a small command needs neither client nor server."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES[name]}", __name__), name)

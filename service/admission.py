"""Who may start a calculation, and when: the key, and how many run in this process already."""

from __future__ import annotations

from starlette.requests import Request

from service.metrics import Metrics
from service.problems import Problem
from service.security import check_key
from service.settings import Settings

__all__ = ["admit"]


def admit(request: Request, settings: Settings, metrics: Metrics) -> None:
    """Passes a request with a known key while there is room; Problem 401 or 503 otherwise."""
    check_key(request, settings)
    if metrics.running >= settings.max_running:
        wait = {"Retry-After": str(settings.retry_after_s)}
        raise Problem(503, "as many calculations run as this process may; try again", headers=wait)

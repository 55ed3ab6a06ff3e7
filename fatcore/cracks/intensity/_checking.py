"""How the published checks of the stress intensities are written down."""

from __future__ import annotations

from collections.abc import Callable

from fatcore.published import PublishedCheck
from fatcore.sources import Status

__all__ = ["COMPUTED", "check", "derived"]

COMPUTED = "crack-intensity-computation"


def check(
    name: str,
    title: str,
    expected: str,
    compute: Callable[[], float],
    *,
    source: str,
    where: str,
    status: Status = "from memory",
    relative: float | None = None,
    why: str = "",
) -> PublishedCheck:
    """One check; `relative` is a tolerance wider than half a printed digit, which needs a reason."""
    tolerance = None if relative is None else relative * abs(float(expected))
    return PublishedCheck(
        id=f"intensity-{name}",
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )


def derived(name: str, title: str, expected: str, compute: Callable[[], float], where: str) -> PublishedCheck:
    """A check against a value that follows from the formulas by independent computation."""
    return check(name, title, expected, compute, source=COMPUTED, where=where, status="derived")

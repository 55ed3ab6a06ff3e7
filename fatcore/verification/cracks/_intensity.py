"""How the verification cases of the stress intensities are written down."""

from __future__ import annotations

from collections.abc import Callable

from fatcore.sources import Status
from fatcore.verification.case import VerificationCase

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
) -> VerificationCase:
    """One check; `relative` is a tolerance wider than half a printed digit, which needs a reason."""
    tolerance = None if relative is None else relative * abs(float(expected))
    return VerificationCase(
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


def derived(name: str, title: str, expected: str, compute: Callable[[], float], where: str) -> VerificationCase:
    """A check against a value that follows from the formulas by independent computation."""
    return check(name, title, expected, compute, source=COMPUTED, where=where, status="derived")

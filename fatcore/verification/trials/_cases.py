"""How a verification case of this topic is written down."""

from __future__ import annotations

from collections.abc import Callable

from fatcore.sources import Status
from fatcore.verification.case import VerificationCase


def check(
    number: str,
    title: str,
    source: str,
    where: str,
    expected: str,
    compute: Callable[[], float],
    *,
    status: Status = "from memory",
    tolerance: float | None = None,
    why: str = "",
) -> VerificationCase:
    """A check of this topic."""
    return VerificationCase(
        id=f"trials-{number}",
        title=title,
        source=source,
        where=where,
        status=status,
        expected=expected,
        compute=compute,
        tolerance=tolerance,
        why=why,
    )

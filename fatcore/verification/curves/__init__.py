"""Verification cases of the design curves."""

from __future__ import annotations

from fatcore.verification.curves import documents, offshore

CASES = (
    *documents.CASES,
    *offshore.CASES,
)

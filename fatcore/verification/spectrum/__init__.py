"""Verification cases of counting, damage sums and random stress."""

from __future__ import annotations

from fatcore.verification.spectrum import counting, damage, random

CASES = (
    *counting.CASES,
    *damage.CASES,
    *random.CASES,
)

"""Verification cases of peak stresses, sharp notches and cross-sections."""

from __future__ import annotations

from fatcore.verification.stress import chains, notches, sections

CASES = (
    *notches.CASES,
    *chains.CASES,
    *sections.CASES,
)

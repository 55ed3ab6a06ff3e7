"""Verification cases of stress intensities, growth laws, lives and fracture."""

from __future__ import annotations

from fatcore.verification.cracks import driving, ellipses, fracture, lives, plates, weight_functions, welds

CASES = (
    *ellipses.CASES,
    *plates.CASES,
    *welds.CASES,
    *weight_functions.CASES,
    *driving.CASES,
    *lives.CASES,
    *fracture.CASES,
)

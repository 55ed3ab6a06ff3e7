"""Verification cases: published or independently computed numbers, and what must give them."""

from __future__ import annotations

from fatcore.verification import cracks, curves, spectrum, stress, trials

CASES = (*stress.CASES, *curves.CASES, *spectrum.CASES, *cracks.CASES, *trials.CASES)

"""Verification cases of fatigue trials: lines through tests, factors, growth rates, crack lengths."""

from __future__ import annotations

from fatcore.verification.trials import factors, lengths, lines, rates

CASES = (*lines.CASES, *factors.CASES, *rates.CASES, *lengths.CASES)

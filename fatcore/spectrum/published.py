"""Published and independently computed numbers of load spectra that this topic must reproduce."""

from __future__ import annotations

from fatcore.published import PublishedCheck
from fatcore.spectrum import _published_counting, _published_damage, _published_random

__all__ = ["CHECKS"]

CHECKS: tuple[PublishedCheck, ...] = (
    *_published_counting.checks(),
    *_published_damage.checks(),
    *_published_random.checks(),
)

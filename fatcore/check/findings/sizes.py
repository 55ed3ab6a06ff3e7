"""Whether the ranges of a check are so small that they look like another unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fatcore.check.strength.strength import InteractionStrength, Strength
from fatcore.curves.range_sizes import small_findings
from fatcore.findings import Finding
from fatcore.require import FloatArray


def size_findings(equivalent_mpa: Sequence[FloatArray], strengths: Sequence[Strength]) -> tuple[Finding, ...]:
    """`outside` where the largest range of all lines looks like another unit.

    Beside a shear stress that is judged on its own curve, small normal ranges say nothing.
    """
    if any(isinstance(strength, InteractionStrength) for strength in strengths):
        return ()
    found = small_findings(np.concatenate(list(equivalent_mpa)))
    return tuple(replace(finding, code="ranges-too-small", severity="outside") for finding in found)

"""Choices that relieve a part beyond what any document permits: their bounds and the words about them.

They are `outside` in every calculation that takes them: no number that rests on one says that a part passes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fatcore.curves.corrections.correction import Correction
from fatcore.findings import Finding, outside

LARGEST_DAMAGE_LIMIT = 1.0  # the life of the curve is used up there; no document states more
_LEAST_FACTOR = 1.0  # on loads, and dividing strengths: partial factors of the documents are 1 and more
LEAST_SURVIVAL = 0.5  # the mean line
# the largest bonus of the documents here is 1.67 (compression counted at 60 %), that for the load ratio 1.6;
# twice the strength is eight times the life on a slope of 3 [own choice]
_LARGEST_OWN_FACTOR = 2.0

# codes of findings without whose relief the part would be worse: what fails with it fails all the more
DAMAGE_LIMIT, SURVIVAL, FACTOR = "damage-limit-above-one", "survival-below-mean-line", "relieving-factor"
NO_PARTIAL_FACTOR = "partial-factor-decides"
RELIEVING = (DAMAGE_LIMIT, SURVIVAL, FACTOR, NO_PARTIAL_FACTOR)


def factor_findings(**factors: float) -> tuple[Finding, ...]:
    """An `outside` finding for each factor on loads or under strengths that is below 1, by its name."""
    return tuple(
        outside(FACTOR, f"{name} {value:g} is below 1, which relieves the part", field=name)
        for name, value in factors.items()
        if value < _LEAST_FACTOR
    )


def own_factor_findings(corrections: Sequence[Correction]) -> tuple[Finding, ...]:
    """An `outside` finding where the factors of the user's own together more than double the strength."""
    own = [float(np.max(each.strength_factor)) for each in corrections if "own-factor" in each.sources]
    product = float(np.prod(own))
    if product <= _LARGEST_OWN_FACTOR * (1.0 + 1e-9):
        return ()
    text = (
        f"own factors multiply strengths by {product:.4g}, more than {_LARGEST_OWN_FACTOR:g}: no bonus of the"
        " documents here exceeds 1.67; give a curve of your own that was tested so"
    )
    return (outside(FACTOR, text, field="corrections", source="own-factor"),)

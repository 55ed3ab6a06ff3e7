"""Whether the weights of stress modes let every mode count that moves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.figures import figure
from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray

# no equivalent stress of a standard counts a component by less than itself, and the strengths of two details of one
# material are further apart in no document here: 12 over 80 MPa for aluminium [own choice]
LEAST_WEIGHT = 0.15


def weight_findings(
    history_mpa: ArrayLike, weights: ArrayLike, names: Sequence[str], least_weight: float
) -> tuple[Finding, ...]:
    """`outside` for a mode that moves and counts nothing, a caution for each that counts less than it should.

    history_mpa : (modes, samples) [MPa]; weights : (modes) [-], any sign; names : of the modes
    least_weight: below it no weight comes from a published rule [-]
    Raises      : InputError for a number that is not finite
    """
    moves = np.ptp(require.finite("history_mpa", history_mpa), axis=1)
    sizes = np.abs(require.finite("weights", weights))
    found = []
    for name, span, size in zip(names, moves.tolist(), sizes.tolist(), strict=True):
        if span > 0.0 and size == 0.0:
            text = f"{name} moves by {figure(span)} MPa and has weight 0, so that it counts nothing:"
            text += " weight it, or leave it out"
            found.append(outside("moving-mode-without-weight", text, field="weights"))
        elif span > 0.0 and size < least_weight:
            text = f"{name} moves by {figure(span)} MPa and has the weight {figure(size)}, below {figure(least_weight)}"
            text += ", less than any published rule gives even with a margin: is it meant?"
            found.append(caution("weight-of-mode-small", text, field="weights"))
    return tuple(found)


def raised_weights(weights: ArrayLike, least_weight: float) -> FloatArray:
    """Sizes of the weights, the small ones raised to the least [-]: what a sum is compared with.

    >>> raised_weights([0.0, -0.1, 1.6], 0.2).tolist()
    [0.2, 0.2, 1.6]
    """
    raised: FloatArray = np.maximum(np.abs(require.finite("weights", weights)), least_weight)
    return raised

"""Values of elements at their nodes: their mean at each node, and how far the elements disagree there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray


def node_means(values: FloatArray, place: NDArray[np.int64], count: int) -> tuple[FloatArray, FloatArray]:
    """Means (count, m) by node, nan where it has none, and jumps (count,).

    values, place : rows (n, m) and the node of each; a jump is the largest difference of a component over the
                    largest value of the node
    """
    number, wide = np.bincount(place, minlength=count), values.shape[1]
    total, low, high = np.zeros((count, wide)), np.full((count, wide), np.inf), np.full((count, wide), -np.inf)
    np.add.at(total, place, values)
    np.minimum.at(low, place, values)
    np.maximum.at(high, place, values)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = total / number[:, np.newaxis]
        largest = np.maximum(np.abs(low), np.abs(high)).max(axis=1)
        jump = (high - low).max(axis=1) / largest  # no number where a node has no row or no stress
    return means, np.nan_to_num(jump)

"""Columns and numbers side by side."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray, other_length


def side_by_side(**columns: ArrayLike | None) -> list[FloatArray]:
    """Every column as an array of one shape, numbers repeated, None as 0; InputError names one that differs."""
    arrays = {
        name: np.atleast_1d(np.asarray(0.0 if column is None else column, dtype=np.float64))
        for name, column in columns.items()
    }
    longest = max(array.size for array in arrays.values())
    for name, array in arrays.items():
        if array.size not in (1, longest) or array.ndim != 1:
            raise InputError(other_length(name, array.size, longest), name)
    return [np.broadcast_to(array, (longest,)) for array in arrays.values()]

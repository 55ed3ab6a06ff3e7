"""Columns and numbers side by side."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite


def side_by_side(**columns: ArrayLike) -> list[FloatArray]:
    """Every column as a finite array of one shape, numbers repeated; InputError names one that differs."""
    arrays = {name: np.atleast_1d(finite(name, column)) for name, column in columns.items()}
    longest = max(array.size for array in arrays.values())
    for name, array in arrays.items():
        if array.size not in (1, longest) or array.ndim != 1:
            raise InputError(f"{name} has {array.size} entries where {longest} were expected", name)
    return [np.broadcast_to(array, (longest,)) for array in arrays.values()]

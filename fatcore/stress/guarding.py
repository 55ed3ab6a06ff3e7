"""Guard at the exit: inputs so extreme that the result leaves the range of floating point are refused."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray


def finite_result(values: ArrayLike, *path: str) -> FloatArray:
    """The computed values as float array; InputError at the path when one is infinite or no number.

    Used under `np.errstate(all="ignore")`, so that only this guard speaks.
    """
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise InputError("value leads beyond the range of floating-point numbers", *path)
    return array

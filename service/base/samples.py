"""A column of many samples in a request: a list in JSON, or an array that another reader has checked."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any

import numpy as np
from pydantic import Field, PlainSerializer, ValidatorFunctionWrapHandler, WrapValidator

from fatcore.bounds import Number

from .common import MAX_POINTS


def _array_or_list(value: Any, checked: ValidatorFunctionWrapHandler) -> Any:
    # arrays come from the readers of other bodies only, which have checked them
    if not isinstance(value, np.ndarray):
        return checked(value)
    if value.size < 2:
        raise ValueError("a history needs at least two samples")
    return value


def _for_digest(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return {"samples": value.size, "sha256": hashlib.sha256(value.tobytes()).hexdigest()}
    return value


Samples = Annotated[
    list[Number],
    Field(min_length=2, max_length=MAX_POINTS),
    WrapValidator(_array_or_list),
    PlainSerializer(_for_digest),
]

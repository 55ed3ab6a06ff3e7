"""Numbers in the texts of a URL: in plain digits, whatever a parser of numbers would take besides."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from ...units.request import alternatives
from ..problems import pointer, refused_parts

_LIKE_A_NUMBER = re.compile(r"\s*[+-]?[\d_.]+(?:[eE][+-]?[\d_]+)?\s*")


def guard_plain_numbers(model: type[BaseModel], data: Mapping[str, Any]) -> None:
    """Problem 422 for digits of other scripts, or joined by underscores, where a number is asked for.

    A name that the model does not have may be one in another unit.
    """
    texts = {name for name, info in model.model_fields.items() if str in alternatives(info.annotation)}
    odd = [name for name, value in data.items() if name not in texts and _is_odd(value)]
    if odd:
        raise refused_parts(
            [(pointer([name]), "must be a number in plain digits") for name in odd], "inputs are refused"
        )


def _is_odd(value: Any) -> bool:
    return isinstance(value, str) and ("_" in value or not value.isascii()) and bool(_LIKE_A_NUMBER.fullmatch(value))

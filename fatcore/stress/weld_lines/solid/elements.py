"""Solid elements: their kinds and numbers of nodes."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

SolidElement = Literal["tet4", "tet10", "brick8", "brick20", "wedge6", "wedge15", "pyramid5", "pyramid13"]
SOLID_ELEMENTS: tuple[SolidElement, ...] = get_args(SolidElement)
Nodes = NDArray[np.int64]

_CORNERS = {"tet": 4, "brick": 8, "wedge": 6, "pyramid": 5}


def shape_of(element: str) -> str:
    """tet, brick, wedge or pyramid.

    >>> shape_of("brick20")
    'brick'
    """
    return element.rstrip("0123456789")


def corner_count(element: str) -> int:
    """Corner nodes of an element."""
    return _CORNERS[shape_of(element)]


def node_count(element: str) -> int:
    """Nodes of an element, mid-side nodes included."""
    return int(element.removeprefix(shape_of(element)))

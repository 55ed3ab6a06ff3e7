"""Cracks at their start: a length that is none, or at the end of its configuration, is refused by its name."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.configurations.configuration import width_findings
from fatcore.cracks.configurations.function_crack import FunctionCrack
from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import LAST_LIGAMENT, CentreCrack, EdgeCrack
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.errors import InputError

TABLE = IntensityTable([1.0, 2.0, 4.0], {"opening": [100.0, 150.0, 180.0]})
SURFACE = {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0, "half_width_mm": 50.0}
CRACKS: list[tuple[type, dict[str, Any]]] = [
    (SurfaceCrack, {**SURFACE, "toe_footprint_mm": 12.0}),
    (EdgeCrack, {"depth_mm": 1.0, "width_mm": 20.0}),
    (CentreCrack, {"half_length_mm": 2.0, "width_mm": 50.0, "thickness_mm": 10.0}),
    (FunctionCrack, {"crack_size_mm": 1.0, "largest_mm": 4.0, "intensity": np.sqrt}),
    (TabledCrack, {"crack_size_mm": 1.0, "table": TABLE}),
]
LENGTHS = [(crack, given, name) for crack, given in CRACKS for name in given if name.endswith("_mm")]
ENDS = [
    (SurfaceCrack, SURFACE, "depth_mm", 10.0, "depth_mm"),
    (SurfaceCrack, SURFACE, "half_length_mm", 50.0, "half_length_mm"),
    (EdgeCrack, CRACKS[1][1], "depth_mm", LAST_LIGAMENT * 20.0, "depth_mm"),
    (CentreCrack, CRACKS[2][1], "half_length_mm", LAST_LIGAMENT * 25.0, "half_length_mm"),
    (FunctionCrack, CRACKS[3][1], "crack_size_mm", 4.0, "largest_mm"),
    (TabledCrack, CRACKS[4][1], "crack_size_mm", 4.0, "crack_size_mm"),
]


@pytest.mark.parametrize(("crack", "given", "name"), LENGTHS)
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_length_that_is_none_is_refused_by_its_name(
    crack: type, given: dict[str, Any], name: str, bad: float
) -> None:
    crack(**given)
    with pytest.raises(InputError) as caught:
        crack(**{**given, name: bad})
    assert caught.value.path == (name,)


@pytest.mark.parametrize(("crack", "given", "name", "end", "where"), ENDS)
def test_a_crack_starts_before_the_end_of_its_configuration(
    crack: type, given: dict[str, Any], name: str, end: float, where: str
) -> None:
    crack(**{**given, name: end * (1.0 - 1e-9)})
    for size in (end, end * (1.0 + 1e-9)):
        with pytest.raises(InputError) as caught:
            crack(**{**given, name: size})
        assert caught.value.path == (where,)


@pytest.mark.parametrize("mode", ["opening", "sliding", "tearing"])
def test_modes_of_a_table_are_kept_apart_and_one_that_is_missing_is_nothing(mode: str) -> None:
    crack = TabledCrack(crack_size_mm=1.0, table=IntensityTable([1.0, 4.0], {mode: [100.0, 180.0]}))
    unit = crack.given_intensity(np.array([1.0]))
    expected = {"sliding": None, "tearing": None, mode: 100.0}
    assert unit.opening.item() == (100.0 if mode == "opening" else 0.0)
    for name in ("sliding", "tearing"):
        found = getattr(unit, name)
        assert (None if found is None else found.item()) == expected[name]


def test_any_crack_without_its_width_is_reported() -> None:
    surface = SurfaceCrack(depth_mm=1.0, half_length_mm=2.0, thickness_mm=10.0)
    narrow = [SurfaceCrack(**SURFACE), EdgeCrack(depth_mm=1.0, width_mm=20.0)]
    assert width_findings() == width_findings(*narrow) == []
    for wide in (surface, CentreCrack(half_length_mm=2.0)):
        for cracks in ((wide,), (wide, *narrow), (*narrow, wide)):
            assert len(width_findings(*cracks)) == 1

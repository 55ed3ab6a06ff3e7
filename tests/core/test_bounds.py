"""Bounds declared beside a field or argument are held, by name and with a message that says the bound."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
import pytest
from annotated_types import Ge, Gt, Le, Len, Lt, doc
from hypothesis import given
from hypothesis import strategies as st

from fatcore.bounds import (
    LARGEST,
    SMALLEST,
    STEEPEST,
    Exponent,
    Name,
    NonNegative,
    Number,
    Positive,
    PositiveColumn,
    Probability,
    Slope,
    Vectors,
    guard,
    guarded,
)
from fatcore.errors import InputError, UnknownError
from service.topics.registry import load


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A dataclass with every way to declare a bound."""

    thickness_mm: Positive = 1.0
    offset_mm: Number = 0.0
    gap_mm: NonNegative = 0.0
    damage: Annotated[float, Ge(0.0)] = 0.0
    share: Probability = 0.5
    half_width_mm: Annotated[Positive | None, doc("null is wide")] = None
    ratio: Annotated[float, Ge(-1.0), Lt(0.5)] = 0.0
    order: Annotated[int, Gt(0), Le(3)] = 1
    side: Literal["upper", "lower"] = "upper"
    distance_mm: tuple[Positive, ...] = ()
    knee_mpa: Annotated[float, Gt(0.0)] = 1.0
    name: Name = "web"
    layers: Annotated[tuple[Positive, ...], Len(1)] = (1.0,)
    corners_mm: Vectors = ((0.0, 0.0, 0.0),)
    plane: str | float = "stress"
    note: str = ""

    def __post_init__(self) -> None:
        guard(self)


@guarded
def read(depth_mm: PositiveColumn, shares: Sequence[Probability] = (), *, line: Literal["a", "b"] | None = None) -> str:
    """A function with bounds at its arguments."""
    return f"{np.shape(depth_mm)} {list(shares)} {line}"


@pytest.mark.parametrize(
    ("given", "rule"),
    [
        ({"thickness_mm": 0.0}, "thickness_mm must be greater than 0"),
        ({"thickness_mm": math.nan}, "thickness_mm must be finite"),
        ({"thickness_mm": math.inf}, "thickness_mm must be finite"),
        ({"thickness_mm": 2e30}, "thickness_mm must lie in [1e-30, 1e30]"),
        ({"offset_mm": -2e30}, "offset_mm must lie in [-1e30, 1e30]"),
        ({"gap_mm": -1e-9}, "gap_mm must be at least 0"),
        ({"damage": -1.0}, "damage must be at least 0"),
        ({"damage": math.inf}, "damage must be finite"),
        ({"share": 0.0}, "share must lie in (0, 1)"),
        ({"share": 1.0}, "share must lie in (0, 1)"),
        ({"half_width_mm": -1.0}, "half_width_mm must be greater than 0"),
        ({"ratio": 0.5}, "ratio must lie in [-1, 0.5)"),
        ({"ratio": -1.1}, "ratio must lie in [-1, 0.5)"),
        ({"order": 0}, "order must lie in (0, 3]"),
        ({"order": 4}, "order must lie in (0, 3]"),
        ({"distance_mm": (1.0, 0.0)}, "distance_mm must be greater than 0"),
        ({"distance_mm": (1.0, math.nan)}, "distance_mm must be finite"),
        ({"knee_mpa": 0.0}, "knee_mpa must be greater than 0"),
        ({"knee_mpa": math.inf}, "knee_mpa must be finite"),
        ({"name": ""}, "name must have 1 to 200 characters, not 0"),
        ({"name": 201 * "w"}, "name must have 1 to 200 characters, not 201"),
        ({"layers": ()}, "layers must have at least 1 entry, not 0"),
        ({"layers": (1.0, 0.0)}, "layers must be greater than 0"),
        ({"corners_mm": ((0.0, 0.0),)}, "corners_mm must have 3 numbers a row"),
        ({"corners_mm": (0.0, 0.0, 0.0)}, "corners_mm must have 3 numbers a row"),
        ({"corners_mm": ((0.0, 0.0, math.nan),)}, "corners_mm must be finite"),
    ],
)
def test_a_field_outside_its_bounds_is_refused_by_name(given: dict[str, Any], rule: str) -> None:
    with pytest.raises(InputError) as caught:
        Plate(**given)
    assert str(caught.value) == rule
    assert caught.value.path == tuple(given)


def test_a_word_that_is_no_choice_is_refused_with_the_choices() -> None:
    with pytest.raises(UnknownError, match="unknown side 'left'; known: lower, upper") as caught:
        Plate(side="left")  # type: ignore[arg-type]
    assert caught.value.path == ("side",)


@given(st.floats(-1.0, 0.5, exclude_max=True), st.floats(SMALLEST, LARGEST))
def test_what_lies_within_the_bounds_is_taken(ratio: float, size: float) -> None:
    plate = Plate(ratio=ratio, thickness_mm=size, half_width_mm=size, distance_mm=(size,))
    assert (plate.ratio, plate.thickness_mm, plate.half_width_mm, plate.plane) == (ratio, size, size, "stress")


def test_arguments_are_held_wherever_they_stand() -> None:
    assert read([1.0, 2.0], [0.5], line="a") == "(2,) [0.5] a"
    assert read(1.0) == "() [] None"
    for call, name in (
        (lambda: read([1.0, 0.0]), "depth_mm"),
        (lambda: read(depth_mm=np.array([math.nan])), "depth_mm"),
        (lambda: read(1.0, [0.5, 1.0]), "shares"),
        (lambda: read(1.0, line="c"), "line"),  # type: ignore[arg-type]
    ):
        with pytest.raises(InputError) as caught:
            call()
        assert caught.value.path == (name,)
    assert read.__doc__ == "A function with bounds at its arguments."


@pytest.mark.parametrize(
    ("given_mm", "rule"),
    [
        (0.0, "must be greater than 0"),
        (-5e-324, "must be greater than 0"),
        (5e-324, "must be at least 1e-30"),
        (SMALLEST * (1.0 - 1e-15), "must be at least 1e-30"),
    ],
)
def test_a_number_above_0_has_a_floor(given_mm: float, rule: str) -> None:
    with pytest.raises(InputError, match=f"^thickness_mm {rule}$"):
        Plate(thickness_mm=given_mm)
    assert Plate(thickness_mm=SMALLEST).thickness_mm == SMALLEST


@pytest.mark.parametrize(("kind", "least"), [(Exponent, 0.0), (Slope, SMALLEST)])
def test_an_exponent_has_a_ceiling(kind: Any, least: float) -> None:
    check = guarded(steep(kind))
    assert (check(least), check(STEEPEST)) == (least, STEEPEST)
    for beyond in (math.nextafter(least, -1.0), math.nextafter(STEEPEST, math.inf)):
        with pytest.raises(InputError, match=r"^exponent must"):
            check(beyond)


def steep(kind: Any) -> Any:
    """A function whose argument is of that kind."""

    def given_back(exponent: float) -> float:
        return exponent

    given_back.__annotations__["exponent"] = kind
    return given_back


def numbers_of(schema: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """The schemas of numbers by the name of their key."""
    if isinstance(schema, list):
        for part in schema:
            yield from numbers_of(part, name)
    elif isinstance(schema, dict):
        if schema.get("type") == "number":
            yield name, schema
        for key, part in schema.items():
            if key in ("properties", "$defs"):
                for inner, of_it in part.items():
                    yield from numbers_of(of_it, inner)
            elif key not in ("default", "examples"):
                yield from numbers_of(part, name)


NUMBERS = [each for found in load().values() for each in numbers_of(found.request.model_json_schema())]


def test_every_number_of_every_request_is_bounded_and_every_exponent_low() -> None:
    for name, schema in NUMBERS:
        assert {"minimum", "exclusiveMinimum"} & set(schema), name
        high = schema.get("maximum", schema.get("exclusiveMaximum"))
        assert high is not None, name
        assert schema.get("exclusiveMinimum") != 0.0 or high <= 180.0, name  # shares and angles, which nothing divides
        assert high <= STEEPEST or not re.search("exponent|slope", name), name

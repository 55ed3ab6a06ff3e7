"""Models of the service out of the declarations of the core: same bounds, same words, same values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

import numpy as np
import pytest
from annotated_types import Ge, Len, Lt, doc
from numpy.typing import NDArray
from pydantic import Field, ValidationError

from fatcore.bounds import Name, NumberColumn, Positive, PositiveColumn, UnboundedColumn, Vectors, Width
from fatcore.errors import InputError
from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from service.base.common import Strict, reply
from service.base.derive import Derived, answer_of, call, request_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Core class within another one."""

    size_mm: Positive
    offset: Annotated[float, Ge(-1.0), Lt(1.0)] = 0.0

    def __post_init__(self) -> None:
        if self.size_mm > 100.0:
            raise InputError("too large", "size_mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """Core class with parts."""

    part: Part
    parts: tuple[Part, ...] = ()
    named: dict[str, Part] = field(default_factory=dict)
    weights: tuple[float, ...] = (1.0,)
    first: Part = Part(size_mm=2.0)
    hidden: int = 7


@request_of(Part)
class PartRequest(Derived):
    """A part."""


@request_of(Whole, omit=("hidden",), rows=2)
class WholeRequest(Derived):
    """A whole."""

    kind: Literal["whole"]
    named: dict[str, PartRequest] = Field(default={})


def lengths(
    size_mm: PositiveColumn,
    offset_mm: Annotated[NumberColumn | None, doc("sideways")] = None,
    mode: Literal["near", "far"] = "near",
    three: Annotated[NumberColumn, Len(3, 3)] = (0.0, 0.0, 0.0),
) -> Any:
    """A function of the core."""
    return size_mm, offset_mm, mode, three


@request_of(lengths, rows=4)
class LengthsRequest(Derived):
    """Its arguments."""


def describe(size_mm: PositiveColumn, name: str, why: Annotated[str, Len(1, 300), doc("reason")] = "none") -> Any:
    """A function that takes a column or one number, and words."""
    return size_mm, name, why


@request_of(describe, single=True)
class OneRequest(Derived):
    """Its arguments for one number."""


def shapes(
    name: Name,
    corners_mm: Vectors,
    order: Annotated[tuple[int, ...], Len(2)],
    shares: Annotated[Mapping[str, Positive], Len(1)],
) -> Any:
    """Everything that has a size."""
    return name, corners_mm, order, shares


@request_of(shapes, rows=3)
class ShapesRequest(Derived):
    """Its arguments."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lengths(Outcome):
    """An outcome."""

    life_cycles: UnboundedColumn
    size_mm: FloatArray
    open: NDArray[np.bool_]
    index: NDArray[np.int64] | None
    share: Annotated[float, Ge(0.0)] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corners(Outcome):
    """An outcome of rows, and its parts."""

    corners_mm: Annotated[FloatArray, Width(3)] | None = None
    parts: tuple[Lengths, ...] = ()


@answer_of(Lengths, omit=("index",))
class LengthsAnswer(Strict):
    """Its answer."""


@answer_of(Corners)
class CornersAnswer(Strict):
    """Its answer."""


@answer_of(Lengths, omit=("size_mm", "index", "share"), single=True)
class OneAnswer(Strict):
    """Its answer to one number."""


def test_parts_become_those_of_the_core() -> None:
    given: dict[str, Any] = {"kind": "whole", "part": {"size_mm": 1.0}, "named": {"a": {"size_mm": 4.0}}}
    given["parts"] = [{"size_mm": 3.0, "offset": 0.5}]
    whole = WholeRequest.model_validate(given).to_core()
    parts = (Part(size_mm=3.0, offset=0.5),)
    assert whole == Whole(part=Part(size_mm=1.0), parts=parts, named={"a": Part(size_mm=4.0)})
    assert whole.weights == (1.0,)
    assert call(Whole, WholeRequest.model_validate(given), hidden=3).hidden == 3


@pytest.mark.parametrize(
    ("more", "path"),
    [
        ({"part": {"size_mm": 101.0}}, ("part", "size_mm")),
        ({"parts": [{"size_mm": 1.0}, {"size_mm": 101.0}]}, ("parts", 1, "size_mm")),
        ({"named": {"b": {"size_mm": 101.0}}}, ("named", "b", "size_mm")),
    ],
)
def test_errors_of_the_core_carry_the_way_to_the_part(more: dict[str, Any], path: tuple[Any, ...]) -> None:
    request = WholeRequest.model_validate({"kind": "whole", "part": {"size_mm": 1.0}} | more)
    with pytest.raises(InputError) as caught:
        request.to_core()
    assert caught.value.path == path


SHAPES: dict[str, Any] = {"name": "a", "corners_mm": [[0.0, 1.0, 2.0]], "order": [1, 2], "shares": {"a": 1.0}}


@pytest.mark.parametrize(
    "other",
    [
        {"name": ""},
        {"corners_mm": []},
        {"corners_mm": [[0.0, 1.0]]},
        {"corners_mm": [[0.0, 1.0, 1e31]]},
        {"corners_mm": [[0.0, 1.0, 2.0]] * 4},
        {"order": [1]},
        {"order": [1, 2, 3, 4]},
        {"shares": {}},
        {"shares": {"a": 0.0}},
        {"shares": dict.fromkeys("abcd", 1.0)},
    ],
)
def test_sizes_of_the_core_are_those_of_the_request(other: dict[str, Any]) -> None:
    assert ShapesRequest.model_validate(SHAPES).to_core() == ("a", ([0.0, 1.0, 2.0],), (1, 2), {"a": 1.0})
    with pytest.raises(ValidationError):
        ShapesRequest.model_validate(SHAPES | other)


@pytest.mark.parametrize(
    ("model", "given"),
    [
        (PartRequest, {"size_mm": 0.0}),
        (PartRequest, {"size_mm": 1.0, "offset": 1.0}),
        (PartRequest, {"size_mm": 1.0, "other": 1.0}),
        (WholeRequest, {"kind": "whole", "part": {"size_mm": 1.0}, "hidden": 1}),
        (WholeRequest, {"kind": "whole", "part": {"size_mm": 1.0}, "weights": [1.0] * 3}),
        (WholeRequest, {"kind": "whole", "part": {"size_mm": 1.0}, "weights": [1e31]}),
        (OneRequest, {"size_mm": [1.0], "name": "a"}),
        (OneRequest, {"size_mm": 0.0, "name": "a"}),
        (OneRequest, {"size_mm": 1.0, "name": 101 * "a"}),
        (OneRequest, {"size_mm": 1.0, "name": "a", "why": ""}),
        (OneRequest, {"size_mm": 1.0, "name": "a", "why": 301 * "a"}),
        (LengthsRequest, {"size_mm": []}),
        (LengthsRequest, {"size_mm": [1.0] * 5}),
        (LengthsRequest, {"size_mm": [0.0]}),
        (LengthsRequest, {"size_mm": [1.0], "offset_mm": [-1e31]}),
        (LengthsRequest, {"size_mm": [1.0], "mode": "between"}),
        (LengthsRequest, {"size_mm": [1.0], "three": [1.0, 1.0]}),
    ],
)
def test_bounds_of_the_core_are_those_of_the_request(model: type[Strict], given: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        model.model_validate(given)


def test_arguments_of_a_function_are_a_request() -> None:
    request = LengthsRequest.model_validate({"size_mm": [1.0, 2.0]})
    assert request.to_core() == ((1.0, 2.0), None, "near", (0.0, 0.0, 0.0))
    properties = LengthsRequest.model_json_schema()["properties"]
    assert properties["offset_mm"]["description"] == "sideways"
    assert properties["size_mm"]["items"] == {"minimum": 1e-30, "maximum": 1e30, "type": "number"}


def test_an_answer_takes_lists_and_null_for_infinity_and_leaves_the_evidence_out() -> None:
    assert {name: info.annotation for name, info in LengthsAnswer.model_fields.items()} == {
        "life_cycles": list[float | None],
        "size_mm": list[float],
        "open": list[bool],
        "share": float,
    }
    assert LengthsAnswer.model_fields["share"].is_required()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined(Outcome):
    """An outcome with another one in it, and one that is missing."""

    lengths: Lengths
    others: Lengths | None = None
    count: int = 2


@answer_of(Joined)
class JoinedAnswer(Strict):
    """Its answer."""


def test_a_part_of_an_answer_has_the_fields_of_its_model_only() -> None:
    columns = {"life_cycles": np.array([1.0, np.inf]), "size_mm": np.array([2.0]), "open": np.array([True])}
    inner = Lengths(**columns, index=np.array([3]), sources=("own-curve",))  # type: ignore[arg-type]
    shown = {"life_cycles": [1.0, None], "size_mm": [2.0], "open": [True], "share": 0.0}
    assert reply(JoinedAnswer, Joined(lengths=inner, others=inner)).answer.model_dump() == {
        "lengths": shown,
        "others": shown,
        "count": 2,
    }
    assert reply(JoinedAnswer, Joined(lengths=inner)).answer.model_dump()["others"] is None


def test_rows_and_a_list_of_parts_are_answered() -> None:
    columns = {"life_cycles": np.array([1.0]), "size_mm": np.array([2.0]), "open": np.array([True])}
    part = Lengths(**columns, index=None, sources=("own-curve",))  # type: ignore[arg-type]
    answer = reply(CornersAnswer, Corners(corners_mm=np.zeros((1, 3)), parts=(part, part))).answer.model_dump()
    shown = {"life_cycles": [1.0], "size_mm": [2.0], "open": [True], "share": 0.0}
    assert answer == {"corners_mm": [[0.0, 0.0, 0.0]], "parts": [shown, shown]}
    assert reply(CornersAnswer, Corners()).answer.model_dump() == {"corners_mm": None, "parts": []}


def test_one_number_stands_for_a_column_where_the_wire_has_one() -> None:
    request = OneRequest.model_validate({"size_mm": 1.0, "name": 100 * "a", "why": 300 * "b"})
    assert request.to_core() == (1.0, 100 * "a", 300 * "b")
    fields = {name: info.annotation for name, info in OneAnswer.model_fields.items()}
    assert fields == {"life_cycles": float | None, "open": bool}

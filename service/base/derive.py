"""Models of requests and answers out of what the core declares: its names, bounds, choices and defaults.

    @request_of(SurfaceCrack)
    class SurfaceRequest(Derived):
        kind: Literal["surface"]         # what the wire has besides

A field that the model declares itself stays as it is; all others come from the dataclass or function of the core.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cache, reduce
from operator import or_
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, TypeVar, Union, cast, get_args, get_origin, get_type_hints

import numpy as np
from annotated_types import DocInfo, Len
from numpy.typing import ArrayLike, NDArray
from pydantic import Field, create_model

from fatcore.bounds import Number, Unbounded, Width
from fatcore.errors import at
from fatcore.outcome import Outcome, plain

from .common import Strict

M = TypeVar("M", bound=Strict)
T = TypeVar("T")

MAX_ROWS = 1_000_000
Word = Annotated[str, Len(0, 100)]  # of a request, where the core declares no length
_EVIDENCE = tuple(field.name for field in fields(Outcome))
_CONTAINERS = (tuple, list, Sequence, dict, Mapping)
_models: dict[tuple[Any, bool], type[Strict]] = {}


class Derived(Strict):
    """A request with the fields of something in the core: a dataclass that it becomes, or arguments of a call."""

    core: ClassVar[Callable[..., Any]]

    def to_core(self) -> Any:
        """What the core makes of this request; errors carry the names of the parts that they are in."""
        return call(type(self).core, self)

    if TYPE_CHECKING:  # the fields of the core are known when it runs

        def __getattr__(self, name: str) -> Any: ...


def call(core: Callable[..., T], request: Strict, /, **values: Any) -> T:
    """core(...) with the request's fields as arguments by name, parts made into those of the core.

    values : arguments in place of the fields, or besides them
    """
    names = (name for name in _shared(core, type(request)) if name not in values)
    return core(**{name: _to_core(getattr(request, name), name) for name in names}, **values)


@cache
def _shared(core: Callable[..., Any], model: type[Strict]) -> tuple[str, ...]:
    """The fields of a request that are arguments of a call."""
    return tuple(name for name in model.model_fields if name in _defaults(core))


def _to_core(value: Any, *path: str | int) -> Any:
    if value is None or type(value) in (float, str, bool):
        return value
    if isinstance(value, Derived):
        with at(*path):
            return value.to_core()
    if isinstance(value, list) and value and isinstance(value[0], Derived):
        return tuple(_to_core(item, *path, index) for index, item in enumerate(value))
    if isinstance(value, dict):
        return {key: _to_core(item, *path, key) for key, item in value.items()}
    return tuple(value) if isinstance(value, list) else value


def request_of(
    core: Callable[..., Any], *, omit: Collection[str] = (), rows: int = MAX_ROWS, single: bool = False
) -> Callable[[type[M]], type[M]]:
    """Fills a request with the fields of a dataclass, or the arguments of a function.

    omit   : names that the wire has not
    rows   : most entries of a column or list
    single : one number where the core takes a column as well
    """
    return lambda model: _fill(model, core, omit, _Wire(answer=False, rows=rows, single=single))


def answer_of(
    core: Callable[..., Any], *, omit: Collection[str] = (), single: bool = False
) -> Callable[[type[M]], type[M]]:
    """Fills an answer with the fields of an outcome, its evidence apart, or with arguments of a call.

    single : one number where the core gives a column as well
    """
    return lambda model: _fill(model, core, (*omit, *_EVIDENCE), _Wire(answer=True, rows=MAX_ROWS, single=single))


def _fill(model: type[M], core: Callable[..., Any], omit: Collection[str], wire: _Wire) -> type[M]:
    hints = get_type_hints(core, include_extras=True)
    given = {name: default for name, default in _defaults(core).items() if name not in {*omit, *model.model_fields}}
    content = {name: wire.field(hints[name], ... if wire.answer else default) for name, default in given.items()}
    kept: Any = {"__module__": model.__module__, "__doc__": model.__doc__, "__base__": model}
    filled = cast(Any, create_model)(model.__name__, **kept, **content)
    if issubclass(filled, Derived):
        filled.core = staticmethod(core)
    if not wire.single:  # a part of another model holds columns
        _models[core, wire.answer] = filled
    return cast(type[M], filled)


@cache
def _defaults(core: Callable[..., Any]) -> dict[str, Any]:
    """Arguments of a function or dataclass with their defaults; ... where one is needed."""
    given = inspect.signature(core).parameters.values()
    return {each.name: ... if each.default is each.empty else each.default for each in given}


@dataclass(frozen=True, slots=True)
class _Wire:
    """How declarations of the core look in JSON: arrays and tuples as lists, infinity as null."""

    answer: bool
    rows: int
    single: bool

    def field(self, hint: Any, default: Any) -> tuple[Any, Any]:
        """Type and default of a field."""
        shown = self.type(hint)
        if is_dataclass(default):
            return shown, _models[type(default), self.answer].model_validate(plain(default))
        return shown, plain(default)

    def type(self, hint: Any) -> Any:
        """The type of a field."""
        origin, inner = get_origin(hint), get_args(hint)
        if origin is Annotated:
            return self._annotated(hint.__origin__, hint.__metadata__)
        if origin in (Union, UnionType):
            return reduce(or_, map(self.type, inner))
        if _is_array(hint):
            return self._column(hint, ())
        if origin in (tuple, list, Sequence):
            return self._sized(list[self.type(inner[0])], Len(0))  # type: ignore[misc]
        if origin in (dict, Mapping):
            return dict[str, self.type(inner[1])]  # type: ignore[misc]
        if is_dataclass(hint):
            return _models[hint, self.answer]
        return hint if self.answer else {float: Number, str: Word}.get(hint, hint)

    def _annotated(self, hint: Any, marks: tuple[Any, ...]) -> Any:
        notes = [Field(description=mark.documentation) for mark in marks if isinstance(mark, DocInfo)]
        bounds = tuple(mark for mark in marks if not isinstance(mark, DocInfo))
        if _is_array(hint):
            shown = self._column(hint, bounds)
        elif get_origin(hint) in _CONTAINERS and bounds:
            shown = self._sized(_bare(self.type(hint)), *bounds)
        else:  # a number or word with bounds of its own needs no others
            shown = self._number(hint if bounds and hint in (float, str) else self.type(hint), bounds)
        return Annotated[(shown, *notes)] if notes else shown

    def _number(self, shown: Any, bounds: tuple[Any, ...]) -> Any:
        if any(isinstance(mark, Unbounded) for mark in bounds):
            return shown | None
        return Annotated[(shown, *bounds)] if bounds and not self.answer else shown

    def _column(self, hint: Any, bounds: tuple[Any, ...]) -> Any:
        length = next((mark for mark in bounds if isinstance(mark, Len)), Len(1))
        width = next((mark.size for mark in bounds if isinstance(mark, Width)), None)
        item = self._number(_item(hint), tuple(b for b in bounds if not isinstance(b, Len | Width)))
        row = item if width is None else self._sized(list[item], Len(width, width))  # type: ignore[valid-type]
        return row if self.single else self._sized(list[row], length)  # type: ignore[valid-type]

    def _sized(self, shown: Any, length: Len) -> Any:
        most = self.rows if length.max_length is None else length.max_length
        return shown if self.answer else Annotated[shown, Len(length.min_length, most)]


def _bare(shown: Any) -> Any:
    return shown.__origin__ if get_origin(shown) is Annotated else shown


def _is_array(hint: Any) -> bool:
    return get_origin(hint) in (np.ndarray, NDArray) or hint == ArrayLike


def _item(hint: Any) -> Any:
    """Python's type for the elements of an array."""
    if hint == ArrayLike:
        return float
    inner = get_args(hint)[
        -1
    ]  # of an array its dtype; of the name NDArray, which newer versions keep, the scalar itself
    kind = np.dtype((get_args(inner) or (inner,))[0]).kind
    return {"f": float, "i": int, "b": bool}[kind]

"""How a calculation becomes a typed method of the clients, the blocking and the awaiting one."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Generic, Literal, Protocol, TypeVar, get_args, get_origin, overload
from urllib.parse import quote

import httpx
from pydantic import ValidationError
from pydantic.fields import FieldInfo

from ..base.common import Strict
from ..base.envelope import FindingItem, Record
from ..base.rules.policy import POLICY_HEADER
from .errors import AnswerError
from .retrying import Call

Q = TypeVar("Q", bound=Strict)
A = TypeVar("A", bound=Strict)
JSON = "application/json"


class Sender(Protocol):
    """What a blocking method needs of its client."""

    def send(self, call: Call) -> httpx.Response:
        """Sends one call."""


class AsyncSender(Protocol):
    """What an awaiting method needs of its client."""

    async def send(self, call: Call) -> httpx.Response:
        """Sends one call."""


class Envelope(Strict, Generic[A]):
    """The whole answer of a calculation."""

    answer: A
    findings: list[FindingItem]
    record: Record
    caution: str


class Route(Generic[Q, A]):
    """One calculation; read from a client it is a method that takes a request and returns the envelope."""

    def __init__(self, method: Literal["GET", "POST"], name: str, request: type[Q], answer: type[A]) -> None:
        self.method, self.name, self.request, self.answer = method, name, request, answer

    @overload
    def __get__(self, client: None, owner: Any) -> Route[Q, A]: ...
    @overload
    def __get__(self, client: Sender, owner: Any) -> Method[Q, A]: ...
    @overload
    def __get__(self, client: AsyncSender, owner: Any) -> AsyncMethod[Q, A]: ...
    def __get__(self, client: Any, owner: Any) -> Any:
        return self if client is None else client.method_type(client, self)

    def call(self, request: Q | Mapping[str, Any] | None, fields: Mapping[str, Any]) -> Call:
        """The call of a request that is given whole or by its fields."""
        if request is not None and fields:
            raise TypeError("give the request whole or by its fields, not both")
        return call_of(self.method, self.name, fields if request is None else request)

    def read(self, response: httpx.Response) -> Envelope[A]:
        """The envelope in a response; AnswerError when it does not fit the models (MPa and mm) of this version."""
        try:
            return Envelope[self.answer].model_validate_json(response.content)  # type: ignore[name-defined]
        except ValidationError as error:
            if b'"units-of-answer"' in response.content:
                text = f"{self.name} answers in the units that `units` asks for, and this method reads MPa and mm"
                raise AnswerError(f"{text}: ask with calculate({self.name!r}, request)") from error
            where = "/".join(str(step) for step in error.errors()[0]["loc"])
            text = f"the answer of {self.name} does not fit this version of the client"
            raise AnswerError(f"{text} (at {where or 'its start'})") from error


def same_policy(response: httpx.Response, digest: str | None) -> httpx.Response:
    """The response; AnswerError where it was not made under the policy of a digest, if one is asked for."""
    told = response.headers.get(POLICY_HEADER)
    if digest not in (None, told):
        text = f"{response.url} obeys {f'the policy {told}' if told else 'no policy'}, but {digest} is asked for"
        raise AnswerError(text)
    return response


def plain_envelope(response: httpx.Response) -> dict[str, Any]:
    """The envelope in a response as plain data; AnswerError when it is none."""
    try:
        data = json.loads(response.content)
    except ValueError:
        data = None
    if not isinstance(data, dict) or not set(Envelope.model_fields) <= set(data):
        raise AnswerError(f"{response.url} gave no answer of a calculation; is this address the service?")
    return data


class Method(Generic[Q, A]):
    """A calculation of a blocking client."""

    def __init__(self, client: Sender, route: Route[Q, A]) -> None:
        self.client, self.route = client, route

    def __call__(self, request: Q | Mapping[str, Any] | None = None, /, **fields: Any) -> Envelope[A]:
        """Asks the service; the request is a model, a mapping, or given by its fields."""
        return self.route.read(self.client.send(self.route.call(request, fields)))


class AsyncMethod(Generic[Q, A]):
    """A calculation of an awaiting client."""

    def __init__(self, client: AsyncSender, route: Route[Q, A]) -> None:
        self.client, self.route = client, route

    async def __call__(self, request: Q | Mapping[str, Any] | None = None, /, **fields: Any) -> Envelope[A]:
        """Asks the service; the request is a model, a mapping, or given by its fields."""
        return self.route.read(await self.client.send(self.route.call(request, fields)))


def call_of(method: str, name: str, request: Strict | Mapping[str, Any], *, accept: str = JSON) -> Call:
    """The call of a calculation; arrays of numpy are sent as lists.

    Raises : ValueError for NaN or infinity, KeyError when a parameter of the path is missing
    """
    headers = {"Accept": accept}
    if method == "POST":
        headers["Content-Type"] = JSON
        return Call(method=method, path=f"/v1/{name}", content=plain_json(request), headers=headers)
    given = given_in(request) if isinstance(request, Strict) else request
    query = {key: _text(key, value) for key, value in given.items() if value is not None}
    path = re.sub(r"\{(\w+)\}", lambda match: quote(query.pop(match[1]), safe=""), name)
    return Call(method=method, path=f"/v1/{path}", query=query, headers=headers)


def value_call(name: str, request: Strict | Mapping[str, Any], only: str, *, accept_outside: bool = False) -> Call:
    """The call of a POST calculation for one value of its answer."""
    query = {"only": only, **({"accept_outside": "1"} if accept_outside else {})}
    return replace(call_of("POST", name, request), query=query)


def plain_json(value: Any, where: str = "") -> bytes:
    """Compact JSON of a request; models and arrays of numpy may stand anywhere in it.

    where  : of the value in the request, for the message of an error
    Raises : ValueError for NaN or infinity, with the JSON pointer to it; TypeError for what is no JSON
    """
    try:
        return json.dumps(value, default=_plain, allow_nan=False, separators=(",", ":")).encode()
    except ValueError as error:
        if "Circular" in str(error):
            raise
        raise ValueError(f"{_not_finite(value, where) or '/'} is NaN or infinite, which no request may hold") from error


def given_in(request: Strict) -> dict[str, Any]:
    """What a request says by its own fields: what it leaves out a policy of the service may have a default for."""
    fields = type(request).model_fields
    return {name: getattr(request, name) for name, info in fields.items() if _is_given(request, name, info)}


def _is_given(request: Strict, name: str, info: FieldInfo) -> bool:
    """Whether a field was set, or changed in place, or is the one word that says which of several forms it is."""
    if name in request.model_fields_set or getattr(request, name) != info.get_default(call_default_factory=True):
        return True
    return get_origin(info.annotation) is Literal and len(get_args(info.annotation)) == 1


def _not_finite(value: Any, where: str) -> str | None:
    """JSON pointer to the first number that JSON has no word for."""
    if isinstance(value, float):
        return None if math.isfinite(value) else where
    if isinstance(value, str | int | None):
        return None
    plain = value if isinstance(value, Mapping | list | tuple) else _plain(value)
    if isinstance(plain, list | tuple | Mapping):
        pairs = plain.items() if isinstance(plain, Mapping) else enumerate(plain)
        return next((found for key, each in pairs if (found := _not_finite(each, f"{where}/{key}"))), None)
    return _not_finite(plain, where)


def _plain(value: Any) -> Any:
    if isinstance(value, Strict):
        return given_in(value)
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    raise TypeError(f"{type(value).__name__} cannot be sent as JSON")


def _text(key: str, value: Any) -> str:
    return value if isinstance(value, str) else plain_json(value, f"/{key}").decode()


def method_name(name: str) -> str:
    """Name of the client's method for the name of a calculation.

    >>> method_name("stress/hot-spot"), method_name("curves/{curve}/life"), method_name("curves/life")
    ('stress_hot_spot', 'curve_life', 'curves_life')
    """
    return re.sub(r"\w+/\{(\w+)\}", r"\1", name).replace("/", "_").replace("-", "_")

"""One case of a campaign by its number: always the same request."""

from __future__ import annotations

import copy
import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from random import Random
from typing import Any
from urllib.parse import quote

from service.base.common import Calculation
from service.http.openapi import examples
from service.topics.registry import load

from .bodies import other_bodies
from .values import EXPONENTS, EXTREME, USUAL, Values, number, odd

TOKENS = (
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b":",
    b'"',
    b"-",
    b"1e999",
    b"5e-324",
    b"NaN",
    b"\\u0000",
    b"\xff",
    b"\xef\xbb\xbf",
)
JSON = "application/json"
ACCEPTS = (
    ("application/json",) * 120
    + ("text/html",) * 2
    + ("text/csv", "text/html", "*/*;q=0.1, text/csv", "image/png", ";;,q=")
)
LARGEST = 30_000  # bytes of an example that is changed


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A request as it is sent."""

    name: str
    method: str
    url: str
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)


def drawn_case(seed: int, place: int) -> Case:
    """A request of the schema, or an example with parts replaced or left out."""
    random = Random(f"{seed} drawn {place}")
    every = list(load().values())
    calculation = every[place] if place < len(every) else random.choice(_with_input())
    if calculation.method == "GET":
        return _get(calculation, random)
    known = [example for example in _examples() if example["calculation"] == calculation.name]
    if known and random.random() < 0.6:
        data = changed(random.choice(known)["request"], random)
    else:
        data = _values(calculation.method, calculation.name).request(random)
    return _post(calculation.name, json.dumps(data).encode(), random)


def mutated_case(seed: int, place: int) -> Case:
    """The bytes of an example, some of them changed."""
    random = Random(f"{seed} mutated {place}")
    if random.random() < 0.2:
        name, kind, query, body = random.choice(other_bodies())
    else:
        example = random.choice(_examples())
        name, kind, query, body = example["calculation"], JSON, "", json.dumps(example["request"]).encode()
    for _ in range(random.choice((1, 1, 1, 2, 4, 30))):
        body = _mutated(body, random)
    return _post(name, body, random, kind, query)


@cache
def _with_input() -> list[Calculation]:
    """Every calculation that takes something, those that take a body several times as often."""
    return [
        each for each in load().values() for _ in range(1 if each.method == "GET" else 4) if each.request.model_fields
    ]


@cache
def _examples() -> list[dict[str, Any]]:
    given = [each for each in examples().values() if each.get("method", "POST") == "POST"]
    return [each for each in given if len(json.dumps(each["request"])) < LARGEST]


@cache
def _values(method: Any, name: str) -> Values:
    return Values(load()[method, name].request.model_json_schema(), _words())


@cache
def _words() -> dict[str, list[str]]:
    """Texts of all examples by the name of their key."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for example in examples().values():
        for path, value in _parts(example["request"]):
            if isinstance(value, str):
                found[next(str(step) for step in reversed(path) if isinstance(step, str))][value] = None
    return {name: list(words) for name, words in found.items()}


def _parts(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Paths of all parts with what stands there."""
    yield path, value
    steps: Any = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        yield from _parts(inner, (*path, step))


def changed(request: Any, random: Random) -> Any:
    """A copy of a request with one to four parts replaced, left out, repeated or cut."""
    made = copy.deepcopy(request)
    for _ in range(random.choice((1, 1, 2, 3, 5))):
        only_numbers = random.random() < 0.7
        places = [path for path, value in _parts(made) if path and (isinstance(value, int | float) or not only_numbers)]
        if places:
            _change(made, random.choice(places), random)
    return made


def _change(made: Any, path: tuple[str | int, ...], random: Random) -> None:
    inner = made
    for step in path[:-1]:
        inner = inner[step]
    given, name = inner[path[-1]], next(str(step) for step in reversed(path) if isinstance(step, str))
    if random.random() < 0.05:
        del inner[path[-1]]
    elif isinstance(given, list) and random.random() < 0.8:
        inner[path[-1]] = random.choice((given[:1], [], given * random.choice((2, 50, 500)), given[::-1], given[:-1]))
    elif isinstance(given, int | float) and not isinstance(given, bool) and random.random() < 0.9:
        inner[path[-1]] = _moved(given, name, random)
    elif random.random() < 0.5:
        inner[path[-1]] = odd(random)


def _moved(given: float, name: str, random: Random) -> float:
    """Another number in place of one: scaled, of another size, or one that is often met."""
    scaled = float(min(given, 10**300)) * 10.0 ** random.choice((-30.0, -9.0, -3.0, -1.0, 1.0, 3.0, 9.0))
    return random.choice(
        (scaled, random.choice((*EXTREME, *EXPONENTS)), random.choice(USUAL), number(random, name, 0.5))
    )


def _get(calculation: Calculation, random: Random) -> Case:
    data = _values("GET", calculation.name).request(random)
    fields = dict(data) if isinstance(data, dict) else {}
    known = [each for each in examples().values() if each["calculation"] == calculation.name]
    if known and random.random() < 0.6:
        fields = changed(random.choice(known)["request"], random)
    path = calculation.path
    for name in calculation.request.model_fields:
        if f"{{{name}}}" in path:
            path = path.replace(f"{{{name}}}", _quoted(fields.pop(name, "x")) or "x")
    if random.random() < 0.1:
        fields["only"] = random.choice(("answer", "answer.life_cycles", "record.version", "x" * 3000, ""))
    query = "&".join(f"{_quoted(key)}={_quoted(value)}" for key, value in fields.items())
    return Case(name=calculation.name, method="GET", url=f"{path}?{query}", headers={"Accept": random.choice(ACCEPTS)})


def _quoted(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value)
    return quote(text.encode(errors="replace"), safe="")


def _post(name: str, body: bytes, random: Random, kind: str = JSON, query: str = "") -> Case:
    headers = {"Content-Type": kind, "Accept": random.choice(ACCEPTS)}
    return Case(name=name, method="POST", url=f"/v1/{name}{query}", body=body, headers=headers)


def _mutated(body: bytes, random: Random) -> bytes:
    begin = random.randrange(len(body) + 1)
    end = min(len(body), begin + random.choice((1, 1, 2, 8, 200)))
    part = body[begin:end]
    other = random.choice((b"", bytes([random.randrange(256)]), random.choice(TOKENS), part * 2, part[::-1]))
    if random.random() < 0.4:
        digits = [place for place, letter in enumerate(body) if 48 <= letter < 58]
        if digits:
            begin = random.choice(digits)
            return body[:begin] + random.choice((b"0", b"9", b"1e30", b"1e-300", b"-", b".")) + body[begin + 1 :]
    return body[:begin] + other + body[end:]

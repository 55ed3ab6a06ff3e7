"""Values of a JSON schema: of the trade, at the ends of their bounds, and far beyond any."""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import Any

EXTREME = (5e-324, 1e-320, 1e-300, 1e-150, 1e-31, 1e-30, 1e-12, 1e-6, 1e6, 1e12, 1e29, 1e30, 1e31, 1e150, 1e308)
USUAL = (0.0, 0.1, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 135.0, 200.0, 1e3, 2e5, 2e6)
ODD: tuple[Any, ...] = (None, True, "12.5", "", " ", "x", [], {}, [[]], 10**30, 10**400, -1.0, -0.0)
EXPONENTS = (20.0, 99.0, 100.0, 300.0, 500.0, 1000.0)
DEEPEST = 12


class Values:
    """Draws values of the schemas of one calculation.

    schema : of its request, with the parts under $defs
    words  : texts that stand in the examples, by the name of their key
    """

    def __init__(self, schema: Mapping[str, Any], words: Mapping[str, list[str]]) -> None:
        self.schema, self.words = schema, words

    def request(self, random: Random) -> Any:
        """A request, wild where the dice say so."""
        return _Draw(self, random, wild=random.choice((0.0, 0.03, 0.2))).value(self.schema, "", 0)


class _Draw:
    """One request under way."""

    def __init__(self, of: Values, random: Random, wild: float) -> None:
        self.of, self.random, self.wild = of, random, wild
        self.long = random.random() < 0.04
        self.extreme = random.choice((0.02, 0.15, 0.5))

    def value(self, schema: Mapping[str, Any], name: str, depth: int) -> Any:
        """A value of a schema for the key of that name."""
        if self.random.random() < self.wild / 4:
            return odd(self.random)
        if "$ref" in schema:
            return self.value(self.of.schema["$defs"][schema["$ref"].rpartition("/")[2]], name, depth + 1)
        if "const" in schema:
            return schema["const"]
        if "enum" in schema:
            return self.random.choice(schema["enum"])
        for word in ("anyOf", "oneOf", "allOf"):
            if word in schema:
                kinds = schema[word]
                if depth > DEEPEST:
                    kinds = [kind for kind in kinds if "$ref" not in kind and kind.get("type") != "array"] or kinds
                return self.value(self.random.choice(kinds), name, depth + 1)
        return self._by_type(schema, name, depth)

    def _by_type(self, schema: Mapping[str, Any], name: str, depth: int) -> Any:
        match schema.get("type"):
            case "object":
                return self._object(schema, depth)
            case "array":
                items = schema.get("items", {})
                return [self.value(items, name, depth + 1) for _ in range(self._length(schema))]
            case "boolean":
                return self.random.random() < 0.5
            case "null":
                return None
            case "string":
                return self._text(name)
            case "integer":
                drawn = self._number(schema, name)
                return int(drawn) if math.isfinite(drawn) else drawn
            case _:
                return self._number(schema, name)

    def _object(self, schema: Mapping[str, Any], depth: int) -> dict[str, Any]:
        needed, extra = schema.get("required", ()), schema.get("additionalProperties")
        share = 0.15 if depth else self.random.choice((0.1, 0.4))
        made = {
            key: self.value(part, key, depth + 1)
            for key, part in schema.get("properties", {}).items()
            if (key in needed and self.random.random() >= self.wild / 4) or self.random.random() < share
        }
        if isinstance(extra, dict):
            for key in self.random.sample(("pull", "side", "vertical", "x"), self.random.randint(0, 2)):
                made[key] = self.value(extra, key, depth + 1)
        if self.random.random() < self.wild / 8:
            made["unknown" * self.random.choice((1, 5000))] = 1.0
        return made

    def _length(self, schema: Mapping[str, Any]) -> int:
        least, most = schema.get("minItems", 0), schema.get("maxItems", 1_000_000)
        size = self.random.choice((least, 1, 2, 3, self.random.randint(0, 6)))
        if self.long and self.random.random() < 0.2:
            size = self.random.choice((100, 1000, 5000))
        if self.random.random() < 0.9:
            size = min(max(size, least), most)
        return size

    def _text(self, name: str) -> str:
        known = self.of.words.get(name) or ["toe", "x"]
        if self.random.random() < self.wild:
            return self.random.choice(("", " ", "=1+1", "a" * 20_000, "\x00", "\u202e", "\ud800", "1e999"))
        return self.random.choice(known)

    def _number(self, schema: Mapping[str, Any], name: str) -> float:
        random = self.random
        if random.random() < self.wild:
            return random.choice((*EXTREME, *(-each for each in EXTREME), 0.0, math.inf, math.nan))
        low = float(schema.get("minimum", schema.get("exclusiveMinimum", -math.inf)))
        high = float(schema.get("maximum", schema.get("exclusiveMaximum", math.inf)))
        drawn = number(random, name, self.extreme)
        ends = [end for end in (low, high) if math.isfinite(end)]
        if ends and random.random() < 0.1:
            drawn = math.nextafter(random.choice(ends), random.choice((low, high)))
        if not low <= drawn <= high:
            drawn = min(max(drawn, low), high) if not ends or random.random() < 0.3 else _within(random, low, high)
        if drawn == schema.get("exclusiveMinimum"):
            drawn = math.nextafter(drawn, math.inf)
        return math.nextafter(drawn, -math.inf) if drawn == schema.get("exclusiveMaximum") else drawn


def number(random: Random, name: str, extreme: float) -> float:
    """A number of any sign for a key: usual, between, or with the given chance extreme."""
    if random.random() < extreme:
        if "exponent" in name or "slope" in name:
            return random.choice(EXPONENTS)
        drawn = random.choice((*EXTREME[:-3], 10.0 ** random.uniform(-323.0, 30.0)))
    else:
        drawn = random.choice((random.choice(USUAL), 10.0 ** random.uniform(-3.0, 4.0)))
    return -drawn if random.random() < 0.1 else drawn


def odd(random: Random) -> Any:
    """Something else than was asked for."""
    drawn = random.choice(ODD)
    return drawn.copy() if isinstance(drawn, list | dict) else drawn


def _within(random: Random, low: float, high: float) -> float:
    low, high = max(low, -1e30), min(high, 1e30)
    if low > 0.0 or (low == 0.0 and high > 10.0):
        low = max(low, 1e-3)
        return 10.0 ** random.uniform(math.log10(low), math.log10(min(max(high, low), low * 1e7)))
    return random.uniform(low, high)

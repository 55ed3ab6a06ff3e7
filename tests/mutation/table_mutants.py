"""Small changes to a table: one number by a hundredth or its last digit, one word for another of its key."""

from __future__ import annotations

import random
import re
from collections import defaultdict
from decimal import Decimal

from .mutant import Mutant

OPERATORS = ("table number", "table word")
_NUMBER = re.compile(r"(?<![\w.\"-])-?\d[\d_]*(?:\.\d+)?(?:[eE][+-]?\d+)?(?![\w.\"-])|\"-?\d+\.\d+\"")
_WORD = re.compile(r'^(\s*|.*[{,]\s*)(\w+) = "([^"]+)"')
_EXPLAIN = {"title", "remark", "doubt", "where", "case", "source", "quantity", "id", "miner_note"}
_EXPLAIN |= {"survival_definition", "survival_source", "count_source"}


def table_mutants(file: str, source: str) -> list[Mutant]:
    """Every mutant of a table, in the order of its text; each number goes up or down, by its place."""
    lines = source.splitlines(keepends=True)
    words: dict[str, set[str]] = defaultdict(set)
    for line in lines:
        if (found := _WORD.match(line)) and found[2] not in _EXPLAIN:
            words[found[2]].add(found[3])
    mutants = []
    for number, line in enumerate(lines):
        changes = [("table number", new) for new in _numbers(line)] + [("table word", n) for n in _words(line, words)]
        for operator, new in changes:
            text = "".join([*lines[:number], new, *lines[number + 1 :]])
            mutants.append(Mutant(file=file, lines=(number + 1,), operator=operator, source=source, text=text))
    return mutants


def nudged(printed: str, up: bool, last_digit: bool) -> str:
    """A printed number one unit of its last digit away, or a hundredth.

    >>> nudged("52.63", True, True), nudged("2.0e6", False, False), nudged("-0.31", True, True)
    ('52.64', '1980000.0', '-0.30')
    """
    value = Decimal(printed)
    step = Decimal(1).scaleb(value.as_tuple().exponent) if last_digit or not value else abs(value) / 100
    changed = value + step if up else value - step
    if "." not in printed and "e" not in printed.lower():
        return str(int(value + 1 if up else value - 1))
    return str(changed) if last_digit and "e" not in printed.lower() else repr(float(changed))


def _numbers(line: str) -> list[str]:
    code = line.partition(" # ")[0].partition("#")[0]
    key = code.partition("=")[0].strip()
    if "=" not in code and not code.strip().startswith("["):
        return []
    if code.strip().startswith("[") and '"' not in code and "=" not in code and "," not in code:
        return []  # the head of a section
    if key in _EXPLAIN | {"revision", "class", "name"} or code.strip().startswith("[["):
        return []
    found = []
    for match in _NUMBER.finditer(line, code.find("=") + 1, len(code)):
        quoted = match[0].startswith('"')
        dice = random.Random(f"{line}{match.start()}")
        new = nudged(match[0].strip('"'), dice.random() < 0.5, dice.random() < 0.5)
        found.append(line[: match.start()] + (f'"{new}"' if quoted else new) + line[match.end() :])
    return found


def _words(line: str, words: dict[str, set[str]]) -> list[str]:
    found = _WORD.match(line)
    others = sorted(words[found[2]] - {found[3]}) if found and found[2] in words else []
    return [line[: found.start(3)] + others[0] + line[found.end(3) :]] if found and others else []

"""Lives in texts and reports: rounded down in one place, the same in a table as in the sentence above it."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fatcore.figures import change
from service.base.envelope import evaluate
from service.base.finding_rows import finding_groups
from service.base.text import growth_text
from service.topics.registry import find

ROOT = Path(__file__).parents[2]
_LIVES = re.compile(r"(?<![a-z])(lif|liv)e|longest|_cycles|interval|life_extension|repeats")
_OTHER = {
    "point.cycles",  # of the loading
    "applied.cycles",
}
_NEAREST = {"figure", "number"}


def _nearest_in_code() -> Iterator[str]:
    for folder in ("fatcore", "service"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _NEAREST:
                    yield f"{path.relative_to(ROOT)}: {ast.unparse(node.args[0])}"


def _nearest_in_templates() -> Iterator[str]:
    for path in sorted((ROOT / "service").rglob("*.html")):
        for value in re.findall(r"([\w.\[\]()*]+) \| number", path.read_text()):
            yield f"{path.relative_to(ROOT)}: {value}"


def test_no_life_is_written_to_the_nearest() -> None:
    """Ratios of two lives that take no side, per cents and logarithms are none."""
    none = re.compile(r": (100\.0 \*|.*(log10|scatter|life_factor|range_at|life_(10_90|2_98)|counts?\[))")
    told = [each for each in (*_nearest_in_code(), *_nearest_in_templates()) if _LIVES.search(each.split(": ")[1])]
    assert [each for each in told if not none.search(each) and each.split(": ")[1] not in _OTHER] == []


def _growth(**more: Any) -> dict[str, Any]:
    example = json.loads((ROOT / "openapi_examples/cracks/growth-surface-blocks.json").read_text())
    calculation = find("cracks/growth")
    assert calculation is not None
    return evaluate(calculation, {**example["request"], **more}).envelope()


def test_the_last_row_of_the_growth_table_reads_as_the_life() -> None:
    text = growth_text(_growth())
    life = re.search(r"^life +([\d,]+) cycles", text, re.M)
    assert life is not None
    rows = [line.split() for line in text.splitlines() if re.match(r" *[\d,]+ +[\d,]+ +[\d.]+ ", line)]
    assert rows[-1][:2] == [life[1], "0"]
    assert len({(cycles, left) for cycles, left, *_ in rows}) == len(rows)  # neighbours are told apart


def test_grow_says_the_repeats_where_a_block_repeats() -> None:
    text = growth_text(_growth())
    assert re.search(r"^life in repeats +10,900$", text, re.M)
    assert "in repeats" not in growth_text(_constant())


def _constant() -> dict[str, Any]:
    example = json.loads((ROOT / "openapi_examples/cracks/growth-tabled.json").read_text())
    envelope: dict[str, Any] = example["response"]
    return envelope


def test_a_life_beyond_its_limit_is_rounded_down_beside_the_finding() -> None:
    finding = {"severity": "outside", "code": "life-cycles-outside", "message": "m", "line": None, "count": 1}
    finding |= {"value": 9876.5, "low": 1e4, "high": None, "source": None}
    assert finding_groups([finding])[0].remarks == ("value 9870", "from 10,000")


def test_a_change_in_per_cent_is_never_minus_nothing() -> None:
    texts = [change(sign * 10.0**power) for sign in (-1.0, 1.0) for power in range(-12, 6)]
    assert not any(re.fullmatch(r"[+-]0(\.0*)? %", text) for text in texts)
    assert change(-0.0) == change(0.0) == change(-1e-8) == "0 %"
    assert change(2.0000001, 2.0) == "+2.0000001 %"

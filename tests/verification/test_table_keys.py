"""Every key of every table is read by the core, names a row, explains, or is compared here."""

from __future__ import annotations

import ast
import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fatcore import tables
from fatcore.cracks.driving.law_sets import named_law
from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.standards.documents import all_documents

from .test_transcripts import TABLES, WORDS

CORE = Path(__file__).parents[2] / "fatcore"
ROWS = {  # what stands below these is a name: of a detail, a class, a set, a polynomial term
    "class_factors",
    "curves",
    "cycles",
    "exponents",
    "history_class",
    "laws",
    "limit",
    "limits",
    "partial_factors",
    "rule",
    "sets",
    "spectrum_factor",
    "thresholds",
    "tolerance",
    "v",
    "w",
}
TWO_LEVELS = {"curves/damage_limits": "limits"}  # document, then case
FORMED = {
    "n1",
    "n2",
    "n3",
    "d1",
    "d2",
    "d3",
    "w",
}  # put together by the reader: f"n{j}", for each of "v", "w"
COMPARED = {
    "printed_design_constant",
    "printed_knee_cycles",
    "computed_knee_cycles",
    "by_class",
    "full_up_to",
    "laws",
    "statistic",
}


@cache
def words_of_the_core() -> frozenset[str]:
    """Every text constant, parameter, keyword and field of the core: what a key can be read by."""
    found: set[str] = set()
    for path in CORE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
            elif isinstance(node, ast.arg) or (isinstance(node, ast.keyword) and node.arg):
                found.add(node.arg)
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                found.add(node.target.id)
    return frozenset(found)


def keys(content: Any, *path: str) -> Iterator[tuple[str, ...]]:
    if isinstance(content, dict):
        for key, value in content.items():
            yield (*path, key)
            yield from keys(value, *path, key)
    elif isinstance(content, list):
        for each in content:
            yield from keys(each, *path)


def is_row(table: str, path: tuple[str, ...]) -> bool:
    levels = 2 if {TWO_LEVELS.get(table), "partial_factors"} & set(path[:-1]) else 1
    return any(part in ROWS for part in path[-1 - levels : -1])


@pytest.mark.parametrize("name", TABLES)
def test_every_key_is_read_or_compared(name: str) -> None:
    known = words_of_the_core() | WORDS | FORMED | COMPARED
    unread = {".".join(p) for p in keys(tables.load(name)) if p[-1] not in known and not is_row(name, p)}
    assert not unread


BS = tables.load("curves/bs_7608_1993")["family"][0]["curve"]
ISO = tables.load("curves/iso_19902_2007")["family"][0]["curve"]


@pytest.mark.parametrize("row", [each for each in BS if each["class"] != "T"], ids=lambda row: row["class"])
def test_design_constant_of_bs_7608_is_the_printed_one(row: dict[str, Any]) -> None:
    """Within half a unit of the last digit in print; S follows as 2.09e22 from its printed mean."""
    constant = 10.0 ** find_curve(f"bs-7608-1993-{row['class'].lower()}").log10_constants[0]
    printed = row["printed_design_constant"]
    digits = 3 if row["class"] in {"B", "C", "D", "E", "S"} else 2  # as printed: 0.25e12 for G
    unit = 10.0 ** (math.floor(math.log10(printed)) + 1 - digits)
    assert constant == pytest.approx(printed, abs=(1.0 if row["class"] == "S" else 0.55) * unit)


@pytest.mark.parametrize("row", ISO, ids=lambda row: row["class"])
def test_branches_of_iso_19902_cross_at_the_recorded_knee(row: dict[str, Any]) -> None:
    (knee,) = find_curve(f"iso-19902-2007-{row['class'].lower()}-seawater-protected").knee_cycles()
    assert knee == pytest.approx(row["computed_knee_cycles"], rel=6e-4)
    assert knee == pytest.approx(row.get("printed_knee_cycles", 1e6), rel=0.025)


def test_a_document_by_class_has_an_exponent_in_every_class() -> None:
    by_class = [each.content for each in all_documents().values() if each.content.get("thickness", {}).get("by_class")]
    assert [each["source"] for each in by_class] == ["dnv-rp-c203-2016"]
    for content in by_class:
        assert "exponents" not in content["thickness"]
        assert all("thickness_exponent" in row for family in content["family"] for row in family["curve"])


def test_interaction_of_residual_stress_is_full_up_to_where_its_slope_begins() -> None:
    line = tables.load("cracks/fracture")["interaction"]
    assert line["none_from"] - 1.0 / line["slope"] == pytest.approx(line["full_up_to"])


def test_two_documents_print_the_same_law_at_high_load_ratio() -> None:
    """JCSS Probabilistic Model Code, Part 3 (read), against BS 7910:2013 (from memory)."""
    printed = tables.load("cracks/scatter_jcss_part3")["laws"]["air-high-ratio"]
    assert printed["units"] == "mm-MPa"
    law = named_law("bs7910-2013/air-mean")
    held = [{"coefficient": each.coefficient, "exponent": each.exponent} for each in law.high]
    assert held == printed["stages"]


STATISTICS = {"mean", "median", "upper bound", "characteristic", "mean + 2 SD"}


@pytest.mark.parametrize("name", [each for each in TABLES if each.startswith("cracks/laws_")])
def test_every_law_says_of_which_statistic_it_is(name: str) -> None:
    for key, entry in tables.load(name)["sets"].items():
        assert entry["statistic"] in STATISTICS
        ending = {"mean": "-mean", "median": "-median", "mean + 2 SD": "-upper"}.get(entry["statistic"], "")
        assert key.endswith(ending)

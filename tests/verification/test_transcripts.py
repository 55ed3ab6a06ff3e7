"""Every row of every table against a transcript of its source, kept in `transcripts/` beside this file.

The transcripts were written from the sources, not from the tables; the first line of each names the source
and says whether the figures were read or come from memory. A table may hold nothing that its transcript does
not hold, apart from words that explain.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from fatcore import tables

TRANSCRIPTS = Path(__file__).parent / "transcripts"
FOLDERS = ("curves", "stress", "spectrum", "cracks", "trials")
TABLES = [name for folder in FOLDERS for name in tables.table_names(folder)]
WORDS = {  # explain a number, carry none
    "revision",
    "source",
    "sources",
    "title",
    "remark",
    "doubt",
    "where",
    "case",
    "quantity",
    "survival_definition",
    "survival_source",
    "interaction_form",  # a name in the table of combinations
    "damage_limit",  # a name in the table of damage limits
    "count_source",
}
OWN_FITS = {("cracks/intensity_edge", "accurate")}  # compared with collocation in core/


def rows_by_name(content: Any) -> Any:
    """A table without its words; a list of rows becomes a table by the names of the rows."""
    if isinstance(content, dict):
        return {key: rows_by_name(value) for key, value in content.items() if key not in WORDS}
    if isinstance(content, list) and content and isinstance(content[0], dict):
        named = [name_of(row) for row in content]
        if None in named:
            return [rows_by_name(row) for row in content]
        assert len(set(named)) == len(named), named
        return {name: without_name(row) for name, row in zip(named, content, strict=True)}
    return content


def name_of(row: dict[str, Any]) -> str | None:
    if "elements" in row:
        low, high = row["angle_deg"]
        return f"{'/'.join(row['elements'])} {row['mode']} {low:g}-{high:g}"
    return next((row[key] for key in ("id", "class", "name", "loading") if key in row), None)


def without_name(row: dict[str, Any]) -> Any:
    if "elements" in row:
        names = {"elements", "mode", "angle_deg"}
    else:
        names = {next(key for key in ("id", "class", "name", "loading") if key in row)}
    return rows_by_name({key: value for key, value in row.items() if key not in names})


def leaves(content: Any, path: str = "") -> dict[str, Any]:
    if isinstance(content, dict) and content:
        return {k: v for key, value in content.items() for k, v in leaves(value, f"{path}/{key}").items()}
    return {path: content}


@pytest.mark.parametrize("name", TABLES)
def test_table_holds_what_its_source_prints_and_nothing_else(name: str) -> None:
    table = rows_by_name(tables.load(name))
    table = {key: value for key, value in table.items() if (name, key) not in OWN_FITS}
    printed = tomllib.loads((TRANSCRIPTS / f"{name}.toml").read_text(encoding="utf-8"))
    held, transcript = leaves(table), leaves(printed)
    assert set(held) == set(transcript)
    wrong = {key: (held[key], transcript[key]) for key in held if not same(held[key], transcript[key])}
    assert not wrong


def same(held: Any, printed: Any) -> bool:
    """Equal to the last printed digit, seven at the most; converted units (ksi) agree to rounding."""
    if isinstance(held, float) and isinstance(printed, float):
        return held == pytest.approx(printed, rel=1e-7, abs=0.0)
    return bool(held == printed)


def test_every_transcript_has_its_table() -> None:
    kept = {str(path.relative_to(TRANSCRIPTS).with_suffix("")) for path in TRANSCRIPTS.rglob("*.toml")}
    assert kept == set(TABLES)

"""Turns the rows of the curve tables into curves; every document keeps all its own values."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fatcore.curves.curve import REFERENCE_CYCLES, Curve, Head, Loading
from fatcore.tables import load, table_names

Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Row:
    """One curve id of the catalogue, before it is built.

    table, document, family, entry : name of the table, its content, the family in it, the entry of this class
    lines                          : shape by kind of loading ("any" serves both)
    """

    id: str
    label: str
    table: str
    document: Table
    family: Table
    entry: Table
    lines: Mapping[str, Table]

    def get(self, name: str, default: Any = None) -> Any:
        """A value of the entry, else of its family, else of the document."""
        for level in (self.entry, self.family, self.document):
            if name in level:
                return level[name]
        return default


@cache
def all_rows() -> Mapping[str, Row]:
    """Every curve of the catalogue by id."""
    tables = table_names("curves")
    return {row.id: row for table in tables for row in _rows_of(table, load(table))}


def curve_of(row: Row, loading: str) -> Curve:
    """The curve of a row for constant or variable amplitude."""
    line = row.lines.get(loading) or row.lines["any"]
    head = _head(row, line["loading"])
    if "log10_constants" in line and len(line["log10_constants"]) == len(line["slopes"]):
        return Curve.from_intercepts(
            log10_constants=line["log10_constants"],
            slopes=line["slopes"],
            knee_cycles=line.get("knee_cycles"),
            **head,
        )
    return Curve.from_point(
        range_mpa=line["range"],
        cycles=row.document.get("reference_cycles", REFERENCE_CYCLES),
        slopes=line["slopes"],
        knee_cycles=line.get("knee_cycles", []),
        cut_off_cycles=line.get("cut_off_cycles"),
        **head,
    )


def _rows_of(table: str, document: Table) -> Iterator[Row]:
    for family in document.get("family", []):
        for label, entry, lines in _members(document, family):
            yield Row(
                id=family["id"].format_map({"class": label.lower()}),
                label=label,
                table=table,
                document=document,
                family=family,
                entry=entry,
                lines=lines,
            )


def _members(document: Table, family: Table) -> Iterator[tuple[str, Table, Mapping[str, Table]]]:
    for size in family.get("classes_mpa", []):
        lines = {line["loading"]: {**line, "range": size} for line in family["line"]}
        yield f"{size:g}", {"class_mpa": size}, lines
    for entry in family.get("curve", []):
        yield entry["class"], entry, {"any": {**entry, **_start(document, family, entry), "loading": "any"}}


def _start(document: Table, family: Table, entry: Table) -> dict[str, Any]:
    if "design_range" in entry:
        return {"range": entry["design_range"]}
    if "log10_constant_mean" not in entry:
        return {}
    constant = entry["log10_constant_mean"] - family["deviations_below_mean"] * entry["sd_log10_cycles"]
    cycles = document["reference_cycles"]
    return {"range": 10.0 ** ((constant - math.log10(cycles)) / entry["slopes"][0])}


def _head(row: Row, loading: Loading) -> Head:
    return Head(
        id=row.id,
        title=f"{row.document['title']}: {row.family['title'].format_map({'class': row.label})}",
        stress_kind=row.get("stress_kind"),
        material=row.get("material"),
        loading=loading,
        survival_probability=row.get("survival_probability"),
        survival_definition=row.get("survival_definition"),
        sd_log10_cycles=_scatter(row),
        source=row.get("source"),
        table=row.table,
        quantity=row.get("quantity", "stress range"),
    )


def _scatter(row: Row) -> float | None:
    entry = row.entry
    if "mean_range" in entry:  # both printed lines are met: mean and design line are two deviations apart
        slope: float = entry["slopes"][0]
        return slope * math.log10(entry["mean_range"] / entry["design_range"]) / 2.0
    scatter: float | None = row.get("sd_log10_cycles")
    return scatter

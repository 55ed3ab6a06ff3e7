"""The bracket's tables as check requests, for tests and examples."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Any

from service.lines.map import read_map
from service.lines.rows import read_rows
from service.lines.table import check_request

DATA = Path(__file__).parents[1] / "openapi_examples" / "data" / "hanger-bracket"
SIZES = {"d1p50": 1.5, "d0p75": 0.75}


def bracket_request(mesh: str) -> dict[str, Any]:
    """The whole check request of one mesh, made from its table by the map of the examples."""
    text = (DATA / "lines.toml").read_text(encoding="utf-8")
    table_map = read_map(text.replace("element_size_mm = 0.75", f"element_size_mm = {SIZES[mesh]}"))
    rows = read_rows((DATA / f"notch_lines_{mesh}.csv").read_text(encoding="utf-8"), table_map.table)
    return check_request(rows, table_map)


@cache
def columns(name: str) -> list[dict[str, str]]:
    """Rows of one of the tables."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))

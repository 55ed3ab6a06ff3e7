"""Makes the example workbooks: python -m tests.toolchain.workbook [FOLDER].

A small fatigue sheet whose cells ask the service by WEBSERVICE(), a function that spreadsheet programs share.
One description of the cells is written twice, as Office Open XML (.xlsx) and as OpenDocument (.ods).
"""

from __future__ import annotations

import re
import sys
import zipfile
from pathlib import Path
from typing import Any

from odf import opendocument, style, table, text
from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill

FOLDER = Path(__file__).parents[2] / "openapi_examples" / "spreadsheet"
NAME = "hanger-toe"
ADDRESS = "http://127.0.0.1:8000"
CURVE = "iiw-2016-normal-steel-71"
PASSES = 500

# invented for this example: nominal stress ranges at one weld toe, and their cycles in one pass
LOADS = (
    ("ditch crossed at speed", 131.0, 4),
    ("loaded, field track", 84.5, 160),
    ("loaded, road", 58.0, 900),
    ("empty, field track", 46.0, 2400),
    ("empty, road", 21.5, 9000),
)
FIRST = 11
LAST = FIRST + len(LOADS) - 1
WIDTHS = {"A": 34, "B": 26, "C": 16, "D": 18, "E": 18, "F": 14, "G": 110}

# In formulas, {B3} is a cell, | parts arguments; every flavour writes them in its own way.
# NUMBERVALUE reads the point of the answer in every country; a text like '#ERR: ...' stays readable as it is.
NUMBER = 'IFERROR(NUMBERVALUE(WEBSERVICE(%s)|".")|WEBSERVICE(%s))'
CURVE_URL = '{$B$3}&"/v1/curves/"&{$B$4}&"%s"'


def with_point(cell: str) -> str:
    """The number of a cell as text with a decimal point, whatever the country of the program."""
    return f'SUBSTITUTE({{{cell}}}&""|","|".")'


def cells() -> dict[str, Any]:
    """Content of every cell; a text that begins with = is a formula."""
    content: dict[str, Any] = {
        "A1": "Fatigue sheet: nominal stress at one weld toe of a spring hanger",
        "A2": "Loads are invented. Input is yellow; green cells ask the service. Refresh after a change.",
        "A3": "address of the service",
        "B3": ADDRESS,
        "A4": "design curve",
        "B4": CURVE,
        "A5": "title of the curve",
        "B5": "=WEBSERVICE(" + CURVE_URL % "?only=answer.title" + ")",
        "A6": "passes of the loading",
        "B6": PASSES,
        "A7": "damage limit of the document",
        "B7": "=" + NUMBER % ((CURVE_URL % "?only=answer.miner_limit",) * 2),
        "A8": "its remark on the limit",
        "B8": "=WEBSERVICE(" + CURVE_URL % "?only=answer.miner_note" + ")",
        **dict(zip((f"{c}{FIRST - 1}" for c in "ABCDEFG"), HEADINGS, strict=True)),
    }
    for row, (name, range_mpa, count) in enumerate(LOADS, start=FIRST):
        content |= load_row(row, name, range_mpa, count)
    return content | summary(LAST + 2)


HEADINGS = (
    "load",
    "stress range [MPa]",
    "cycles a pass",
    "answer as text",
    "life [cycles]",
    "damage",
    "address asked",
)


def load_row(row: int, name: str, range_mpa: float, count: int) -> dict[str, Any]:
    """One stress range: its life is asked, its damage follows in the sheet."""
    url = CURVE_URL % "/life?stress_range_mpa=" + "&" + with_point(f"B{row}") + '&"&only=answer.life_cycles"'
    return {
        f"A{row}": name,
        f"B{row}": range_mpa,
        f"C{row}": count,
        f"D{row}": f"=WEBSERVICE({{G{row}}})",
        f"E{row}": f'=IFERROR(NUMBERVALUE({{D{row}}}|".")|{{D{row}}})',
        f"F{row}": f'=IF({{E{row}}}="infinite"|0|{{$B$6}}*{{C{row}}}/{{E{row}}})',
        f"G{row}": "=" + url,
    }


def summary(row: int) -> dict[str, Any]:
    """Sum, verdict, and what the answers rest on."""
    strength = CURVE_URL % "/strength?life_cycles=2000000&only=answer.stress_range_mpa"
    angle = '{$B$3}&"/v1/stress/notch-constants?opening_angle_deg=135&only=answer.eigenvalues.opening"'
    first = CURVE_URL % f"/life?stress_range_mpa={LOADS[0][1]:g}&only="
    rows: list[tuple[str, Any]] = [
        ("damage sum", f"=SUM({{F{FIRST}}}:{{F{LAST}}})"),
        ("verdict", f'=IF(ISNUMBER({{$B$7}})|IF({{B{row}}}<={{$B$7}}|"pass"|"fail")|"no limit: "&{{$B$7}})'),
        ("range borne 2,000,000 times [MPa]", "=" + NUMBER % (strength, strength)),
        ("exponent of a 135 deg notch", "=" + NUMBER % (angle, angle)),
        ("version of the service", "=WEBSERVICE(" + first[:-1] + 'record.version")'),
        ("caution", "=WEBSERVICE(" + first[:-1] + 'caution")'),
    ]
    return {f"{column}{row + n}": pair[i] for n, pair in enumerate(rows) for i, column in enumerate("AB")}


INPUT = {"B3", "B4", "B6", *(f"{c}{row}" for row in range(FIRST, LAST + 1) for c in "ABC")}


def kind_of(cell: str, value: Any) -> str:
    """Style of a cell: title, heading, input, asked, plain."""
    if cell == "A1":
        return "title"
    if cell in INPUT:
        return "input"
    if isinstance(value, str) and "WEBSERVICE" in value:
        return "asked"
    return "heading" if cell[1:] == str(FIRST - 1) else "plain"


COLOURS = {"input": "FFF2CC", "asked": "E2F0D9", "heading": "D9D9D9"}


# --- Office Open XML


def xlsx_formula(formula: str) -> str:
    """The formula as Office Open XML stores it: functions that came later carry a prefix."""
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}", r"\1", formula).replace("|", ",")
    return re.sub(r"\b(WEBSERVICE|NUMBERVALUE)\(", r"_xlfn.\1(", plain)


def write_xlsx(path: Path) -> None:
    """Writes the workbook as Office Open XML."""
    book = Workbook()
    sheet = book.active
    sheet.title = "fatigue"
    for cell, value in cells().items():
        place = sheet[cell]
        place.value = xlsx_formula(value) if str(value).startswith("=") else value
        kind = kind_of(cell, value)
        place.font = Font(bold=kind in {"title", "heading"}, size=14 if kind == "title" else 11)
        if kind in COLOURS:
            place.fill = PatternFill("solid", start_color=COLOURS[kind])
        place.alignment = Alignment(horizontal="left" if isinstance(value, str) else "right")
    for column, width in WIDTHS.items():
        sheet.column_dimensions[column].width = width
    book.save(path)


# --- OpenDocument


def ods_formula(formula: str) -> str:
    """The formula as OpenDocument stores it."""
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}:\{(\$?[A-Z]+\$?\d+)\}", r"[.\1:.\2]", formula)
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}", r"[.\1]", plain).replace("|", ";")
    return "of:" + plain.replace("WEBSERVICE(", "COM.MICROSOFT.WEBSERVICE(")


def ods_cell(value: Any, look: Any) -> Any:
    """One cell with its value and style."""
    if isinstance(value, int | float):
        cell = table.TableCell(valuetype="float", value=value, stylename=look)
    elif str(value).startswith("="):
        return table.TableCell(formula=ods_formula(value), stylename=look)
    else:
        cell = table.TableCell(valuetype="string", stylename=look)
    cell.addElement(text.P(text=str(value)))
    return cell


def ods_styles(document: Any) -> dict[str, Any]:
    """The style of every kind of cell, added to the document."""
    looks = {}
    for kind in ("title", "heading", "input", "asked", "plain"):
        look = style.Style(name=kind, family="table-cell")
        if kind in COLOURS:
            look.addElement(style.TableCellProperties(backgroundcolor=f"#{COLOURS[kind]}"))
        if kind in {"title", "heading"}:
            look.addElement(style.TextProperties(fontweight="bold"))
        document.automaticstyles.addElement(look)
        looks[kind] = look
    return looks


def write_ods(path: Path) -> None:
    """Writes the workbook as OpenDocument."""
    document = opendocument.OpenDocumentSpreadsheet()
    looks = ods_styles(document)
    sheet = table.Table(name="fatigue")
    for column, width in WIDTHS.items():
        wide = style.Style(name=f"width-{column}", family="table-column")
        wide.addElement(style.TableColumnProperties(columnwidth=f"{width * 2.2:.1f}mm"))
        document.automaticstyles.addElement(wide)
        sheet.addElement(table.TableColumn(stylename=wide))
    content = cells()
    for row in range(1, max(int(cell[1:]) for cell in content) + 1):
        line = table.TableRow()
        for column in WIDTHS:
            value = content.get(f"{column}{row}")
            place = f"{column}{row}"
            line.addElement(table.TableCell() if value is None else ods_cell(value, looks[kind_of(place, value)]))
        sheet.addElement(line)
    document.spreadsheet.addElement(sheet)
    document.save(str(path))


def without_times(path: Path) -> None:
    """Takes the time of writing out of the file, so that making it again changes nothing."""
    with zipfile.ZipFile(path) as packed:
        parts = [(info, packed.read(info)) for info in packed.infolist()]
    with zipfile.ZipFile(path, "w") as packed:
        for info, content in parts:
            plain = zipfile.ZipInfo(info.filename, (1980, 1, 1, 0, 0, 0))
            plain.compress_type = info.compress_type
            stamp = rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d"
            packed.writestr(plain, re.sub(stamp, b"2026-01-01T00:00:00", content))


def main(folder: Path = FOLDER) -> list[Path]:
    """Writes both workbooks and returns their paths."""
    paths = [folder / f"{NAME}.xlsx", folder / f"{NAME}.ods"]
    write_xlsx(paths[0])
    write_ods(paths[1])
    for path in paths:
        without_times(path)
    return paths


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))

"""The example workbook as Office Open XML."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.worksheet.worksheet import Worksheet

from tests.toolchain import workbook_cells as described

EDGE = Border(*(Side("thin", "BFBFBF"),) * 4)


def xlsx_formula(formula: str) -> str:
    """The formula as Office Open XML stores it: functions that came later carry a prefix."""
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}", r"\1", formula).replace("|", ",")
    return re.sub(r"\b(WEBSERVICE|NUMBERVALUE)\(", r"_xlfn.\1(", plain)


def write_xlsx(path: Path) -> None:
    """Writes the workbook."""
    book = Workbook()
    sheet = book.active
    sheet.title = "fatigue"
    for cell, value in described.cells().items():
        _write(sheet, cell, value)
    for column, width in described.WIDTHS.items():
        sheet.column_dimensions[column].width = width
    for row, height in described.WIDE.items():
        first = "A" if row == 2 else "B"
        sheet.merge_cells(f"{first}{row}:{described.LAST_PRINTED}{row}")
        sheet.row_dimensions[row].height = height
    _colour_by_content(sheet)
    _set_page(sheet)
    book.save(path)


def _write(sheet: Worksheet, cell: str, value: Any) -> None:
    place = sheet[cell]
    place.value = xlsx_formula(value) if str(value).startswith("=") else value
    kind = described.kind_of(cell, value)
    place.font = Font(bold=kind in {"title", "heading", "verdict"}, size=14 if kind == "title" else 11)
    if kind in described.COLOURS:
        place.fill = PatternFill("solid", start_color=described.COLOURS[kind])
        place.border = EDGE
    wide = int(cell[1:]) in described.WIDE
    across = "right" if cell in described.FORMATS and not wide else "left"
    place.alignment = Alignment(horizontal=across, vertical="top", wrap_text=wide)
    if cell in described.FORMATS:
        place.number_format = described.FORMATS[cell]


def _colour_by_content(sheet: Worksheet) -> None:
    """Green and red for the words of a verdict, amber for what is no result."""
    verdict = described.VERDICT_CELL
    rules = [(f'EXACT({verdict},"{word}")', colour) for word, colour in described.VERDICT_COLOURS.items()]
    for formula, colour in rules:
        sheet.conditional_formatting.add(verdict, _rule(formula, colour))
    for cell in sorted(described.RESULTS):
        sheet.conditional_formatting.add(cell, _rule(f'IFERROR(LEFT({cell},1)="#",TRUE)', described.AMBER))


def _rule(formula: str, colour: str) -> FormulaRule:
    return FormulaRule(formula=[formula], fill=PatternFill("solid", start_color=colour, end_color=colour))


def _set_page(sheet: Worksheet) -> None:
    """One page, across, with title and digest."""
    sheet.print_area = described.PRINTED
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth = sheet.page_setup.fitToHeight = 1
    sheet.oddHeader.left.text = described.TITLE
    sheet.oddFooter.left.text = f"sheet as delivered: {described.digest()}"
    sheet.oddFooter.right.text = "page &P of &N, printed &D"

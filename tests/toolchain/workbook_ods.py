"""The example workbook as OpenDocument."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from odf import number, opendocument, style, table, text

from tests.toolchain import workbook_cells as described

PAGE = {"pagewidth": "297mm", "pageheight": "210mm", "printorientation": "landscape", "scaletopages": "1"}
EDGE = "0.5pt solid #bfbfbf"


def ods_formula(formula: str) -> str:
    """The formula as OpenDocument stores it."""
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}:\{(\$?[A-Z]+\$?\d+)\}", r"[.\1:.\2]", formula)
    plain = re.sub(r"\{(\$?[A-Z]+\$?\d+)\}", r"[.\1]", plain).replace("|", ";")
    return "of:" + plain.replace("WEBSERVICE(", "COM.MICROSOFT.WEBSERVICE(")


def write_ods(path: Path) -> None:
    """Writes the workbook."""
    document = opendocument.OpenDocumentSpreadsheet()
    _named_looks(document)
    formats = {shape: _number_format(document, shape) for shape in sorted(set(described.FORMATS.values()))}
    page = _page(document)
    sheet = table.Table(name="fatigue", stylename=page, printranges=_printed())
    for column, width in described.WIDTHS.items():
        wide = style.Style(name=f"width-{column}", family="table-column")
        wide.addElement(style.TableColumnProperties(columnwidth=f"{width * 2.2:.1f}mm"))
        document.automaticstyles.addElement(wide)
        sheet.addElement(table.TableColumn(stylename=wide))
    content = described.cells()
    for row in range(1, max(int(cell[1:]) for cell in content) + 1):
        sheet.addElement(_row(document, row, content, formats))
    document.spreadsheet.addElement(sheet)
    document.save(str(path))


def _printed() -> str:
    first, last = described.PRINTED.split(":")
    return f"fatigue.{first}:fatigue.{last}"


def _named_looks(document: Any) -> None:
    """What a cell turns into by its content; such looks need a name in the document."""
    for name, colour in described.CONTENT_LOOKS.items():
        look = style.Style(name=name, family="table-cell", parentstylename="Default")
        look.addElement(style.TableCellProperties(backgroundcolor=f"#{colour}"))
        document.styles.addElement(look)


def _number_format(document: Any, shape: str) -> str:
    """A number format of the document; 0.0 and #,##0 are the forms that occur."""
    name = "number-" + re.sub(r"\W", "-", shape)
    made = number.NumberStyle(name=name)
    places = len(shape.partition(".")[2])
    made.addElement(
        number.Number(decimalplaces=places, minintegerdigits=1, grouping="true" if "," in shape else "false")
    )
    document.automaticstyles.addElement(made)
    return name


def _page(document: Any) -> Any:
    """A page style across, all of it on one page, with title and digest; and the look of the table that has it."""
    layout = style.PageLayout(name="across")
    layout.addElement(style.PageLayoutProperties(margin="12mm", **PAGE))
    for made in (style.HeaderStyle(), style.FooterStyle()):
        made.addElement(style.HeaderFooterProperties(minheight="7mm", margin="0mm"))
        layout.addElement(made)
    document.automaticstyles.addElement(layout)
    master = style.MasterPage(name="sheet", pagelayoutname=layout)
    for part, words in ((style.Header, described.TITLE), (style.Footer, f"sheet as delivered: {described.digest()}")):
        made, line = part(), text.P(text=words + (", page " if part is style.Footer else ""))
        if part is style.Footer:
            line.addElement(text.PageNumber())
        made.addElement(line)
        master.addElement(made)
    document.masterstyles.addElement(master)
    look = style.Style(name="sheet-table", family="table", masterpagename=master)
    look.addElement(style.TableProperties(display="true"))
    document.automaticstyles.addElement(look)
    return look


def _row(document: Any, row: int, content: dict[str, Any], formats: dict[str, str]) -> Any:
    wide = row in described.WIDE
    line = table.TableRow()
    if wide:
        high = style.Style(name=f"height-{row}", family="table-row")
        high.addElement(style.TableRowProperties(rowheight=f"{described.WIDE[row]}pt", useoptimalrowheight="false"))
        document.automaticstyles.addElement(high)
        line = table.TableRow(stylename=high)
    first = "A" if row == 2 else "B"
    for column in described.WIDTHS:
        place = f"{column}{row}"
        if wide and first < column <= described.LAST_PRINTED:
            line.addElement(table.CoveredTableCell())
            continue
        spanned = ord(described.LAST_PRINTED) - ord(column) + 1 if wide and column == first else 1
        line.addElement(_cell(document, place, content.get(place), spanned, formats))
    return line


def _cell(document: Any, place: str, value: Any, spanned: int, formats: dict[str, str]) -> Any:
    if value is None:
        return table.TableCell()
    more: dict[str, Any] = {"stylename": _look(document, place, value, formats)}
    if spanned > 1:
        more |= {"numbercolumnsspanned": spanned, "numberrowsspanned": 1}
    if isinstance(value, int | float):
        cell = table.TableCell(valuetype="float", value=value, **more)
    elif str(value).startswith("="):
        return table.TableCell(formula=ods_formula(value), **more)
    else:
        cell = table.TableCell(valuetype="string", **more)
    cell.addElement(text.P(text=str(value)))
    return cell


def _look(document: Any, place: str, value: Any, formats: dict[str, str]) -> Any:
    """The look of one cell, with what its content turns it into."""
    kind = described.kind_of(place, value)
    shape = {"datastylename": formats[described.FORMATS[place]]} if place in described.FORMATS else {}
    look = style.Style(name=f"look-{place}", family="table-cell", parentstylename="Default", **shape)
    wide = {"wrapoption": "wrap"} if int(place[1:]) in described.WIDE else {}
    across = "end" if place in described.FORMATS and not wide else "start"
    coloured = {"backgroundcolor": f"#{described.COLOURS[kind]}", "border": EDGE} if kind in described.COLOURS else {}
    look.addElement(style.TableCellProperties(verticalalign="top", **wide, **coloured))
    look.addElement(style.ParagraphProperties(textalign=across))
    if kind in {"title", "heading", "verdict"}:
        size = {"fontsize": "14pt"} if kind == "title" else {}
        look.addElement(style.TextProperties(fontweight="bold", **size))
    for condition, name in _conditions(place):
        look.addElement(style.Map(condition=condition, applystylename=name, basecelladdress=f"fatigue.{place}"))
    document.automaticstyles.addElement(look)
    return look


def _conditions(place: str) -> Iterator[tuple[str, str]]:
    if place == described.VERDICT_CELL:
        for word in described.VERDICT_COLOURS:
            yield f'is-true-formula(EXACT([.{place}];"{word}"))', f"content-{word}"
    if place in described.RESULTS:
        yield f'is-true-formula(IFERROR(LEFT([.{place}];1)="#";TRUE()))', "content-none"

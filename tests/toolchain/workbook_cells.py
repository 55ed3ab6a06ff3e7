"""The cells of the example workbooks: a small fatigue sheet that asks the service by WEBSERVICE().

One description of the cells, their looks and their printed page is written twice, as Office Open XML (.xlsx) and as
OpenDocument (.ods).
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

NAME = "hanger-toe"
ADDRESS = "http://127.0.0.1:8000"
CURVE = "iiw-2016-normal-steel-71"
PASSES = 500
TITLE = "Fatigue sheet: nominal stress at one weld toe of a spring hanger"

# invented for this example: nominal stress ranges at one weld toe, and their cycles in one pass
LOADS = (
    ("ditch crossed at speed", 131.0, 4),
    ("loaded, field track", 84.5, 160),
    ("loaded, road", 58.0, 900),
    ("empty, field track", 46.0, 2400),
    ("empty, road", 21.5, 9000),
)
FIRST = 12
LAST = FIRST + len(LOADS) - 1
SUM, VERDICT = LAST + 2, LAST + 3
WIDTHS = {"A": 34, "B": 26, "C": 14, "D": 22, "E": 18, "F": 14, "G": 34, "H": 110}
LAST_PRINTED = "G"
WIDE = {2: 30, 5: 15, 8: 45, 9: 60}  # rows whose text runs over all printed columns, with their heights [pt]

# In formulas, {B3} is a cell, | parts arguments; every flavour writes them in its own way.
# NUMBERVALUE reads the point of the answer in every country; a text like '#ERR: ...' stays readable as it is.
# What is no number begins with #: a call that is blocked or fails never becomes a number, nor a pass.
NO_ANSWER = "#NO ANSWER"
NO_VERDICT = "#NO VERDICT: see what is amber"
NUMBER = f'IFERROR(NUMBERVALUE(WEBSERVICE(%s)|".")|IFERROR(WEBSERVICE(%s)|"{NO_ANSWER}"))'
TEXT = f'IFERROR(WEBSERVICE(%s)|"{NO_ANSWER}")'
CURVE_URL = '{$B$3}&"/v1/curves/"&{$B$4}&"%s"'
# a text in a formula has 255 characters at the most
BLOCKED = (
    "#NO ANSWER. Is the service running at the address above (toeline serve)? If so, the program blocks calls of this "
    "sheet. Excel: Enable Editing and Enable Content in the bar above the sheet; ",
    "else File > Options > Trust Center > Trust Center Settings > External Content, or Trusted Locations for this "
    "folder. LibreOffice: Allow updating in the bar above the sheet; ",
    "else Tools > Options > LibreOffice > Security > Macro Security > Trusted Sources: add this folder, and "
    "LibreOffice Calc > General > Update links when opening. Then recalculate (Ctrl+Alt+F9, Ctrl+Shift+F9).",
)


def with_point(cell: str) -> str:
    """The number of a cell as text with a decimal point, whatever the country of the program."""
    return f'SUBSTITUTE({{{cell}}}&""|","|".")'


def cells() -> dict[str, Any]:
    """Content of every cell; a text that begins with = is a formula."""
    version = CURVE_URL % "?only=record.version"
    content: dict[str, Any] = {
        "A1": TITLE,
        "A2": "Loads are invented. Yellow is input, blue asks the service; amber is no result, and no verdict rests on "
        "it. To take out a load delete its row; to add one, copy a row between others. Recalculate after a change.",
        "A3": "address of the service",
        "B3": ADDRESS,
        "A4": "design curve",
        "B4": CURVE,
        "A5": "title of the curve",
        "B5": "=" + TEXT % (CURVE_URL % "?only=answer.title"),
        "A6": "passes of the loading",
        "B6": PASSES,
        "A7": "damage limit of the document",
        "B7": "=" + NUMBER % ((CURVE_URL % "?only=answer.miner_limit",) * 2),
        "A8": "its remark on the limit",
        "B8": "=" + TEXT % (CURVE_URL % "?only=answer.miner_note"),
        "A9": "connection",
        "B9": f'=IFERROR("answers: toeline "&WEBSERVICE({version})|' + "&".join(f'"{part}"' for part in BLOCKED) + ")",
        **dict(zip((f"{c}{FIRST - 1}" for c in WIDTHS), HEADINGS, strict=True)),
    }
    for row, (name, range_mpa, count) in enumerate(LOADS, start=FIRST):
        content |= load_row(row, name, range_mpa, count)
    return content | summary()


HEADINGS = (
    "load",
    "stress range [MPa]",
    "cycles a pass",
    "answer as text",
    "life [cycles]",
    "damage",
    "state",
    "address asked",
)


def load_row(row: int, name: str, range_mpa: float, count: int) -> dict[str, Any]:
    """One stress range: its life is asked, its damage follows in the sheet where all of it is known."""
    url = CURVE_URL % "/life?stress_range_mpa=" + "&" + with_point(f"B{row}") + '&"&only=answer.life_cycles"'
    life = f'IF(ISNUMBER({{E{row}}})|IF({{E{row}}}>0|"ok"|"#no life")|IF({{E{row}}}="infinite"|"ok"|{{E{row}}}))'
    count_given = f'IF(ISNUMBER({{C{row}}})|IF({{C{row}}}<0|"#cycles below zero"|{life})|"#no cycles")'
    return {
        f"A{row}": name,
        f"B{row}": range_mpa,
        f"C{row}": count,
        f"D{row}": "=" + TEXT % f"{{H{row}}}",
        f"E{row}": f'=IFERROR(NUMBERVALUE({{D{row}}}|".")|{{D{row}}})',
        f"F{row}": f'=IF({{G{row}}}="ok"|IF({{E{row}}}="infinite"|0|{{$B$6}}*{{C{row}}}/{{E{row}}})|"#not known")',
        f"G{row}": f'=IF(ISNUMBER({{B{row}}})|{count_given}|"#no stress range")',
        f"H{row}": "=" + url,
    }


def summary() -> dict[str, Any]:
    """Sum, verdict, and what the answers rest on."""
    strength = CURVE_URL % "/strength?life_cycles=2000000&only=answer.stress_range_mpa"
    angle = '{$B$3}&"/v1/stress/notch-constants?opening_angle_deg=135&only=answer.eigenvalues.opening"'
    first = CURVE_URL % "/life?stress_range_mpa=" + "&" + with_point(f"B{FIRST}") + '&"&only=%s"'
    damages = f"{{F{FIRST}}}:{{F{LAST}}}"
    missing = f'"#not known: "&(ROWS({damages})-COUNT({damages}))&" of "&ROWS({damages})&" loads have no damage"'
    judged = f'IF({{B{SUM}}}<={{$B$7}}|"pass"|"fail")'
    known = f"AND(ISNUMBER({{$B$7}})|ISNUMBER({{B{SUM}}})|ISNUMBER({{$B$6}}))"
    positive = f'IF(AND({{$B$7}}>0|{{$B$6}}>0)|{judged}|"#NO VERDICT: limit and passes must be above zero")'
    rows: list[tuple[str, Any]] = [
        ("damage sum", f"=IF(COUNT({damages})=ROWS({damages})|SUM({damages})|{missing})"),
        (
            "verdict",
            f'=IFERROR(IF({known}|{positive}|"#NO VERDICT: see what is amber")|"#NO VERDICT: see what is amber")',
        ),
        ("range borne 2,000,000 times [MPa]", "=" + NUMBER % (strength, strength)),
        ("exponent of a 135 deg notch", "=" + NUMBER % (angle, angle)),
        ("version of the service", "=" + TEXT % (first % "record.version")),
        ("input digest of the first load", "=" + TEXT % (first % "record.input_digest")),
        ("caution", "=" + TEXT % (first % "caution")),
    ]
    return {f"{column}{SUM + n}": pair[i] for n, pair in enumerate(rows) for i, column in enumerate("AB")}


SUMMARY_ROWS = 7
END = SUM + SUMMARY_ROWS - 1
WIDE |= {END: 45, END - 1: 15, VERDICT: 15, SUM: 15}
INPUT = {"B3", "B4", "B6", *(f"{c}{row}" for row in range(FIRST, LAST + 1) for c in "ABC")}
PRINTED = f"A1:{LAST_PRINTED}{END}"
FORMATS = {
    "B6": "#,##0",
    "B7": "0.00",
    f"B{SUM}": "0.0000",
    f"B{SUM + 2}": "0.0",
    f"B{SUM + 3}": "0.0000",
    **{
        f"{column}{row}": shape
        for row in range(FIRST, LAST + 1)
        for column, shape in {"B": "0.0", "C": "#,##0", "E": "#,##0", "F": "0.0000"}.items()
    },
}
VERDICT_CELL = f"B{VERDICT}"
# what may hold a text in place of a result
RESULTS = {
    *(f"B{row}" for row in (5, 7, 8, 9, SUM, *range(SUM + 2, END + 1))),
    *(f"{column}{row}" for row in range(FIRST, LAST + 1) for column in "DEFG"),
}


def digest() -> str:
    """Of all cells as they are delivered, for the foot of a printed page."""
    text = json.dumps(cells(), sort_keys=True)
    return "sha256:" + hashlib.sha256(text.encode()).hexdigest()[:16]


def kind_of(cell: str, value: Any) -> str:
    """Style of a cell: title, heading, input, asked, verdict, plain."""
    if cell == "A1":
        return "title"
    if cell == VERDICT_CELL:
        return "verdict"
    if cell in INPUT:
        return "input"
    if isinstance(value, str) and "WEBSERVICE" in value:
        return "asked"
    return "heading" if cell[1:] == str(FIRST - 1) else "plain"


# the verdict is amber until it is one: green and red only where its cell says pass or fail
COLOURS = {"input": "FFF2CC", "asked": "DDEBF7", "heading": "D9D9D9", "verdict": "F4B183"}
AMBER = "F4B183"
VERDICT_COLOURS = {"pass": "C6E0B4", "fail": "FF9999"}
CONTENT_LOOKS = {**{f"content-{word}": colour for word, colour in VERDICT_COLOURS.items()}, "content-none": AMBER}

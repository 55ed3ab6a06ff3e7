"""The example workbooks, and what a real spreadsheet program gets from them.

Expected lives: IIW recommendations, second edition (2016), fatigue resistance of classes of detail: slope 3
through the class at 2e6 cycles, knee at 1e7 cycles, slope 5 beyond for variable amplitude; damage sum 0.5.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import threading
import zipfile
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from odf.namespaces import TABLENS
from odf.opendocument import load as load_ods
from odf.table import TableCell, TableRow

from fatcore import __version__
from service.http.settings import Settings
from tests.api.conftest import Server
from tests.toolchain import workbook
from tests.toolchain import workbook_cells as described

HERE = Path(__file__).parent
WORKBOOKS = sorted(workbook.FOLDER.glob(f"{described.NAME}.*"))
EXCEL_LONGEST_URL = 2048


def bindings() -> str | None:
    """The python that can steer the spreadsheet program."""
    for name in ("/usr/bin/python3", "python3"):
        found = shutil.which(name)
        if found and not subprocess.run([found, "-c", "import uno"], capture_output=True, check=False).returncode:
            return found
    return None


@pytest.fixture(scope="module")
def base_url() -> Iterator[str]:
    with Server(Settings()) as url:
        yield url


@pytest.fixture(scope="module")
def steering() -> str:
    found = bindings()
    if found is None or shutil.which("soffice") is None:
        pytest.skip("needs LibreOffice Calc and its bindings (packages libreoffice-calc, python3-uno)")
    return found


def cells_of_xlsx(path: Path) -> dict[str, Any]:
    sheet = openpyxl.load_workbook(path).active
    return {cell.coordinate: cell.value for row in sheet for cell in row if cell.value is not None}


def cells_of_ods(path: Path) -> list[tuple[str | None, str]]:
    rows = load_ods(str(path)).spreadsheet.getElementsByType(TableRow)
    cells = [cell for row in rows for cell in row.getElementsByType(TableCell)]
    return [(cell.attributes.get((TABLENS, "formula")), str(cell)) for cell in cells]


def test_workbooks_are_those_that_the_script_makes(tmp_path: Path) -> None:
    xlsx, ods = workbook.main(tmp_path)
    assert sorted(path.name for path in WORKBOOKS) == sorted([xlsx.name, ods.name])
    assert cells_of_xlsx(workbook.FOLDER / xlsx.name) == cells_of_xlsx(xlsx)
    assert cells_of_ods(workbook.FOLDER / ods.name) == cells_of_ods(ods)
    assert len(cells_of_xlsx(xlsx)) == len(described.cells())


def test_making_them_again_changes_no_byte(tmp_path: Path) -> None:
    first = [path.read_bytes() for path in workbook.main(tmp_path)]
    assert [path.read_bytes() for path in workbook.main(tmp_path)] == first


def test_address_stands_in_one_cell_only() -> None:
    content = cells_of_xlsx(workbook.FOLDER / f"{described.NAME}.xlsx")
    assert [cell for cell, value in content.items() if "127.0.0.1" in str(value)] == ["B3"]


def test_later_functions_carry_their_prefixes() -> None:
    for value in cells_of_xlsx(workbook.FOLDER / f"{described.NAME}.xlsx").values():
        if str(value).startswith("="):
            assert str(value).count("WEBSERVICE(") == str(value).count("_xlfn.WEBSERVICE(")
            assert str(value).count("NUMBERVALUE(") == str(value).count("_xlfn.NUMBERVALUE(")
            assert "{" not in str(value)


def refreshed(
    steering: str, path: Path, address: str, changes: list[Any], saved_as: Path | None = None
) -> list[dict[str, Any]]:
    """Cells by their names after each of the changes, each made on the sheet as it is delivered."""
    command = [steering, str(HERE / "refresh_workbook.py"), str(path), address, str(saved_as or "")]
    run = subprocess.run([*command, json.dumps(changes)], capture_output=True, check=True, timeout=300)
    contents: list[dict[str, Any]] = json.loads(run.stdout)
    return contents


def life(range_mpa: float) -> float:
    knee = 71.0 * (2e6 / 1e7) ** (1 / 3)
    return 2e6 * (71.0 / range_mpa) ** 3 if range_mpa >= knee else 1e7 * (knee / range_mpa) ** 5


@pytest.mark.toolchain
@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.suffix[1:])
def test_cells_hold_the_numbers_of_the_document(steering: str, path: Path, base_url: str) -> None:
    held, failing, unknown = refreshed(steering, path, base_url, [{}, {"B6": 5000.0}, {"B4": "none-such"}])
    damages = []
    for row, (name, range_mpa, count) in enumerate(described.LOADS, start=described.FIRST):
        assert held[f"A{row}"] == name
        assert held[f"E{row}"] == pytest.approx(life(range_mpa), rel=1e-9)
        damages.append(described.PASSES * count / life(range_mpa))
        assert held[f"F{row}"] == pytest.approx(damages[-1], rel=1e-9)
        assert len(held[f"H{row}"]) < EXCEL_LONGEST_URL / 10
        assert held[f"G{row}"] == "ok"
    summary = {held[f"A{row}"]: held[f"B{row}"] for row in range(described.SUM, described.END + 1)}
    assert summary["damage sum"] == pytest.approx(sum(damages), rel=1e-9)
    assert (held["B7"], summary["verdict"]) == (0.5, "pass")
    assert summary["range borne 2,000,000 times [MPa]"] == pytest.approx(71.0, rel=1e-9)
    # characteristic equation of the sharp notch, 135 deg, opening mode: 0.6736 to the digits usually printed
    assert summary["exponent of a 135 deg notch"] == pytest.approx(0.6736, abs=5e-5)
    assert held["B5"].endswith("class 71")
    assert held["B9"] == f"answers: toeline {__version__}"
    assert re.fullmatch("sha256:[0-9a-f]{64}", summary["input digest of the first load"])
    assert summary["caution"].startswith("Fatigue assessment needs engineering judgement")
    assert not [cell for cell, value in held.items() if str(value).startswith(("#", "Err:"))]
    assert failing[described.VERDICT_CELL] == "fail"
    assert unknown["B5"].startswith("#ERR: /curve: unknown curve 'none-such'")
    assert unknown[f"G{described.FIRST}"].startswith("#ERR: ")
    assert unknown[f"B{described.SUM}"] == "#not known: 5 of 5 loads have no damage"
    assert unknown[described.VERDICT_CELL].startswith("#NO VERDICT")


@contextmanager
def stand_in(body: bytes) -> Iterator[tuple[str, Counter[str]]]:
    """Something that answers the same to everything, and counts what a spreadsheet program sends."""
    seen: Counter[str] = Counter()

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            seen[self.command] += 1
            self.send_response(200)
            self.send_header("Content-Type", "text/plain")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            if self.command == "GET":
                self.wfile.write(body)

        do_GET = do_HEAD = do_OPTIONS = answer  # noqa: N815

        def log_message(self, *_: Any) -> None:
            """Says nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", seen
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


# --- what is no result never looks like a pass

ROW = described.FIRST
NO_PASS: dict[str, dict[str, Any]] = {
    "no curve": {"B4": None},
    "a range as text": {f"B{ROW}": "'131"},
    "no range": {f"B{ROW}": None},
    "a range below zero": {f"B{ROW}": -131.0},
    "no cycles": {f"C{ROW}": None},
    "cycles as text": {f"C{ROW}": "many"},
    "cycles below zero": {f"C{ROW}": -1e9},
    "no passes": {"B6": None},
    "passes as text": {"B6": "'500"},
    "passes below zero": {"B6": -500.0},
    "passes zero": {"B6": 0.0},
    "an error in the input": {f"C{ROW}": "=1/0"},
    "a row cleared": dict.fromkeys(f"{column}{ROW}" for column in "ABC"),
    "a damage limit of zero": {"B7": 0.0},
    "a damage limit that is a text": {"B7": "'0.5"},
    "an answer cleared": {f"D{ROW}": None},
    "an answer that is an error": {f"D{ROW}": "=NA()"},
}


ANSWERS = (b"", b"0", b"-1", b"<html>pass</html>", b"infinite", b"nan")  # of something else than the service


@pytest.mark.toolchain
def test_no_verdict_rests_on_what_is_missing_or_no_answer_of_the_service(
    steering: str, base_url: str, tmp_path: Path
) -> None:
    saved = tmp_path / "saved.xlsx"
    with ExitStack() as stack:
        others = [stack.enter_context(stand_in(body)) for body in (*ANSWERS, b"1")]
        changes = [*NO_PASS.values(), *({"B3": address} for address, _ in others)]
        contents = refreshed(steering, WORKBOOKS[0], base_url, changes, saved)
    assert WORKBOOKS[0].suffix == ".ods"
    for words, held in zip((*NO_PASS, *map(str, ANSWERS)), contents, strict=False):
        assert held[described.VERDICT_CELL].startswith("#NO VERDICT"), words
        assert "pass" not in held.values(), words
    assert contents[list(NO_PASS).index("no range")][f"G{ROW}"] == "#no stress range"
    seen = others[-1][1]
    assert set(seen) <= {"GET", "HEAD", "OPTIONS"}
    assert seen["GET"] >= len(described.LOADS)
    assert contents[-1][f"E{ROW}"] == 1.0
    # what the program saves still asks by the same function
    assert "WEBSERVICE(" in cells_of_xlsx(saved)[f"D{ROW}"]


@pytest.mark.toolchain
@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.suffix[1:])
def test_blocked_calls_name_the_setting_and_print_one_page_across(steering: str, path: Path, tmp_path: Path) -> None:
    page = tmp_path / "page.pdf"
    (held,) = refreshed(steering, path, "blocked", [{}], page)
    assert held[described.VERDICT_CELL].startswith("#NO VERDICT")
    assert held["B9"].startswith("#NO ANSWER. Is the service running at the address above")
    for words in ("Enable Content", "Trust Center", "Allow updating", "Trusted Sources", "Update links when opening"):
        assert words in held["B9"]
    assert {held[f"{column}{ROW}"] for column in "DEG"} == {"#NO ANSWER"}
    content = page.read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b", content)) == 1
    width, height = map(float, re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", content)[0])
    assert width > height


# --- how it looks, without the program


def formulas() -> dict[str, str]:
    return {cell: value for cell, value in described.cells().items() if str(value).startswith("=")}


def test_every_call_is_guarded_and_every_formula_fits_the_programs() -> None:
    for cell, formula in formulas().items():
        calls = formula.count("WEBSERVICE(")
        assert calls <= formula.count("IFERROR("), cell
        assert max(map(len, re.findall('"([^"]*)"', formula)), default=0) <= 255, cell
        assert len(formula) < 8192
    assert len({cell for cell, formula in formulas().items() if "WEBSERVICE(" in formula} - described.RESULTS) == 0


def test_sheet_prints_one_page_across_with_title_and_digest() -> None:
    sheet = openpyxl.load_workbook(workbook.FOLDER / f"{described.NAME}.xlsx").active
    setup = sheet.page_setup
    assert (setup.orientation, setup.fitToWidth, setup.fitToHeight) == ("landscape", 1, 1)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.print_area.replace("$", "").endswith(described.PRINTED)
    assert sheet.oddHeader.left.text == described.TITLE
    assert described.digest() in sheet.oddFooter.left.text
    with zipfile.ZipFile(workbook.FOLDER / f"{described.NAME}.ods") as packed:
        styles, content = (packed.read(f"{name}.xml").decode() for name in ("styles", "content"))
    assert 'style:scale-to-pages="1"' in styles
    assert 'style:print-orientation="landscape"' in styles
    assert described.digest() in styles
    assert 'table:print-ranges="fatigue.A1:fatigue.G' in content


def test_verdict_is_amber_until_its_cell_says_pass_or_fail() -> None:
    sheet = openpyxl.load_workbook(workbook.FOLDER / f"{described.NAME}.xlsx").active
    assert sheet[described.VERDICT_CELL].fill.start_color.rgb.endswith(described.AMBER)
    rules = {str(found.sqref): [rule.formula[0] for rule in found.rules] for found in sheet.conditional_formatting}
    assert rules[described.VERDICT_CELL] == [f'EXACT(B{described.VERDICT},"{word}")' for word in ("pass", "fail")]
    assert {cell for cell in rules if cell != described.VERDICT_CELL} == described.RESULTS
    asked = {cell for cell, formula in formulas().items() if "WEBSERVICE(" in formula}
    greens = {described.VERDICT_COLOURS["pass"]}
    assert not {cell for cell in asked if sheet[cell].fill.start_color.rgb[-6:] in greens}


def test_numbers_have_their_format_in_both_files() -> None:
    sheet = openpyxl.load_workbook(workbook.FOLDER / f"{described.NAME}.xlsx").active
    assert {cell: sheet[cell].number_format for cell in described.FORMATS} == described.FORMATS
    numeric = {cell for cell, value in described.cells().items() if isinstance(value, int | float)}
    assert numeric <= set(described.FORMATS)

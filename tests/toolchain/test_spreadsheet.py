"""The example workbooks, and what a real spreadsheet program gets from them.

Expected lives: IIW recommendations, second edition (2016), fatigue resistance of classes of detail: slope 3
through the class at 2e6 cycles, knee at 1e7 cycles, slope 5 beyond for variable amplitude; damage sum 0.5.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import threading
from collections import Counter
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from odf.namespaces import TABLENS
from odf.opendocument import load as load_ods
from odf.table import TableCell, TableRow

from service.http.settings import Settings
from tests.api.conftest import Server
from tests.toolchain import workbook

HERE = Path(__file__).parent
WORKBOOKS = sorted(workbook.FOLDER.glob(f"{workbook.NAME}.*"))
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
    assert len(cells_of_xlsx(xlsx)) == len(workbook.cells())


def test_making_them_again_changes_no_byte(tmp_path: Path) -> None:
    first = [path.read_bytes() for path in workbook.main(tmp_path)]
    assert [path.read_bytes() for path in workbook.main(tmp_path)] == first


def test_address_stands_in_one_cell_only() -> None:
    content = cells_of_xlsx(workbook.FOLDER / f"{workbook.NAME}.xlsx")
    assert [cell for cell, value in content.items() if "127.0.0.1" in str(value)] == ["B3"]


def test_later_functions_carry_their_prefixes() -> None:
    for value in cells_of_xlsx(workbook.FOLDER / f"{workbook.NAME}.xlsx").values():
        if str(value).startswith("="):
            assert str(value).count("WEBSERVICE(") == str(value).count("_xlfn.WEBSERVICE(")
            assert str(value).count("NUMBERVALUE(") == str(value).count("_xlfn.NUMBERVALUE(")
            assert "{" not in str(value)


def refreshed(steering: str, path: Path, address: str, saved_as: Path | None = None) -> dict[str, Any]:
    command = [steering, str(HERE / "refresh_workbook.py"), str(path), address]
    run = subprocess.run(
        [*command, *([] if saved_as is None else [str(saved_as)])],
        capture_output=True,
        check=True,
        timeout=300,
    )
    content: dict[str, Any] = json.loads(run.stdout)
    return content


def life(range_mpa: float) -> float:
    knee = 71.0 * (2e6 / 1e7) ** (1 / 3)
    return 2e6 * (71.0 / range_mpa) ** 3 if range_mpa >= knee else 1e7 * (knee / range_mpa) ** 5


@pytest.mark.toolchain
@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.suffix[1:])
def test_cells_hold_the_numbers_of_the_document(steering: str, path: Path, base_url: str) -> None:
    held = refreshed(steering, path, base_url)
    damages = []
    for row, (name, range_mpa, count) in enumerate(workbook.LOADS, start=workbook.FIRST):
        assert held[f"A{row}"] == name
        assert held[f"E{row}"] == pytest.approx(life(range_mpa), rel=1e-9)
        damages.append(workbook.PASSES * count / life(range_mpa))
        assert held[f"F{row}"] == pytest.approx(damages[-1], rel=1e-9)
        assert len(held[f"G{row}"]) < EXCEL_LONGEST_URL / 10
    summary = {held[f"A{row}"]: held[f"B{row}"] for row in range(workbook.LAST + 2, workbook.LAST + 8)}
    assert summary["damage sum"] == pytest.approx(sum(damages), rel=1e-9)
    assert (held["B7"], summary["verdict"]) == (0.5, "pass")
    assert summary["range borne 2,000,000 times [MPa]"] == pytest.approx(71.0, rel=1e-9)
    # characteristic equation of the sharp notch, 135 deg, opening mode: 0.6736 to the digits usually printed
    assert summary["exponent of a 135 deg notch"] == pytest.approx(0.6736, abs=5e-5)
    assert held["B5"].endswith("class 71")
    assert summary["caution"].startswith("Fatigue assessment needs engineering judgement")
    assert not [cell for cell, value in held.items() if str(value).startswith(("#", "Err:"))]


@pytest.mark.toolchain
def test_cells_say_why_there_is_no_number(steering: str, base_url: str, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(workbook.FOLDER / f"{workbook.NAME}.xlsx")
    book.active["B4"] = "none-such"
    book.save(tmp_path / "wrong.xlsx")
    held = refreshed(steering, tmp_path / "wrong.xlsx", base_url)
    row = workbook.FIRST
    assert held["B5"].startswith("#ERR: /curve: unknown curve 'none-such'")
    assert held[f"E{row}"] == held[f"D{row}"]
    assert held[f"D{row}"].startswith("#ERR: ")


@pytest.fixture
def asked() -> Iterator[tuple[str, Counter[str]]]:
    """A stand-in that answers 1 and counts what a spreadsheet program sends."""
    seen: Counter[str] = Counter()

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            seen[self.command] += 1
            self.send_response(200)
            self.send_header("Content-Type", "text/plain")
            self.send_header("Content-Length", "1")
            self.end_headers()
            if self.command == "GET":
                self.wfile.write(b"1")

        do_GET = do_HEAD = do_OPTIONS = answer  # noqa: N815

        def log_message(self, *_: Any) -> None:
            """Says nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", seen
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.mark.toolchain
def test_program_sends_get_head_and_options_only(
    steering: str, asked: tuple[str, Counter[str]], tmp_path: Path
) -> None:
    address, seen = asked
    saved = tmp_path / "saved.xlsx"
    held = refreshed(steering, WORKBOOKS[-1], address, saved)
    assert set(seen) <= {"GET", "HEAD", "OPTIONS"}
    assert seen["GET"] >= len(workbook.LOADS)
    assert held[f"E{workbook.FIRST}"] == 1.0
    # what the program saves still asks by the same function
    assert "WEBSERVICE(" in cells_of_xlsx(saved)[f"D{workbook.FIRST}"]

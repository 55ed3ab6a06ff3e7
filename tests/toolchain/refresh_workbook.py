"""Opens a workbook in LibreOffice Calc, lets its cells ask the service, and prints what they hold as JSON.

Run by the python that has the program's bindings: python3 refresh_workbook.py WORKBOOK ADDRESS [SAVED-AS [CHANGES]]
CHANGES is a JSON list of {cell: value, null to clear it}: each is made on the sheet as it is delivered, and the cells
are printed for each. Plain conversion blocks the calls of the cells: the profile must allow links (Link=0), and trust
the folder; the word "blocked" as address leaves both out.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

BLOCKED = "blocked"
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Content/Update">
<prop oor:name="Link" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Common/Security/Scripting">
<prop oor:name="SecureURL" oor:op="fuse"><value><it>{folder}</it></value></prop></item>
</oor:items>
"""


def fresh_profile(folder: Path, trusted: Path) -> None:
    """A profile of the program that trusts one folder and updates links without asking."""
    user = folder / "user"
    user.mkdir(parents=True)
    (user / "registrymodifications.xcu").write_text(PROFILE.format(folder=trusted.as_uri()))


def desktop(pipe: str, program: subprocess.Popen[bytes]) -> Any:
    """The running program, as soon as it listens."""
    import uno

    context = uno.getComponentContext()
    resolver = context.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", context)
    address = f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext"
    deadline = time.monotonic() + 120.0
    while True:
        try:
            remote = resolver.resolve(address)
            return remote.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", remote)
        except Exception:
            if time.monotonic() > deadline or program.poll() is not None:
                raise
            time.sleep(0.2)


def option(name: str, value: Any) -> Any:
    """One property of a loaded or stored document."""
    import uno

    found = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
    found.Name, found.Value = name, value
    return found


def held(sheet: Any) -> dict[str, Any]:
    """What the used cells hold: a number, or the text that is shown."""
    cursor = sheet.createCursor()
    cursor.gotoStartOfUsedArea(False)
    cursor.gotoEndOfUsedArea(True)
    content: dict[str, Any] = {}
    for row, values in enumerate(cursor.DataArray):  # in one call, since each takes its time
        for column, value in enumerate(values):
            if value != "":
                shown = sheet.getCellByPosition(column, row).String if value is None else value  # an error
                content[f"{chr(65 + column)}{row + 1}"] = shown
    return content


def change(sheet: Any, cells: dict[str, Any]) -> dict[str, Any]:
    """Sets cells, and says what they held before."""
    before = {}
    for name, value in cells.items():
        cell = sheet.getCellRangeByName(name)
        before[name] = cell.Formula
        if isinstance(value, int | float):
            cell.Value = value
        elif value is None or not value.startswith(("'", "=")):
            cell.String = value or ""
        else:
            cell.Formula = value  # with an apostrophe before it, a text that looks like a number
    return before


def refreshed(program: Any, workbook: Path, address: str, saved_as: str, changes: list[Any]) -> list[dict[str, Any]]:
    """Opens the workbook, sets the address, calculates, saves when asked, and reads the cells after each change."""
    options = (option("Hidden", True), option("UpdateDocMode", 0 if address == BLOCKED else 3))
    document = program.loadComponentFromURL(workbook.as_uri(), "_blank", 0, options)
    sheet = document.Sheets.getByIndex(0)
    if address != BLOCKED:
        sheet.getCellRangeByName("B3").String = address
    document.calculateAll()
    contents = []
    for cells in changes:
        before = change(sheet, cells)
        document.calculate()  # what depends on the change, not every call anew
        contents.append(held(sheet))
        for name, formula in before.items():
            sheet.getCellRangeByName(name).Formula = formula
    if saved_as:
        kind = "calc_pdf_Export" if saved_as.endswith(".pdf") else "Calc MS Excel 2007 XML"
        document.storeToURL(Path(saved_as).absolute().as_uri(), (option("FilterName", kind),))
    document.close(True)
    return contents


def main(workbook: str, address: str, saved_as: str = "", changes: str = "[{}]") -> None:
    """Runs the program once and prints the cells."""
    with tempfile.TemporaryDirectory() as folder:
        # a copy, since the program locks what it opens, and several may run at once
        path = Path(folder) / "opened" / Path(workbook).name
        path.parent.mkdir()
        shutil.copyfile(workbook, path)
        if address != BLOCKED:
            fresh_profile(Path(folder), path.parent)
        pipe = "toeline" + Path(folder).name.replace("_", "")
        command = ["soffice", "--headless", "--norestore", "--nologo", "--nodefault"]
        command += [f"-env:UserInstallation={Path(folder).as_uri()}", f"--accept=pipe,name={pipe};urp;"]
        with subprocess.Popen(command, stdout=subprocess.DEVNULL) as program:
            running = desktop(pipe, program)
            try:
                contents = refreshed(running, path, address, saved_as, json.loads(changes))
            finally:
                running.terminate()
    sys.stdout.write(json.dumps(contents))


if __name__ == "__main__":
    main(*sys.argv[1:])

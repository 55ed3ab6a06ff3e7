"""Opens a workbook in LibreOffice Calc, lets its cells ask the service, and prints what they hold as JSON.

Run by the python that has the program's bindings: python3 refresh_workbook.py WORKBOOK ADDRESS [SAVED-AS]
Plain conversion blocks the calls of the cells: the profile must allow links (Link=0), and trust the folder.
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
    cursor.gotoEndOfUsedArea(False)
    content: dict[str, Any] = {}
    for row in range(cursor.RangeAddress.EndRow + 1):
        for column in range(cursor.RangeAddress.EndColumn + 1):
            cell = sheet.getCellByPosition(column, row)
            kind = cell.Type.value if cell.Type.value != "FORMULA" else cell.FormulaResultType2
            if kind != "EMPTY":
                number = kind in {"VALUE", 1}
                content[f"{chr(65 + column)}{row + 1}"] = cell.Value if number else cell.String
    return content


def refreshed(program: Any, workbook: Path, address: str, saved_as: str | None) -> dict[str, Any]:
    """Opens the workbook, sets the address, calculates, saves when asked, and reads the cells."""
    options = (option("Hidden", True), option("UpdateDocMode", 3))
    document = program.loadComponentFromURL(workbook.as_uri(), "_blank", 0, options)
    sheet = document.Sheets.getByIndex(0)
    sheet.getCellRangeByName("B3").String = address
    document.calculateAll()
    content = held(sheet)
    if saved_as:
        document.storeToURL(Path(saved_as).absolute().as_uri(), (option("FilterName", "Calc MS Excel 2007 XML"),))
    document.close(True)
    return content


def main(workbook: str, address: str, saved_as: str | None = None) -> None:
    """Runs the program once and prints the cells."""
    with tempfile.TemporaryDirectory() as folder:
        # a copy, since the program locks what it opens, and several may run at once
        path = Path(folder) / "opened" / Path(workbook).name
        path.parent.mkdir()
        shutil.copyfile(workbook, path)
        fresh_profile(Path(folder), path.parent)
        pipe = "toeline" + Path(folder).name.replace("_", "")
        command = ["soffice", "--headless", "--norestore", "--nologo", "--nodefault"]
        command += [f"-env:UserInstallation={Path(folder).as_uri()}", f"--accept=pipe,name={pipe};urp;"]
        with subprocess.Popen(command, stdout=subprocess.DEVNULL) as program:
            running = desktop(pipe, program)
            try:
                content = refreshed(running, path, address, saved_as)
            finally:
                running.terminate()
    sys.stdout.write(json.dumps(content))


if __name__ == "__main__":
    main(*sys.argv[1:])

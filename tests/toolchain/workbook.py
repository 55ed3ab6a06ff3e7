"""Makes the example workbooks: python -m tests.toolchain.workbook [FOLDER]."""

from __future__ import annotations

import re
import sys
import zipfile
from pathlib import Path

from tests.toolchain.workbook_cells import NAME
from tests.toolchain.workbook_ods import write_ods
from tests.toolchain.workbook_xlsx import write_xlsx

FOLDER = Path(__file__).parents[2] / "openapi_examples" / "spreadsheet"


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

"""The columns of a table, where a command has to be told which of them to read."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence

from fatcore.errors import nearest

from ...base.units import find_stated_unit, reads_as_no_stress
from ...topics.spectrum.sample_csv import names_of_csv
from ...topics.spectrum.sample_tables import MOST_LISTED, ColumnChoice


def column_choice_text(path: str, choice: ColumnChoice, wanted: Sequence[str]) -> str:
    """What is wrong with the choice of columns, every column with its number, and an option that would do.

    wanted : names that are asked for, by which the nearest ones are found
    """
    what = choice.what.replace("`columns`", "--column")
    return "\n".join(
        [
            f"{path}: {what}",
            "its columns by number and name:",
            *_numbered(choice.known),
            f"for example: --column {shlex.quote(','.join(_example(choice.known, wanted)))}",
        ]
    )


def map_needed_text(path: str, content: bytes) -> str:
    """Which columns a table has that a map could name, and how such a map begins."""
    names = names_of_csv(content)
    return "\n".join(
        [
            f"{path}: --map is needed: it says what the columns are",
            "its columns by number and name:",
            *_numbered(names),
            'for example: --map lines.toml, with [table] and `node_id = "NAME"` in it; --keys shows all keys',
        ]
    )


def _numbered(names: Sequence[str]) -> Iterable[str]:
    """Columns by number and name, one a line; very many are cut."""
    width = len(str(min(len(names), MOST_LISTED)))
    for number, name in enumerate(names[:MOST_LISTED], start=1):
        yield f"  {number:>{width}}" + ("" if name == str(number) else f"  {name}")
    if len(names) > MOST_LISTED:
        yield f"  ... and {len(names) - MOST_LISTED} more"


def _example(known: Sequence[str], wanted: Sequence[str]) -> list[str]:
    """The nearest names to those that are asked for, else the column that most looks like a stress."""
    near = [name for each in wanted for name in nearest(each, known, 1)]
    if near:
        return list(dict.fromkeys(near))
    return [max(known, key=lambda name: (find_stated_unit(name) == "mpa", not reads_as_no_stress(name)))]

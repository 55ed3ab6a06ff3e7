"""Keywords of a deck (INP) with their options and rows, those of included files in their place."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from filecmp import cmp
from pathlib import Path

from fatcore.errors import InputError

_MOST_INCLUDED = 10  # files within files
# what makes, moves or takes away nodes and elements that are not in the rows of *NODE and *ELEMENT
UNREAD = {
    **dict.fromkeys(("NGEN", "NFILL", "NCOPY", "NMAP"), "makes or moves nodes"),
    **dict.fromkeys(("ELGEN", "ELCOPY"), "makes elements"),
    **dict.fromkeys(("IMPORT", "IMPORT NODESET", "IMPORT ELSET"), "takes a mesh from another file"),
    "REFINE MESH": "makes nodes and elements",
    "MODEL CHANGE": "takes elements away",
    "SYMMETRIC MODEL GENERATION": "makes nodes and elements",
    "PARAMETER": "puts names in place of numbers",
}
# options that change what the rows of a keyword mean
_OPTIONS = {
    "NODE": ("NSET", "SYSTEM", "INPUT"),
    "ELEMENT": ("TYPE", "INPUT"),
    "NSET": ("NSET", "GENERATE", "ELSET", "INSTANCE"),
    "INCLUDE": ("INPUT",),
}
_IDLE = {"ELEMENT": ("ELSET",), "NSET": ("INTERNAL", "UNSORTED")}  # options that change nothing of what is read
_MEANT = (*_OPTIONS, *UNREAD, "SYSTEM", "PART", "ASSEMBLY", "INSTANCE")


@dataclass(frozen=True, slots=True)
class Block:
    """A keyword with its options, and the rows below it."""

    key: str
    options: Mapping[str, str]
    rows: list[str]


def wrong(message: str) -> InputError:
    """An error of this format."""
    return InputError(f"deck not read: {message}", "mesh")


def read_blocks(file: Path) -> Iterator[Block]:
    """Keywords with their rows, in the order of the deck.

    Raises : InputError for rows without a keyword, for a keyword or an option that is nearly one which makes or
             moves nodes, elements, sets or files, and for rows in the place of options
    """
    for block in _blocks(_lines(file, file.parent)):
        _guard_key(block)
        _guard_options(block)
        yield block


def _texts(file: Path) -> Iterator[str]:
    """Lines without comments and blanks, and without the mark of its encoding that a text may begin with."""
    with file.open(encoding="utf-8-sig", errors="replace") as lines:
        for number, line in enumerate(lines):
            if "\0" in line:
                raise wrong(f"line {number + 1} of {file.name} is no text")
            text = line.strip()
            if text and not text.startswith("**"):
                yield text


def _lines(file: Path, folder: Path, depth: int = 0) -> Iterator[str]:
    """Lines of a file, those of included files in their place; folder: that of the deck."""
    texts = _texts(file)
    for text in texts:
        if _key(text) == "INCLUDE":
            yield from _included(file, folder, text + (next(texts, "") if text.endswith(",") else ""), depth)
        else:
            yield text


def _included(file: Path, folder: Path, text: str, depth: int) -> Iterator[str]:
    """Lines of the file that is named from the folder of the deck on, or beside the file that includes it."""
    options = _options(text)
    _guard_options(Block("INCLUDE", options, []))
    name = options.get("INPUT", "")
    others = [place / name for place in (folder, file.parent) if name and (place / name).is_file()]
    if depth >= _MOST_INCLUDED or not others:
        raise wrong(f"the file of {text!r} is not there, or includes others without end")
    if not cmp(others[0], others[-1], shallow=False):
        raise wrong(
            f"there are two different files {name!r}, in the folder of the deck and beside the file that names it"
        )
    return _lines(others[0], folder, depth + 1)


def label_of(text: str) -> str:
    """A name without the quotes that it may stand in."""
    return text.strip().strip("\"'").strip()


def _key(text: str) -> str:
    return " ".join(text.partition(",")[0].removeprefix("*").upper().split()) if text.startswith("*") else ""


def _options(text: str) -> dict[str, str]:
    """Options by name; a value that has one half of a quote, as of a name with a comma, keeps it."""
    pairs = (word.partition("=") for word in text.split(",")[1:])
    return {
        name.strip().upper(): value if value.count('"') == 1 else label_of(value)
        for name, _, value in pairs
        if name.strip()
    }


def _blocks(lines: Iterator[str]) -> Iterator[Block]:
    """An option may stand on the line below one that ends with a comma."""
    head, rows = "", list[str]()
    for line in lines:
        if head and not rows and head.endswith(",") and not line.startswith("*"):
            head += line
        elif not line.startswith("*"):
            rows.append(line)
        else:
            yield Block(_key(head), _options(head), rows)
            head, rows = line, []
    yield Block(_key(head), _options(head), rows)


def _guard_key(block: Block) -> None:
    if not block.key and block.rows:
        raise wrong(f"rows without a keyword above them: {block.rows[0][:80]!r}")
    if "=" in block.key:
        raise wrong(f"keyword *{block.key[:80]} has no comma before its options")
    if block.key and (meant := _nearly(block.key, _MEANT)):
        raise wrong(f"keyword *{block.key[:80]} is nearly *{meant}: write keywords in full")


def _guard_options(block: Block) -> None:
    for option, value in block.options.items() if block.key in _OPTIONS else ():
        if '"' in value:
            raise wrong(f"option {option[:80]} of *{block.key} has a quote without its other half: {value[:80]}")
        if re.search("[A-Z]", option) is None:
            text = f"a row stands among the options of *{block.key}, below a comma at the end of a line"
            raise wrong(f"{text}: {option[:80]!r}")
        if meant := _nearly(option, _OPTIONS[block.key]):
            raise wrong(f"option {option[:80]} of *{block.key} is nearly {meant}: write options in full")
        if option not in (*_OPTIONS[block.key], *_IDLE.get(block.key, ())):
            raise wrong(f"option {option[:80]} of *{block.key} is not known here: it may change what the rows mean")


def _nearly(word: str, known: tuple[str, ...]) -> str:
    """The known word that a word begins, or differs from by one letter or two changed about; empty where it is one,
    or none."""
    if word in known:
        return ""
    return next((each for each in known if each.startswith(word) or _is_near(word, each)), "")


def _is_near(word: str, known: str) -> bool:
    if len(word) == len(known):
        off = [at for at, (one, other) in enumerate(zip(word, known, strict=True)) if one != other]
        return len(off) == 1 or (
            off[1:] == [off[0] + 1] and word[off[0]] + word[off[1]] == known[off[1]] + known[off[0]]
        )
    short, long = sorted((word, known), key=len)
    return len(long) - len(short) == 1 and any(long[:at] + long[at + 1 :] == short for at in range(len(long)))

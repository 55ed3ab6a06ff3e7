"""Sections of an MSH file, text or binary."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from fatcore.errors import InputError

from ..raw import Array


def wrong(message: str) -> InputError:
    """An error of this format."""
    return InputError(f"not an MSH file that can be read: {message}", "mesh")


@dataclass(slots=True)
class Part:
    """A section of a file, read from its beginning on."""

    content: bytes
    at: int
    binary: bool
    name: bytes = b""
    words: list[bytes] = field(default_factory=list)
    used: int = 0  # of the words

    def line(self) -> bytes:
        """The next line; InputError at the end."""
        end = self.content.find(b"\n", self.at)
        if end < 0:
            raise wrong("it is cut off")
        found, self.at = self.content[self.at : end], end + 1
        return found.strip()

    def take(self, kind: str, count: int) -> Array:
        """So many numbers of a type; of a text wherever its lines end."""
        if not 0 <= count <= len(self.content):
            raise wrong(f"it announces {count} numbers, more than it can hold")
        if self.binary:
            found = np.frombuffer(self.content, kind, count, self.at)
            self.at += found.nbytes
            return found
        while len(self.words) - self.used < count:
            if (line := self.line()).startswith(b"$"):
                raise wrong("a section ends before all that it announces")
            self.words += line.split()
        found = np.array(self.words[self.used : self.used + count], dtype=kind)
        self.used += count
        return found

    def end(self) -> None:
        """Refuses a section that goes on behind what it announces, or has no end."""
        close = re.compile(rb"\s*\$End" + self.name + rb"[ \t\r]*(\n|\Z)")
        if self.used < len(self.words) or close.match(self.content, self.at) is None:
            raise wrong(f"section {self.name.decode()} goes on behind what it announces, or its end is missing")


@dataclass(slots=True)
class MshFile:
    """Sections by name, and the version."""

    content: bytes

    def begin(self) -> tuple[str, bool]:
        """Version, and whether the file is binary."""
        heads = self.sections("MeshFormat")
        words = heads[0].line().split() if heads else []
        if len(words) != 3:
            raise wrong("it does not begin as one does")
        if words[2] != b"8":
            raise wrong(f"it has numbers of {words[2].decode()[:10]} bytes: write them with 8")
        version, binary = words[0].decode(), words[1] == b"1"
        if not (version.startswith("2") or version == "4.1"):
            raise wrong(f"version {version[:10]}: write version 4.1 or 2")
        if binary and self.content[heads[0].at : heads[0].at + 4] != np.array(1, dtype="i4").tobytes():
            raise wrong("its bytes are in another order than those of this machine")
        return version, binary

    def sections(self, name: str, *, binary: bool = False) -> list[Part]:
        """Where the content of each section of this name begins; binary content hardly holds one."""
        found, start = list[Part](), b"$" + name.encode()
        at = self.content.find(start)
        while at >= 0:
            part = Part(self.content, at, binary, name.encode())
            if (at == 0 or self.content[at - 1 : at] == b"\n") and part.line() == start:
                found.append(part)
            at = self.content.find(start, at + 1)
        return found

"""The parser of the command line: what it refuses is said in the words of who typed it."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import Any, NoReturn, Self

from fatcore.errors import did_you_mean

from ...client.exit_codes import BAD_INPUT
from .telling import tell

STREAM = "-"  # standard input or output
_ARGUMENT = re.compile(r"argument (\S+): (.*)", re.DOTALL)
_CHOICE = re.compile(r"invalid choice: '?(.*?)'? \(choose from (.*)\)", re.DOTALL)


class Parser(argparse.ArgumentParser):
    """A parser whose commands refuse what they do not know, with the nearest name that they do."""

    def parse_args(self, args: Sequence[str] | None = None, namespace: Any = None) -> Any:  # type: ignore[override]
        """The options and files of a command line; ends the program with exit code 2 where it cannot be read."""
        found, left = self.parse_known_args(args, namespace)
        if left:
            commands = [each for each in self._actions if isinstance(each, argparse._SubParsersAction)]
            command = commands[0].choices[found.command] if commands else self
            command.error(_too_many(left[0], command))
        return found

    def error(self, message: str) -> NoReturn:
        """Ends the program with exit code 2, with what is wrong and where help is found."""
        found = _ARGUMENT.fullmatch(message)
        told = message if found is None else _told(*found.groups())
        tell(f"toeline: {told}\nsee: {self.prog} --help")
        raise SystemExit(BAD_INPUT)


def _too_many(word: str, command: argparse.ArgumentParser) -> str:
    if not word.startswith("-"):
        return f"{word!r} is one argument too many"
    option = word.partition("=")[0]
    known = [each for action in command._actions for each in action.option_strings if each.startswith("--")]
    return f"{option} is no option of {command.prog}{did_you_mean(option, known)}"


def _told(option: str, text: str) -> str:
    choice = _CHOICE.fullmatch(text)
    if choice is not None:
        known = [name.strip().strip("'") for name in choice[2].split(",")]
        return f"{option} takes one of {', '.join(known)}, not {choice[1]!r}{did_you_mean(choice[1], known)}"
    if text.startswith("expected "):
        return f"{option} needs a value"
    return f"{option} {text}" if text.startswith("takes ") else f"{option}: {text}"


def decimal(text: str) -> float:
    """The number that an option is given; what uses it says which numbers it takes."""
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"takes a number, not {text!r}") from None


def whole(text: str) -> int:
    """The whole number that an option is given."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"takes a whole number, not {text!r}") from None


class InputFile(str):
    """A file that a command reads, or a folder or pattern of such; `-` is standard input where the help says so."""

    __slots__ = ()


class OutputFile(str):
    """A file that a command writes its result to, which no other run may write meanwhile; `-` is standard output."""

    __slots__ = ()

    def __new__(cls, text: str) -> Self:
        """The name; refused when it is empty."""
        return super().__new__(cls, _filled(text))


class FileBeside(OutputFile):
    """A file that a command writes besides its result, which has standard output."""

    __slots__ = ()

    def __new__(cls, text: str) -> Self:
        """The name; refused when it is empty or that of standard output."""
        if text == STREAM:
            raise argparse.ArgumentTypeError("takes a file, not -: standard output is where the result goes")
        return super().__new__(cls, text)


def _filled(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("takes the name of a file, not nothing")
    return text

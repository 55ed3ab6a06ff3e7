"""The help of a command: what it does, its options with defaults and units, and a command line to start from."""

from __future__ import annotations

import argparse
import shutil
import textwrap
from collections.abc import Sequence
from typing import Any, Protocol

from pydantic import BaseModel

from ...base.text import WIDTH

EXIT_CODES = "exit code: 0 passed, 1 failed or undecided, 2 bad input or usage"


class Commands(Protocol):
    """What argparse returns for adding commands."""

    def add_parser(self, name: str, **details: Any) -> argparse.ArgumentParser:
        """Adds one command."""


class HelpText(argparse.RawDescriptionHelpFormatter):
    """Help of at most 100 columns, less on a narrow terminal; what stands below the options stays as it is."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=30, width=min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns))

    def add_argument(self, action: argparse.Action) -> None:
        """Leaves room for the indent of commands, which the base class forgets."""
        super().add_argument(action)
        if isinstance(action, argparse._SubParsersAction):
            self._action_max_length += self._indent_increment

    def _split_lines(self, text: str, width: int) -> list[str]:
        return textwrap.wrap(" ".join(text.split()), width, break_on_hyphens=False)


def add_command(
    commands: Commands, name: str, text: str, examples: Sequence[str], *, ending: str = ""
) -> argparse.ArgumentParser:
    """Adds a command whose help ends with examples.

    text : what it does, beginning with a verb; examples: command lines without the program; ending: below them
    """
    shown = ["examples:" if len(examples) > 1 else "example:", *(f"  toeline {each}" for each in examples)]
    return commands.add_parser(
        name,
        help=text,
        description=f"{text[0].upper()}{text[1:]}.",
        epilog="\n".join([*shown, *(["", ending] if ending else [])]),
        formatter_class=HelpText,
    )


def default_of(model: type[BaseModel], field: str) -> str:
    """The default of a field of a request, as the help of its option says it."""
    return f"(default {model.model_fields[field].default:{'g' if field.endswith(('_mpa', 'repeats')) else ''}})"

"""What is said of a run beside its result: one line or some on standard error."""

from __future__ import annotations

import sys

from ...base.forms.printable import for_terminal


def tell(text: str) -> None:
    """Writes a text to standard error, where it is open; names in it give no commands to a terminal or a pipeline."""
    if sys.stderr is not None:
        sys.stderr.write(for_terminal(text.rstrip("\n")) + "\n")

"""Limits of the search for weld lines."""

from __future__ import annotations

import pytest

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid import detect


def test_more_lines_than_any_part_has_are_refused() -> None:
    detect._guard_count(2000)
    with pytest.raises(InputError, match="2001 weld lines, more than 2000: cut the part to its welds") as refused:
        detect._guard_count(2001)
    assert refused.value.path == ("mesh",)

"""What a plate without a width is taken for: one remark, for every route that cracks one."""

from __future__ import annotations

from fatcore.findings import Finding, caution

WIDTHS = ("width_mm", "half_width_mm")


def wide_plate(field: str) -> Finding:
    """A caution about a width that was not given."""
    message = "no width was given: the plate counts as wide, and a crack in a narrow one is driven harder: give it"
    return caution("wide-plate", message, field=field)
